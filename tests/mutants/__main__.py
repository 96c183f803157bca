"""`python -m tests.mutants [MODULE ...]`: try the mutants of these modules, or of all, and write docs/mutants.md.

A name may be a folder. In the environment, SAMPLE says how many of a module's mutants to try at most, and MINUTES ends
the run early; the page says how many were tried. They are tried in a random order that stays while the module does.
Outcomes are kept in .mutants: a mutant once killed is not tried again while its module stands, one that survived when
a test file of its module has changed. Delete the folder to try all of them again.
"""

import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from itertools import takewhile
from pathlib import Path
from typing import IO

import msgspec

from tests.mutants import report
from tests.mutants.making import Mutant, mutants_of
from tests.mutants.report import Measured, Survivor
from tests.mutants.trying import OUT_OF_TIME, SURVIVED, Work

HERE = Path(__file__).parent
OUTCOMES = Path(".mutants/outcomes.jsonl")
LEFT_OUT = (".git", ".venv", ".mutants", "node_modules", ".hypothesis", "*_cache")


class Outcome(msgspec.Struct, frozen=True):
    """What became of a mutant, by the digest of its source, under test files of this digest."""

    mutant: str
    tests: str
    outcome: str


def main(names: Sequence[str]) -> None:
    """Print each module's figure as soon as it is measured, and write it down; say what could not be measured."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("stopped"))  # and the copy is deleted
    modules: dict[str, list[str]] = tomllib.loads((HERE / "modules.toml").read_text())
    chosen = [module for module in modules if not names or any(_named(module, name) for name in names)]
    unknown = [name for name in names if not any(_named(module, name) for module in modules)]
    if unknown:
        sys.exit(f"not in tests/mutants/modules.toml: {', '.join(unknown)}")
    until_s = time.monotonic() + 60 * float(os.environ.get("MINUTES", "inf"))
    sample = int(os.environ.get("SAMPLE", sys.maxsize))
    failed = []
    for module in chosen:
        try:
            measured = _measure(module, modules[module], sample, until_s)
        except subprocess.CalledProcessError as error:
            failed.append(module)
            print(f"{module}: its tests fail as it stands\n{error.output}", file=sys.stderr)
            continue
        if measured is not None:
            report.keep(module, measured)
            print(report.row(module, measured, report.reasons().get(module, {})), flush=True)
    if failed:
        sys.exit(f"not measured: {', '.join(failed)}")


def _named(module: str, name: str) -> bool:
    return Path(module).is_relative_to(name)


def _measure(module: str, tests: Sequence[str], sample: int, until_s: float) -> Measured | None:
    """Try what is untried until the time is up; None when nothing has been tried at all."""
    mutants = {_digest(mutant.source): mutant for mutant in mutants_of(Path(module).read_text())}
    drawn = sorted(mutants)
    random.Random(0).shuffle(drawn)
    tests = [*tests, module]  # its examples
    tests_digest = _digest(*(Path(test.partition("::")[0]).read_text() for test in tests))
    outcomes = {o.mutant: o.outcome for o in _kept() if o.outcome != SURVIVED or o.tests == tests_digest}
    untried = [digest for digest in drawn[:sample] if digest not in outcomes]
    if untried and time.monotonic() < until_s:
        OUTCOMES.parent.mkdir(exist_ok=True)
        with OUTCOMES.open("a") as kept:
            for digest, outcome in _try(module, tests, {digest: mutants[digest] for digest in untried}, until_s):
                outcomes[digest] = outcome
                kept.write(msgspec.json.encode(Outcome(digest, tests_digest, outcome)).decode() + "\n")
                kept.flush()
    # Those killed in an earlier run stay known, its survivors do not: only an unbroken row of the draw is a fair one.
    tried = {digest: outcomes[digest] for digest in takewhile(outcomes.__contains__, drawn)}
    if mutants and not tried:
        return None
    return Measured(
        date=datetime.now(UTC).date().isoformat(),
        mutants=len(mutants),
        tried=len(tried),
        out_of_time=sum(outcome == OUT_OF_TIME for outcome in tried.values()),
        survivors=sorted(
            Survivor(mutants[digest].line, mutants[digest].was, mutants[digest].becomes)
            for digest, outcome in tried.items()
            if outcome == SURVIVED
        ),
    )


def _try(module: str, tests: Sequence[str], mutants: Mapping[str, Mutant], until_s: float) -> Iterator[tuple[str, str]]:
    """Try mutants in a copy of the tree, which is deleted afterwards."""
    with tempfile.TemporaryDirectory(prefix="dewline-mutants-") as temporary:
        copy = Path(temporary) / "tree"
        shutil.copytree(".", copy, ignore=shutil.ignore_patterns(*LEFT_OUT))
        command = [sys.executable, "-m", "tests.mutants.trying"]
        environment = {**os.environ, "PYTHONPATH": str(copy)}
        with subprocess.Popen(
            command, cwd=copy, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        ) as trying:
            try:
                work = msgspec.json.encode(Work(module, list(tests), [mutant.source for mutant in mutants.values()]))
                _of(trying.stdin).write(work)
                _of(trying.stdin).close()
                if _of(trying.stdout).readline() != b"passed\n":
                    raise subprocess.CalledProcessError(1, command, (copy / "tests_output.txt").read_text())
                yield from _answers(mutants, _of(trying.stdout), until_s)
            finally:
                trying.terminate()


def _of(pipe: IO[bytes] | None) -> IO[bytes]:
    assert pipe is not None
    return pipe


def _answers(mutants: Iterable[str], answers: Iterable[bytes], until_s: float) -> Iterator[tuple[str, str]]:
    for digest, answer in zip(mutants, answers, strict=False):
        yield digest, answer.decode().strip()
        if time.monotonic() > until_s:
            return


def _kept() -> list[Outcome]:
    if not OUTCOMES.exists():
        return []
    return [msgspec.json.decode(line, type=Outcome) for line in OUTCOMES.read_text().splitlines()]


def _digest(*texts: str) -> str:
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()


if __name__ == "__main__":
    main(sys.argv[1:])
