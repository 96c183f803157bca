"""Which motors draw, as clamps and the nameplate say."""

from ingest.noticing.sight import Known, Sight
from ingest.wire.sheet import Motor

COMPRESSOR = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")
FANS = ("condenser_fan_current", "blower_current")
MOTORS = (*COMPRESSOR, *FANS)
LINES = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")

ZERO_A = 0.25
"""What a clamp shows around a lead that carries nothing, at most: common practice, no source."""
RUNNING_SHARE = 0.1
"""Of the rated amps: contactor in, and the compressor draws (common practice, no source)."""
RUNNING_A = 1.0
"""Where the plate is silent, likewise."""


def compressor_a(sight: Sight) -> float | None:
    """Give the compressor's amps: of its one channel, or the mean of its phases [A]."""
    whole = sight.value(COMPRESSOR[0])
    if whole is not None:
        return whole
    phases = [amps for name in COMPRESSOR[1:] if (amps := sight.value(name)) is not None]
    return sum(phases) / len(phases) if phases else None


def runs(sight: Sight) -> bool | None:
    """Tell whether the compressor draws; None where no clamp tells."""
    amps = compressor_a(sight)
    if amps is None:
        return None
    rated_a = sight.known.unit.compressor_rla_a
    return amps > (RUNNING_SHARE * rated_a if rated_a else RUNNING_A)


def motor_amps(sight: Sight) -> list[float]:
    """Give the amps of every motor that a clamp tells of [A]."""
    return [amps for name in MOTORS if (amps := sight.value(name)) is not None]


def line_volts(sight: Sight) -> list[float]:
    """Give the volts of every pair that a voltmeter of the supply tells of [V]."""
    return [volts for name in LINES if (volts := sight.value(name)) is not None]


def is_on_another_lead(channel: str, known: Known) -> bool:
    """Tell whether somebody put a motor's clamp on a part that is not that motor, such as a capacitor."""
    on = known.places.get(channel)
    drives = COMPRESSOR[0] if channel in COMPRESSOR else channel
    named = [part for part in (known.sheet.parts if known.sheet else ()) if part.name == on]
    return any(not isinstance(part, Motor) or f"{part.drives}_current" != drives for part in named)
