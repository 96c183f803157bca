"""The errors of calc: each says which value was wrong, what it was, and what would do."""


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

    >>> print(CalcRangeError("pressure", 12.0, 30e3, 4.4e6, "Pa"))
    pressure is 12 Pa, outside 30000 to 4.4e+06 Pa
    """

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        super().__init__(name, value, low, high, unit)
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.name} is {self.value:g}{unit}, outside {self.low:g} to {self.high:g}{unit}"


class UnitError(CalcError):
    """A text does not hold a value of the kind asked for."""
