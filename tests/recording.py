"""A recorder at work on a real file, with everything that it says kept to look at."""

import asyncio
import itertools
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from ingest.record.custody import Custody, Run
from ingest.record.recorder import Begun, Listener, Recorder
from ingest.rig import Rig
from ingest.wire.messages import NotSaved, Pack, decode_pack
from tests.rigs import make_pack

T0_S = 1_700_000_000.0

_boots = itertools.count()


def run_of(rig: Rig, visit: str = "visit", *, patient: bool = False) -> Run:
    """One run of a daemon. A patient one waits before it tries again, as in life; here that only takes time."""
    ticks: Iterator[float] = itertools.count() if not patient else iter(time.monotonic, None)
    return Run(lambda _: rig, f"boot-{next(_boots)}", visit, lambda: T0_S, lambda: next(ticks))


@dataclass
class Recording:
    """What a recorder said. statuses: each change of whether packs are saved, and why not."""

    custody: Custody
    saved: list[Pack] = field(default_factory=list)
    unsaved: list[Pack] = field(default_factory=list)
    statuses: list[NotSaved | None] = field(default_factory=list)
    began: list[Begun] = field(default_factory=list)
    news: list[str] = field(default_factory=list)
    recorder: Recorder = field(init=False)

    def __post_init__(self) -> None:
        listener = Listener(
            began=self.began.append,
            saved=lambda payload: self.saved.append(decode_pack(payload)),
            unsaved=lambda payload: self.unsaved.append(decode_pack(payload)),
            changed=self.statuses.append,
            told=self.news.append,
        )
        self.recorder = Recorder(self.custody, listener, lambda: T0_S)

    async def put(self, count: int = 1) -> None:
        """Put packs one after the other, each tried before the next."""
        for _ in range(count):
            self.recorder.put(make_pack(T0_S + len(self.saved) / 4))
            await self.recorder.flush()

    @property
    def refusal(self) -> NotSaved:
        """Why nothing is saved now."""
        assert self.statuses
        assert self.statuses[-1] is not None
        return self.statuses[-1]


@asynccontextmanager
async def recording(rig: Rig, run: Run | None = None) -> AsyncIterator[Recording]:
    """Run a recorder on a rig's record, which is closed at the end."""
    at_work = Recording(Custody(rig.record, run or run_of(rig)))
    task = asyncio.create_task(at_work.recorder.run())
    try:
        yield at_work
    finally:
        assert not task.done(), "the recorder ended"
        task.cancel()
        await asyncio.wait([task])
        at_work.recorder.close(T0_S)
