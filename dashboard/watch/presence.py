"""Tells each rig which leads look at it, so that the people at the unit know."""

import asyncio
import logging
from collections.abc import Callable, Iterable

from dashboard.errors import AskError
from dashboard.watch.wall import Wall
from ingest.wire.messages import Watching, encode, topic
from ingest.wire.watching import TOLD_EVERY_S

logger = logging.getLogger(__name__)

AT_MOST_EVERY_S = 0.2


async def tell_who_watches(wall: Wall, leads_at: Callable[[str], Iterable[str]], *, user: str, page: str) -> None:
    """Tell until cancelled.

    leads_at: names those who have a rig open. user: the page's own at the broker. page: its id.
    """
    told: dict[str, Watching] = {}
    while True:
        told = {rig: last for rig, last in told.items() if rig in wall.rigs}
        for rig in list(wall.rigs):
            now = Watching(opened=tuple(sorted(leads_at(rig))), among=tuple(sorted(wall.leads)))
            nobody = not (now.opened or now.among)
            if wall.publish is None or (nobody and rig not in told):
                continue
            try:
                await wall.publish(topic(rig, f"watching/{user or 'lead'}/{page}"), encode(now))
            except AskError as error:
                logger.info("who watches %s is not told: %s", rig, error.reason)
                continue
            told[rig] = now
            if nobody:
                del told[rig]
        await asyncio.sleep(AT_MOST_EVERY_S)
        wall.somebody.clear()
        try:
            async with asyncio.timeout(TOLD_EVERY_S - AT_MOST_EVERY_S):
                await wall.somebody.wait()
        except TimeoutError:
            continue
