"""Instruments as causes: how likely one reads wrong by more than its maker states, and how far that moves the figures.

A clamp in the sun or on paint, a gauge that was dropped, a probe where the fan's own air comes back: each moves the
figures that come from its channel, in proportion, and no other. So it leaves a mark of its own: a warm clamp on the
liquid line takes subcooling away and touches neither head nor superheat, amps nor air. What a check at this visit
found, with the instrument where it measures, says how far it may still be off.
"""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.estimate import Estimate
from calc.situation import Situation
from calc.symptoms import Departures, Read

Array = NDArray[np.float64]


class Slip(NamedTuple):
    """One instrument that reads wrong.

    channel: what it measures. share: how often that is so, beside every other cause. told: by how much a check that was
    made has changed the odds of it; 1 where none was. middle: how far off it is likeliest, in spreads. spread: what one
    standard deviation of it does to each of the figures that are found [K or 1]. can_be_checked: whether there is
    something at hand to check it by, and nobody has yet.
    """

    channel: str
    share: float
    told: float
    middle: float
    spread: Array
    can_be_checked: bool = False


class Usual(NamedTuple):
    """How often an instrument slips, and by how much: a standard deviation [unit of the channel], or a share of it."""

    share: float
    spread: float = 0.0
    part: float = 0.0


_PSI_PA = 6894.757  # NIST SP 811, B.8

USUAL: Mapping[str, Usual] = MappingProxyType(
    {
        # A clamp that is not insulated is off by 5 °F "typically" (trade press, quoting a maker's laboratory).
        "suction_line_temperature": Usual(0.0050, spread=2.5),
        "liquid_line_temperature": Usual(0.0050, spread=2.5),
        "discharge_line_temperature": Usual(0.0050, spread=4.0),
        # In the sun, or where the condenser's own air comes back: 2 to 10 °F (from memory).
        "outdoor_air_temperature": Usual(0.0025, spread=2.5),
        "return_air_temperature": Usual(0.0025, spread=1.5),
        # Behind the coil one point of the air differs from another by 2 to 5 °F (from memory).
        "supply_air_temperature": Usual(0.0050, spread=2.0),
        "return_air_wet_bulb": Usual(0.0025, spread=1.0),
        # After some years the zero is off by 0.5 to 1 % of the span, of 500 and 800 psi, whatever it reads, and after a
        # fall by more (from memory).
        "suction_pressure": Usual(0.0025, spread=6 * _PSI_PA, part=0.03),
        "liquid_pressure": Usual(0.0025, spread=10 * _PSI_PA, part=0.03),
        "compressor_current": Usual(0.0025, part=0.10),
        "condenser_fan_current": Usual(0.0050, part=0.30),
    }
)
"""Shares, and whatever has no source beside it: common practice, no source."""

CLAMPED = ("suction_line_temperature", "liquid_line_temperature", "discharge_line_temperature")
"""Channels whose instrument sits on a pipe."""

_BEYOND = 1.5
"""A slip is at least so many times the stated limit, as a standard deviation: common practice, no source."""


def slips(seen: Departures, now: Situation) -> tuple[Slip, ...]:
    """List the instruments that may be off, with what each would do to the figures that are found."""
    return tuple(_slip(read, USUAL[read.channel], now) for read in seen.read if read.channel in USUAL)


def _slip(read: Read, usual: Usual, now: Situation) -> Slip:
    stated = read.standard_uncertainty
    limit = now.accuracies.get(read.channel, 2 * stated)
    spread = max(usual.spread, usual.part * abs(read.value), _BEYOND * limit)
    checked = _checked(read.channel, now)
    if checked is None:
        by = can_be_checked(read.channel, now)
        return Slip(read.channel, usual.share, 1.0, 0.0, read.effects * (spread / stated), can_be_checked=by)
    sound = math.hypot(checked.standard_uncertainty, stated)
    wide = math.hypot(sound, spread)
    deviates = ((checked.value / sound) ** 2 - (checked.value / wide) ** 2) / 2
    told = sound / wide * math.exp(min(deviates, _SURE))
    left, middle = spread * sound / wide, checked.value * (spread / wide) ** 2
    return Slip(read.channel, usual.share, told, middle / left, read.effects * (left / stated))


def can_be_checked(channel: str, now: Situation) -> bool:
    """Tell whether a field check shows it: a gauge in open air, a clamp beside another clamp of the same rig.

    What was checked at this visit is not checked again.
    """
    if channel in now.checked:
        return False
    if channel in CLAMPED:
        return sum(name in now.measured for name in CLAMPED) > 1
    return channel in _SHOWN_BY_AIR


_SHOWN_BY_AIR = ("suction_pressure", "liquid_pressure")


def _checked(channel: str, now: Situation) -> Estimate | None:
    """Give what was found of an instrument; of the wet bulb by what was found of the humidity that it comes from."""
    found = now.checked.get(channel)
    humidity = now.checked.get("return_air_humidity")
    if found is None and humidity is not None and channel == "return_air_wet_bulb":
        return Estimate(*(_WET_BULB_PER_HUMIDITY * each for each in (humidity.value, humidity.standard_uncertainty)))
    return found


_WET_BULB_PER_HUMIDITY = 1.0 / 3.0 * 5 / 9
"""3 % of relative humidity are 1 °F of wet bulb at 75 °F and 50 % (psychrometrics) [K/%]."""

_SURE = 50.0
"""Beyond e to the power of this, odds are as good as endless."""
