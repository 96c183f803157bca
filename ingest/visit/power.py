"""What the rig itself reads of power: the one rule by which something is live, or draws."""

from collections.abc import Mapping
from typing import NamedTuple

from calc.estimate import Estimate
from calc.motor.supply import LIVE_V
from ingest.wire.messages import Reading

MOTORS = {
    "compressor_current": "compressor",
    "compressor_current_a": "compressor, L1",
    "compressor_current_b": "compressor, L2",
    "compressor_current_c": "compressor, L3",
    "condenser_fan_current": "condenser fan",
    "blower_current": "blower",
}
PAIRS = {"line_voltage_ab": "L1-L2", "line_voltage_bc": "L2-L3", "line_voltage_ca": "L3-L1"}
TRUSTED = ("ok", "uncalibrated")
"""Qualities of a reading that something may be held against, also where another one contradicts it."""
_LEAST_SPREAD = 0.05
"""Of a channel of which nobody said how well it measures [its unit]: what a clamp shows on nothing."""


class Power(NamedTuple):
    """What shows power. channel: that reads it. kind: of the sentence that says so. what: the pair or the motor.

    of: its quantity.
    """

    channel: str
    kind: str
    what: str
    found: Estimate
    of: str


def believed(readings: Mapping[str, Reading]) -> dict[str, Estimate]:
    """Give what may be held against what somebody says."""
    return {
        name: Estimate(it.value, _LEAST_SPREAD if it.standard_uncertainty is None else it.standard_uncertainty)
        for name, it in readings.items()
        if it.value is not None and it.quality in TRUSTED
    }


def power_in(rig: Mapping[str, Estimate]) -> Power | None:
    """Find what shows power: a pair at 50 V or more, or a motor's current above its ±; None where nothing does."""
    for name, pair in PAIRS.items():
        volts = rig.get(name)
        if volts is not None and volts.value >= LIVE_V:
            return Power(name, "finding.rig_live", pair, volts, "voltage")
    for name, motor in MOTORS.items():
        amps = rig.get(name)
        if amps is not None and amps.value > amps.expanded():
            return Power(name, "finding.rig_draws", motor, amps, "current")
    return None
