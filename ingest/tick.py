"""The tick: every 250 ms, everything that is known becomes one pack."""

import asyncio
import math
from collections.abc import Awaitable, Callable

from ingest.channels import Channels
from ingest.clock import Moment
from ingest.derive import derive
from ingest.rig import Rig
from ingest.wire.messages import Pack, as_recorded

PERIOD_S = 0.25


async def every(
    period_s: float, act: Callable[[], None], sleep: Callable[[float], Awaitable[None]] = asyncio.sleep
) -> None:
    """Act now and once in each period after, until cancelled.

    The deadlines are absolute, so that lateness does not add up; a deadline that was missed is left out.
    """
    now_s = asyncio.get_running_loop().time
    start_s = now_s()
    number = 0
    while True:
        act()
        number = max(number + 1, math.ceil((now_s() - start_s) / period_s))
        await sleep(start_s + number * period_s - now_s())


def make_pack(rig: Rig, session: int, channels: Channels, moment: Moment) -> Pack:
    """Take the newest reading of each channel and what derives from them. It is not numbered yet."""
    readings = channels.readings(moment)
    pack = Pack(
        rig=rig.name,
        sequence=None,
        session=session,
        epoch=moment.epoch,
        monotonic_s=moment.monotonic_s,
        time_s=moment.time_s,
        readings={**readings, **derive(readings, rig.unit)},
    )
    return as_recorded(pack)
