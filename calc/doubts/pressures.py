"""Pressures that cannot be: exchanged probes, and a unit or a reference that was stated as the other one."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from calc.doubts.observed import COVERAGE, CYCLE, LIKELY, POSSIBLE, SURE, Doubt, Observed, clearly_above, lies_within
from calc.errors import CalcRangeError
from calc.saturation import bubble_point, dew_point

_OPEN_TO_AIR_PA = 4e3
"""An open probe within this of what it should read has its reference mixed up, not its zero: no source."""

_ISOTHERMAL_DK = 3.0
"""Lines and outdoor air that agree so far belong to a unit that has rested for long: no source."""

_MODEL_DK = 1.0
"""How well a dew point is expected to match at rest, beside what the temperatures differ: no source."""


_ORDINARY_K: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"suction_pressure": (240.0, 300.0), "liquid_pressure": (280.0, 345.0)}
)
"""Dew and bubble points between which a unit that cools works, ill or well: common practice, no source."""

_KPA_PER_PSI = 6.894757  # NIST SP 811, B.8


def pressure_in_other_unit(now: Observed) -> Iterator[Doubt]:
    """Find a number that makes sense only in kPa where it was taken in psi, or the other way round."""
    for channel, other in (("suction_pressure", "liquid_pressure"), ("liquid_pressure", "suction_pressure")):
        pressure_pa = now.value(channel)
        if not now.running or pressure_pa is None or _is_ordinary(now, channel, pressure_pa):
            continue
        if _is_ordinary(now, channel, now.value(other)) and _is_ordinary(now, other, pressure_pa):
            continue  # exchanged, rather
        gauge_pa = pressure_pa - now.barometric_pressure_pa
        for taken, sent, shrinks in (("psi", "kPa", _KPA_PER_PSI), ("kPa", "psi", 1 / _KPA_PER_PSI)):
            if _is_ordinary(now, channel, gauge_pa / shrinks + now.barometric_pressure_pa):
                yield Doubt(
                    (channel,),
                    f"Taken as {taken} its number is out of the way; as {sent} it would be ordinary.",
                    f"See whether the probe is set to {sent}, and configure its unit as what it sends.",
                    LIKELY if shrinks > 1 else POSSIBLE,  # a unit that is nearly empty has such low pressures too
                )


def _is_ordinary(now: Observed, channel: str, pressure_pa: float | None) -> bool:
    if pressure_pa is None:
        return False
    point = dew_point if channel == "suction_pressure" else bubble_point
    try:
        return lies_within(point(now.refrigerant, pressure_pa), _ORDINARY_K[channel])
    except CalcRangeError:
        return False


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
