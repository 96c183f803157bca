"""Eight rigs on one broker, one of each situation that a lead may find. Units, places and people are invented."""

import asyncio
import time
from collections.abc import AsyncIterator, Mapping
from contextlib import AsyncExitStack, asynccontextmanager

import msgspec

from ingest.wire.messages import (
    About,
    AwaitedMessage,
    Mark,
    Question,
    Signed,
    Status,
    Visit,
    VisitOpened,
    Warned,
    Wording,
)
from tests import wire_rig
from tests.wire_rig import WireRig

STARTED_AGO_S = 41 * 60.0
EVERY_S = 1.0
"""As often as a daemon tells the newest pack."""

RIGS: Mapping[str, tuple[str, str]] = {
    "van-5": ("silent", "AHU-22"),
    "van-7": ("going", "RTU-K7Q-9"),
    "van-3": ("against", "RTU-M2C-1"),
    "van-6": ("soon", "RTU-K7Q-4"),
    "van-8": ("over", "WSHP-3"),
    "van-1": ("stop", "RTU-P4D-7"),
    "van-4": ("stuck", "CU-11"),
    "van-2": ("asked", "RTU-B1A-2"),
}
"""By the rig's name: what it is an example of, and the tag of its unit. In no order that helps."""
WARNING = Wording("It has not settled since the last move: wait.", "It has not settled since the last move: wait.")


def warned(of: str, time_s: float, *, whom: str = "Sam") -> Warned:
    """What a daemon tells when somebody is asked before a move is noted."""
    return Warned(f"w-{of}", time_s, of=of, whom=whom, warnings=("guard.unsettled",), says=WARNING)


def about(name: str, now_s: float) -> About:
    """What a rig says of itself."""
    started_s = now_s - STARTED_AGO_S
    unit = wire_rig.unit(tag=RIGS[name][1], place=f"Harbour Street library, roof, bay {name[-1]}")
    known = wire_rig.about(started_s=started_s, unit=unit, visit=f"visit-{name}", visit_started_s=started_s)
    return msgspec.structs.replace(known, rig=name)


def marks(kind: str, now_s: float) -> list[Mark]:
    """What was recorded of a visit, besides its beginning."""
    match kind:
        case "asked":
            return [Question("q1", now_s - 130.0, "Kim", "technician", "Is this restriction, or charge?")]
        case "over":
            return [Signed("s1", now_s - 300.0, "Alex", "technician", name="Alex", digest="0" * 64)]
    return []


class Watched:
    """The eight rigs, by name."""

    def __init__(self, rigs: Mapping[str, WireRig]) -> None:
        self.rigs = rigs
        self.sequence = 0
        self.silent = {"van-5"}
        self.talking = True

    def __getitem__(self, kind: str) -> WireRig:
        """The rig that is an example of this."""
        return next(self.rigs[name] for name, (its, _) in RIGS.items() if its == kind)

    async def tell(self) -> None:
        """Tell the newest pack of each rig that is there."""
        self.sequence += 1
        for name, rig in self.rigs.items():
            if name not in self.silent:
                values = wire_rig.values(18.3 - 0.01 * (self.sequence % 100), 6.8)
                pack = wire_rig.pack(self.sequence, values, time_s=time.time(), rig=name)
                await rig.say("latest", pack, retain=True)
                await rig.say("readings", pack)

    async def talk(self, every_s: float = EVERY_S) -> None:
        while True:
            if self.talking:
                await self.tell()
            await asyncio.sleep(every_s)


async def arrive(rig: WireRig, now_s: float) -> None:
    """Come online with what makes the rig an example."""
    kind, _ = RIGS[rig.name]
    await rig.say("status", Status("lost" if kind == "silent" else "online", 1), retain=True)
    known = about(rig.name, now_s)
    await rig.say("about", known, retain=True)
    rig.standing = type(rig.standing)(known.visit)
    rig.standing.take(VisitOpened("o1", known.visit_started_s, "Sam", "technician", unit=known.unit.tag))
    for mark in marks(kind, now_s):
        rig.standing.take(mark)
    await rig.say("visit", shown(rig, kind), retain=True)
    advice = wire_rig.opinion(time_s=now_s) if kind == "stop" else wire_rig.advice(time_s=now_s)
    awaited = AwaitedMessage("superheat", 1500.0, 1800.0) if kind == "going" else None
    if kind not in ("soon", "stop"):
        advice = msgspec.structs.replace(advice, awaited=awaited)
    await rig.say("advice", advice, retain=True)
    if kind == "against":
        await rig.say("marks", warned("a1", now_s))


def shown(rig: WireRig, kind: str) -> Visit:
    """How the visit stands; of one that is stuck, with the check that is open."""
    visit = rig.standing.message()
    return msgspec.structs.replace(visit, next=["capacitor_measured"]) if kind == "stuck" else visit


@asynccontextmanager
async def eight_rigs(port: int) -> AsyncIterator[Watched]:
    """The rigs connected to the broker on this port; `arrive` and `talk` are for whoever has it."""
    async with AsyncExitStack() as opened:
        rigs = {name: await opened.enter_async_context(wire_rig.wire_rig(port, name)) for name in RIGS}
        yield Watched(rigs)
