"""When to stop at once, and for how long such a reason stands."""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from calc.estimate import Estimate
from calc.heating import may_condense_indoors, may_defrost, mode_of
from calc.leaked_air import flammable_share
from calc.lift import has_no_lift, is_equalized
from calc.mode import FROST_K, Mode
from calc.quantities import Quantity
from calc.sentences import Sentence, figure, term
from calc.situation import Situation

_FAHRENHEIT_DK = 5 / 9


class AlarmKind(StrEnum):
    """Why to stop at once."""

    REFRIGERANT_IN_AIR = "refrigerant in the air"
    FLOODBACK = "floodback"
    HEAD_PRESSURE = "head pressure"
    DISCHARGE_LINE = "discharge line"
    COMPRESSOR_CURRENT = "compressor current"
    CYLINDER = "cylinder"


@dataclass(frozen=True, slots=True)
class Alarm:
    """Stop at once.

    Attributes:
        kind: what it is about.
        says: why, and what to do.
        measured: what is over its limit, or under it [unit of quantity].
        limit: likewise.
        quantity: what the two are.
        source: where the limit stands.
        channels: what it comes from.
        in_doubt: one of those contradicts others: no fact, but said.

    """

    kind: AlarmKind
    says: Sentence
    measured: Estimate
    limit: float
    quantity: Quantity
    source: str
    channels: tuple[str, ...] = ()
    in_doubt: bool = False


_STOPS = {
    AlarmKind.REFRIGERANT_IN_AIR: "leaving",
    AlarmKind.DISCHARGE_LINE: "running",
    AlarmKind.CYLINDER: "recovering",
}


def to_stop(kinds: Sequence[AlarmKind]) -> Sentence:
    """Say what is to be stopped, and for what; to leave comes first.

    >>> str(to_stop([AlarmKind.FLOODBACK]))
    'Add nothing: floodback.'
    """
    kinds = sorted(kinds, key=lambda kind: kind is not AlarmKind.REFRIGERANT_IN_AIR)
    acts = dict.fromkeys(_STOPS.get(kind, "adding") for kind in kinds)
    return Sentence("headline.alarm", (term("acts", *acts), term("kinds", *(kind.value for kind in kinds))))


_LEAST_SUPERHEAT_DK = 1.0
_MOST_OVER_OUTDOOR_DK = 45 * _FAHRENHEIT_DK
_MOST_OVER_INDOOR_DK = 60 * _FAHRENHEIT_DK
_IN_HEATING = (
    "60 °F (33 K) over the return air: common practice, no source; makers' tables of heating have up to 55 °F (31 K), "
    "at 60 °F (16 °C) outdoors"
)
_NEAR_DESIGN = 0.95
_LIKELY = 0.5
_OF_WHAT_BURNS = 0.25
_PRACTICE = "common practice, no source"
_MOST_DISCHARGE_K = 380.372
"""225 °F, near the compressor: above that oil breaks down. The maker's figure wins; common practice, no source."""
MOST_OVER_RLA = 1.4
"""Of rated load amps: what a motor draws that does not come up to speed, or is to be stopped; from memory."""


def alarms(
    now: Situation, since_start_s: float | None = None, doubted: Collection[str] = frozenset()
) -> tuple[Alarm, ...]:
    """List every reason to stop at once: what is likelier over its limit than not.

    One that comes from channels in doubt is told as in doubt, unless another of its kind is a fact.

    since_start_s: how long ago the compressor started, 0 at rest [s]; None where nothing tells. doubted: channels that
    contradict others.

    >>> [alarm.kind.value for alarm in alarms(Situation(measured={"superheat": Estimate(0.2, 0.5)}))]
    ['floodback']
    """
    found: dict[AlarmKind, Alarm] = {}
    over = [alarm for alarm in _candidates(now) if _is_over(alarm) and _counts(alarm.kind, since_start_s)]
    told = [replace(alarm, in_doubt=not set(doubted).isdisjoint(alarm.channels)) for alarm in over]
    for alarm in sorted(told, key=lambda alarm: alarm.in_doubt):
        found.setdefault(alarm.kind, alarm)
    return tuple(found.values())


def _candidates(now: Situation) -> Iterator[Alarm]:
    """Give an alarm for every limit that can be compared with what is measured, whether it is over or not.

    Of a condenser's air only where it is over.
    """
    superheat, liquid = now.measured.get("superheat"), now.measured.get("liquid_pressure")
    load = now.measured.get("compressor_load_ratio")
    if superheat is not None and _has_superheat(now):
        yield Alarm(
            AlarmKind.FLOODBACK,
            Sentence(
                "alarm.below_dew_point" if superheat.value < 0 else "alarm.little_superheat",
                (figure("found", superheat, Quantity.TEMPERATURE_DIFFERENCE),),
            ),
            superheat,
            _LEAST_SUPERHEAT_DK,
            Quantity.TEMPERATURE_DIFFERENCE,
            f"what instruments can tell from none; {_PRACTICE}",
            ("suction_pressure", "suction_line_temperature"),
        )
    if liquid is not None and now.design_pressure_pa is not None:
        yield Alarm(
            AlarmKind.HEAD_PRESSURE,
            Sentence("alarm.near_design_pressure"),
            liquid,
            _NEAR_DESIGN * now.design_pressure_pa,
            Quantity.PRESSURE,
            f"95 % of the design pressure on the nameplate: {_PRACTICE}",
            ("liquid_pressure",),
        )
    if (over_air := _over_air(now)) is not None:
        yield over_air
    if load is not None:
        yield Alarm(
            AlarmKind.COMPRESSOR_CURRENT,
            Sentence("alarm.compressor_current"),
            load,
            MOST_OVER_RLA,
            Quantity.RATIO,
            "1.4 times RLA: RLA is the maximum continuous current divided by 1.56 or 1.44 (trade press); from memory",
            ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c"),
        )
    yield from _of_discharge_and_air(now)
    if now.cylinder_refrigerant_kg is not None and now.cylinder_safe_fill_kg is not None:
        yield Alarm(
            AlarmKind.CYLINDER,
            Sentence("alarm.cylinder"),
            now.cylinder_refrigerant_kg,
            now.cylinder_safe_fill_kg,
            Quantity.MASS,
            "80 % of liquid at 77 °F (25 °C) at most: AHRI Guideline K; 70 % of what burns: common practice, no source",
            ("cylinder_mass",),
        )


def _of_discharge_and_air(now: Situation) -> Iterator[Alarm]:
    """Give the alarms of the discharge line, and of what burns in the air, which no compressor has to run for."""
    discharge, in_air = now.measured.get("discharge_line_temperature"), now.measured.get("refrigerant_in_air")
    flammable = flammable_share(now.refrigerant) if in_air is not None and now.refrigerant else None
    if discharge is not None:
        yield Alarm(
            AlarmKind.DISCHARGE_LINE,
            Sentence("alarm.discharge_line", (figure("found", discharge, Quantity.TEMPERATURE),)),
            discharge,
            _MOST_DISCHARGE_K,
            Quantity.TEMPERATURE,
            f"225 °F (107 °C), where the maker names none: {_PRACTICE}",
            ("discharge_line_temperature",),
        )
    if in_air is not None and flammable is not None:
        yield Alarm(
            AlarmKind.REFRIGERANT_IN_AIR,
            Sentence("alarm.refrigerant_in_air", (figure("found", in_air, Quantity.CONCENTRATION),)),
            in_air,
            _OF_WHAT_BURNS * flammable,
            Quantity.CONCENTRATION,
            "25 % of the lower flammable limit: servicing clauses after IEC 60335-2-40, from memory",
            ("refrigerant_in_air",),
        )


def _has_superheat(now: Situation) -> bool:
    """Tell whether superheat means anything: what pumps nothing floods nothing.

    A valve that turns for a defrost exchanges the sides, and liquid comes back to the accumulator that is made for it:
    common practice, no source. Where it is too warm for frost no valve turns: there the hoses are exchanged, and it is
    told until the doubt about them is.
    """
    if is_equalized(now):
        outdoor_k = now.value("outdoor_air_temperature")
        is_warm = outdoor_k is not None and outdoor_k >= FROST_K
        return is_warm and not has_no_lift(now) and mode_of(now) is not Mode.HEATING
    return not may_defrost(now)


def _over_air(now: Situation) -> Alarm | None:
    """Give the alarm of a condenser far above the air that it stands in: indoors where it heats, or may.

    Which of the two it stands in takes long to tell, many times in every minute: it is asked only where one is over.
    """
    indoor, outdoor = _over_indoor_air(now), _over_outdoor_air(now)
    if not any(alarm is not None and _is_over(alarm) for alarm in (indoor, outdoor)):
        return None
    return indoor if indoor is not None and may_condense_indoors(now) else outdoor


def _over_indoor_air(now: Situation) -> Alarm | None:
    over_indoor = now.difference("liquid_bubble_point", "return_air_temperature")
    if over_indoor is None:
        return None
    return Alarm(
        AlarmKind.HEAD_PRESSURE,
        Sentence("alarm.condenses_too_warm_indoors"),
        over_indoor,
        _MOST_OVER_INDOOR_DK,
        Quantity.TEMPERATURE_DIFFERENCE,
        _IN_HEATING,
        ("liquid_pressure", "return_air_temperature"),
    )


def _over_outdoor_air(now: Situation) -> Alarm | None:
    over_outdoor = now.measured.get("condensing_over_ambient")
    if over_outdoor is None:
        return None
    return Alarm(
        AlarmKind.HEAD_PRESSURE,
        Sentence("alarm.condenses_too_warm"),
        over_outdoor,
        _MOST_OVER_OUTDOOR_DK,
        Quantity.TEMPERATURE_DIFFERENCE,
        _PRACTICE,
        ("liquid_pressure", "outdoor_air_temperature"),
    )


def _is_over(alarm: Alarm) -> bool:
    """Tell whether it is likelier than not beyond its limit; superheat must not be below it."""
    below = alarm.measured.probability_within(-math.inf, alarm.limit)
    return (below if alarm.kind is AlarmKind.FLOODBACK else 1 - below) >= _LIKELY


def _counts(kind: AlarmKind, since_start_s: float | None) -> bool:
    """Tell whether an alarm means anything: at rest there is no superheat to have, and a start passes."""
    return since_start_s is None or since_start_s >= STARTING_S.get(kind, 0.0)


CLEAR_S = 10.0
"""So long its reason must be gone before an alarm ends, or one at its limit would flicker: common practice, no source.
"""

STARTING_S: Mapping[AlarmKind, float] = MappingProxyType(
    {AlarmKind.FLOODBACK: 120.0, AlarmKind.COMPRESSOR_CURRENT: 10.0, AlarmKind.DISCHARGE_LINE: 60.0}
)
"""After a start every compressor gets some liquid, and draws its inrush current; a line that was hot as it stopped is
so still: common practice, no source."""


class AlarmChange(NamedTuple):
    """Which alarms are new, and which have ended."""

    raised: Sequence[Alarm]
    ended: Sequence[Alarm]


class AlarmWatch:
    """Keeps the alarms that stand: a fact and one in doubt are two. standing: those that stood when last seen [s]."""

    def __init__(self, standing: Sequence[Alarm] = (), seen_s: float = 0.0) -> None:
        self._standing = {_key(alarm): alarm for alarm in standing}
        self._seen_s = dict.fromkeys(self._standing, seen_s)
        self._since_s = dict.fromkeys(self._standing, -math.inf)

    def follow(self, found: Sequence[Alarm], monotonic_s: float) -> AlarmChange:
        """Take what there is to stop for at this moment."""
        raised = [alarm for alarm in found if _key(alarm) not in self._standing]
        for alarm in found:
            self._standing[_key(alarm)] = _worded_as(alarm, self._standing.get(_key(alarm)))
            self._seen_s[_key(alarm)] = monotonic_s
            self._since_s.setdefault(_key(alarm), monotonic_s)
        ended = [alarm for key, alarm in self._standing.items() if monotonic_s - self._seen_s[key] >= CLEAR_S]
        for alarm in ended:
            del self._standing[_key(alarm)], self._since_s[_key(alarm)]
        return AlarmChange(raised, ended)

    def is_fact(self, monotonic_s: float) -> bool:
        """Tell whether a fact stands; floodback that just began may be the stop, whose amps are read a little later."""
        return any(
            not alarm.in_doubt
            and (alarm.kind is not AlarmKind.FLOODBACK or monotonic_s - self._since_s[key] >= CLEAR_S)
            for key, alarm in self._standing.items()
        )

    def is_on_amps(self) -> bool:
        """Tell whether the compressor's amps stand as a fact: where its own protector stops it, that closes again."""
        return (AlarmKind.COMPRESSOR_CURRENT, False) in self._standing

    def standing(self) -> tuple[Alarm, ...]:
        """Give the alarms that stand, the oldest first."""
        return tuple(self._standing.values())


def _worded_as(alarm: Alarm, standing: Alarm | None) -> Alarm:
    """Keep an alarm as it was told until its figure has moved by its ±: words that change each second are not read.

    The words of superheat below zero stay for as long as it stands.
    """
    below = "alarm.below_dew_point"
    if standing is None or standing.quantity is not alarm.quantity:
        return alarm
    if alarm.says.kind == below != standing.says.kind:
        return alarm
    if abs(alarm.measured.value - standing.measured.value) <= standing.measured.expanded():
        return replace(standing, limit=alarm.limit, source=alarm.source)
    if standing.says.kind != below:
        return alarm
    return replace(alarm, says=replace(alarm.says, kind=below))


def _key(alarm: Alarm) -> tuple[AlarmKind, bool]:
    return alarm.kind, alarm.in_doubt
