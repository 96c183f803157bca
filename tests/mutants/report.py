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
    """Why a survivor is left, by hand in survivors.toml; `equivalent:` where no test could tell it from the module."""

    was: str
    becomes: str
    reason: str


Reasons = Mapping[tuple[str, str], str]
"""Why a survivor is left, by what it was and what it becomes."""


def keep(module: str, measured: Measured) -> None:
    """Put a module's figure in the place of its last one, and write the page anew."""
    kept = msgspec.json.decode(MEASURED.read_bytes(), type=dict[str, Measured]) if MEASURED.exists() else {}
    kept[module] = measured
    MEASURED.write_bytes(msgspec.json.format(msgspec.json.encode(kept), indent=1) + b"\n")
    write_page()


def write_page() -> None:
    """Write the page anew from what is kept."""
    kept = msgspec.json.decode(MEASURED.read_bytes(), type=dict[str, Measured])
    modules = tomllib.loads((HERE / "modules.toml").read_text())
    PAGE.write_text(page({name: kept.get(name) for name in modules}, reasons()))


def reasons() -> dict[str, Reasons]:
    """Read why survivors are left, by module."""
    read = msgspec.toml.decode((HERE / "survivors.toml").read_bytes(), type=dict[str, list[Reason]])
    return {module: {(each.was, each.becomes): each.reason for each in found} for module, found in read.items()}


def row(module: str, measured: Measured | None, known: Reasons) -> str:
    """Write a module's row of the table."""
    if measured is None:
        return f"| {module} | not run | | | | | | |"
    cells = _cells(measured.mutants, measured.tried, measured.killed, _equivalent(measured, known))
    return f"| {module} | {cells} | {measured.date} |"


def page(measured: Mapping[str, Measured | None], known: Mapping[str, Reasons]) -> str:
    """Write the whole page."""
    return "\n".join([INTRODUCTION, *_table(measured, known), *_survivors(measured, known)]) + "\n"


def _equivalent(measured: Measured, known: Reasons) -> int:
    """Count the survivors that make no difference."""
    found = (known.get((each.was, each.becomes), "") for each in measured.survivors)
    return sum(reason.startswith("equivalent:") for reason in found)


def _cells(mutants: int, tried: int, killed: int, equivalent: int) -> str:
    differ = tried - equivalent
    share = f"{100 * killed / differ:.1f} %" if differ else "-"
    return " | ".join(str(cell) for cell in (mutants, tried, equivalent, killed, differ - killed, share))


def _table(measured: Mapping[str, Measured | None], known: Mapping[str, Reasons]) -> Iterator[str]:
    yield "| module | mutants | tried | equivalent | killed | survived | killed of those that differ | date |"
    yield "|---|---|---|---|---|---|---|---|"
    for module, figure in measured.items():
        yield row(module, figure, known.get(module, {}))
    figures = {module: figure for module, figure in measured.items() if figure is not None}
    mutants, tried, killed = (
        sum(getattr(figure, name) for figure in figures.values()) for name in ("mutants", "tried", "killed")
    )
    equivalent = sum(_equivalent(figure, known.get(module, {})) for module, figure in figures.items())
    yield f"| all of these | {_cells(mutants, tried, killed, equivalent)} | |"


def _survivors(measured: Mapping[str, Measured | None], known: Mapping[str, Reasons]) -> Iterator[str]:
    yield "\n## Survivors\n"
    yield "The reasons are kept by hand in tests/mutants/survivors.toml."
    for module, figure in measured.items():
        if figure is None or not figure.survivors:
            continue
        yield f"\n### {module}\n"
        for each in figure.survivors:
            reason = known.get(module, {}).get((each.was, each.becomes), "not looked at yet")
            yield f"- line {each.line}: {reason}\n\n      - {each.was}\n      + {each.becomes}\n"


INTRODUCTION = """\
# Would the tests notice?

`make mutants` changes the rooms that judge in one place after the other, in a copy of the tree, runs the quick tests
of the module each time, and writes this page. A change (a mutant) is killed when a test fails or would not end; it has
survived when all still pass. A survivor that makes no difference to anything that can be seen, for the reason given
below, is equivalent and counts neither way; every other one is a line that these tests do not hold. We aim at 95 %
killed of those that differ.

What is changed: every number by one up and one down; a comparison at its bound and to its opposite; + and -, * and /;
and, or, not; True and False; conditions to their contrary; break and continue; loops that do nothing; decorators that
are missing. What is not: words, exceptions that are caught, what a call is given, type annotations, frozen and slots
of a class. Only the quick test files of tests/mutants/modules.toml are run, so a survivor may still be caught by a
slower one. Where fewer were tried than there are, those were drawn at random.
"""
