"""Collecting what is wrong with a configuration, so that one run tells everything."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from calc.errors import CalcError
from ingest.checking.structure import Problem
from ingest.wire.texts import fault

WIRE_NAME_RULE = "1 to 63 letters, digits, - and _, the first a letter or digit, were expected"

LEAST = 1e-12
"""The lower bound of a value that must be more than nothing."""


@dataclass(frozen=True)
class Check:
    """Reads values, and collects in `problems` what is wrong with them."""

    problems: list[Problem]

    def wrong(self, key: str, value: object, expected: str) -> None:
        """Note one thing that is wrong."""
        self.problems.append(Problem(key, value, expected))

    def read(self, key: str, text: str, read: Callable[[str], float], low: float, high: float) -> float:
        """Read a number within bounds [SI]. One that is wrong is noted, and NaN until the check fails."""
        try:
            value = read(text)
        except CalcError as error:
            self.wrong(key, text, str(error))
            return math.nan
        if not low <= value <= high:
            self.wrong(key, text, f"{_bounds(low, high)} was expected, in SI units; this is {value:g}")
        return value

    def within(self, key: str, value: float | None, low: float, high: float) -> None:
        """Note a number [SI] that is out of bounds; None is unknown, which is no mistake."""
        if value is not None and not low <= value <= high:
            self.wrong(key, value, f"{_bounds(low, high)} was expected")

    def seen(self, key: str, text: str, longest: int) -> None:
        """Note a text that people see, and that is too long for it or holds what cannot be seen."""
        if wrong := fault(text, longest):
            self.wrong(key, text, wrong)

    def first(self, seen: dict[str, str], key: str, name: str) -> None:
        """Note a name that another key has already. seen: name to key, so far."""
        first = seen.setdefault(name, key)
        if first != key:
            self.wrong(key, name, f"{first} has this name already")


def _bounds(low: float, high: float) -> str:
    return f"{low:g} to {high:g}" if low != LEAST else f"more than 0, at most {high:g}"


def check_file(check: Check, key: str, name: str, directory: Path) -> None:
    """Note a file that is named and not there."""
    if name and not (directory / name).is_file():
        check.wrong(key, name, f"there is no such file in {directory.resolve()}")


def check_whole(check: Check, key: str, number: int, low: int, high: int) -> None:
    """Note a whole number out of bounds."""
    if not low <= number <= high:
        check.wrong(key, number, f"{low} to {high} was expected")


def check_any(check: Check, key: str, table: Mapping[str, object]) -> None:
    """Note a table that is empty."""
    if not table:
        check.wrong(key, None, "is empty; at least one was expected")
