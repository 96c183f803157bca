"""The trade's scale of temperature, for tests: by its definition, apart from calc.units, which is under test too."""

DDEGF = 5 / 9
"""A difference of 1 °F [K]."""


def kelvin(degf: float) -> float:
    """A temperature on the Fahrenheit scale [K]."""
    return (degf + 459.67) * DDEGF
