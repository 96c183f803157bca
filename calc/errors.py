"""The errors of calc: each says which value was wrong, what it was, and what would do."""

from collections.abc import Iterable
from difflib import get_close_matches


class CalcError(ValueError):
    """The base of every error that calc raises on purpose."""


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

    >>> print(UnknownNameError("refrigerant", "R-41A", ["R-32", "R-410A"]))
    unknown refrigerant 'R-41A': did you mean R-410A? It may be R-32, R-410A

    """

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        self.what = what
        self.name = name
        self.known = tuple(known)
        super().__init__(what, name, self.known)

    def __str__(self) -> str:
        close = get_close_matches(self.name, self.known)
        hint = f"did you mean {' or '.join(close)}? " if close else ""
        return f"unknown {self.what} {self.name!r}: {hint}It may be {', '.join(self.known)}"


class SeriesError(CalcError):
    """A series of readings that cannot be judged: it names what is wrong with it."""


class ArgumentError(CalcError):
    """The arguments of a calculation do not go together, or one is missing."""
