"""What other visits know of the one under way: what was done at its unit before, and of its stops."""

import sqlite3
from collections.abc import Sequence

from ingest.record.rows import read_rows
from ingest.wire.messages import Acknowledged, Mark, Released, Seen, Stop, VisitOpened, decode_mark

KINDS = (
    "visit", "place", "added", "recovered", "correction", "finding", "hand_over", "sign", "question", "reply",
    "described", "found_sound", "baseline_withdrawn", "check", "correct", "charge_left",
)  # fmt: skip
"""Of marks: what was moved, of which circuit, what the guided checks found, who signed, what was asked, how
circuits were renamed, what they show when they are sound, and what ends that."""


def read_earlier(database: sqlite3.Connection, visit: str) -> list[tuple[str, Sequence[Mark]]]:
    """Read these marks of each earlier visit to the unit of a visit, oldest first; unreadable ones are told of.

    The oldest is the one that began first, whatever a clock showed then.
    """
    rows = database.execute(
        f"""SELECT marks.visit || ' ' || marks.id, marks.payload FROM marks JOIN visits ON visits.id = marks.visit
            WHERE visits.unit = (SELECT unit FROM visits WHERE id = ?) AND visits.id <> ?
              AND marks.kind IN ({", ".join("?" * len(KINDS))})
            ORDER BY (SELECT min(number) FROM sessions WHERE visit = visits.id), marks.number""",  # noqa: S608 - only question marks
        (visit, visit, *KINDS),
    )
    found: dict[str, list[Mark]] = {}
    for name, mark in read_rows(rows, decode_mark, what="mark"):
        found.setdefault(name.split(" ")[0], []).append(mark)
    return list(found.items())


def read_stops_elsewhere(database: sqlite3.Connection, visit: str, marks: Sequence[Mark]) -> list[Mark]:
    """Read the stops that were asked at a visit and recorded in another, and what was said in others to its stops.

    The rig was going there as they came. What is said to a stop counts wherever it is. marks: of this visit.
    """
    told = {mark.id for mark in marks if isinstance(mark, Stop)}
    told |= {it.id for mark in marks if isinstance(mark, VisitOpened) for it in mark.stops}
    rows = database.execute(
        """SELECT id, payload FROM marks
           WHERE visit <> ? AND kind IN ('stop', 'seen', 'acknowledge', 'release') ORDER BY number""",
        (visit,),
    )
    found: list[Mark] = []
    for _, mark in read_rows(rows, decode_mark, what="mark"):
        match mark:
            case Stop(asked_at=asked_at) if asked_at == visit:
                told.add(mark.id)
                found.append(mark)
            case Seen() | Acknowledged() | Released() if mark.of in told:
                found.append(mark)
    return found
