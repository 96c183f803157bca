"""What is known of every rig that the broker lets this page read, and the leads who have all of them in view.

A page shows so many at once, those who need a lead first, and says how many there are; the others are found by a word.

A card is laid out anew when something of its rig was heard or time alone may have changed how it stands, at most a few
times a second, and sent where it differs from what was sent before: once a change, not once a message.
"""

import asyncio
import logging
import time
from collections import Counter
from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from math import inf
from typing import Final, get_args

from calc.units import System
from dashboard.display import Json
from dashboard.errors import FullError
from dashboard.hub import Publish, Viewer, encode_event
from dashboard.lateness import Lateness, Now
from dashboard.roles import visitor
from dashboard.watch.heard import Heard, with_about, with_advice, with_mark, with_pack
from dashboard.watch.situation import NEEDS_A_LEAD, Situation, situation
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
from ingest.wire.plausible import believable
from ingest.wire.texts import shown, unturned_json

logger = logging.getLogger(__name__)

MOST_SHOWN = 300
"""Cards on one page: more of them nobody looks through, and a browser labours."""
MOST_RIGS = 1000
"""That are kept, with one message of each kind."""
MOST_BEYOND = 10_000
"""Of which no more than the name is kept, to count them."""
LONGEST_FIND = 64
MOST_VIEWERS = 40
EVERY_S = 0.25
"""At least, between two looks at what was heard."""
BY_TIME_S = 1.0
"""Between two looks at every rig: one falls silent, or is stuck, without a message."""


@dataclass(slots=True)
class _View:
    """What one page has in view. find: a word that its rigs have in them; empty for any. rigs: whose cards it has."""

    find: str
    rigs: frozenset[str] = frozenset()
    counted: bytes = field(default=b"")


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
        self._stands: dict[str, Situation] = {}
        self._beyond: set[str] = set()
        self._viewers: dict[Viewer, _View] = {}
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
        kind, payload = "name", unturned_json(payload)
        try:
            rig, kind = rig_and_kind(topic)
            self._keep(self._receivers[kind](self.rigs.get(rig, Heard(rig)), payload))
            self._newest.setdefault(rig, {})[kind] = payload
            self._changed.add(rig)
            self._heard.set()
        except MessageError as error:
            self.refuse(kind, topic, error)

    def refuse(self, kind: str, topic: str, error: MessageError) -> None:
        """Count a message that is left out, and tell the first of its kind."""
        self.refused[kind] += 1
        if self.refused[kind] == 1:
            logger.warning("a message on %s is refused: %s", shown(topic), error)

    def _keep(self, heard: Heard) -> None:
        """Keep what is known of a rig by now.

        Raises:
            MessageError: there is no room for one more, and it needs a lead no more than those that are kept.

        """
        stands = situation(heard, time.time())
        if heard.rig not in self.rigs and len(self.rigs) >= MOST_RIGS:
            last = max(self.rigs, key=self._in_order)
            if stands.rank >= NEEDS_A_LEAD or self._stands[last].rank < NEEDS_A_LEAD:
                self._late.pop(heard.rig, None)
                self._only_count(heard.rig)
                raise MessageError(f"it is of one rig more than the {MOST_RIGS} that are kept")
            self._forget(last)
        self._beyond.discard(heard.rig)
        self.rigs[heard.rig], self._stands[heard.rig] = heard, stands

    def _forget(self, rig: str) -> None:
        """Forget the rig that needs a lead least, for one that does."""
        for known in (self.rigs, self._stands, self._newest, self._late):
            known.pop(rig, None)
        for system in get_args(System):
            self._shown.pop((rig, system), None)
        self._changed.discard(rig)
        self._only_count(rig)

    def _only_count(self, rig: str) -> None:
        if len(self._beyond) < MOST_BEYOND:
            self._beyond.add(rig)

    def _in_order(self, rig: str) -> tuple[int, float, str]:
        """Tell the place of a rig in the order in which they need a lead, as the page has it."""
        stands = self._stands[rig]
        return stands.rank, inf if stands.since_s is None else stands.since_s, rig

    def _with_pack(self, heard: Heard, payload: bytes) -> Heard:
        pack, now = believable(decode_pack(payload)), Now(time.monotonic(), time.time())
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

    def join(self, system: System, find: str = "") -> Viewer:
        """Let a page of whoever asks for it watch; it starts with all that is known.

        find: a word that its rigs have in their name, tag, place or technician, in any letters; empty for every rig.

        Raises:
            FullError: every place is taken.

        """
        if len(self._viewers) >= MOST_VIEWERS:
            raise FullError(f"{len(self._viewers)} pages watch all rigs already. Close one that nobody looks at.")
        viewer = Viewer(system, visitor.get())
        self._viewers[viewer] = view = _View(find.strip().casefold()[:LONGEST_FIND])
        viewer.put("way", self._way())
        self._look(self.rigs)
        chosen = self._chosen(view)
        for rig in chosen:
            self._lay_out(rig, system)
        self._tell_one(viewer, view, chosen, frozenset())
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

    def _tell(self, rigs: Collection[str]) -> None:
        """Tell everybody who watches of the rigs that now look otherwise."""
        self._look(rigs)
        chosen = {viewer: self._chosen(view) for viewer, view in self._viewers.items()}
        for system in {viewer.system for viewer in self._viewers}:
            viewers = [viewer for viewer in self._viewers if viewer.system == system]
            in_view = frozenset[str]().union(*(chosen[viewer] for viewer in viewers))
            comes = frozenset[str]().union(*(chosen[viewer] - self._viewers[viewer].rigs for viewer in viewers))
            changed = frozenset(rig for rig in in_view & (comes | set(rigs)) if self._lay_out(rig, system))
            for viewer in viewers:
                self._tell_one(viewer, self._viewers[viewer], chosen[viewer], changed)

    def _look(self, rigs: Collection[str]) -> None:
        """See how rigs stand now, which time alone may have changed."""
        now_s = time.time()
        self._stands |= {rig: situation(self.rigs[rig], now_s) for rig in rigs}

    def _chosen(self, view: _View) -> frozenset[str]:
        """Choose whose cards a page has: of those that it looks for, those who need a lead first."""
        found = [rig for rig in self.rigs if view.find in _words(self.rigs[rig])] if view.find else list(self.rigs)
        if len(found) > MOST_SHOWN:
            found = sorted(found, key=self._in_order)[:MOST_SHOWN]
        return frozenset(found)

    def _tell_one(self, viewer: Viewer, view: _View, chosen: frozenset[str], changed: frozenset[str]) -> None:
        """Tell one page what differs from what it has: cards, those that are no more among them, and the count."""
        for rig in view.rigs - chosen:
            viewer.put(f"card {rig}", encode_event("gone", {"rig": rig}))
        for rig in chosen & changed | chosen - view.rigs:
            viewer.put(f"card {rig}", self._event(rig, viewer.system))
        counted = encode_event("count", self._count(len(chosen)))
        if counted != view.counted:
            viewer.put("count", counted)
        view.rigs, view.counted = chosen, counted

    def _count(self, shown_rigs: int) -> Json:
        """Count the rigs: in view, heard, how many of those need a lead now, and how many others are not kept."""
        needy = sum(stands.rank < NEEDS_A_LEAD for stands in self._stands.values())
        heard = len(self.rigs) + len(self._beyond)
        return {"shown": shown_rigs, "heard": heard, "needy": needy, "left": len(self._beyond)}

    def _lay_out(self, rig: str, system: System) -> bool:
        """Lay a rig out, and tell whether it looks otherwise than before."""
        laid_out = encode_event("card", card(self.rigs[rig], self._stands[rig], system))
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


def _words(heard: Heard) -> str:
    """Give the words by which somebody may look for a rig."""
    unit = heard.about.unit if heard.about else None
    names = [heard.rig, *((unit.tag, unit.place) if unit else ())]
    names += [heard.visit.progress.technician] if heard.visit else []
    return "\n".join(names).casefold()
