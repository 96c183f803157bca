"""From the record to the hub: at the start, after the broker was away, and wherever packs are missing."""

import asyncio
import logging
from dataclasses import replace
from pathlib import Path

from dashboard.errors import HistoryError
from dashboard.history import Past, read_past
from dashboard.hub import Hub
from dashboard.numbering import Numbering
from dashboard.ring import Ring
from dashboard.settings import Settings
from ingest.record.reading import RecordFile

logger = logging.getLogger(__name__)

PAUSE_S = 2.0
"""Between two attempts on a record that cannot be read."""


async def run(settings: Settings, hub: Hub) -> None:
    """Give the hub the past whenever it wants it, until cancelled."""
    told = ""
    while True:
        await hub.past_wanted.wait()
        hub.past_wanted.clear()
        wanted = _wanted(hub)
        try:
            past = await _recall(settings.record, hub, wanted)
        except HistoryError as error:
            if told != str(error):
                told = str(error)
                logger.warning("%s", error)
            await asyncio.sleep(PAUSE_S)
            hub.past_wanted.set()
            continue
        told = ""
        if wanted == _wanted(hub):
            hub.recall(past)
        else:
            hub.past_wanted.set()  # another record or visit began meanwhile


def _wanted(hub: Hub) -> tuple[Numbering, str | None]:
    return hub.numbering, hub.about.visit if hub.about else None


async def _recall(record: Path | None, hub: Hub, wanted: tuple[Numbering, str | None]) -> Past:
    """Read what is missing. What was published before was recorded before: below the newest heard nothing else is."""
    numbering, visit = wanted
    heard_until = numbering.heard_until
    if record is None:
        return Past(Ring(1), heard_until)
    after = numbering.whole_until or 0
    past = await asyncio.to_thread(read_past, RecordFile(record), capacity=hub.ring.capacity, after=after, visit=visit)
    return replace(past, until=max(past.until, heard_until))
