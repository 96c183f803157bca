"""Pressures that cannot be: exchanged probes, and a unit or a reference that was stated as the other one."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from calc.doubts.observed import (
    COVERAGE,
    CYCLE,
    LIKELY,
    POSSIBLE,
    SURE,
    Doubt,
    clearly_above,
    lies_within,
    over_dew_point_dk,
    shift_pa,
    under_bubble_point_dk,
)
from calc.errors import CalcRangeError
from calc.heating import mode_of
from calc.lift import has_no_lift
from calc.mode import Mode
from calc.saturation import bubble_point, dew_point
from calc.sentences import Sentence, term
from calc.situation import Situation

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


def pressure_in_other_unit(now: Situation) -> Iterator[Doubt]:
    """Find a number that makes sense only in kPa where it was taken in psi, or the other way round.

    Not where the two are one: that is no slip of either, but a compressor that pumps nothing.
    """
    if has_no_lift(now):
        return
    for channel, other in (("suction_pressure", "liquid_pressure"), ("liquid_pressure", "suction_pressure")):
        pressure_pa = now.value(channel)
        if not now.running or pressure_pa is None or _is_ordinary(now, channel, pressure_pa):
            continue
        if channel == "suction_pressure" and mode_of(now) is Mode.HEATING:
            continue  # at the large line's valve there stands the discharge
        if _is_ordinary(now, channel, now.value(other)) and _is_ordinary(now, other, pressure_pa):
            continue  # exchanged, rather
        gauge_pa = pressure_pa - now.site_pressure_pa
        for taken, sent, shrinks in (("psi", "kPa", _KPA_PER_PSI), ("kPa", "psi", 1 / _KPA_PER_PSI)):
            if _is_ordinary(now, channel, gauge_pa / shrinks + now.site_pressure_pa):
                yield Doubt(
                    (channel,),
                    Sentence("doubt.other_unit", (term("taken", taken), term("sent", sent))),
                    Sentence("fix.other_unit", (term("sent", sent),)),
                    LIKELY if shrinks > 1 else POSSIBLE,  # a unit that is nearly empty has such low pressures too
                )


def _is_ordinary(now: Situation, channel: str, pressure_pa: float | None) -> bool:
    if pressure_pa is None:
        return False
    point = dew_point if channel == "suction_pressure" else bubble_point
    try:
        return lies_within(point(now.refrigerant, pressure_pa), _ORDINARY_K[channel])
    except CalcRangeError:
        return False


def pressures_exchanged(now: Situation) -> Iterator[Doubt]:
    """Find a suction pressure above the liquid pressure while the compressor runs, or may run, and does not heat."""
    is_above = clearly_above(now.difference("suction_pressure", "liquid_pressure"), 0.0)
    if now.running is not False and is_above and mode_of(now) is not Mode.HEATING:
        yield Doubt(
            ("suction_pressure", "liquid_pressure"),
            Sentence("doubt.pressures_exchanged"),
            Sentence("fix.pressures_exchanged"),
            SURE if now.running else LIKELY,
            CYCLE,
        )


def reference_mixed_up_in_air(now: Situation) -> Iterator[Doubt]:
    """Find a probe that may be open to the air and is off by just the barometric pressure."""
    for channel, reference in now.references.items():
        reading = now.measured.get(channel)
        if reading is None or now.running:
            continue
        would_read_pa = 2 * now.site_pressure_pa if reference == "gauge" else 0.0
        if abs(reading.value - would_read_pa) < _OPEN_TO_AIR_PA + COVERAGE * reading.standard_uncertainty:
            yield _mixed_up(now, channel, "open_to_air", LIKELY)


def reference_mixed_up_at_rest(now: Situation) -> Iterator[Doubt]:
    """Find a pressure that belongs to the temperature which everything has at rest, but for the barometric pressure."""
    lines = ("suction_line_temperature", "liquid_line_temperature", "outdoor_air_temperature")
    temperatures_k = [value for name in lines if (value := now.value(name)) is not None]
    if now.running is not False or len(temperatures_k) < 2:
        return
    apart_dk = max(temperatures_k) - min(temperatures_k)
    ambient_k = sum(temperatures_k) / len(temperatures_k)
    figures = {"suction_pressure": over_dew_point_dk, "liquid_pressure": under_bubble_point_dk}
    for channel, over_dk in figures.items():
        if channel not in now.references or apart_dk > _ISOTHERMAL_DK:
            continue
        as_is = over_dk(now, line_k=ambient_k)
        shifted = over_dk(now, line_k=ambient_k, by_pa=shift_pa(now, channel))
        if as_is is None or shifted is None:
            continue
        if abs(as_is) > apart_dk / 2 + _MODEL_DK and abs(shifted) < abs(as_is) / 2:
            yield _mixed_up(now, channel, "at_rest", POSSIBLE)


def _mixed_up(now: Situation, channel: str, where: str, confidence: float) -> Doubt:
    is_gauge = now.references[channel] == "gauge"
    return Doubt(
        (channel,),
        Sentence(f"doubt.reference_{where}", (term("side", "above" if is_gauge else "below"),)),
        Sentence("fix.reference", (term("sent", "absolute" if is_gauge else "gauge"),)),
        confidence,
    )
