"""Keeps the record small: old packs become chunks, one at a time, between the ticks."""

import asyncio
import logging

from ingest.record.errors import NotSavedError, RecordError
from ingest.record.recorder import Recorder
from ingest.record.store import NEWEST_PACKS, Record

logger = logging.getLogger(__name__)

PERIOD_S = 60.0
PAUSE_S = 1.0


async def tidy(recorder: Recorder, newest_packs: int = NEWEST_PACKS) -> None:
    """Compact all but the newest packs until cancelled; packs that would not come back as they are stay."""
    while True:
        try:
            packs = await recorder.call(Record.compact, newest_packs)
        except NotSavedError:
            packs = 0  # the recorder tells of a disk that refuses
        except RecordError as error:
            logger.warning("the record is no longer compacted: %s", error)
            return
        await asyncio.sleep(PAUSE_S if packs else PERIOD_S)
