"""Every guided check by its outcome, how it is known, and what it found; those that were skipped by their reason."""

import re
from collections.abc import Iterator, Sequence

from ingest.report.back.cause import OF_A_CAUSE
from ingest.report.channels import OUTCOMES
from ingest.report.course import Course
from ingest.report.document import Block, Items, Run, Section, Statement
from ingest.report.said import own_words, said
from ingest.visit.checklist import guided
from ingest.wire.messages import Finding

_GRADES = {"measured": "measured", "typed": "typed", "seen": "seen, photographed", "said": "said"}
_MET_YIELDS = 3
"""What is done gives way before what is open (`ingest.report.back`)."""
_SEE = "see the cause"
_ANSWERS = ("finding.chosen", "finding.all_chosen")
"""Of what was met, answers alone say no more than that it was."""
_REASONS = {
    "not_fitted": "not fitted",
    "not_reachable": "not reachable",
    "not_asked_for": "not asked for",
    "weather": "weather",
    "other": "other",
    "": "",
}


def checks(course: Course) -> Section:
    """Say it, grouped by outcome, what is open before what is done."""
    order = {word: number for number, word in enumerate(guided())}
    in_order = sorted(course.found, key=lambda it: order[it.check])
    blocks: list[Block] = []
    for outcome in ("not_met", "cannot_tell", "unjudged"):
        of = [found for found in in_order if found.outcome == outcome]
        blocks += _run(OUTCOMES[outcome].capitalize(), [_open(course, found) for found in of])
    for grade, words in _GRADES.items():
        of = [found for found in in_order if found.outcome == "met" and found.grade == grade]
        blocks += _run(f"Met, {words}", [_met(course, found) for found in of], yields=_MET_YIELDS)
    skipped = [found for found in in_order if found.outcome == "skipped"]
    for because in dict.fromkeys(_because(found) for found in skipped):
        of = [found for found in skipped if _because(found) == because]
        blocks += _run(
            f"Skipped{because and f' ({because})'}", [_met(course, found) for found in of], yields=_MET_YIELDS
        )
    told = list(_not_made(course))
    return Section("Checks", [*blocks, Items(told)] if told else blocks)


def _run(name: str, says: Sequence[Statement], *, yields: int = 0) -> list[Block]:
    return [Run(name, says, yields)] if says else []


def _open(course: Course, found: Finding) -> Statement:
    """Tell a finding that was not met with its time, how it is known, and what was found."""
    told = f"{_name(course, found)} ({course.clock.time(course.seen_s(found))}, {_GRADES[found.grade]})"
    past = _past(course, found)
    what = _SEE if found in course.failed(*OF_A_CAUSE) else _what(course, found)
    return said(_joined(f"{told}{past}", what), course.seen_ids(found), course.visit_id if past or what == _SEE else "")


def _met(course: Course, found: Finding) -> Statement:
    """Tell one that was met, or skipped, without what stands among the figures or beside others."""
    past = _past(course, found)
    what = "" if found.outcome == "skipped" or found.id in course.part_readings else _what(course, found)
    return said(_joined(f"{_name(course, found)}{past}", what), found.id, course.visit_id)


def _joined(name: str, what: str) -> str:
    return f"{name}: {what}".removesuffix(": ").removesuffix(".")


def _because(found: Finding) -> str:
    return ", ".join(filter(None, [_REASONS[found.reason], own_words(found.text)]))


def _not_made(course: Course) -> Iterator[Statement]:
    made = {found.check for found in course.found}
    names = [
        guided()[word].check.title for word in course.standing.findings.left_open(course.in_view) if word not in made
    ]
    if names:
        yield said(f"Asked for, and not made: {', '.join(names)}.", course.visit_id)
    elif not made:
        yield said("No check was made.", course.visit_id)


def _name(course: Course, found: Finding) -> str:
    check = guided()[found.check].check
    of = found.part or (f"circuit {found.circuit}" if course.several and found.circuit else "")
    return f"{check.place} {check.title}{f', {of}' if of else ''}"


def _past(course: Course, found: Finding) -> str:
    return " (of before there was power again)" if course.standing.findings.proves_nothing(found) else ""


def _what(course: Course, found: Finding) -> str:
    is_usual = found.outcome == "met" and found.says is not None and found.says.kind in _ANSWERS
    told = "" if found.says is None or is_usual else getattr(found.says, course.system)
    return " ".join(filter(None, [_of_the_past(own_words(told)), own_words(found.text)]))


def _of_the_past(told: str) -> str:
    """Leave out what a check asked of who stood before it: on the page the work is over.

    >>> _of_the_past("By feel, so nobody knows: take a torque tool.")
    'By feel, so nobody knows.'
    >>> _of_the_past("Liquid over suction: 286.7 ± 1.5 psi; at least 0 psi.")
    'Liquid over suction: 286.7 ± 1.5 psi.'
    """
    for asked, instead in _ASKED:
        told = re.sub(asked, instead, told)
    return told


_ASKED = (
    (r": say who took it off\.$", ": who took it off is not recorded."),
    (r": take a torque tool\.$", "."),
    (r"Nameplate's volts, the lower and the higher: The one, or the lower", "the nameplate's volts"),
    (r" That is not asked for again\.$", ""),
    (r"; at least 0 \S+\.$", "."),
    (r"^Settled: Settled\.$", "Settled."),
)
