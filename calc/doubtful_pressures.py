"""Pressures that cannot be: exchanged probes, and a reference that was stated as the other one."""

from collections.abc import Iterator

from calc.observed import COVERAGE, CYCLE, LIKELY, POSSIBLE, SURE, Doubt, Observed, clearly_above

_OPEN_TO_AIR_PA = 4e3
"""An open probe within this of what it should read has its reference mixed up, not its zero: no source."""

_ISOTHERMAL_DK = 3.0
"""Lines and outdoor air that agree so far belong to a unit that has rested for long: no source."""

_MODEL_DK = 1.0
"""How well a dew point is expected to match at rest, beside what the temperatures differ: no source."""


def pressures_exchanged(now: Observed) -> Iterator[Doubt]:
    """Find a suction pressure above the liquid pressure while the compressor runs, or may run."""
    if now.running is not False and clearly_above(now.difference("suction_pressure", "liquid_pressure"), 0.0):
        yield Doubt(
            ("suction_pressure", "liquid_pressure"),
            "The suction pressure is above the liquid pressure: a compressor that runs raises the pressure.",
            "Exchange the two hoses or probes. A heat pump that heats exchanges them by itself: switch it to cooling.",
            SURE if now.running else LIKELY,
            CYCLE,
        )


def reference_mixed_up_in_air(now: Observed) -> Iterator[Doubt]:
    """Find a probe that may be open to the air and is off by just the barometric pressure."""
    for channel, reference in now.references.items():
        reading = now.readings.get(channel)
        if reading is None or now.running:
            continue
        would_read_pa = 2 * now.barometric_pressure_pa if reference == "gauge" else 0.0
        if abs(reading.value - would_read_pa) < _OPEN_TO_AIR_PA + COVERAGE * reading.standard_uncertainty:
            yield _mixed_up(now, channel, "If the probe is open to the air, it", LIKELY)


def reference_mixed_up_at_rest(now: Observed) -> Iterator[Doubt]:
    """Find a pressure that belongs to the temperature which everything has at rest, but for the barometric pressure."""
    lines = ("suction_line_temperature", "liquid_line_temperature", "outdoor_air_temperature")
    temperatures_k = [value for name in lines if (value := now.value(name)) is not None]
    if now.running is not False or len(temperatures_k) < 2:
        return
    apart_dk = max(temperatures_k) - min(temperatures_k)
    ambient_k = sum(temperatures_k) / len(temperatures_k)
    figures = {"suction_pressure": now.superheat_dk, "liquid_pressure": now.subcooling_dk}
    for channel, over_dk in figures.items():
        if channel not in now.references or apart_dk > _ISOTHERMAL_DK:
            continue
        as_is = over_dk(line_k=ambient_k)
        shifted = over_dk(line_k=ambient_k, shift_pa=now.shift_pa(channel))
        if as_is is None or shifted is None:
            continue
        if abs(as_is) > apart_dk / 2 + _MODEL_DK and abs(shifted) < abs(as_is) / 2:
            yield _mixed_up(now, channel, "For a unit that has rested, it", POSSIBLE)


def _mixed_up(now: Observed, channel: str, where: str, confidence: float) -> Doubt:
    is_gauge = now.references[channel] == "gauge"
    sent = "absolute" if is_gauge else "gauge"
    return Doubt(
        (channel,),
        f"{where} reads one barometric pressure {'above' if is_gauge else 'below'} what it should.",
        f"The probe may send {sent} pressure: look into its papers, and configure its reference as {sent}.",
        confidence,
    )
