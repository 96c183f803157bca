"""What advice rests on beside the course of the figures: everything that is known at one moment."""

import math
from collections.abc import Mapping, Sequence

import msgspec

from calc.air import wet_bulb
from calc.doubts.observed import LIKELY
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.guidance import Move
from calc.quantities import CHANNELS
from calc.targets import NAMEPLATE_SOURCE, NoTarget, Target, find_target_superheat
from calc.uncertainty import Budget
from ingest.wire.messages import Alarm, ChannelAbout, Doubt, Reading, UnitAbout

FIGURE_INPUTS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction_pressure", "suction_line_temperature"),
    "subcooling": ("liquid_pressure", "liquid_line_temperature"),
}

_TRUSTED = ("ok", "uncalibrated")


class Situation(msgspec.Struct, frozen=True, kw_only=True):
    """What is known at one moment.

    doubts: of the readings, the surest first. alarms: what to stop for. running_s: since the compressor was first seen
    to run, in the unit's time; 0 at rest, None where nothing tells. at_rest: what the unit showed when it had rested
    for long. moves: of refrigerant at this visit, with what they did to the figure that shows the charge.
    """

    time_s: float
    monotonic_s: float
    unit: UnitAbout
    barometric_pressure_pa: float
    channels: Sequence[ChannelAbout]
    readings: Mapping[str, Reading]
    doubts: Sequence[Doubt] = ()
    alarms: Sequence[Alarm] = ()
    running_s: float | None = None
    at_rest: Mapping[str, Estimate] = {}
    moves: Sequence[Move] = ()

    def estimate(self, name: str) -> Estimate | None:
        """Give a reading with its uncertainty; None where it is unknown."""
        return estimate(self.readings.get(name))

    def trusted(self) -> dict[str, Estimate]:
        """Give what the channels measure: fresh, of good quality, and in no likely doubt."""
        doubted = {name for doubt in self.doubts if doubt.confidence >= LIKELY for name in doubt.channels}
        return {
            name: found
            for name, reading in self.readings.items()
            if name in CHANNELS and name not in doubted and reading.quality in _TRUSTED and (found := estimate(reading))
        }

    def doubt_of(self, figure: str) -> Doubt | None:
        """Find what is too doubtful among the readings that a figure comes from to go on."""
        inputs = set(FIGURE_INPUTS[figure])
        return next((it for it in self.doubts if it.confidence >= LIKELY and set(it.channels) & inputs), None)

    def is_late(self, figure: str) -> bool:
        """Tell whether an instrument that a figure comes from is late."""
        return self.readings[figure].quality == "stale"

    def accuracy(self, channel: str) -> float | None:
        """Give the ± limit of the instrument of a channel; None where there is none."""
        return next((about.accuracy for about in self.channels if about.name == channel), None)


def estimate(reading: Reading | None) -> Estimate | None:
    """Give a reading with its uncertainty; None where it is unknown."""
    if reading is None or reading.value is None:
        return None
    return Estimate(reading.value, reading.standard_uncertainty or 0.0)


def fresh(reading: Reading | None) -> Estimate | None:
    """Give a reading with its uncertainty; None where it is unknown or old."""
    return None if reading is None or reading.quality == "stale" else estimate(reading)


def find_target(figure: str, now: Situation) -> Target | NoTarget:
    """Take the target from the nameplate; for a fixed orifice whose nameplate is silent from the table."""
    unit = now.unit
    nameplate_dk = unit.target_superheat_dk if figure == "superheat" else unit.target_subcooling_dk
    if nameplate_dk is not None:
        return Target(Budget(nameplate_dk, {}), NAMEPLATE_SOURCE)
    if figure == "subcooling":
        return NoTarget("the nameplate's target is not configured: read it there, or in the maker's chart")
    try:
        return_wet_bulb, outdoor = _return_wet_bulb(now), now.estimate("outdoor_air_temperature")
        if return_wet_bulb is None or outdoor is None:
            return NoTarget(
                "take the target from the maker's chart; to look it up in a table, the wet bulb of the return air "
                "and the outdoor temperature are needed"
            )
        return find_target_superheat(return_wet_bulb, outdoor)
    except CalcRangeError as error:
        return NoTarget(str(error))


def _return_wet_bulb(now: Situation) -> Estimate | None:
    """Take the wet bulb as measured, or compute it from the return air's temperature and humidity."""
    measured = now.estimate("return_air_wet_bulb")
    if measured is not None:
        return measured
    dry_bulb, humidity = now.estimate("return_air_temperature"), now.estimate("return_air_humidity")
    if dry_bulb is None or humidity is None:
        return None
    pressure_pa = now.barometric_pressure_pa
    value_k = wet_bulb(dry_bulb.value, humidity.value, pressure_pa=pressure_pa)
    warmer_k = wet_bulb(dry_bulb.value + dry_bulb.standard_uncertainty, humidity.value, pressure_pa=pressure_pa)
    drier_k = wet_bulb(dry_bulb.value, humidity.value - humidity.standard_uncertainty, pressure_pa=pressure_pa)
    return Estimate(value_k, math.hypot(warmer_k - value_k, drier_k - value_k))
