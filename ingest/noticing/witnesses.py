"""What other instruments find of the supply while a meter proves it dead."""

from calc.motor.supply import LIVE_V
from ingest.noticing.motors import LINES, ZERO_A, line_volts, motor_amps
from ingest.noticing.sight import Sight

LONGEST_S = 900.0
"""A live reading from longer ago proves no tester: common practice, no source."""
WITNESS_S = 10.0
"""So long a voltmeter of the supply may take to be read again: common practice, no source."""


def is_dead_elsewhere(sight: Sight) -> bool:
    """Tell whether other instruments, of which there is one at least, find nothing live either."""
    return bool(motor_amps(sight) or line_volts(sight)) and not is_live_elsewhere(sight)


def is_live_elsewhere(sight: Sight) -> bool:
    """Tell whether a motor draws, or a voltmeter of the supply finds it live: what was dead before is no more."""
    return any(each > ZERO_A for each in motor_amps(sight)) or any(each >= LIVE_V for each in line_volts(sight))


def is_other_source(sight: Sight, since_s: float) -> bool | None:
    """Tell whether the meter is on another source than the supply: every voltmeter of that was read dead since.

    None where one was not read since, or there is none.
    """
    readings = [reading for name in LINES if (reading := sight.reading(name)) is not None]
    if any((reading.value or 0.0) >= LIVE_V for reading in readings):
        return False
    return True if readings and all(reading.time_s >= since_s for reading in readings) else None


def reads_supply(sight: Sight) -> bool:
    """Tell whether any voltmeter of the supply is read."""
    return any(sight.reading(name) is not None for name in LINES)
