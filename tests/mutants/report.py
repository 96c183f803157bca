"""What was measured, kept in measured.json beside this file, and as docs/mutants.md."""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

import msgspec

HERE = Path(__file__).parent
MEASURED = HERE / "measured.json"
PAGE = Path("docs/mutants.md")


class Survivor(msgspec.Struct, frozen=True, order=True):
    """A mutant that no test noticed: the line's number, what it was and what it became."""

    line: int
    was: str
    becomes: str


class Measured(msgspec.Struct, frozen=True):
    """A module's figure. Those out of time count as killed: the tests would not have ended."""

    date: str
    mutants: int
    tried: int
    out_of_time: int
    survivors: list[Survivor]

    @property
    def killed(self) -> int:
        """How many mutants the tests noticed."""
        return self.tried - len(self.survivors)


class Reason(msgspec.Struct, frozen=True):
    """Why a survivor is left, by hand in survivors.toml; `equivalent` where no test could tell it from the module."""

    was: str
    becomes: str
    reason: str


def keep(module: str, measured: Measured) -> None:
    """Put a module's figure in the place of its last one, and write the page anew."""
    kept = msgspec.json.decode(MEASURED.read_bytes(), type=dict[str, Measured]) if MEASURED.exists() else {}
    kept[module] = measured
    MEASURED.write_bytes(msgspec.json.format(msgspec.json.encode(kept), indent=1) + b"\n")
    modules = tomllib.loads((HERE / "modules.toml").read_text())
    reasons = msgspec.toml.decode((HERE / "survivors.toml").read_bytes(), type=dict[str, list[Reason]])
    PAGE.write_text(page({name: kept.get(name) for name in modules}, reasons))


def row(module: str, measured: Measured | None) -> str:
    """Write a module's row of the table."""
    if measured is None:
        return f"| {module} | not run | | | | | |"
    share = f"{100 * measured.killed / measured.tried:.1f} %" if measured.tried else "-"
    cells = (measured.mutants, measured.tried, measured.killed, len(measured.survivors), share, measured.date)
    return f"| {module} | " + " | ".join(str(cell) for cell in cells) + " |"


def page(measured: Mapping[str, Measured | None], reasons: Mapping[str, list[Reason]]) -> str:
    """Write the whole page."""
    return "\n".join([INTRODUCTION, *_table(measured), *_survivors(measured, reasons)]) + "\n"


def _table(measured: Mapping[str, Measured | None]) -> Iterator[str]:
    yield "| module | mutants | tried | killed | survived | killed of those tried | date |"
    yield "|---|---|---|---|---|---|---|"
    for module, figure in measured.items():
        yield row(module, figure)
    figures = [figure for figure in measured.values() if figure is not None]
    tried, killed = sum(figure.tried for figure in figures), sum(figure.killed for figure in figures)
    share = f"{100 * killed / tried:.1f} %" if tried else "-"
    yield f"| all of these | {sum(f.mutants for f in figures)} | {tried} | {killed} | {tried - killed} | {share} | |"


def _survivors(measured: Mapping[str, Measured | None], reasons: Mapping[str, list[Reason]]) -> Iterator[str]:
    yield "\n## Survivors\n"
    yield "The reasons are kept by hand in tests/mutants/survivors.toml."
    for module, figure in measured.items():
        if figure is None or not figure.survivors:
            continue
        known = {(each.was, each.becomes): each.reason for each in reasons.get(module, [])}
        yield f"\n### {module}\n"
        for each in figure.survivors:
            reason = known.get((each.was, each.becomes), "not looked at yet")
            yield f"- line {each.line}: {reason}\n\n      - {each.was}\n      + {each.becomes}\n"


INTRODUCTION = """\
# Would the tests notice?

`make mutants` changes the rooms that judge in one place after the other, in a copy of the tree, runs the quick tests
of the module each time, and writes this page. A change (a mutant) is killed when a test fails or would not end; it has
survived when all still pass. Every survivor is a line that these tests do not hold, or a change that makes no
difference. We aim at 95 % killed.

What is changed: every number by one up and one down; a comparison at its bound and to its opposite; + and -, * and /;
and, or, not; True and False; conditions to their contrary; break and continue; loops that do nothing; decorators that
are missing. What is not: words, exceptions that are caught, what a call is given, type annotations. Only the quick
test files of tests/mutants/modules.toml are run, so a survivor may still be caught by a slower one. Where fewer were
tried than there are, those were drawn at random.
"""
