"""The errors of calc: each says which value was wrong, what it was, and what would do."""

import math
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any, Protocol


class SupportsFromSi(Protocol):
    """A conversion between SI and another unit."""

    def from_si(self, value: float) -> float:
        """Convert an SI value to this unit."""
        ...


class CalcError(ValueError):
    """The base of every error that calc raises on purpose."""

    def as_fields(self) -> dict[str, Any]:
        """Give what a program needs to know of it, by names that go into JSON."""
        return {"kind": type(self).__name__, "message": str(self)}


class CalcRangeError(CalcError):
    """A value lies outside the range in which the answer is known.

    Args:
        name: the argument, as the caller wrote it.
        value: what was given, in `unit`.
        low: the least value accepted [unit].
        high: the greatest value accepted [unit].
        unit: the unit of all three.
        because: what that range means, in a few words.

    >>> print(CalcRangeError("pressure", 12.0, 30e3, 4.4e6, "Pa"))
    pressure is 12 Pa, outside 30000 to 4.4e+06 Pa

    """

    def __init__(self, name: str, value: float, low: float, high: float, unit: str, because: str = "") -> None:
        super().__init__(name, value, low, high, unit, because)
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        self.because = because

    def as_fields(self) -> dict[str, Any]:
        """Give the message, the argument, and in its unit what was given and would do; a limit without end is null."""
        numbers = {"value": self.value, "low": self.low, "high": self.high}
        known = {name: number if math.isfinite(number) else None for name, number in numbers.items()}
        return {**CalcError.as_fields(self), "argument": self.name, **known, "unit": self.unit}

    def in_unit(self, conversion: "SupportsFromSi", unit: str) -> "CalcRangeError":
        """Tell the same in another unit than that of SI."""
        value, low, high = map(conversion.from_si, (self.value, self.low, self.high))
        return CalcRangeError(self.name, value, min(low, high), max(low, high), unit, self.because)

    def named(self, name: str, because: str = "") -> "CalcRangeError":
        """Tell the same of an argument by the name that its writer knows, and what it is if no reason is told."""
        return CalcRangeError(name, self.value, self.low, self.high, self.unit, self.because or because)

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        because = f": {self.because}" if self.because else ""
        return f"{self.name} is {self.value:g}{unit}, outside {self.low:g} to {self.high:g}{unit}{because}"


class UnitError(CalcError):
    """A text does not hold a value of the kind asked for."""


class UnknownNameError(CalcError):
    """A name is none of those known.

    Args:
        what: what the name should name, such as "refrigerant".
        name: what was given.
        known: every name that would do.
        near: of those, what the writer may have meant; None: what is written alike, or begins with the same word.
        because: what it is instead, where that is known.

    >>> print(UnknownNameError("refrigerant", "R-41A", ["R-32", "R-410A"]))
    unknown refrigerant 'R-41A': did you mean R-410A? It may be R-32, R-410A

    """

    def __init__(
        self, what: str, name: str, known: Iterable[str], near: Iterable[str] | None = None, because: str = ""
    ) -> None:
        self.what = what
        self.name = name
        self.known = tuple(known)
        self.because = because
        self.near = self._alike() if near is None else tuple(near)
        super().__init__(what, name, self.known, self.near, because)

    def _alike(self) -> tuple[str, ...]:
        first = _first_word(self.name)
        return tuple(get_close_matches(self.name, self.known)) or tuple(
            name for name in self.known if len(first) >= _LEAST_WORD and _first_word(name) == first
        )

    def as_fields(self) -> dict[str, Any]:
        """Give the message, what it should name, and all that would do."""
        return {**CalcError.as_fields(self), "what": self.what, "name": self.name, "known": list(self.known)}

    def briefly(self) -> str:
        """Say it without all that would do.

        >>> UnknownNameError("refrigerant", "R-41A", ["R-32", "R-410A"]).briefly()
        "unknown refrigerant 'R-41A': did you mean R-410A?"
        """
        unknown = f"unknown {self.what} {self.name!r}"
        if self.because:
            return f"{unknown}, {self.because}"
        return unknown + (f": did you mean {' or '.join(self.near)}?" if self.near else "")

    def __str__(self) -> str:
        if self.because:
            return f"{self.briefly()}: known are {', '.join(self.known)}"
        return f"{self.briefly()}{'' if self.near else ':'} It may be {', '.join(self.known)}"


_LEAST_WORD = 3


def _first_word(name: str) -> str:
    return name.casefold().replace("-", " ").replace("_", " ").partition(" ")[0]


class SeriesError(CalcError):
    """A series of readings that cannot be judged: it names what is wrong with it."""


class ArgumentError(CalcError):
    """The arguments of a calculation do not go together, or one is missing."""
