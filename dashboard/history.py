"""The past of this visit from the rig's record, read only, so that a page never has a hole that the record has not."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from dashboard.errors import HistoryError
from dashboard.ring import Ring
from ingest.wire.messages import Mark, MessageError, Pack, decode_pack

_PACKS = """
    SELECT sequence, payload FROM (
        SELECT sequence, payload FROM packs WHERE sequence > ? ORDER BY sequence DESC LIMIT ?
    ) ORDER BY sequence
"""
_MARKS = """
    SELECT payload FROM marks
    WHERE visit = coalesce(?, (SELECT id FROM visits ORDER BY started_s DESC LIMIT 1)) ORDER BY number
"""


@dataclass(frozen=True, slots=True)
class Past:
    """What a record knows. until: the number of its newest pack, or what was asked for; marks: all of the visit."""

    packs: Ring
    until: int
    newest: Pack | None = None
    marks: Sequence[Mark] = ()


def read_past(path: Path, *, capacity: int, after: int = 0, visit: str | None = None) -> Past:
    """Read the packs after a number, the newest if they are more than fit, and the marks of a visit (or the newest).

    It takes seconds for a long visit: run it in a thread. What the recorder has compacted, hours ago, is left out: the
    record's own export gives it.

    Raises:
        HistoryError: there is no record at the path, or it is not one that this version reads.

    """
    packs, until, newest = Ring(capacity), after, None
    try:
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        try:
            for sequence, payload in connection.execute(_PACKS, (after, capacity)):
                until, newest = sequence, decode_pack(payload)
                packs.append(newest)
            marks = [msgspec.json.decode(payload, type=Mark) for (payload,) in connection.execute(_MARKS, (visit,))]
        finally:
            connection.close()
    except (sqlite3.Error, MessageError, msgspec.MsgspecError) as error:
        raise HistoryError(f"{path}: {error}. The page shows only what it hears from now on") from error
    return Past(packs, until, newest, marks)
