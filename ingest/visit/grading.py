"""How a finding is known: figure by figure, and as a whole no better than the weakest figure that its rule needs."""

from collections.abc import Callable, Collection, Mapping
from typing import TYPE_CHECKING, get_args

from calc.estimate import Estimate
from ingest.visit.answers import AnswerError, Verdict, find_figure
from ingest.wire.checklist import Check
from ingest.wire.messages import Finding, FindingAsk, Grade
from ingest.wire.texts import shown

if TYPE_CHECKING:
    from ingest.visit.deciding import Facts

PUT_ON = "probes_on"
LINGERS_S = 60.0
"""So long after its last number a figure may still have been taken from an instrument: common practice, no source."""
_WEAKER: tuple[Grade, ...] = get_args(Grade)
"""The best first."""


def channels_of(check: Check, name: str) -> list[str]:
    """Name the channels that show a value."""
    figure, of = find_figure(check, name)
    return [*figure.channels.get(of, ()), *(figure.channels.get("", ()) if of else ())]


def is_linked(check: Check, name: str, known: "Facts") -> bool:
    """Tell whether a linked instrument beyond doubt measures a value."""
    return bool(_linked(check, name, known))


def away(check: Check, names: Collection[str], known: "Facts") -> str:
    """Say why what would measure these values does not read them here; empty where nothing is elsewhere."""
    channels = {channel for name in names for channel in channels_of(check, name)}
    elsewhere = {name: it.reason for name, it in known.readings.items() if it.quality == "elsewhere"}
    return "; ".join(f"{name.replace('_', ' ')}: {elsewhere[name]}" for name in sorted(channels & elsewhere.keys()))


def spread_of(check: Check, name: str, known: "Facts") -> float | None:
    """Give the standard uncertainty of the linked instrument that measures a value; None where it has none stated."""
    spreads = (known.readings[channel].standard_uncertainty for channel in _linked(check, name, known))
    return next((spread for spread in spreads if spread is not None), None)


def _linked(check: Check, name: str, known: "Facts") -> list[str]:
    """Name the channels that measure a value: none that is elsewhere, as a clamp that was left at another unit is.

    Whoever says that probes were put on says by that where they are now.
    """
    return [
        channel
        for channel in channels_of(check, name)
        if channel in known.readings
        and channel not in known.in_doubt
        and (known.readings[channel].quality != "elsewhere" or check.word == PUT_ON)
        and not _is_silent(channel, known)
    ]


def _is_silent(channel: str, known: "Facts") -> bool:
    """Tell whether a channel has been stale for longer than hands take to turn a dial and write a figure down."""
    read_s = known.read_s.get(channel)
    if known.readings[channel].quality != "stale" or known.steady_s is None or read_s is None:
        return False
    return known.steady_s - read_s > LINGERS_S


def graded(ask: FindingAsk, check: Check, known: "Facts", *, seen: bool) -> dict[str, Grade]:
    """Give the grade of each value that is asked: the ask's own, unless said otherwise of that one.

    What is asked as measured with the others, and no linked instrument measures, was read off a display, as what stands
    on a plate; but not what a linked instrument measures that is elsewhere: it is no value of this unit. seen: the
    instruments showed all else of it themselves.

    Raises:
        AnswerError: a grade is of no value, or of one that nothing linked measures here.

    """
    for name, grade in ask.grades.items():
        if name not in ask.values:
            raise AnswerError(f"grades: {shown(name)!r} was expected to be one of the values")
        if grade == "measured" and not (seen or is_linked(check, name, known)):
            why = away(check, [name], known)
            raise AnswerError(
                f"grades: {name} is measured, and no linked instrument beyond doubt measures it{why and f': {why}'}"
            )
    if not seen:
        _check_here(ask, check, known)
    return {
        name: ask.grades.get(name) or ("typed" if _is_typed(name, ask, check, known, seen=seen) else ask.grade)
        for name in ask.values
    }


def _check_here(ask: FindingAsk, check: Check, known: "Facts") -> None:
    measured = [name for name in ask.values if ask.grades.get(name, ask.grade) == "measured"]
    for name in measured:
        if not is_linked(check, name, known) and (why := away(check, [name], known)):
            raise AnswerError(f"values: {name} is measured, and not here: {why}")


def _is_typed(name: str, ask: FindingAsk, check: Check, known: "Facts", *, seen: bool) -> bool:
    of_a_plate = find_figure(check, name)[0].plate  # no instrument shows it
    return ask.grade == "measured" and (of_a_plate or (not seen and not is_linked(check, name, known)))


def grades_of(found: Finding) -> dict[str, Grade]:
    """Give the grade of each value of a finding; one of an earlier version has a single grade for all of them."""
    return {name: found.grades.get(name, found.grade) for name in found.values}


def weakest(grades: Mapping[str, Grade], needed: Collection[str], otherwise: Grade) -> Grade:
    """Give the grade of a finding: that of the weakest figure that is needed, or of all where none alone is.

    otherwise: where it has no figures.

    >>> weakest({"amps.a": "measured", "rated": "typed", "volts": "said"}, ["amps.a", "rated"], "said")
    'typed'
    """
    counted = [grades[name] for name in needed] or list(grades.values())
    return max(counted, key=_WEAKER.index, default=otherwise)


def read_of(check: Check, grades: Mapping[str, Grade], needed: Collection[str]) -> tuple[dict[str, Grade], list[str]]:
    """Leave out what stands on a plate: typed off the can, it makes a capacitor that was measured no worse known.

    Of a check of which nothing but the plate was read, that is what was found.
    """
    read = {name: grade for name, grade in grades.items() if not find_figure(check, name)[0].plate} or dict(grades)
    return read, [name for name in needed if name in read]


def needed_by(
    rule: Callable[[Mapping[str, Estimate]], Verdict | None], values: Mapping[str, Estimate], told: Verdict | None
) -> list[str]:
    """Name the values without which a rule would tell something else than it does."""
    return [
        name for name in values if _told(rule, {other: it for other, it in values.items() if other != name}) != told
    ]


def _told(
    rule: Callable[[Mapping[str, Estimate]], Verdict | None], values: Mapping[str, Estimate]
) -> Verdict | AnswerError | None:
    """Give what a rule tells of values, or why it refuses them."""
    try:
        return rule(values)
    except AnswerError as refused:
        return refused
