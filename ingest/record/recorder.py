"""The record in a thread of its own, and the queue of packs before it.

The tick never waits for the disk: packs queue here, and whenever the disk is ready it takes all that came,
in one transaction. A pack that the disk refuses is not kept for later. It travels without a number, so that
whoever watches sees NOT SAVED, and it is counted; the next pack is tried again.
"""

import asyncio
import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import ParamSpec, TypeVar

import msgspec

from ingest.record.errors import NotSavedError
from ingest.record.store import Record
from ingest.wire.messages import Pack, encode_pack

logger = logging.getLogger(__name__)

LARGEST_BATCH = 64
LARGEST_QUEUE = 1200
"""Five minutes of packs. A disk that hangs longer than that has refused those that follow."""

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


class Recorder:
    """Runs one record.

    saved: called after each commit, with the payload of its newest pack.
    unsaved: called with the payload of each pack that the disk refused.
    """

    def __init__(self, record: Record, *, saved: Callable[[bytes], None], unsaved: Callable[[bytes], None]) -> None:
        self._record = record
        self._saved = saved
        self._unsaved = unsaved
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="record")
        self._waiting: asyncio.Queue[Pack] = asyncio.Queue()
        self._unsaved_packs = 0
        self._failing = False

    @property
    def unsaved_packs(self) -> int:
        """How many packs of this session the disk refused."""
        return self._unsaved_packs

    def put(self, pack: Pack) -> None:
        """Queue a pack to be saved."""
        if self._waiting.qsize() < LARGEST_QUEUE:
            self._waiting.put_nowait(pack)
        else:
            self._give_up([pack], "the disk hangs")

    async def run(self) -> None:
        """Save what comes, until cancelled."""
        while True:
            packs = [await self._waiting.get()]
            while not self._waiting.empty() and len(packs) < LARGEST_BATCH:
                packs.append(self._waiting.get_nowait())
            await self._save(packs)
            for _ in packs:
                self._waiting.task_done()

    async def flush(self) -> None:
        """Wait until everything queued has been tried."""
        await self._waiting.join()

    async def call(
        self, function: Callable[Arguments, Result], *arguments: Arguments.args, **named: Arguments.kwargs
    ) -> Result:
        """Run a method of the record in its thread, after what is under way there."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, lambda: function(*arguments, **named))

    def close(self) -> None:
        """End the thread, after what is under way; the record stays open."""
        self._thread.shutdown()

    async def _save(self, packs: list[Pack]) -> None:
        counted = [msgspec.structs.replace(pack, unsaved_packs=self._unsaved_packs) for pack in packs]
        try:
            payloads = await self.call(self._record.commit, counted)
        except NotSavedError as error:
            self._give_up(packs, str(error))
            return
        if self._failing:
            logger.warning("saving again; %d packs of this session were not saved", self._unsaved_packs)
        self._failing = False
        self._saved(payloads[-1])

    def _give_up(self, packs: list[Pack], reason: str) -> None:
        if not self._failing:
            logger.error("NOT SAVED: %s; the live view goes on", reason)
        self._failing = True
        for pack in packs:
            self._unsaved_packs += 1
            self._unsaved(encode_pack(msgspec.structs.replace(pack, unsaved_packs=self._unsaved_packs)))
