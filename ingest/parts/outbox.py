"""The record as an outbox for the publisher: a record that refuses has nothing to send, and loses nothing by it.

Whoever has sent something reads at once what follows: both is asked of the record's thread together, in every tick.
"""

from ingest.record.errors import NotSavedError
from ingest.record.recorder import Recorder
from ingest.record.store import Entry, Record, Sink


class Outbox:
    """What a sink has still to get from one recorder's record."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder
        self._acknowledged: dict[Sink, int] = {}

    async def read(self, sink: Sink, limit: int) -> list[Entry]:
        """Read what comes after a sink's cursor, oldest first."""
        acknowledged = self._acknowledged.pop(sink, 0)
        try:
            return await self._recorder.call(_read_on, sink, limit, acknowledged)
        except NotSavedError:
            return []  # the recorder tells of a disk that refuses; the next pack asks again, and all goes out once more

    async def advance(self, sink: Sink, position: int) -> None:
        """Move a sink's cursor as it is read next, after it has acknowledged everything up to there."""
        self._acknowledged[sink] = position


def _read_on(record: Record, sink: Sink, limit: int, acknowledged: int) -> list[Entry]:
    if acknowledged:
        record.advance(sink, acknowledged)
    return record.outbox(sink, limit)
