"""Temperatures that cannot be: clamps exchanged or beside their pipe, air probes exchanged, the other scale."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from calc.doubts.observed import (
    CYCLE,
    LIKELY,
    POSSIBLE,
    SECOND_LAW,
    SURE,
    Doubt,
    clearly_above,
    lies_within,
    over_dew_point_dk,
    shift_pa,
    under_bubble_point_dk,
)
from calc.heating import mode_of
from calc.lift import has_no_lift
from calc.mode import Mode
from calc.sentences import Sentence, term
from calc.situation import Situation

_USUAL_DK = (-1.0, 25.0)
"""Superheat and subcooling of a unit that may be ill, but whose instruments are well: common practice, no source."""

_LEAST_THINKABLE_DK = -3.0
"""Glide and the pressure drop from probe to clamp explain no less than this: common practice, no source."""

_THINKABLE_DK: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"suction_line_temperature": (-10.0, 45.0), "liquid_line_temperature": (-10.0, 30.0)}
)
"""Beyond these a superheat or subcooling comes from no illness and no other slip either: common practice, no source."""

_STARVED_DK = 15.0
_FULL_DK = 3.0
_OFF_PIPE_DK = 1.5
"""A superheat no fed coil has, a subcooling no starved one has, and how near the air a loose clamp reads: no source."""

_NO_CONDENSER_DK = 10.0
"""With so much subcooling some difference to the air is left, since a condenser is not endless: no source."""


def clamps_exchanged(now: Situation) -> Iterator[Doubt]:
    """Find two clamps that make sense only the other way round."""
    suction_k, liquid_k = now.value("suction_line_temperature"), now.value("liquid_line_temperature")
    superheat_dk, subcooling_dk = over_dew_point_dk(now), under_bubble_point_dk(now)
    if not now.running or superheat_dk is None or subcooling_dk is None:
        return
    if min(superheat_dk, subcooling_dk) <= _USUAL_DK[1]:
        return
    as_usual = lies_within(over_dew_point_dk(now, line_k=liquid_k), _USUAL_DK)
    if as_usual and lies_within(under_bubble_point_dk(now, line_k=suction_k), _USUAL_DK):
        yield Doubt(
            ("suction_line_temperature", "liquid_line_temperature"),
            Sentence("doubt.clamps_exchanged"),
            Sentence("fix.clamps_exchanged"),
            SURE,
        )


def suction_clamp_beside_its_pipe(now: Situation) -> Iterator[Doubt]:
    """Find a suction line as warm as the air, with a liquid line that is full."""
    superheat_dk, subcooling_dk = over_dew_point_dk(now), under_bubble_point_dk(now)
    if not now.running or superheat_dk is None or subcooling_dk is None:
        return
    air = [name for name in ("outdoor_air", "return_air") if _reads_like(now, "suction", name)]
    if air and superheat_dk > _STARVED_DK and subcooling_dk > _FULL_DK:
        above_return = now.difference("suction_line_temperature", "return_air_temperature")
        yield Doubt(
            ("suction_line_temperature",),
            Sentence("doubt.suction_clamp_loose", (term("air", air[0]),)),
            Sentence("fix.suction_clamp_loose"),
            LIKELY if clearly_above(above_return, _OFF_PIPE_DK) else POSSIBLE,
        )


def liquid_clamp_beside_its_pipe(now: Situation) -> Iterator[Doubt]:
    """Find a liquid line as warm as the outdoor air, and with it much subcooling."""
    subcooling_dk = under_bubble_point_dk(now)
    if not now.running or subcooling_dk is None or not _reads_like(now, "liquid", "outdoor_air"):
        return
    if subcooling_dk > _NO_CONDENSER_DK:
        yield Doubt(
            ("liquid_line_temperature",),
            Sentence("doubt.liquid_clamp_loose"),
            Sentence("fix.liquid_clamp_loose"),
            POSSIBLE,
        )


def _reads_like(now: Situation, side: str, air: str) -> bool:
    apart = now.difference(f"{side}_line_temperature", f"{air}_temperature")
    return apart is not None and abs(apart.value) < _OFF_PIPE_DK + apart.standard_uncertainty


def liquid_line_below_outdoor_air(now: Situation) -> Iterator[Doubt]:
    """Find a liquid line that would have been cooled by warmer air."""
    below = now.difference("outdoor_air_temperature", "liquid_line_temperature")
    if now.running and clearly_above(below, _OFF_PIPE_DK):
        yield Doubt(
            ("liquid_line_temperature", "outdoor_air_temperature"),
            Sentence("doubt.liquid_line_too_cold"),
            Sentence("fix.liquid_line_too_cold"),
            LIKELY,
            SECOND_LAW,
        )


def line_beyond_saturation(now: Situation) -> Iterator[Doubt]:
    """Find vapour below its dew point and liquid above its bubble point.

    Not where the two pressures are one: the lines of a compressor that pumps nothing are as warm as the air.
    """
    if has_no_lift(now):
        return
    for side, over_dk in (
        ("suction", over_dew_point_dk),
        ("liquid", under_bubble_point_dk),
    ):
        found_dk, pressure = over_dk(now), f"{side}_pressure"
        if not now.running or found_dk is None or found_dk > _LEAST_THINKABLE_DK:
            continue
        fix = Sentence("fix.line_beyond_saturation")
        if pressure in now.references and lies_within(over_dk(now, by_pa=shift_pa(now, pressure)), _USUAL_DK):
            fix = Sentence("fix.line_or_reference")
        reason = Sentence(f"doubt.{side}_line_beyond_saturation")
        yield Doubt((pressure, f"{side}_line_temperature"), reason, fix, POSSIBLE, CYCLE)


def air_exchanged(now: Situation) -> Iterator[Doubt]:
    """Find supply air that comes out warmer than it went in, of a unit that does not heat."""
    warmer = now.difference("supply_air_temperature", "return_air_temperature")
    if now.running and clearly_above(warmer, _OFF_PIPE_DK) and mode_of(now) is not Mode.HEATING:
        yield Doubt(
            ("return_air_temperature", "supply_air_temperature"),
            Sentence("doubt.air_exchanged"),
            Sentence("fix.air_exchanged"),
            LIKELY,
        )


_ORDINARY_K: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "return_air_temperature": (283.0, 313.0),
        "return_air_wet_bulb": (278.0, 305.0),
        "supply_air_temperature": (273.0, 308.0),
        "outdoor_air_temperature": (250.0, 328.0),
        "suction_line_temperature": (245.0, 313.0),
        "liquid_line_temperature": (273.0, 338.0),
        "discharge_line_temperature": (305.0, 420.0),
    }
)
"""What the temperatures of a unit that cools lie between, ill or well: common practice, no source."""


def other_scale(now: Situation) -> Iterator[Doubt]:
    """Find a number that makes sense only as °F where it was taken as °C, or the other way round."""
    for channel in _ORDINARY_K:
        number_k = now.value(channel)
        if now.running is False or number_k is None or _is_thinkable(now, channel, number_k):
            continue
        sent = {
            "°F": (number_k - 273.15 + 459.67) / 1.8,  # were the number taken as °C
            "°C": number_k * 1.8 - 459.67 + 273.15,  # were it taken as °F
        }
        for scale, taken in (("°F", "°C"), ("°C", "°F")):
            over_dk = _over_saturation_dk(now, channel, sent[scale])
            if lies_within(sent[scale], _ORDINARY_K[channel]) and (over_dk is None or lies_within(over_dk, _USUAL_DK)):
                yield Doubt(
                    (channel,),
                    Sentence("doubt.other_scale", (term("taken", taken), term("sent", scale))),
                    Sentence("fix.other_scale", (term("sent", scale),)),
                    LIKELY,
                )


def _is_thinkable(now: Situation, channel: str, temperature_k: float) -> bool:
    if channel == "supply_air_temperature" and mode_of(now) is Mode.HEATING:
        return True
    if not lies_within(temperature_k, _ORDINARY_K[channel]):
        return False
    over_dk = _over_saturation_dk(now, channel, temperature_k) if now.running else None
    return over_dk is None or lies_within(over_dk, _THINKABLE_DK[channel])


def _over_saturation_dk(now: Situation, channel: str, temperature_k: float) -> float | None:
    """Give the superheat or subcooling that a line would have at this temperature [K]; None where there is none."""
    if channel == "suction_line_temperature":
        return over_dew_point_dk(now, line_k=temperature_k)
    if channel == "liquid_line_temperature":
        return under_bubble_point_dk(now, line_k=temperature_k)
    return None
