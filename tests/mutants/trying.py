"""`python -m tests.mutants.trying`, in a copy of the tree: run a module's tests under each of its mutants.

The tests run once on the module as it stands, which also loads the libraries; each mutant is then tried in a fork of
this process that has forgotten what came from the copy. That saves most of the second that a fresh start takes.
"""

import gc
import importlib.util
import os
import select
import signal
import sys
import time
from pathlib import Path

import msgspec
import pytest
from hypothesis import Phase, settings

# Few examples, the same for every mutant; shrinking makes a failure easier to read, and nobody reads these.
settings.register_profile(
    "mutants",
    deadline=None,
    database=None,
    derandomize=True,
    max_examples=20,
    phases=[Phase.explicit, Phase.generate],
)

KILLED, SURVIVED, OUT_OF_TIME = "killed", "survived", "out of time"


class Work(msgspec.Struct):
    """What to try: a module, its test files, and its sources under mutation."""

    module: str
    tests: list[str]
    sources: list[str]


def main() -> None:
    """Read the work from the standard input; answer `passed` (or what failed), then one line for each source."""
    work = msgspec.json.decode(sys.stdin.buffer.read(), type=Work)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("stopped"))  # and the mutant being tried ends too
    answers = os.fdopen(os.dup(1), "w", buffering=1)
    output = os.open("tests_output.txt", os.O_CREAT | os.O_TRUNC | os.O_WRONLY)
    os.dup2(output, 1)
    os.dup2(output, 2)

    began_s = time.monotonic()
    if _run_tests(work.tests) != 0:
        answers.write("failed\n")
        return
    # Several times what they need: a mutant may loop for ever, and the machine may have other work.
    limit_s = 10 + 5 * (time.monotonic() - began_s)
    answers.write("passed\n")

    module = Path(work.module).resolve()
    _forget(Path.cwd())
    Path(importlib.util.cache_from_source(module)).unlink(missing_ok=True)
    sys.dont_write_bytecode = True  # two mutants of one second and size would pass for each other
    gc.freeze()
    for source in work.sources:
        module.write_text(source)
        answers.write(_try(work.tests, limit_s) + "\n")


def _run_tests(tests: list[str]) -> int:
    options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-profile=mutants", "--basetemp=tests_temporary"]
    # hypothesis is here before pytest, so its asserts stay as they are
    return int(pytest.main([*options, "-W", "ignore::pytest.PytestAssertRewriteWarning", *tests]))


def _forget(tree: Path) -> None:
    """Forget every module of the tree, so that it is imported again."""
    for name, module in list(sys.modules.items()):
        if name != "__main__" and (file := getattr(module, "__file__", None)) and Path(file).is_relative_to(tree):
            del sys.modules[name]


def _try(tests: list[str], limit_s: float) -> str:
    process = os.fork()
    if process == 0:
        status = 1  # whatever ends this process otherwise, some test did not pass
        try:
            os.setsid()
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            status = _run_tests(tests)
        finally:
            os._exit(status)
    waiting = os.pidfd_open(process)
    ended = []
    try:
        ended, _, _ = select.select([waiting], [], [], limit_s)
    finally:
        os.close(waiting)
        if not ended:
            os.killpg(process, signal.SIGKILL)
    _, status = os.waitpid(process, 0)
    if not ended:
        return OUT_OF_TIME
    return SURVIVED if status == 0 else KILLED


if __name__ == "__main__":
    main()
