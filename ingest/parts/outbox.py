"""The record as an outbox for the publisher: a record that refuses has nothing to send, and loses nothing by it."""

import contextlib

from ingest.record.errors import NotSavedError
from ingest.record.recorder import Recorder
from ingest.record.store import Entry, Record, Sink


class Outbox:
    """What a sink has still to get from one recorder's record."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder

    async def read(self, sink: Sink, limit: int) -> list[Entry]:
        """Read what comes after a sink's cursor, oldest first."""
        try:
            return await self._recorder.call(Record.outbox, sink, limit)
        except NotSavedError:
            return []  # the recorder tells of a disk that refuses; the next pack asks again

    async def advance(self, sink: Sink, position: int) -> None:
        """Move a sink's cursor, after it has acknowledged everything up to there."""
        with contextlib.suppress(NotSavedError):  # then it goes out once more
            await self._recorder.call(Record.advance, sink, position)
