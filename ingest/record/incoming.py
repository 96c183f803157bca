"""A past visit on its way into a record, within one transaction: all of it, or nothing."""

import sqlite3
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ingest.record.chunks import Chunk, decode_chunk, encode_chunk, from_chunk, to_chunk
from ingest.record.errors import RecordError
from ingest.wire.messages import Mark, Pack, encode

IMPORTED = "imported"
"""What stands as the boot of a session that no daemon ran."""
FROM_A_LOG = "imported from "
"""How the mark begins that tells of which log a visit was brought in."""


@dataclass(slots=True)
class Incoming:
    """Takes what one visit holds. begin: a session, at a time, and gives its number.

    sequence: the number of the newest pack so far.
    """

    database: sqlite3.Connection
    visit: str
    begin: Callable[[float], int]
    session: int
    sequence: int
    _began_s: float | None = None

    def add(self, packs: Sequence[Pack]) -> None:
        """Store numbered packs that can share a chunk.

        Raises:
            RecordError: they would not come back as they are.

        """
        data = to_chunk(packs)
        first, last = packs[0], packs[-1]
        if from_chunk(data) != list(packs):
            raise RecordError(f"the packs from {first.sequence} on would not come back from a chunk as they are")
        self._store(data, first.sequence or 0, last.sequence or 0, first.time_s, last.time_s)

    def add_chunk(self, chunk: Chunk) -> None:
        """Store numbered packs that were laid out as a chunk; raises as `add`."""
        data = encode_chunk(chunk)
        if decode_chunk(data) != chunk:
            raise RecordError(f"the packs from {chunk.sequence} on would not come back from a chunk as they are")
        last = chunk.sequence + len(chunk.times) - 1
        self._store(data, chunk.sequence, last, chunk.times[0] / 1000.0, sum(chunk.times) / 1000.0)

    def _store(self, data: bytes, first: int, last: int, first_s: float, last_s: float) -> None:
        self.database.execute(
            "INSERT INTO chunks VALUES (?, ?, ?, ?, ?, ?, ?)",
            (first, last, self.session, self.visit, first_s, last_s, data),
        )
        self.sequence = last

    def add_mark(self, mark: Mark) -> None:
        """Store a mark."""
        self.database.execute(
            "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, ?, ?, ?, ?, ?)",
            (mark.id, self.visit, self.session, mark.kind, mark.time_s, encode(mark)),
        )

    def add_advice(self, time_s: float, grounds: bytes, payload: bytes) -> None:
        """Store an advice, and what it rests on beside the packs."""
        self.database.execute(
            "INSERT INTO advices VALUES (NULL, ?, ?, ?, ?, ?)",
            (self.visit, self.session, time_s, zlib.compress(grounds), zlib.compress(payload)),
        )

    def begin_session(self, started_s: float, ended_s: float) -> None:
        """Begin another session of the visit, where the one before ended [s since 1970]."""
        self._end_session(ended_s)
        self.session, self._began_s = self.begin(started_s), started_s

    def end(self, started_s: float, ended_s: float) -> None:
        """Say from when to when the visit was [s since 1970]; it is over."""
        self.database.execute(
            "UPDATE visits SET started_s = ?, ended_s = ? WHERE id = ?", (started_s, ended_s, self.visit)
        )
        if self._began_s is None:
            self.database.execute("UPDATE sessions SET started_s = ? WHERE number = ?", (started_s, self.session))
        self._end_session(ended_s)

    def _end_session(self, ended_s: float) -> None:
        self.database.execute("UPDATE sessions SET ended_s = ? WHERE number = ?", (ended_s, self.session))
