"""Degrees Fahrenheit, in which the sources print: kelvins and SI begin where a reading leaves the room."""

DDEGF = 5 / 9
"""A difference of 1 °F [K]."""


def degf(temperature_k: float) -> float:
    """Give a temperature in °F.

    >>> round(degf(308.15))
    95
    """
    return temperature_k / DDEGF - 459.67


def kelvin(temperature_f: float) -> float:
    """Give a temperature in K.

    >>> round(kelvin(95.0), 2)
    308.15
    """
    return (temperature_f + 459.67) * DDEGF
