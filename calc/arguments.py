"""What a person may write for an argument of a calculation: a value with its unit, a count, a choice, a date, a list.

Each kind reads a text, or raises UnitError or UnknownNameError with what would do. A refrigerant's pressure must say
gauge or absolute here: a person's bare "118" has been either often enough.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

from calc import saturation
from calc.errors import UnitError, UnknownNameError
from calc.quantities import Quantity
from calc.units import Kind, parse, parse_accuracy, parse_difference


class Argument(Protocol):
    """A kind of argument."""

    def read(self, text: str, barometric_pressure_pa: float | None) -> Any:
        """Read what a person wrote; gauge pressures count from the barometric pressure [Pa]."""
        ...


@dataclass(frozen=True, slots=True)
class Measure:
    """A value with its unit: "118 psig", "41 degF", "6 oz"."""

    kind: Kind

    def read(self, text: str, barometric_pressure_pa: float | None) -> float:
        """Give the value [SI]."""
        return parse(text, self.kind, barometric_pressure_pa=barometric_pressure_pa, bare_is_absolute=False)


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference with its unit, whose scale has no zero: "10 degF" is 5.6 K."""

    kind: Kind

    def read(self, text: str, _: float | None) -> float:
        """Give the difference [SI]."""
        return parse_difference(text, self.kind)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """The maker's ± limit of an instrument, with its unit: "1 psi"; never negative."""

    kind: Kind

    def read(self, text: str, _: float | None) -> float:
        """Give the limit [SI]."""
        return parse_accuracy(text, self.kind)


@dataclass(frozen=True, slots=True)
class Number:
    """A number without a unit, within limits."""

    low: float = -math.inf
    high: float = math.inf

    def read(self, text: str, _: float | None) -> float:
        """Give the number."""
        number: float = _convert(float, text, "a plain number, such as 1.5")
        if not self.low <= number <= self.high or math.isinf(number):
            raise UnitError(f"{text.strip()} is outside {self.low:g} to {self.high:g}")
        return number


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number within limits."""

    low: int = 0
    high: int = 1_000_000_000

    def read(self, text: str, _: float | None) -> int:
        """Give the number."""
        number: int = _convert(int, text, "a whole number, such as 3")
        if not self.low <= number <= self.high:
            raise UnitError(f"{text.strip()} is outside {self.low} to {self.high}")
        return number


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few names; a StrEnum's members do well."""

    what: str
    options: tuple[str, ...]

    def read(self, text: str, _: float | None) -> str:
        """Give the option."""
        wanted = "_".join(text.casefold().replace("-", " ").replace("_", " ").split())
        for option in self.options:
            if option == wanted:
                return option
        raise UnknownNameError(self.what, text, self.options)


@dataclass(frozen=True, slots=True)
class ListOf:
    """Several of another kind, parted by commas: "2 lb, 3 lb"."""

    item: "Argument | Kind"

    def read(self, text: str, barometric_pressure_pa: float | None) -> tuple[Any, ...]:
        """Give the items in order."""
        item = argument(self.item)
        return tuple(item.read(part.strip(), barometric_pressure_pa) for part in text.split(","))


@dataclass(frozen=True, slots=True)
class Dated:
    """A date, and a value with its unit: "2026-05-30 2 lb"."""

    kind: Kind

    def read(self, text: str, barometric_pressure_pa: float | None) -> tuple[date, float]:
        """Give the date and the value [SI]."""
        day, _, value = text.strip().partition(" ")
        return DATE.read(day, None), Measure(self.kind).read(value, barometric_pressure_pa)


@dataclass(frozen=True, slots=True)
class Worded:
    """Whatever a function makes of the text."""

    convert: Callable[[str], Any]

    def read(self, text: str, _: float | None) -> Any:
        """Give what the function gives."""
        return self.convert(text)


def argument(kind: Argument | Kind) -> Argument:
    """Give the kind of argument; a Quantity or the name of a kind of value stands for a value with its unit."""
    return Measure(kind) if isinstance(kind, Quantity | str) else kind


def _convert(convert: Callable[[str], Any], text: str, expected: str) -> Any:
    try:
        return convert(text.strip())
    except ValueError as error:
        raise UnitError(f"{text!r} cannot be read: write {expected}") from error


def _date(text: str) -> date:
    found: date = _convert(date.fromisoformat, text, "a date as year-month-day, such as 2026-05-30")
    return found


def _yes_no(text: str) -> bool:
    return Choice("answer", ("yes", "no")).read(text, None) == "yes"


NUMBER = Number()
REFRIGERANT = Worded(saturation.designation)
DATE = Worded(_date)
YES_NO = Worded(_yes_no)
TEXT = Worded(str.strip)
