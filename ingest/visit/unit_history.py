"""What is remembered of a unit, from the marks of its visits: complaints, findings, moves, signatures, what is open."""

from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from ingest.visit.asking import Threads
from ingest.visit.fitting import fitting
from ingest.visit.ledgers import Ledgers
from ingest.visit.part_readings import PartReadings
from ingest.visit.placing import Placing
from ingest.visit.progress import ProgressFold
from ingest.visit.rule_rig import OTHER_FEEDS
from ingest.wire.messages import (
    Baseline,
    CircuitMoved,
    Finding,
    FindingStands,
    Mark,
    PartHistory,
    Signed,
    UnitHistory,
    VisitBefore,
    encode,
)

VISITS_BYTES = 28 * 1024
PARTS_BYTES = 24 * 1024
"""How much of the message each may be, the newest first; the record has all of it."""
BASELINES_BYTES = 6 * 1024
"""Likewise of the baselines."""
FOUND_BYTES = 8 * 1024
QUESTIONS_BYTES = 4 * 1024
"""Likewise of one visit, so that the newest always fits, whatever people wrote."""
MOST_OF_A_PART = 24
"""Readings of one part: years of visits, and no more than a small table."""

MarksOfVisit = tuple[str, Sequence[Mark]]
"""A visit by its id, and its marks, oldest first."""

ISOLATE, _SCREWS_OUT = "isolate", "screws.out"
_COUNT_SCREWS = ("close_panel", "panels")
_OF_A_UNIT = ("disconnect", "other_feeds", *OTHER_FEEDS)
"""Of what was answered as it was isolated, what is of the unit and not of that day."""
_TOLD = frozenset({"not_met", "cannot_tell"})
_TOLD_ALWAYS = frozenset({"cause", "replacement"})
"""Checks that the next person wants to know of, whatever came of them."""


def visit_before(visit: str, marks: Sequence[Mark]) -> VisitBefore | None:
    """Sum a visit up; None where nothing of it is left in the record."""
    if not marks:
        return None
    progress, threads, newest = ProgressFold(), Threads(), dict[tuple[str, str], Finding]()
    signed: Signed | None = None
    for mark in marks:
        progress.take(mark)
        threads.take(mark)
        match mark:
            case Signed():
                signed = mark
            case Finding():
                newest.pop((mark.check, mark.part or mark.circuit), None)
                newest[mark.check, mark.part or mark.circuit] = mark
    complaint, handover = newest.get(("complaint", "")), newest.get(("handover", ""))
    left = handover.choices if handover else {}
    return VisitBefore(
        visit=visit,
        began_s=marks[0].time_s,
        technician=progress.now.technician,
        signed_by=signed.name if signed else "",
        signed_s=signed.time_s if signed else None,
        complaint=complaint.choices.get("complaint", "") if complaint else "",
        was_answered=left.get("complaint", ""),
        left=left.get("left", ""),
        found=[_stands(found) for found in newest.values() if found.outcome in _TOLD or found.check in _TOLD_ALWAYS],
        moved=_moved(marks),
        next_person=left.get("next_person", ""),
        next_reading=left.get("next_reading", ""),
        owner=left.get("owner", ""),
        open_questions=[thread.text for thread in threads.open if not thread.replies],
        isolated=_isolated(newest.get((ISOLATE, ""))),
        screws=_screws(newest),
    )


def _isolated(found: Finding | None) -> dict[str, str]:
    """Give where it was isolated and what else feeds it, as it was found: nothing of a lock, nor whose it was."""
    return {} if found is None else {name: found.choices[name] for name in _OF_A_UNIT if name in found.choices}


def _screws(newest: Mapping[tuple[str, str], Finding]) -> dict[str, float]:
    """Give how many screws came out, by the check that counts them."""
    return {
        check: found.values[_SCREWS_OUT]
        for (check, _), found in newest.items()
        if check in _COUNT_SCREWS and found.outcome != "skipped" and _SCREWS_OUT in found.values
    }


def unit_history(
    tag: str, visits: Iterable[VisitBefore], parts: PartReadings, kept: Sequence[Baseline] = ()
) -> UnitHistory:
    """Say it for the wire. visits, kept: newest first."""
    known = [_bounded(visit) for visit in visits]
    told = fitting(known, VISITS_BYTES)
    histories, left_out = _fitting_parts(parts.message())
    return UnitHistory(tag, told, histories, len(known) - len(told), left_out, fitting(kept, BASELINES_BYTES))


def _bounded(visit: VisitBefore) -> VisitBefore:
    """Leave out of a visit what is too much for a message, the oldest findings and the last questions; and count it."""
    found = fitting(reversed(visit.found), FOUND_BYTES)[::-1]
    questions, room = [], QUESTIONS_BYTES
    for question in visit.open_questions:
        room -= len(question.encode()) + 3  # its quotes, and what parts it from the next
        if room < 0:
            break
        questions.append(question)
    left_out = len(visit.found) - len(found) + len(visit.open_questions) - len(questions)
    return replace(visit, found=found, open_questions=questions, more=left_out)


def _fitting_parts(histories: Sequence[PartHistory]) -> tuple[list[PartHistory], int]:
    """Take the newest readings of each part, so many that all of them fit; tells how many were left out."""
    most = max((len(history.readings) for history in histories), default=0)
    for count in range(min(most, MOST_OF_A_PART), -1, -1):
        told = [replace(history, readings=list(history.readings[:count])) for history in histories]
        if sum(len(encode(history)) + 1 for history in told) <= PARTS_BYTES:
            break
    left_out = sum(len(history.readings) for history in histories) - sum(len(it.readings) for it in told)
    return told, left_out


def _moved(marks: Sequence[Mark]) -> list[CircuitMoved]:
    placing, ledgers = Placing(), Ledgers()
    for mark in marks:
        placing.take(mark)
        ledgers.take(mark, placing.circuit)
    sums = {circuit: ledgers.sums(circuit) for circuit in ledgers.circuits()}
    return [
        CircuitMoved(circuit, round(it.added_kg, 6), round(it.recovered_kg, 6))
        for circuit, it in sums.items()
        if it.moves
    ]


def _stands(found: Finding) -> FindingStands:
    says = None if found.says is None else replace(found.says, parts=())
    return FindingStands(
        found.check, found.outcome, found.grade, found.time_s, found.id, found.part, found.circuit, says
    )
