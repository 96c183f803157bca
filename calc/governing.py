"""Which figure shows the charge: the one that the metering device leaves free."""

from collections.abc import Mapping
from typing import Literal

from calc.errors import UnknownNameError

Figure = Literal["superheat", "subcooling"]

_GOVERNING_FIGURES: Mapping[str, Figure] = {"fixed_orifice": "superheat", "txv": "subcooling", "eev": "subcooling"}


def governing_figure(metering_device: str) -> Figure:
    """Name the figure that shows the charge: the one that this metering device leaves free.

    Args:
        metering_device: fixed_orifice, txv or eev.

    Raises:
        UnknownNameError: no such device.

    >>> governing_figure("fixed_orifice"), governing_figure("txv")  # California Title 24, RA3.2
    ('superheat', 'subcooling')

    """
    if metering_device not in _GOVERNING_FIGURES:
        raise UnknownNameError("metering device", metering_device, _GOVERNING_FIGURES)
    return _GOVERNING_FIGURES[metering_device]
