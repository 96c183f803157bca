"""What one tick computes: every figure that derives from a rig's readings."""

import timeit
from collections.abc import Iterator

from ingest.derive import derive
from ingest.wire.messages import Reading
from tests.figures import Figure
from tests.ingest.test_derive import fahrenheit, psig, unit

READINGS = {
    "suction_pressure": psig(118),
    "liquid_pressure": psig(345),
    "suction_line_temperature": fahrenheit(51),
    "liquid_line_temperature": fahrenheit(96),
    "return_air_temperature": fahrenheit(75),
    "supply_air_temperature": fahrenheit(56),
    "outdoor_air_temperature": fahrenheit(86),
    "compressor_current": Reading(7.8, 100.0),
    "condenser_fan_current": Reading(1.6, 100.0),
}
ROUNDS = 20
TICKS = 200
TICK_S = 0.25


def measure() -> Iterator[Figure]:
    """Time the derivations of a rig with the channels of the bench."""
    at = unit()
    figures = len(derive(READINGS, at))
    seconds = min(timeit.repeat(lambda: derive(READINGS, at), number=TICKS, repeat=ROUNDS)) / TICKS
    measured = f"{seconds * 1e6:.0f} us for {figures} figures, {seconds / TICK_S:.3%} of the tick"
    yield Figure("a whole tick's derivations", measured, "-")
