"""What we could not tell, or did not check: always there, even as nothing."""

from collections.abc import Iterator

from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.said import listed, own_words, said, sentence
from ingest.report.words import CHECKS, SKIPPED
from ingest.visit.leaks import LEAKS
from ingest.visit.part_readings import REPLACED
from ingest.wire.messages import Finding

_MOST_NAMED = 5
_LEAST_OUTDOOR_K = 285.93
"""55 °F, as the check of the air has it."""


def not_told(course: Course) -> Section:
    """Say it."""
    told = list(_told(course))
    return Section("What we could not tell, or did not check", [Items(told or [said("Nothing.", course.visit_id)])])


def _told(course: Course) -> Iterator[Statement]:
    cannot = [
        it for it in course.found if it.outcome == "cannot_tell" and it.check in CHECKS and not _is_out(course, it)
    ]
    if cannot:
        yield _together(course, "we could not tell", cannot)
    skipped = [
        it for it in course.found if it.outcome == "skipped" and it.check in CHECKS and it.reason != "not_fitted"
    ]
    for reason in dict.fromkeys(it.reason for it in skipped):
        of = [it for it in skipped if it.reason == reason]
        yield _together(course, "we did not check", of, _because(of, reason))
    unjudged = [it for it in course.found if it.outcome == "unjudged" and it.check in CHECKS]
    if unjudged:
        yield _together(course, "not judged yet", unjudged)
    yield from _not_made(course)
    yield from _renewed(course)
    yield from _not_judged(course)
    yield from _of_leaks(course)
    if not any("air_flow" in it.values for it in course.of("air")):
        yield said("How much air the ducts carry was not measured.", course.visit_id)


def _together(course: Course, what: str, findings: list[Finding], because: str = "") -> Statement:
    names = list(dict.fromkeys(CHECKS[it.check] for it in findings))
    named, more = names[:_MOST_NAMED], len(names) - _MOST_NAMED
    text = f"{what}: {listed(named) if more <= 0 else ', '.join(named)}"
    text += f", and {more} more that the back names" if more > 0 else ""
    return said(sentence(f"{text}{because}"), [it.id for it in findings], course.visit_id)


def _because(findings: list[Finding], reason: str) -> str:
    told = list(dict.fromkeys(own_words(it.text) for it in findings if it.text.strip()))
    words = SKIPPED.get(reason, "")
    return f" ({'; '.join(filter(None, [words, *told]))})" if words or told else ""


def _is_out(course: Course, found: Finding) -> bool:
    """Tell whether it is of a part that is out since, or was told otherwise of the same part since."""
    return course.standing.findings.is_of_old_part(found)


def _not_made(course: Course) -> Iterator[Statement]:
    """Name what the visit asked for and nobody answered."""
    known = {it.check for it in course.found}
    names = [
        CHECKS[word]
        for word in course.standing.findings.left_open(course.in_view)
        if word in CHECKS and word not in known
    ]
    if names:
        named, more = names[:_MOST_NAMED], len(names) - _MOST_NAMED
        rest = f", and {more} more" if more > 0 else ""
        yield said(sentence(f"not done: {listed(named) if not rest else ', '.join(named)}{rest}"), course.visit_id)


def _renewed(course: Course) -> Iterator[Statement]:
    """Tell of what failed and was right later, where nobody recorded what was done in between."""
    for failed, right in course.came_right():
        if right.check.startswith("capacitor") and not course.of(REPLACED):
            what = "The run capacitor measured right at the end; that it was renewed is not recorded."
        elif right.check == "start" and failed.choices.get("course") == "backwards":
            motor = course.motor_of(right)
            what = f"The {motor} turned the right way at the end; what was done for that is not recorded."
        else:
            continue
        yield said(what, course.seen_ids(failed), course.seen_ids(right), course.visit_id)


def _not_judged(course: Course) -> Iterator[Statement]:
    """Tell why the level of the refrigerant was not judged by its figures, where something stood against that."""
    for air in course.of("air"):
        if air.choices.get("mode") in ("heating", "defrost"):
            yield said("The refrigerant level: the unit heats, and it is judged while it cools, or by weight.", air.id)
        elif air.outcome == "not_met" and air.values.get("outdoor", _LEAST_OUTDOOR_K) < _LEAST_OUTDOOR_K:
            yield said("The refrigerant level: outdoors it was too cold to judge it by its figures.", air.id)


def _of_leaks(course: Course) -> Iterator[Statement]:
    for name in course.moved_circuits():
        sought = [it for it in course.of(LEAKS) if it.outcome in ("met", "not_met") and it.circuit in ("", name)]
        if any(move.sign > 0 for move in course.moves(name)) and not sought:
            yield said("We do not know whether it leaks: nobody looked for a leak.", course.visit_id)
