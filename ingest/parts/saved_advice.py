"""Advice on its way into the record."""

import asyncio
import logging

from ingest.advice.advisor import Given
from ingest.record.errors import NotSavedError
from ingest.record.recorder import Recorder
from ingest.record.store import Record

logger = logging.getLogger(__name__)


class SavedAdvice:
    """Queues what was advised, for one recorder."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder
        self._waiting: asyncio.Queue[Given] = asyncio.Queue()

    def put(self, given: Given) -> None:
        """Queue an advice."""
        self._waiting.put_nowait(given)

    async def run(self) -> None:
        """Store what is queued, until cancelled. Advice that the disk refuses is told, and not kept."""
        while True:
            given = await self._waiting.get()
            try:
                await self._recorder.call(Record.add_advice, given.time_s, given.grounds, given.payload)
            except NotSavedError as error:
                logger.error("NOT SAVED: advice: %s", error)  # noqa: TRY400 - the disk's fault
            self._waiting.task_done()

    async def flush(self) -> None:
        """Wait until everything queued has been tried."""
        await self._waiting.join()
