"""Every guided check: its outcome, how it is known, and what it found; those that were skipped with their reason."""

import re
from collections.abc import Iterator, Sequence

from ingest.report.channels import OUTCOMES
from ingest.report.course import Course
from ingest.report.document import Block, Items, Section, Statement, Table
from ingest.report.said import own_words, said
from ingest.visit.checklist import guided
from ingest.wire.messages import Finding

_GRADES = {"measured": "measured", "typed": "typed", "seen": "seen, photographed", "said": "said"}
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
    """Say it: what was met by answers alone in a line, all else by the row."""
    order = {word: number for number, word in enumerate(guided())}
    in_order = sorted(course.found, key=lambda it: order[it.check])
    plain = [found for found in in_order if found.outcome == "met" and not _what(course, found)]
    rows = [_row(course, found) for found in in_order if found not in plain]
    blocks: list[Block] = [Table(("Check", "At", "Outcome", "Known by", "What it found"), rows)] if rows else []
    told = [*_together(course, plain), *_not_made(course)]
    return Section("Checks", [*blocks, Items(told)] if told else blocks)


def _together(course: Course, plain: Sequence[Finding]) -> Iterator[Statement]:
    for grade, words in _GRADES.items():
        of = [found for found in plain if found.grade == grade]
        if of:
            names = "; ".join(f"{_name(course, found)}{_past(course, found)}" for found in of)
            yield said(f"Met, {words}: {names}.", [found.id for found in of], course.visit_id)


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


def _row(course: Course, found: Finding) -> tuple[Statement, ...]:
    past = _past(course, found)
    return (
        said(_name(course, found), found.id),
        said(course.clock.time(course.seen_s(found)), course.seen_ids(found)),
        said(f"{OUTCOMES[found.outcome]}{past}", found.id, course.visit_id if past else ""),
        said("" if found.outcome == "skipped" else _GRADES[found.grade], found.id),
        said(_what(course, found), found.id),
    )


def _what(course: Course, found: Finding) -> str:
    if found.outcome == "skipped":
        return ", ".join(filter(None, [_REASONS[found.reason], own_words(found.text)]))
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
    (r" That is not asked for again\.$", ""),
    (r"; at least 0 \S+\.$", "."),
    (r"^Settled: Settled\.$", "Settled."),
)
