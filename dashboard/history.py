"""The past of this visit from the rig's record, read only, so that a page never has a hole that the record has not."""

import logging
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from dashboard.errors import HistoryError
from dashboard.ring import Ring
from ingest.record.reading import History, RecordError
from ingest.wire.messages import Mark, MessageError, Pack
from ingest.wire.plausible import believable

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Past:
    """What a record knows. until: the number of its newest pack, or what was asked for; marks: all of the visit."""

    packs: Ring
    until: int
    newest: Pack | None = None
    marks: Sequence[Mark] = ()


def read_past(record: History, *, capacity: int, after: int = 0, visit: str | None = None) -> Past:
    """Read the packs after a number, the newest if they are more than fit, and the marks, of a visit (or the newest).

    What was read before at another unit is none of this visit's, though the same probes read it. It takes seconds for a
    long visit: run it in a thread. Where nothing is recorded yet, there is no past yet.

    Raises:
        HistoryError: what is at the record's path is no record that this version reads; or it holds nothing though
            packs of it were heard, as while the daemon restores it; or it does not have that visit.

    """
    packs, until, newest = Ring(capacity), after, None
    try:
        newest_visit = record.newest_visit()
        if visit and newest_visit and not record.has_visit(visit):
            raise HistoryError("the record does not have the visit that the rig tells of; is it another rig's record?")
        visit = visit or newest_visit
        for newest in _to_show(record.newest_packs(capacity, after=after, visit=visit)):
            packs.append(newest)
        if after and newest is None and not any(True for _ in record.newest_packs(1)):
            raise HistoryError("the record holds nothing of what was heard. The page asks it again")
        marks = [found.mark for found in record.marks_after(visit, 0)] if visit else []
    except RecordError as error:
        raise HistoryError(f"{error}. The page shows only what it hears from now on") from error
    if newest is not None:
        until = newest.sequence or after
    return Past(packs, until, newest, marks)


def _to_show(packs: Iterable[Pack]) -> Iterator[Pack]:
    """Give packs as those that are heard: a figure that cannot be is none, a pack of no time of ours is left out."""
    for pack in packs:
        try:
            yield believable(pack)
        except MessageError as error:
            logger.warning("pack %s of the record is not shown: %s", pack.sequence, error)
