"""The one line: does it run, and what of danger is there. A bypassed safety or a leak that burns stands here."""

from collections.abc import Sequence

from calc.refrigerants import propagates_flame
from ingest.report.course import Course
from ingest.report.document import Block, Headline, Paragraph, Section, Statement
from ingest.report.said import listed, said
from ingest.visit.leaks import LEAK, LEAKS
from ingest.wire.messages import Finding

OFF = "It is off and locked: do not switch it on"
CONCERN = "It runs, with a concern"
COOLS, HEATS, RUNS = "It runs and cools", "It runs and heats", "It runs"
NOT_RECORDED = "How it was left is not recorded"
NOT_FINISHED = "Not finished yet: how it is left is not recorded"
_LEAST_SPLIT_DK = 2.0
"""Air that comes out so much colder than it goes in is cooled, whatever the instruments are off by: common practice, no
source."""


def outcome(course: Course) -> Section:
    """Say it."""
    reasons, evidence = _dangers(course)
    line, more = _state(course, is_in_danger=bool(reasons))
    text = f"{line}: {listed(reasons)}." if reasons else f"{line}."
    known = evidence + more
    blocks: list[Block] = [Headline(said(text, known or [course.visit_id])), Paragraph(_where_and_when(course))]
    return Section("Outcome", blocks)


def _state(course: Course, *, is_in_danger: bool) -> tuple[str, list[str]]:
    left, runs, power = (
        course.chosen(check, name)
        for check, name in (("handover", "left"), ("as_it_was", "runs"), ("as_it_was", "power"))
    )
    evidence = course.ids("handover", "as_it_was")
    if left == "off" or power == "left_off":
        return OFF, evidence
    if runs == "no":
        return "It does not run", evidence
    if left == "concern" or (left and is_in_danger):
        return CONCERN, evidence
    if left == "running" or runs == "own_call":
        cools, by = _cools(course)
        return cools, [*evidence, *by]
    if runs == "jumper":
        return CONCERN, evidence
    return NOT_RECORDED if course.signed else NOT_FINISHED, evidence


def _cools(course: Course) -> tuple[str, list[str]]:
    """Tell whether the air comes out colder than it went in, or warmer, by the last that was read of it."""
    air = air_now(course)
    if air is None:
        return RUNS, []
    into_k, out_k, evidence = air
    if into_k - out_k > _LEAST_SPLIT_DK:
        return COOLS, evidence
    return (HEATS if out_k - into_k > _LEAST_SPLIT_DK else RUNS), evidence


def air_now(course: Course) -> tuple[float, float, list[str]] | None:
    """Give the air that goes in and comes out as it was read last [K], and what that rests on; None without one."""
    for mark in reversed(course.marks):
        now = course.at(mark)
        if {"return_air_temperature", "supply_air_temperature"} <= now.keys():
            into, out = now["return_air_temperature"], now["supply_air_temperature"]
            return into.value, out.value, list(into.evidence)
    for found in reversed(course.of("air")):
        if "return_air" in found.values and "supply_air" in found.values:
            return found.values["return_air"], found.values["supply_air"], [found.id]
    return None


def _dangers(course: Course) -> tuple[list[str], list[str]]:
    """Name what of danger is there, and what says that it is, or is not."""
    bypassed, jumpers, runs, detector = (
        course.chosen(check, name)
        for check, name in (
            ("look_first", "bypassed"),
            ("as_it_was", "jumpers_out"),
            ("as_it_was", "runs"),
            ("as_it_was", "leak_detector"),
        )
    )
    leaks = flammable_leaks(course)
    dangers = {
        "a safety of this unit is bypassed by a wire": bypassed in ("found", "reported"),
        "a wire that bypasses a part of it is still in": jumpers == "fewer" or runs == "jumper",
        "its leak detector is bypassed": detector == "bypassed",
        "its leak detector is in alarm": detector == "alarm",
        "refrigerant that burns leaks from it": bool(leaks),
    }
    evidence = [*course.ids("look_first", "as_it_was"), *(leak.id for leak in leaks)]
    return [danger for danger, is_there in dangers.items() if is_there], evidence + ([course.sheet_id] if leaks else [])


def flammable_leaks(course: Course) -> list[Finding]:
    """Give what found the leaks that stand open, of circuits whose refrigerant burns."""
    burns = {circuit.name for circuit in course.circuits if propagates_flame(course.refrigerant(circuit).safety_class)}
    return [it for it in open_leaks(course) if it.circuit in burns or (not it.circuit and burns)]


def open_leaks(course: Course) -> list[Finding]:
    """Give what found the leaks that stand open, at this visit or one before."""
    stand = course.standing.moved.leaks.open
    every = [mark for _, marks in (*course.earlier, ("", course.marks)) for mark in marks if isinstance(mark, Finding)]
    found = [it for it in every if it.check == LEAKS and LEAK in it.choices.values()]
    return [next(it for it in found if it.time_s == at_s) for at_s in stand.values()]


def _where_and_when(course: Course) -> Sequence[Statement]:
    place = f", {course.sheet.place}" if course.sheet and course.sheet.place else ""
    told = [said(f"{course.known.tag}{place}.", course.visit_id, course.sheet_id)]
    if course.marks:
        first, last = course.arrived or course.marks[0], course.marks[-1]
        told.append(said(f"{course.clock.span(first.time_s, last.time_s)}.", first.id, last.id))
    if course.later_corrections:
        told.append(
            said("Something was corrected after this was signed: see the end of this page.", course.later_corrections)
        )
    return told
