"""What is read of the record for the report of one visit: all of it here, so that what composes reads nothing.

A visit of hours has a hundred thousand packs and more: only those of the moments that the report tells of are read, and
some for its trace.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ingest.record.incoming import FROM_A_LOG
from ingest.record.reading import AdviceOfVisit, History, Origin, RecordedChannel, RegisteredSheet
from ingest.report.amiss import Amiss, photographs_amiss
from ingest.report.errors import ErasedVisitError, NoVisitError, UnknownVisitError
from ingest.visit.unit_history import MarksOfVisit
from ingest.wire.messages import Finding, Mark, Pack, Proposed, ReadingTaken, SessionBegan, Signed

MOMENTS = frozenset({"readings_before", "readings_after", "air", "motor_amps", "as_it_was", "handover"})
"""Checks at whose moment the unit was read."""
_FIRST_MOMENTS, _LAST_MOMENTS = 8, 12
"""More are of a visit at which the same was read over and over."""
_AROUND_S = 2.0
"""How far from a moment a pack may be and still be of it."""
_SAMPLES = 48
"""Of the trace."""


@dataclass(frozen=True, slots=True)
class Version:
    """A sheet, and which it is of those that were kept of its unit, from 1."""

    kept: RegisteredSheet
    number: int

    @property
    def id(self) -> str:
        """How a statement names it."""
        return f"sheet {self.kept.sheet.tag} version {self.number}"


@dataclass(frozen=True, slots=True)
class Known:
    """A visit as the record has it. tag: of its unit. marks: in order, as they were made.

    version: the sheet as it was when the visit was signed, or is now. earlier: the visits to its unit before, oldest
    first. moments: by the id of a mark, the pack of that moment. course: packs from its begin to its end, some of them.
    origins: why it was not live. amiss: its photographs that are not in the record as they were taken.
    """

    visit: str
    tag: str
    marks: Sequence[Mark]
    version: Version | None = None
    earlier: Sequence[MarksOfVisit] = ()
    moments: Mapping[str, Pack] = field(default_factory=dict)
    course: Sequence[Pack] = ()
    advices: Sequence[AdviceOfVisit] = ()
    channels: Sequence[RecordedChannel] = ()
    origins: Sequence[Origin] = ()
    amiss: Sequence[Amiss] = ()


def read_known(history: History, visit: str) -> Known:
    """Read it.

    Raises:
        RecordError: the record cannot be read.
        ErasedVisitError: the visit was erased from it.
        UnknownVisitError: it has no such visit.
        NoVisitError: it is the log of a logger, and nobody recorded anything at it.

    """
    for erased in history.erasures():
        if erased.visit == visit:
            raise ErasedVisitError(
                f"visit {visit} was erased from the record ({erased.because}): what stays is that its journal of "
                f"{erased.marks} marks had the check sum {erased.digest}"
                + (f", and before its signature {erased.signed_digest}" if erased.signed_digest else "")
            )
    tag = history.unit_of(visit)
    if tag is None:
        raise UnknownVisitError(f"the record has no visit {visit!r}: the list of its visits has their ids")
    before = _before(history, tag, visit)
    every = history.marks_of([*before, visit])
    marks = every[visit]
    _check_is_visit(visit, marks)
    signed_s = next((mark.time_s for mark in marks if isinstance(mark, Signed)), None)
    return Known(
        visit,
        tag,
        marks,
        _version(history.sheets_of(tag), signed_s),
        [(it, every[it]) for it in before],
        _moments(history, visit, marks),
        _course(history, visit, marks),
        list(history.advices_of(visit)),
        history.channels(visit),
        history.origins(visit),
        photographs_amiss(marks, history.photograph),
    )


def _check_is_visit(visit: str, marks: Sequence[Mark]) -> None:
    log = next((mark for mark in marks if isinstance(mark, SessionBegan) and mark.text.startswith(FROM_A_LOG)), None)
    if log is not None and not any(mark.by for mark in marks):
        raise NoVisitError(
            f"visit {visit} is a log of a logger, no visit ({log.text}): nobody recorded what was done, so there is "
            "nothing to report; `dewline export` gives its readings, and `dewline rerun` what the judge says of them"
        )


def _before(history: History, tag: str, visit: str) -> list[str]:
    newest_first = [it.id for it in history.visits_of(tag)]
    at = newest_first.index(visit) if visit in newest_first else len(newest_first)
    return newest_first[at + 1 :][::-1]


def _version(newest_first: Sequence[RegisteredSheet], signed_s: float | None) -> Version | None:
    numbered = [Version(kept, len(newest_first) - at) for at, kept in enumerate(newest_first)]
    then = [it for it in numbered if signed_s is None or it.kept.since_s <= signed_s]
    return next(iter([*then, *numbered[::-1]]), None)


def _moments(history: History, visit: str, marks: Sequence[Mark]) -> dict[str, Pack]:
    seen_s = {mark.id: mark.to_s for mark in marks if isinstance(mark, Proposed)}
    at_s = {
        mark.id: seen_s.get(mark.proposal, mark.time_s) if isinstance(mark, Finding) else mark.time_s
        for mark in marks
        if isinstance(mark, ReadingTaken) or (isinstance(mark, Finding) and mark.check in MOMENTS)
    }
    told = dict([*list(at_s.items())[:_FIRST_MOMENTS], *list(at_s.items())[-_LAST_MOMENTS:]])
    packs = history.packs_at(visit, list(told.values()), _AROUND_S)
    return {name: pack for name, pack in zip(told, packs, strict=True) if pack is not None}


def _course(history: History, visit: str, marks: Sequence[Mark]) -> list[Pack]:
    if not marks:
        return []
    begin_s = marks[0].time_s
    end_s = next((mark.time_s for mark in marks if isinstance(mark, Signed)), marks[-1].time_s)
    step_s = (end_s - begin_s) / (_SAMPLES - 1)
    packs = history.packs_at(visit, [begin_s + step * step_s for step in range(_SAMPLES)], _AROUND_S)
    return list({pack.sequence: pack for pack in packs if pack is not None}.values())
