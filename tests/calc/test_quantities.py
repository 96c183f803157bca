"""Quantities against the unit symbols that RFC 8428, section 12.1, registers."""

from calc.quantities import CHANNELS, FIGURES, QUANTITIES, Quantity

REGISTERED = {"Pa", "Cel", "K", "%RH", "A", "V", "F", "Ohm", "kg", "m3/s", "/"}  # those of RFC 8428 that we use
"""A temperature travels in degrees Celsius, a difference in kelvin; "F" is the farad."""


SHARED = {Quantity.AIR_PRESSURE, Quantity.CONCENTRATION}
"""A pressure over another is in Pa too, and a share of gas a ratio: the name of a channel says which it is."""


def test_every_quantity_but_two_has_a_registered_symbol_of_its_own():
    symbols = [quantity.senml_unit for quantity in Quantity if quantity not in SHARED]
    assert set(symbols) == {quantity.senml_unit for quantity in Quantity} == REGISTERED
    assert len(symbols) == len(REGISTERED)


def test_channels_and_figures_share_no_name():
    assert len(QUANTITIES) == len(CHANNELS) + len(FIGURES)
