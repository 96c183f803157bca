"""What a person may write for an argument of a calculation: a value with its unit, a count, a choice, a date, a list.

Each kind reads a text, or raises UnitError or UnknownNameError with what would do. A refrigerant's pressure must say
gauge or absolute here: a person's bare "118" has been either often enough.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Protocol

from calc import saturation
from calc.elementwise import within
from calc.errors import CalcRangeError, UnitError, UnknownNameError
from calc.quantities import Quantity
from calc.units import Conversion, Kind, parse, parse_accuracy, parse_difference, written_unit

LIMITS: Mapping[Kind, tuple[float, float]] = MappingProxyType(
    {
        Quantity.PRESSURE: (0.0, 20e6),
        "barometric_pressure": (40e3, 180e3),
        "vacuum_pressure": (0.0, 110e3),
        "pressure_difference": (-20e6, 20e6),
        Quantity.TEMPERATURE: (0.0, 2000.0),
        Quantity.TEMPERATURE_DIFFERENCE: (-150.0, 150.0),
        Quantity.HUMIDITY: (0.0, 100.0),
        Quantity.CURRENT: (0.0, 1e4),
        Quantity.VOLTAGE: (0.0, 1e5),
        Quantity.CAPACITANCE: (0.0, 0.1),
        Quantity.MASS: (0.0, 1e5),
        Quantity.RATIO: (0.0, 100.0),
        Quantity.RESISTANCE: (0.0, 1e9),
        Quantity.AIR_PRESSURE: (-1e5, 1e5),
        Quantity.AIR_FLOW: (0.0, 500.0),
        Quantity.CONCENTRATION: (0.0, 1.0),
        "length": (0.0, 1e4),
        "time": (0.0, 10 * 365 * 86400.0),
        "resistance": (0.0, 1e9),
        "frequency": (0.0, 1e6),
        "power": (0.0, 1e8),
        "electric_power": (0.0, 1e8),
        "air_flow": (0.0, 500.0),
        "enthalpy": (-5e5, 5e5),
        "torque": (0.0, 1e4),
        "percentage": (0.0, 100.0),
    }
)
"""Beyond these no value of its kind is one of this trade, nor of nature: 0 K, an absolute pressure of nothing [SI]."""

_ROUNDING = 1e-12
_SMALL = 0.1
"""No instrument is allowed to be off by more than this share of the range of its kind: it would measure nothing."""


class Argument(Protocol):
    """A kind of argument."""

    def read(self, text: str, barometric_pressure_pa: float | None) -> Any:
        """Read what a person wrote; gauge pressures count from the barometric pressure [Pa]."""
        ...


@dataclass(frozen=True, slots=True)
class Measure:
    """A value with its unit: "118 psig", "41 degF", "6 oz".

    Attributes:
        kind: of value.
        low: the least that will do; None for that of the kind [SI].
        high: the greatest, likewise [SI].

    """

    kind: Kind
    low: float | None = None
    high: float | None = None

    def read(self, text: str, barometric_pressure_pa: float | None) -> float:
        """Give the value [SI].

        Raises:
            CalcRangeError: it is beyond the limits, in the unit of the text.

        """
        value = parse(text, self.kind, barometric_pressure_pa=barometric_pressure_pa, bare_is_absolute=False)
        return _checked(value, self.limits, self.unit_of(text, barometric_pressure_pa))

    @property
    def limits(self) -> tuple[float, float]:
        """The least and the greatest value [SI]."""
        low, high = LIMITS.get(self.kind, (-math.inf, math.inf))
        return low if self.low is None else self.low, high if self.high is None else self.high

    def unit_of(self, text: str, barometric_pressure_pa: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the unit in which a text is written."""
        return written_unit(text, self.kind, barometric_pressure_pa=barometric_pressure_pa)


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference with its unit, whose scale has no zero: "10 degF" is 5.6 K. Limits as of `Measure`."""

    kind: Kind
    low: float | None = None
    high: float | None = None

    def read(self, text: str, barometric_pressure_pa: float | None) -> float:
        """Give the difference [SI]; errors as `Measure`."""
        return _checked(parse_difference(text, self.kind), self.limits, self.unit_of(text, barometric_pressure_pa))

    @property
    def limits(self) -> tuple[float, float]:
        """The least and the greatest difference [SI]."""
        kind = Quantity.TEMPERATURE_DIFFERENCE if self.kind is Quantity.TEMPERATURE else self.kind
        low, high = LIMITS.get(kind, (-math.inf, math.inf))
        return low if self.low is None else self.low, high if self.high is None else self.high

    def unit_of(self, text: str, _: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the unit in which a text is written."""
        return written_unit(text, self.kind, difference=True)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """The maker's ± limit of an instrument, with its unit: "1 psi"; never negative. Limits as of `Measure`."""

    kind: Kind
    high: float | None = None

    def read(self, text: str, barometric_pressure_pa: float | None) -> float:
        """Give the limit [SI]; errors as `Measure`."""
        return _checked(parse_accuracy(text, self.kind), self.limits, self.unit_of(text, barometric_pressure_pa))

    @property
    def limits(self) -> tuple[float, float]:
        """The least and the greatest limit [SI]."""
        kind = Quantity.TEMPERATURE_DIFFERENCE if self.kind is Quantity.TEMPERATURE else self.kind
        greatest = _SMALL * LIMITS[kind][1] if kind in LIMITS else math.inf
        return 0.0, greatest if self.high is None else self.high

    def unit_of(self, text: str, _: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the unit in which a text is written."""
        return written_unit(text, self.kind, difference=True)


def _checked(value: float, limits: tuple[float, float], unit: tuple[Conversion, str]) -> float:
    conversion, label = unit
    for limit in limits:
        if math.isclose(value, limit, rel_tol=_ROUNDING):
            return limit  # -60 °C is the limit itself, whatever its conversion loses in the last digit
    try:
        return within("value", value, *limits, "")
    except CalcRangeError as error:
        raise error.in_unit(conversion, label) from None


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
    """One of a few names; a StrEnum's members do well.

    Attributes:
        what: it is.
        options: the names.
        also: other ways to write some of them, and the names meant.

    """

    what: str
    options: tuple[str, ...]
    also: tuple[tuple[str, str], ...] = ()

    def read(self, text: str, _: float | None) -> str:
        """Give the option."""
        wanted = "_".join(text.casefold().replace("-", " ").replace("_", " ").split())
        wanted = dict(self.also).get(wanted, wanted)
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

    def unit_of(self, text: str, barometric_pressure_pa: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the unit of the first item."""
        return unit_of(self.item, text.split(",")[0].strip(), barometric_pressure_pa)


@dataclass(frozen=True, slots=True)
class Dated:
    """A date, and a value with its unit: "2026-05-30 2 lb"."""

    kind: Kind

    def read(self, text: str, barometric_pressure_pa: float | None) -> tuple[date, float]:
        """Give the date and the value [SI]."""
        day, _, value = text.strip().partition(" ")
        return DATE.read(day, None), Measure(self.kind).read(value, barometric_pressure_pa)

    def unit_of(self, text: str, barometric_pressure_pa: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the value's unit."""
        return Measure(self.kind).unit_of(text.strip().partition(" ")[2], barometric_pressure_pa)


@dataclass(frozen=True, slots=True)
class Worded:
    """Whatever a function makes of the text."""

    convert: Callable[[str], Any]

    def read(self, text: str, _: float | None) -> Any:
        """Give what the function gives."""
        return self.convert(text)


def unit_of(kind: Argument | Kind, text: str, barometric_pressure_pa: float | None) -> tuple[Conversion, str]:
    """Give the conversion and the label of the unit in which a person wrote an argument; of none, a factor of 1."""
    found = argument(kind)
    if isinstance(found, Measure | Difference | Accuracy | ListOf | Dated):
        return found.unit_of(text, barometric_pressure_pa)
    return Conversion(1.0), ""


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
    also = (("y", "yes"), ("true", "yes"), ("n", "no"), ("false", "no"))
    return Choice("answer", ("yes", "no"), also).read(text, None) == "yes"


NUMBER = Number()
REFRIGERANT = Worded(saturation.designation)
DATE = Worded(_date)
YES_NO = Worded(_yes_no)
TEXT = Worded(str.strip)
