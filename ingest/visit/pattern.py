"""A pattern of the fan, and the unit that was chosen by it, or by its tag. What is chosen answers the check of it."""

import hashlib
import math
import random
from typing import TYPE_CHECKING

from calc.pattern import LEAST_STATE_S, TOLD_FROM
from calc.sentences import Sentence, ahead, chance
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.finding import finding
from ingest.wire.messages import (
    ChooseAsk,
    Chosen,
    ChosenStands,
    Finding,
    FindingAsk,
    Mark,
    PatternAsk,
    PatternBegun,
    PatternStands,
    ProposedUnit,
)
from ingest.wire.texts import shown
from ingest.wire.wording import worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

BLOWER = "blower_current"
CHECK = "which_unit"
LEAD_S = 120.0
"""Until the first switching: time to read the list aloud."""
LONGEST_STATE_S = 240.0
STEP_S = 10.0
"""Of the lengths, so that every time can be read off a clock."""
LEAST_STATES, MOST_STATES = 4, 12
"""All of these: common practice, no source."""


class PatternFold:
    """The newest pattern of a visit, and the unit that was chosen last. chosen: None where it is none of these."""

    def __init__(self) -> None:
        self.pattern: PatternStands | None = None
        self.chosen: ChosenStands | None = None

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        match mark:
            case PatternBegun():
                self.pattern = PatternStands(mark.id, mark.by, mark.time_s, tuple(mark.times_s))
            case Chosen():
                self._choose(mark)

    def runs_until_s(self) -> float | None:
        """Tell when the newest pattern is over [s since 1970]; None where there is none, or a unit was told since.

        Its last state has to be held as well, or nobody can tell it from the one before.
        """
        was = self.pattern
        if was is None or was.outcome or (self.chosen is not None and self.chosen.time_s >= was.time_s):
            return None
        return was.times_s[-1] + LEAST_STATE_S

    def _choose(self, mark: Chosen) -> None:
        stands = (mark.id, mark.by, mark.time_s, mark.tag, mark.grade, mark.outcome, mark.probability)
        self.chosen = ChosenStands(*stands) if mark.tag else None
        if mark.proposal and (was := self.pattern):
            self.pattern = PatternStands(was.id, was.by, was.time_s, was.times_s, mark.outcome, mark.probability)


def as_finding(mark: Chosen) -> Finding:
    """Give what the choice answers: the check that asks which unit it is."""
    told_by = "pattern" if mark.probability is not None else "tag" if mark.grade == "seen" else "said"
    return Finding(
        mark.id,
        mark.time_s,
        mark.by,
        mark.role,
        mark.text,
        check=CHECK,
        grade=mark.grade,
        outcome=mark.outcome,
        values={"probability": mark.probability} if mark.tag and mark.probability is not None else {},
        choices={"told_by": told_by, **({"tag": mark.tag} if mark.tag else {})},
        photographs=tuple(mark.photographs),
        says=mark.says,
        proposal=mark.proposal,
    )


def pattern(ask: PatternAsk, head: Head, standing: "Standing", facts: Facts) -> PatternBegun:
    """Give the times of a pattern. A newer one takes the place of one that runs, once somebody has said so."""
    if not LEAST_STATES <= ask.states <= MOST_STATES or ask.states % 2:
        raise RefusedError(
            f"states is {ask.states}; an even number from {LEAST_STATES} to {MOST_STATES} was expected: the fan goes "
            "back to auto with the last"
        )
    if BLOWER not in facts.readings:
        raise RefusedError("no clamp reads the blower's amps, by which a pattern is told: read the tag on the unit")
    until_s, now_s = standing.pattern.runs_until_s(), head[1]
    if until_s is not None and until_s > now_s and not ask.confirmed:
        raise DoubtfulError(to_ask(worded(Sentence("pattern.runs", (ahead("over", until_s - now_s),)))))
    return PatternBegun(*head, times_s=_times(ask.id, head[1], ask.states))


def _times(ask_id: str, time_s: float, states: int) -> tuple[float, ...]:
    """Draw the lengths from the ask's own id: the same ask gives the same list. No two lengths are alike.

    >>> _times("a1", 1.7e9, 4)[0] - 1.7e9 >= LEAD_S
    True
    """
    seed = hashlib.blake2b(ask_id.encode(), digest_size=8).digest()
    steps = range(round(LEAST_STATE_S / STEP_S), round(LONGEST_STATE_S / STEP_S) + 1)
    lengths = random.Random(seed).sample(steps, states - 1)  # noqa: S311 - keeps nothing secret
    times = [STEP_S * math.ceil((time_s + LEAD_S) / STEP_S)]
    for length in lengths:
        times.append(times[-1] + STEP_S * length)
    return tuple(times)


def choose(ask: ChooseAsk, head: Head, standing: "Standing", facts: Facts) -> Chosen:
    """Keep which unit it is, by its tag or somebody's word."""
    if ask.grade not in ("seen", "said"):
        raise RefusedError(f"grade is {ask.grade}; seen or said was expected: measured comes of a pattern that is kept")
    tag = ask.tag.strip()
    _check_tag(tag, facts)
    told_by = "tag" if ask.grade == "seen" else "said"
    photographs = tuple(dict.fromkeys(ask.photographs))
    asked = FindingAsk(
        ask.id, ask.by, check=CHECK, grade=ask.grade, choices={"told_by": told_by, "tag": tag}, photographs=photographs
    )
    found = finding(asked, head, standing, facts)
    return Chosen(*head, tag=tag, grade=ask.grade, outcome=found.outcome, photographs=photographs, says=found.says)


def chosen_by_pattern(of: str, head: Head, what: ProposedUnit, standing: "Standing", facts: Facts) -> Chosen:
    """Keep what a pattern told. of: the id of the proposal. That it is none of these chooses nothing."""
    by = head[2]
    probability = what.probability
    if not what.tag:
        is_none = probability >= TOLD_FROM
        kind = "finding.none_of_these" if is_none else "finding.pattern_cannot_tell"
        return Chosen(
            *head,
            tag="",
            grade="measured",
            outcome="not_met" if is_none else "cannot_tell",
            probability=probability,
            says=worded(Sentence(kind, (chance("none", probability),))),
            proposal=of,
        )
    _check_tag(what.tag, facts)
    choices = {"told_by": "pattern", "tag": what.tag}
    asked = FindingAsk(head[0], by, check=CHECK, grade="measured", choices=choices, values={"probability": probability})
    found = finding(asked, head, standing, facts, seen=True)
    return Chosen(
        *head,
        tag=what.tag,
        grade="measured",
        outcome=found.outcome,
        probability=probability,
        says=found.says,
        proposal=of,
    )


def _check_tag(tag: str, facts: Facts) -> None:
    if tag != facts.unit.tag:
        raise RefusedError(f"the visit is at {facts.unit.tag}: open a visit at {shown(tag) or 'the unit'} by its tag")
