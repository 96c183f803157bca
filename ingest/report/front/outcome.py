"""The one line: does it run, and what of danger is there. A bypassed safety or a leak that burns stands here."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc.refrigerants import propagates_flame
from ingest.report.concerns import concerns
from ingest.report.course import Course
from ingest.report.document import Block, Headline, Paragraph, Section, Statement
from ingest.report.leaks import open_leaks
from ingest.report.running import HowLeft, how_left
from ingest.report.said import listed, said
from ingest.visit.grading import weakest
from ingest.wire.messages import Finding, Grade

OFF = "It is off and locked: do not switch it on"
CONCERN = "It runs, with a concern"
STANDS = "It does not run"
LOCK = "by the record a lock is still on it"
COOLS, HEATS, RUNS = "It runs and cools", "It runs and heats", "It runs"
NOT_RECORDED = "How it was left is not recorded"
MOST = 3
"""More concerns are left to the back; a danger never is."""
NOT_FINISHED = "Not finished yet: how it is left is not recorded"
_LEAST_SPLIT_DK = 2.0
"""Air that comes out so much colder than it goes in is cooled, whatever the instruments are off by: common practice, no
source."""


def outcome(course: Course) -> Section:
    """Say it."""
    line, reasons, more, known = headline(course)
    told = [*reasons, *(["more that the back names"] if more else [])]
    text = f"{line}: {listed(told)}." if told else f"{line}."
    blocks: list[Block] = [Headline(said(text, known)), Paragraph(_where_and_when(course))]
    return Section("Outcome", blocks)


def headline(course: Course) -> tuple[str, list[str], bool, list[str]]:
    """Give the state, the reasons that are named beside it, whether there are more, and what all of it rests on."""
    left = how_left(course)
    dangers, evidence = _dangers(course, left)
    left_open = concerns(course)
    line, more = _state(course, left, is_in_danger=bool(dangers or left_open))
    is_told = line == CONCERN or left.state in ("stands", "against")
    reasons = [*dangers, *(left_open if is_told else [])]
    most = max(MOST, len(dangers))
    known = [*evidence, *more, *(it for of in left_open.values() for it in of), course.visit_id]
    return line, reasons[:most], len(reasons) > most, known


def _state(course: Course, left: HowLeft, *, is_in_danger: bool) -> tuple[str, Sequence[str]]:
    evidence = left.evidence
    if left.state == "off":
        return OFF, evidence
    if left.state == "stands":
        return STANDS, evidence
    if left.state == "against":
        return f"Said to run; the instruments read {left.against}", evidence
    if left.state == "runs":
        if course.chosen("handover", "left") == "concern" or is_in_danger:
            return CONCERN, evidence
        cools, by = _cools(course)
        return cools, [*evidence, *by]
    if left.state == "jumper":
        return CONCERN, evidence
    return NOT_RECORDED if course.signed else NOT_FINISHED, evidence


def _cools(course: Course) -> tuple[str, list[str]]:
    """Tell whether the air comes out colder than it went in, or warmer, by the last that was read of it."""
    air = air_now(course)
    if air is None:
        return RUNS, []
    return (COOLS if air.is_cooled else HEATS if air.is_heated else RUNS), list(air.evidence)


@dataclass(frozen=True, slots=True)
class Air:
    """The air that goes in and comes out, and that outdoors as far as it was read then [K]. grade: how it is known."""

    into_k: float
    out_k: float
    outdoor_k: float | None
    evidence: Sequence[str]
    grade: Grade = "measured"

    @property
    def is_cooled(self) -> bool:
        """Whether it comes out colder than it went in."""
        return self.into_k - self.out_k > _LEAST_SPLIT_DK

    @property
    def is_heated(self) -> bool:
        """Whether it comes out warmer than it went in."""
        return self.out_k - self.into_k > _LEAST_SPLIT_DK


def air_now(course: Course) -> Air | None:
    """Give the air as it was read last, and what that rests on; None without one."""
    for mark in reversed(course.marks):
        now = course.at(mark)
        if {"return_air_temperature", "supply_air_temperature"} <= now.keys():
            into, out = now["return_air_temperature"], now["supply_air_temperature"]
            outdoor = now.get("outdoor_air_temperature")
            return Air(into.value, out.value, outdoor.value if outdoor else None, into.evidence)
    for found in reversed(course.of("air")):
        if "return_air" in found.values and "supply_air" in found.values:
            values = found.values
            grade = weakest(found.grades, found.grades.keys() & {"return_air", "supply_air"}, found.grade)
            return Air(values["return_air"], values["supply_air"], values.get("outdoor"), [found.id], grade)
    return None


def _dangers(course: Course, left: HowLeft) -> tuple[list[str], list[str]]:
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
        LOCK: bool(course.standing.findings.locks) and left.state != "off",
    }
    evidence = [*course.ids("look_first", "as_it_was"), *(leak.id for leak in leaks)]
    return [danger for danger, is_there in dangers.items() if is_there], evidence + ([course.sheet_id] if leaks else [])


def flammable_leaks(course: Course) -> list[Finding]:
    """Give what found the leaks that stand open, of circuits whose refrigerant burns."""
    burns = {circuit.name for circuit in course.circuits if propagates_flame(course.refrigerant(circuit).safety_class)}
    return [it for name, it in open_leaks(course).items() if name in burns]


def _where_and_when(course: Course) -> Sequence[Statement]:
    place = f", {course.sheet.place}" if course.sheet and course.sheet.place else ""
    told = [said(f"{course.known.tag}{place}.", course.visit_id, course.sheet_id)]
    if course.marks:
        first, last = course.arrived or course.marks[0], course.marks[-1]
        told.append(said(f"{course.clock.span(first.time_s, last.time_s)}.", first.id, last.id))
    if course.signed is not None and course.later_corrections:
        text = "Something was corrected after this was signed: see the end of this page."
        told.append(said(text, course.later_corrections, course.signed.id))
    return told
