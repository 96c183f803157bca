"""What was answered to a check, as its rules read it, and what a rule tells of it."""

import math
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Literal

from calc.comparing import Met, NotMet, compare
from calc.errors import CalcError
from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA
from calc.sentences import Part, Sentence, reading, text
from ingest.wire.checklist import Check, Fact, Figure
from ingest.wire.messages import UnitAbout

CONFIDENCE = (1 + math.erf(2 / math.sqrt(2))) / 2
"""Of a verdict: the value's interval, k = 2, lies on one side of the limit. What does not reach it cannot be told."""

Told = Literal["met", "not_met", "cannot_tell"]
WORST_FIRST: tuple[Told, ...] = ("not_met", "cannot_tell", "met")


class AnswerError(ValueError):
    """What was answered cannot be: says what, and what would do."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a rule tells, and why. lacks: something was not taken, so that a person may still say that it is not met."""

    told: Told
    says: Sentence | None = None
    lacks: bool = False


@dataclass(frozen=True, slots=True)
class Before:
    """What the visit knew before this check.

    outcomes: the newest of each check, by its word. additions: at how many visits the circuit was added to, this one
    included. net_kg: what its moves at this one come to. unsettled: superheat and subcooling, as far as the rig reads
    them now and the judge does not call them settled, each with why, and for how long yet; none of what was seen
    earlier. stood: what these were where the rig itself proposes this check as settled since the last move, and nobody
    has answered that. read: what the rig reads now of the figures that are said anew, without uncertainty where they
    are of the rig itself.
    rig: what the rig reads at this moment, by channel, runs: whether the compressor does; nothing of these where
    was_seen: the instruments showed it earlier, whatever they show now. heats: the unit does, by its air and its
    pressures. stops: something asks for a stop now. awaited: channels that the rig has not read since the lock that the
    check is about: what they read before it tells nothing of it. unsaid: channels that were read at the unit before
    this one, where nobody has said that they moved. locks: whose were named, or said to be on, and not to be off.
    isolated: a lock stood at this visit, or it was isolated or proved dead. site_pa: the air pressure there [Pa].
    was: of the circuit, what the readings before have, by the names there [SI]; empty without such.
    """

    outcomes: Mapping[str, str]
    additions: int
    net_kg: float
    unsettled: Mapping[str, Sentence] = field(default_factory=dict)
    stood: Mapping[str, float] = field(default_factory=dict)
    read: Mapping[str, Estimate] = field(default_factory=dict)
    rig: Mapping[str, Estimate] = field(default_factory=dict)
    runs: bool | None = None
    heats: bool = False
    stops: bool = False
    awaited: AbstractSet[str] = frozenset()
    unsaid: AbstractSet[str] = frozenset()
    was_seen: bool = False
    locks: tuple[str, ...] = ()
    isolated: bool = False
    site_pa: float = STANDARD_PRESSURE_PA
    was: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answers:
    """What was answered to one check.

    values: by name, with their uncertainty. choices: what was chosen or written. photographs: how many. facts: what is
    so of the visit. unit: its nameplate. before: what the visit knew.
    """

    check: Check
    values: Mapping[str, Estimate]
    choices: Mapping[str, str]
    photographs: int
    facts: AbstractSet[Fact]
    unit: UnitAbout
    before: Before

    def of(self, figure: str) -> dict[str, Estimate]:
        """Give the values of a figure, by their names."""
        return {name: value for name, value in self.values.items() if name.partition(".")[0] == figure}

    def number(self, name: str) -> float | None:
        """Give a value alone, such as of a label."""
        found = self.values.get(name)
        return None if found is None else found.value

    def missing_of(self, figure: str) -> list[str]:
        """Name for people what of a figure was not taken, as far as it is asked for."""
        return [
            label_of(each, of)
            for each in self.check.figures
            if each.name == figure and (not each.only or each.only in self.facts)
            for of in each.per or ("",)
            if value_name(each, of) not in self.values
        ]

    def label(self, name: str) -> str:
        """Name a value for people."""
        figure, of = find_figure(self.check, name)
        return label_of(figure, of)


def value_name(figure: Figure, of: str) -> str:
    """Name a value of a figure: `herm`, or `volts.a_b`."""
    return f"{figure.name}.{of}" if of else figure.name


def label_of(figure: Figure, of: str) -> str:
    """Name it for people."""
    return f"{figure.label}: {figure.per[of]}" if of else figure.label


def find_figure(check: Check, name: str) -> tuple[Figure, str]:
    """Find which figure a value is of, and which of it.

    Raises:
        AnswerError: there is none.

    """
    for figure in check.figures:
        for of in figure.per or ("",):
            if value_name(figure, of) == name:
                return figure, of
    names = sorted(value_name(figure, of) for figure in check.figures for of in figure.per or ("",))
    raise AnswerError(f"values: {check.word} has no figure {name[:80]!r}; it has {', '.join(names) or 'none'}")


def missing(what: str) -> Verdict:
    """Tell that something was not taken."""
    return Verdict("cannot_tell", Sentence("finding.missing", (text("what", what),)), lacks=True)


def lacking(told: list[Verdict], lacks: list[str]) -> Verdict:
    """Give the worst of what was taken, beside what was not: a value that is not met is so without the others."""
    return worst([*told, *([missing(", ".join(lacks))] if lacks else [])]) or missing("Values")


def held_against(
    measured: Estimate, low: float, high: float, *, what: str, kind: str, trick: str, closed: bool = True
) -> Verdict:
    """Hold a value against limits: met and not met are told where its whole interval lies on one side.

    kind: of `calc.units`. closed: the upper limit itself still counts as within.
    """
    parts = [text("what", what), reading("found", measured.value, measured.expanded(), kind)]
    limits = "between" if low > -math.inf and high < math.inf else "at_least" if low > -math.inf else "at_most"
    if limits == "at_most" and not closed:
        limits = "below"
    if low > -math.inf:
        parts.append(reading("low", low, None, kind))
    if high < math.inf:
        parts.append(reading("high", high, None, kind))
    parts.append(Part("limits", "sentence", terms=(f"limits.{limits}",)))
    if not closed and measured.value == high:
        high = math.nextafter(high, -math.inf)
    match compare(measured, low, high, confidence=CONFIDENCE):
        case Met():
            return Verdict("met", Sentence("finding.met", tuple(parts)))
        case NotMet():
            return Verdict("not_met", Sentence("finding.not_met", tuple(parts)))
    parts.append(Part("trick", "sentence", terms=(f"trick.{trick}",)))
    return Verdict("cannot_tell", Sentence("finding.cannot_tell", tuple(parts)))


def worst(verdicts: list[Verdict]) -> Verdict | None:
    """Give the worst of several, with the first reason for it, one with figures before what was chosen; None of none.

    What one rule finds not met is so, whatever else was not taken. What was chosen is quoted whole, also of several.
    """
    if not verdicts:
        return None
    told = min((each.told for each in verdicts), key=WORST_FIRST.index)
    alike = [each for each in verdicts if each.told == told]
    said = [each.says for each in alike if each.says is not None]
    says = min(said, key=lambda each: each.kind in _CHOSEN, default=None)
    if says is not None and says.kind in _CHOSEN:
        says = _all_chosen(said)
    return Verdict(told, says, any(each.lacks for each in alike))


def each_not_met(verdicts: list[Verdict]) -> Verdict | None:
    """Give the worst of several as `worst` does, and name behind it what else is not met by a limit or an answer.

    What must be said alone, such as that something is live, is.
    """
    whole = worst(verdicts)
    said = [it.says for it in verdicts if it.told == "not_met" and it.says is not None]
    if whole is None or whole.says is None or whole.told != "not_met" or any(it.kind not in _NAMED for it in said):
        return whole
    others = [_name_of(it) for it in said if it != whole.says]
    if whole.says.kind in _CHOSEN or not others:
        return whole
    first = Part("first", "sentence", terms=(whole.says.kind,))
    parts = (*whole.says.parts, first, text("others", "; ".join(dict.fromkeys(others))))
    return Verdict("not_met", Sentence("finding.several_not_met", parts), whole.lacks)


def _name_of(said: Sentence) -> str:
    parts = {part.place: part.terms[0] for part in said.parts if part.what == "text"}
    if "all" in parts:
        return parts["all"]
    return f"{parts['what']}: {parts['chosen']}" if "chosen" in parts else parts["what"]


_CHOSEN = ("finding.chosen", "finding.all_chosen")
_NAMED = (*_CHOSEN, "finding.not_met", "finding.nitrogen")


def _all_chosen(said: list[Sentence]) -> Sentence:
    """Quote every answer, where there are several; of one its own sentence."""
    quoted: list[str] = []
    for each in said:
        parts = {part.place: part.terms[0] for part in each.parts if part.what == "text"}
        quoted.append(parts["all"] if "all" in parts else f"{parts['what']}: {parts['chosen']}")
    whole = list(dict.fromkeys(quoted))
    return said[0] if len(whole) == 1 else Sentence("finding.all_chosen", (text("all", "; ".join(whole)),))


def refused(error: CalcError) -> AnswerError:
    """Say what calc refuses of an answer."""
    return AnswerError(f"values: {error}")
