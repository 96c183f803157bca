"""What is known of every rig that the broker lets this page read, and the leads who have all of them in view.

A card is laid out anew when something of its rig was heard or time alone may have changed how it stands, at most a few
times a second, and sent where it differs from what was sent before: once a change, not once a message.
"""

import asyncio
import logging
import time
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Final

from calc.units import System
from dashboard.errors import FullError
from dashboard.hub import Publish, Viewer, encode_event
from dashboard.lateness import Lateness, Now
from dashboard.roles import visitor
from dashboard.watch.heard import Heard, with_about, with_advice, with_mark, with_pack
from dashboard.watch.situation import situation
from dashboard.watch.told import card
from ingest.wire.bench_messages import BenchAbout, BenchReveal
from ingest.wire.messages import (
    About,
    Advice,
    MessageError,
    Status,
    Visit,
    decode,
    decode_mark,
    decode_pack,
    rig_and_kind,
)

logger = logging.getLogger(__name__)

MOST_RIGS = 300
MOST_VIEWERS = 40
EVERY_S = 0.25
"""At least, between two looks at what was heard."""
BY_TIME_S = 1.0
"""Between two looks at every rig: one falls silent, or is stuck, without a message."""


class Wall:
    """The newest of every rig. publish: sends to the broker; None while it is out of reach."""

    KINDS: Final = ("status", "about", "latest", "advice", "marks", "visit", "bench/about", "bench/reveal")
    """What is told of a rig here; the pack of each tick is not among it."""

    def __init__(self) -> None:
        self.rigs: dict[str, Heard] = {}
        self.refused: Counter[str] = Counter()
        self.publish: Publish | None = None
        self.somebody = asyncio.Event()
        """Set when a lead comes or goes."""
        self._newest: dict[str, dict[str, bytes]] = {}
        self._late: dict[str, Lateness] = {}
        self._changed: set[str] = set()
        self._heard = asyncio.Event()
        self._viewers: dict[Viewer, None] = {}
        self._shown: dict[tuple[str, System], bytes] = {}
        self._receivers: Mapping[str, Callable[[Heard, bytes], Heard]] = {
            "status": lambda heard, payload: replace(heard, status=decode(payload, Status)),
            "about": lambda heard, payload: with_about(heard, decode(payload, About)),
            "latest": self._with_pack,
            "advice": lambda heard, payload: with_advice(heard, decode(payload, Advice)),
            "marks": lambda heard, payload: with_mark(heard, decode_mark(payload)),
            "visit": lambda heard, payload: replace(heard, visit=decode(payload, Visit)),
            "bench/about": lambda heard, payload: replace(heard, bench=decode(payload, BenchAbout)),
            "bench/reveal": lambda heard, payload: replace(
                heard, reveal=decode(payload, BenchReveal) if payload else None
            ),
        }

    # --- from the rigs

    def receive(self, topic: str, payload: bytes) -> None:
        """Take in one message. One that cannot be read is counted, told once and left out."""
        kind = topic
        try:
            rig, kind = rig_and_kind(topic)
            self.rigs[rig] = self._receivers[kind](self._known(rig), payload)
            self._newest.setdefault(rig, {})[kind] = payload
            self._changed.add(rig)
            self._heard.set()
        except MessageError as error:
            self.refused[kind] += 1
            if self.refused[kind] == 1:
                logger.warning("a message on %s is refused: %s", topic, error)

    def _known(self, rig: str) -> Heard:
        if rig not in self.rigs and len(self.rigs) >= MOST_RIGS:
            raise MessageError(f"it is of one rig more than the {MOST_RIGS} that are kept")
        return self.rigs.get(rig, Heard(rig))

    def _with_pack(self, heard: Heard, payload: bytes) -> Heard:
        pack, now = decode_pack(payload), Now(time.monotonic(), time.time())
        late_s = self._late.setdefault(heard.rig, Lateness()).of(pack, now)
        return with_pack(heard, pack, now, late_s)

    def connected(self, publish: Publish | None) -> None:
        """Note that the broker is within reach, and how to publish; None when it was lost."""
        self.publish = publish
        self._tell_way()

    def newest(self, rig: str) -> Mapping[str, bytes]:
        """Give the newest message of each kind as it came, for a hub that is opened for the rig."""
        return self._newest.get(rig, {})

    # --- to the leads

    @property
    def leads(self) -> set[str]:
        """Name the leads who have all rigs in view."""
        return {viewer.who.name for viewer in self._viewers}

    def join(self, system: System) -> Viewer:
        """Let a page of whoever asks for it watch; it starts with all that is known.

        Raises:
            FullError: every place is taken.

        """
        if len(self._viewers) >= MOST_VIEWERS:
            raise FullError(f"{len(self._viewers)} pages watch all rigs already. Close one that nobody looks at.")
        viewer = Viewer(system, visitor.get())
        self._viewers[viewer] = None
        viewer.put("way", self._way())
        for rig in self.rigs:
            self._lay_out(rig, system)
            viewer.put(f"card {rig}", self._event(rig, system))
        self.somebody.set()
        return viewer

    def leave(self, viewer: Viewer) -> None:
        """Forget a page that was closed."""
        self._viewers.pop(viewer, None)
        self.somebody.set()

    def dismiss_viewers(self) -> None:
        """End every stream, so that the server can stop."""
        for viewer in list(self._viewers):
            viewer.dismiss()

    async def run(self) -> None:
        """Look at what was heard, again and again, until cancelled."""
        looked_s = 0.0
        while True:
            with suppress(TimeoutError):
                async with asyncio.timeout(BY_TIME_S):
                    await self._heard.wait()
            self._heard.clear()
            changed, self._changed = self._changed, set()
            if time.monotonic() - looked_s >= BY_TIME_S:
                looked_s, changed = time.monotonic(), set(self.rigs)
            self._tell(changed)
            await asyncio.sleep(EVERY_S)

    def _tell(self, rigs: Iterable[str]) -> None:
        """Tell everybody who watches of the rigs that now look otherwise."""
        systems = {viewer.system for viewer in self._viewers}
        for rig in rigs:
            for system in systems:
                if self._lay_out(rig, system):
                    event = self._event(rig, system)
                    for viewer in self._viewers:
                        if viewer.system == system:
                            viewer.put(f"card {rig}", event)

    def _lay_out(self, rig: str, system: System) -> bool:
        """Lay a rig out, and tell whether it looks otherwise than before."""
        heard, now_s = self.rigs[rig], time.time()
        laid_out = encode_event("card", card(heard, situation(heard, now_s), system))
        same = self._shown.get((rig, system)) == laid_out
        self._shown[rig, system] = laid_out
        return not same

    def _event(self, rig: str, system: System) -> bytes:
        """Give the newest card of a rig, after how old its figures are: that grows without a change of the card."""
        pack_s = self.rigs[rig].pack_s
        behind_s = None if pack_s is None else round(max(0.0, time.time() - pack_s), 2)
        return encode_event("age", {"rig": rig, "behind": behind_s}) + self._shown[rig, system]

    def _way(self) -> bytes:
        return encode_event("way", {"broker": self.publish is not None})

    def _tell_way(self) -> None:
        for viewer in self._viewers:
            viewer.put("way", self._way())
