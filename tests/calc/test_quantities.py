"""Quantities against the unit symbols that RFC 8428, section 12.1, registers."""

from calc.quantities import CHANNELS, FIGURES, QUANTITIES, Quantity

REGISTERED = {"Pa", "Cel", "K", "%RH", "A", "V", "F", "kg", "/"}  # those of RFC 8428 that we use
"""A temperature travels in degrees Celsius, a difference in kelvin; "F" is the farad."""


def test_every_quantity_has_its_own_registered_symbol():
    symbols = [quantity.senml_unit for quantity in Quantity]
    assert set(symbols) == REGISTERED
    assert len(symbols) == len(REGISTERED)


def test_channels_and_figures_share_no_name():
    assert len(QUANTITIES) == len(CHANNELS) + len(FIGURES)
