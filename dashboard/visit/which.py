"""Which unit it is, as cards: a pattern of the fan with its times to read aloud, what it came to, and the tag."""

from collections.abc import Sequence

from calc.pattern import CAUTION
from calc.wording import percent
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Key
from ingest.wire.messages import ChosenStands, PatternStands, Visit

LENGTHS = (4, 6, 8)
"""How many states a pattern may have by a touch (common practice, no source)."""


def cards(visit: Visit, tag: str) -> Sequence[Card]:
    """Make the cards: the times of the newest pattern, which a lead reads too, and the one that asks."""
    return [*runs(visit), _which(visit, tag)]


def runs(visit: Visit) -> list[Card]:
    """Make the card of a pattern of which nothing was kept yet."""
    pattern, chosen = visit.pattern, visit.chosen
    if pattern is None or pattern.outcome or (chosen and chosen.time_s >= pattern.time_s):
        return []
    times = tuple((say("which.auto" if index % 2 else "which.on"), at) for index, at in enumerate(pattern.times_s))
    return [
        Card(
            "pattern",
            say("which.read_aloud"),
            (CAUTION, say("which.told_after")),
            time_s=pattern.time_s,
            by=pattern.by,
            times=times,
        )
    ]


def _which(visit: Visit, tag: str) -> Card:
    read = Card(
        "choose",
        say("which.read_tag", tag=tag),
        fields=(Field("photographs", say("which.photograph"), "photographs", several=True, needed=True),),
        keys=(Key(say("which.is_this"), "choose", {"fields": {"tag": tag, "grade": "seen"}}, main=True),),
    )
    starts = [Key(say("which.start", states=count), "pattern", {"fields": {"states": count}}) for count in LENGTHS]
    said = Key(say("which.said"), "choose", {"fields": {"tag": tag, "grade": "said"}})
    return Card(
        "which-unit",
        say("which.title"),
        (*_came_to(visit.pattern), *_chosen(visit.chosen), CAUTION),
        keys=(*starts, said, Key(say("which.by_tag"), opens=read, main=True)),
    )


def _came_to(pattern: PatternStands | None) -> list[str]:
    """Say what a pattern came to, once that was kept."""
    if pattern is None or not pattern.outcome or pattern.probability is None:
        return []
    probability = percent(pattern.probability)
    match pattern.outcome:
        case "met":
            return [say("which.follows", probability=probability)]
        case "not_met":
            return [say("which.none", probability=probability)]
    return [say("which.cannot_tell", probability=probability)]


def _chosen(chosen: ChosenStands | None) -> list[str]:
    if chosen is None:
        return []
    return [say("which.chosen", tag=chosen.tag, grade=words.GRADES[chosen.grade], by=chosen.by)]
