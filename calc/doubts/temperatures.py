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
    Observed,
    clearly_above,
    lies_within,
)

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


def clamps_exchanged(now: Observed) -> Iterator[Doubt]:
    """Find two clamps that make sense only the other way round."""
    suction_k, liquid_k = now.value("suction_line_temperature"), now.value("liquid_line_temperature")
    superheat_dk, subcooling_dk = now.superheat_dk(), now.subcooling_dk()
    if not now.running or superheat_dk is None or subcooling_dk is None:
        return
    if min(superheat_dk, subcooling_dk) <= _USUAL_DK[1]:
        return
    as_usual = lies_within(now.superheat_dk(line_k=liquid_k), _USUAL_DK)
    if as_usual and lies_within(now.subcooling_dk(line_k=suction_k), _USUAL_DK):
        yield Doubt(
            ("suction_line_temperature", "liquid_line_temperature"),
            "Both lines are far from their saturation; the other way round, both would be as usual.",
            "Exchange the two clamps, or their names.",
            SURE,
        )


def suction_clamp_beside_its_pipe(now: Observed) -> Iterator[Doubt]:
    """Find a suction line as warm as the air, with a liquid line that is full."""
    superheat_dk, subcooling_dk = now.superheat_dk(), now.subcooling_dk()
    if not now.running or superheat_dk is None or subcooling_dk is None:
        return
    air = [name for name in ("outdoor_air", "return_air") if _reads_like(now, "suction", name)]
    if air and superheat_dk > _STARVED_DK and subcooling_dk > _FULL_DK:
        above_return = now.difference("suction_line_temperature", "return_air_temperature")
        yield Doubt(
            ("suction_line_temperature",),
            f"The suction line reads as warm as the {air[0].replace('_', ' ')}, yet the liquid line is full: a coil "
            "that is fed does not give so much superheat.",
            "Seat the clamp on clean pipe and insulate it from the air; if it sits well, look for a restriction.",
            LIKELY if clearly_above(above_return, _OFF_PIPE_DK) else POSSIBLE,
        )


def liquid_clamp_beside_its_pipe(now: Observed) -> Iterator[Doubt]:
    """Find a liquid line as warm as the outdoor air, and with it much subcooling."""
    subcooling_dk = now.subcooling_dk()
    if not now.running or subcooling_dk is None or not _reads_like(now, "liquid", "outdoor_air"):
        return
    if subcooling_dk > _NO_CONDENSER_DK:
        yield Doubt(
            ("liquid_line_temperature",),
            "The liquid line reads as warm as the outdoor air: a condenser leaves some difference between them.",
            "Seat the clamp on clean pipe and insulate it from the air; if it sits well, the unit may be overcharged.",
            POSSIBLE,
        )


def _reads_like(now: Observed, side: str, air: str) -> bool:
    apart = now.difference(f"{side}_line_temperature", f"{air}_temperature")
    return apart is not None and abs(apart.value) < _OFF_PIPE_DK + apart.standard_uncertainty


def liquid_line_below_outdoor_air(now: Observed) -> Iterator[Doubt]:
    """Find a liquid line that would have been cooled by warmer air."""
    below = now.difference("outdoor_air_temperature", "liquid_line_temperature")
    if now.running and clearly_above(below, _OFF_PIPE_DK):
        yield Doubt(
            ("liquid_line_temperature", "outdoor_air_temperature"),
            "The liquid line reads colder than the outdoor air that cools it.",
            "Keep the outdoor probe out of the sun and of the condenser's own discharge; see whether the liquid clamp "
            "sits behind a restriction.",
            LIKELY,
            SECOND_LAW,
        )


def line_beyond_saturation(now: Observed) -> Iterator[Doubt]:
    """Find vapour below its dew point and liquid above its bubble point."""
    for side, over_dk, limit in (
        ("suction", now.superheat_dk, "colder than its dew point"),
        ("liquid", now.subcooling_dk, "warmer than its bubble point"),
    ):
        found_dk, pressure = over_dk(), f"{side}_pressure"
        if not now.running or found_dk is None or found_dk > _LEAST_THINKABLE_DK:
            continue
        fix = "Check the probe in air and the clamp in ice; make sure that the refrigerant is what the plate says."
        if pressure in now.references and lies_within(over_dk(shift_pa=now.shift_pa(pressure)), _USUAL_DK):
            fix = f"One barometric pressure would explain it: is the probe's reference gauge or absolute? {fix}"
        reason = f"The {side} line reads {limit}."
        yield Doubt((pressure, f"{side}_line_temperature"), reason, fix, POSSIBLE, CYCLE)


def air_exchanged(now: Observed) -> Iterator[Doubt]:
    """Find supply air that comes out warmer than it went in."""
    warmer = now.difference("supply_air_temperature", "return_air_temperature")
    if now.running and clearly_above(warmer, _OFF_PIPE_DK):
        yield Doubt(
            ("return_air_temperature", "supply_air_temperature"),
            "The supply air reads warmer than the return air while the compressor runs.",
            "Exchange the two air probes, or their names. A heat pump that heats does this by itself.",
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


def other_scale(now: Observed) -> Iterator[Doubt]:
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
                    f"As {taken} its number is out of the way; as {scale} it would be ordinary.",
                    f"See whether the instrument is set to {scale}, and configure its unit as what it sends.",
                    LIKELY,
                )


def _is_thinkable(now: Observed, channel: str, temperature_k: float) -> bool:
    if not lies_within(temperature_k, _ORDINARY_K[channel]):
        return False
    over_dk = _over_saturation_dk(now, channel, temperature_k) if now.running else None
    return over_dk is None or lies_within(over_dk, _THINKABLE_DK[channel])


def _over_saturation_dk(now: Observed, channel: str, temperature_k: float) -> float | None:
    """Give the superheat or subcooling that a line would have at this temperature [K]; None where there is none."""
    if channel == "suction_line_temperature":
        return now.superheat_dk(line_k=temperature_k)
    if channel == "liquid_line_temperature":
        return now.subcooling_dk(line_k=temperature_k)
    return None
