"""Numbers that were given out, though nothing in the record has them any more: none of them comes twice.

They stand among the cursors, as "packs given" and "sessions given".
"""

import sqlite3

from ingest.record.migrations import WITH_CHUNKS


def last_given(database: sqlite3.Connection) -> int:
    """Give the number of the last pack that a record has given out, or that a sink has acknowledged."""
    (version,) = database.execute("PRAGMA user_version").fetchone()
    statements = [
        "SELECT max(sequence) FROM packs",
        "SELECT max(position) FROM cursors WHERE sink IN ('mqtt packs', 'packs given')",
        *(["SELECT max(last_sequence) FROM chunks"] if version >= WITH_CHUNKS else []),
    ]
    return max(int(database.execute(statement).fetchone()[0] or 0) for statement in statements)


def last_session_given(database: sqlite3.Connection) -> int:
    """Give the number of the last session that a record has begun, or that may have been given out before it."""
    (last,) = database.execute(
        """SELECT max(coalesce((SELECT max(number) FROM sessions), 0),
                      coalesce((SELECT position FROM cursors WHERE sink = 'sessions given'), 0))"""
    ).fetchone()
    return int(last)


def keep_given(database: sqlite3.Connection, *, packs: int, sessions: int = 0) -> None:
    """Keep that these numbers, and all below them, were given out."""
    database.executemany(
        """INSERT INTO cursors VALUES (?, ?)
           ON CONFLICT (sink) DO UPDATE SET position = max(position, excluded.position)""",
        [(f"{what} given", last) for what, last in (("packs", packs), ("sessions", sessions)) if last],
    )
