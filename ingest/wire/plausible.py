"""What nothing in this trade leaves: beyond it is a broken probe, a wrong unit, or a slip of the finger."""

from collections.abc import Mapping

from msgspec.structs import replace

from calc.quantities import QUANTITIES, Quantity
from calc.units import conversion
from ingest.wire.encoding import MessageError
from ingest.wire.packs import Pack, Reading

PLAUSIBLE: Mapping[Quantity, tuple[float, float]] = {
    Quantity.PRESSURE: (0.0, 15e6),
    Quantity.TEMPERATURE: (173.15, 523.15),
    Quantity.HUMIDITY: (0.0, 105.0),
    Quantity.CURRENT: (-2e3, 2e3),
    Quantity.VOLTAGE: (-2e3, 2e3),
    Quantity.CAPACITANCE: (0.0, 1e-2),
    Quantity.MASS: (-10.0, 1e3),
    Quantity.RESISTANCE: (0.0, 1e12),
    Quantity.AIR_PRESSURE: (-5e3, 5e3),
    Quantity.AIR_FLOW: (0.0, 100.0),
    Quantity.CONCENTRATION: (0.0, 1.0),
}
"""By what is measured, the lowest and the highest that a channel may read [SI]."""


_BAROMETER = "barometric_pressure"
_BAROMETER_PA = (50e3, 110e3)
"""From some 5,500 m up to the lowest land in fair weather: from memory. A configuration is held to the same."""
_BAROMETER_UNITS = ("Pa", "hPa", "kPa", "inHg", "mmHg", "psi")
"""What barometers send, the likeliest slips among them: common practice, no source."""


def bounds(channel: str, quantity: Quantity) -> tuple[float, float]:
    """Give the lowest and the highest that a channel may read [SI].

    >>> bounds("barometric_pressure", Quantity.PRESSURE), bounds("suction_pressure", Quantity.PRESSURE)
    ((50000.0, 110000.0), (0.0, 15000000.0))

    """
    return _BAROMETER_PA if channel == _BAROMETER else PLAUSIBLE[quantity]


def other_units(channel: str, number: float) -> list[str]:
    """Name the units in which a number that is not plausible would be: a barometer's only.

    >>> other_units("barometric_pressure", 29.92), other_units("barometric_pressure", 1013.0)
    (['inHg'], ['hPa'])

    """
    if channel != _BAROMETER:
        return []
    low, high = _BAROMETER_PA
    found = ((unit, conversion(unit, Quantity.PRESSURE, reference="absolute")) for unit in _BAROMETER_UNITS)
    return [unit for unit, convert in found if low <= convert.to_si(number) <= high]


def plausible(within: tuple[float, float], value: float, accuracy: float) -> float | None:
    """Give a reading as it counts; None where nothing in this trade leaves it.

    What cannot be below nothing is nothing as well as its instrument can tell, while it reads below by no more than
    its ±: in clean air a detector drifts about zero.

    Args:
        within: the lowest and the highest that its channel may read [SI].
        value: as read [SI].
        accuracy: the ± limit of the instrument [SI].

    >>> plausible((0.0, 1.0), -0.92e-6, 100e-6), plausible((0.0, 1.0), -101e-6, 100e-6)
    (0.0, None)

    """
    low, high = within
    if low == 0.0 and -accuracy <= value < 0.0:
        return 0.0
    return value if low <= value <= high else None


def believable(pack: Pack) -> Pack:
    """Give a pack without values that nothing leaves: anybody may publish under a rig's name.

    Of what is worked out of readings, such as a superheat, the bounds are wider than any two readings set it. A reading
    of a time that is none of ours is no figure either.

    Raises:
        MessageError: the pack itself is of such a time.

    >>> read = {"superheat": Reading(1e17, 0.0), "suction_pressure": Reading(9e5, 0.0)}
    >>> {name: it.value for name, it in believable(Pack("van", 1, 1, 0, 0.0, 0.0, read)).readings.items()}
    {'superheat': None, 'suction_pressure': 900000.0}

    """
    if not 0.0 <= pack.time_s <= _LATEST_SENSIBLE_TIME_S:
        raise MessageError(f"the pack is stamped {pack.time_s:g} s, which is no time of ours")
    wrong = [name for name, it in pack.readings.items() if not _can_be(name, it)]
    if not wrong:
        return pack
    gone = {name: Reading(None, pack.time_s, "out_of_range", _NOTHING_LEAVES) for name in wrong}
    return replace(pack, readings={**pack.readings, **gone})


_NOTHING_LEAVES = "no reading of this trade is so far off"
_OF_WHAT_IS_WORKED_OUT = (-1e4, 1e4)
"""Of kelvins of difference and of plain ratios: common practice, no source."""


_LATEST_SENSIBLE_TIME_S = 4e9
"""The year 2096: a stamp beyond it would push everything else off the charts."""


def _can_be(name: str, it: Reading) -> bool:
    if not abs(it.time_s) <= _LATEST_SENSIBLE_TIME_S:  # of a machine that lost its time it may be before 1970
        return False
    quantity = QUANTITIES.get(name)
    if quantity is None or it.value is None:
        return True
    low, high = _BAROMETER_PA if name == _BAROMETER else PLAUSIBLE.get(quantity, _OF_WHAT_IS_WORKED_OUT)
    return low <= it.value <= high
