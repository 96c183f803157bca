"""What is known of one rig now, and the people who watch it.

Messages come in through `receive`, which survives anything. Events go out to viewers as bytes, formatted once for
each system of units however many watch. Every event carries a state in full, so a viewer who is slow needs only the
newest of each kind: that is all that ever waits for them.
"""

import asyncio
import logging
import time
from collections import Counter
from collections.abc import Awaitable, Callable, Mapping
from functools import partial
from typing import Literal

import msgspec

from calc.units import System
from dashboard import display, journal, words
from dashboard.chart_air import chart_air
from dashboard.errors import AskError, FullError
from dashboard.history import Past
from dashboard.lateness import Lateness, Now
from dashboard.looked_for import looks_at
from dashboard.numbering import Numbering
from dashboard.ring import Ring
from dashboard.roles import Visitor, visitor
from dashboard.training.exercise import exercise as lay_out_exercise
from dashboard.training.hands import controls
from dashboard.unit.told import told as unit_told
from dashboard.visit.beginning import judged_of
from dashboard.visit.told import Known, checks_told, told
from ingest.wire.bench_acts import BenchState
from ingest.wire.bench_messages import BenchAbout, BenchReveal
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    About,
    Advice,
    Answer,
    Check,
    Checklist,
    Finding,
    Mark,
    MessageError,
    Pack,
    Sheet,
    Status,
    UnitHistory,
    Units,
    Visit,
    decode,
    decode_mark,
    decode_pack,
    rig_and_kind,
)
from ingest.wire.plausible import believable
from ingest.wire.texts import LONGEST_NAME, fault, shown, unturned_json
from ingest.wire.topics import SHEETS
from ingest.wire.watching import GONE_AFTER_S, MOST_TOLD, Watching

logger = logging.getLogger(__name__)

MOST_VIEWERS = 100
MOST_OF_ONE = 24
"""Pages of one visitor: a further one takes the place of that visitor's oldest."""
KEPT_FOR_TECHNICIANS = 24
"""Places that no lead takes."""
MOST_MARKS = 5000
MOST_WATCHING = 50
"""Pages of leads that say so by the broker."""
FRAME_SPACING_S = 0.1
"""A burst of packs after an outage becomes one frame, not hundreds."""

Publish = Callable[[str, bytes], Awaitable[None]]

PageName = Literal["charge", "visit", "unit"]
EVENTS: Mapping[PageName, tuple[str, ...]] = {
    "charge": ("status", "about", "marks", "frame", "advice", "bench", "hands"),
    "visit": ("status", "about", "checklist", "visit", "frame", "advice"),
    "unit": ("status", "about", "unit", "visit", "frame", "advice"),
}
"""What each page is told when it opens, in this order, and from then on; who watches is told as it changes."""
_AS_IT_CHANGES: Mapping[PageName, tuple[str, ...]] = {
    "charge": ("watchers", "past"),
    "visit": ("watchers",),
    "unit": ("watchers",),
}

_OF_THE_VISIT = frozenset(EVENTS["visit"] + EVENTS["unit"]) - frozenset(EVENTS["charge"])


class Viewer:
    """One open page. At most one event of each kind waits; a newer one takes its place."""

    def __init__(self, system: System, who: Visitor, page: PageName = "charge") -> None:
        self.system = system
        self.who = who
        self.told = frozenset(EVENTS[page] + _AS_IT_CHANGES[page])
        self.dismissed = False
        self._waiting: dict[str, bytes] = {}
        self._something = asyncio.Event()

    def put(self, kind: str, event: bytes) -> None:
        """Leave an event to be sent, in place of an older one of its kind."""
        self._waiting.pop(kind, None)
        self._waiting[kind] = event
        self._something.set()

    def dismiss(self) -> None:
        """Tell the page's stream to end."""
        self.dismissed = True
        self._something.set()

    async def take(self) -> bytes:
        """Wait for events and take all that wait, oldest first."""
        await self._something.wait()
        self._something.clear()
        events, self._waiting = self._waiting, {}
        return b"".join(events.values())


class Hub:
    """The state of one rig.

    marks: by id, oldest first. past_wanted: set when the record may know more than was heard. refused: how many
    messages could not be read, by kind. tell_leads: is called when somebody comes or goes. looked_at_s: when somebody
    last did, by the monotonic clock. publish: sends to the broker; None while it is out of reach. reveal: what a
    verdict on the bench brought to light, if there was one; revealed: set when there is.
    """

    def __init__(self, rig: str | None = None, ring: Ring | None = None, *, broker_user: str = "") -> None:
        self.rig = rig
        self.ring = ring or Ring()
        self.numbering = Numbering()
        self._lateness = Lateness()
        self.past_wanted = asyncio.Event()
        self.past_wanted.set()
        self.about: About | None = None
        self.advice: Advice | None = None
        self.status: Status | None = None
        self.newest: Pack | None = None
        self.marks: dict[str, Mark] = {}
        self.visit: Visit | None = None
        self._checks: dict[str, Checklist] = {}
        self._units: Units | None = None
        self._sheets: dict[str, Sheet] = {}
        self._history: UnitHistory | None = None
        self.broker_user = broker_user
        self._bench: BenchAbout | None = None
        self._hands: BenchState | None = None
        self.reveal: BenchReveal | None = None
        self.revealed = asyncio.Event()
        self.refused: Counter[str] = Counter()
        self._unread: set[str] = set()
        self._unshown: set[str] = set()
        self.publish: Publish | None = None
        self.tell_leads: Callable[[], None] = lambda: None
        self.looked_at_s = time.monotonic()
        self._heard_s = 0.0
        self._viewers: dict[Viewer, None] = {}
        self._watching: dict[str, tuple[Watching, asyncio.TimerHandle]] = {}
        self._answers: dict[str, asyncio.Future[Answer]] = {}
        self._frame_timer: asyncio.TimerHandle | None = None
        self._receivers: Mapping[str, Callable[[bytes], None]] = {
            "status": self._receive_status,
            "about": self._receive_about,
            "readings": self._receive_pack,
            "latest": self._receive_latest,
            "advice": self._receive_advice,
            "marks": self._receive_mark,
            "visit": self._receive_visit,
            "units": self._receive_units,
            "history": self._receive_history,
            "bench/about": self._receive_bench,
            "bench/reveal": self._receive_reveal,
            "bench/state": self._receive_hands,
        }

    @property
    def bench(self) -> BenchAbout | None:
        """What is on the bench. Only a simulated rig has one."""
        return self._bench if self.about and self.about.simulated else None

    @property
    def checks(self) -> dict[str, Check]:
        """The guided checks of the rig, by their words, in order."""
        groups = (self._checks[kind] for kind in sorted(self._checks))
        return {check.word: check for group in groups for check in group.checks}

    @property
    def exercise(self) -> BenchAbout | None:
        """The bench whose hidden fault waits for a verdict."""
        return self.bench if self.bench and self.bench.blind and self.reveal is None else None

    # --- from the rig, and from its record

    def receive(self, topic: str, payload: bytes) -> None:
        """Take in one message. One that cannot be read is counted, told once and left out."""
        kind = topic
        try:
            rig, kind = rig_and_kind(topic)
            if self.rig is None:
                self.rig = rig
            if rig == self.rig:
                is_of_pages = kind.startswith("watching/")  # whose names are refused as they are
                self._receiver(kind)(payload if is_of_pages else unturned_json(payload))
        except MessageError as error:
            kind = kind.partition("/")[0]  # what follows is whose it is, of which there may be any number
            self.refused[kind] += 1
            if self.refused[kind] == 1:
                logger.warning("a message on %s is refused: %s", shown(topic), error)
            self._unread.add(kind)
            self._notify("status")
        else:
            if (of := kind.partition("/")[0]) in self._unread and of != "marks":  # a mark is not told again
                self._unread.discard(of)
                self._notify("status")

    def connected(self, publish: Publish | None) -> None:
        """Note that the broker is within reach, and how to publish; None when it was lost."""
        self.publish = publish
        if publish is not None:
            self.past_wanted.set()  # what was published meanwhile is in the record
        self._notify("status")

    def recall(self, past: Past) -> None:
        """Put what the record knows between what was heard, and tell the pages to fetch it."""
        self.numbering.recalled(past.until)
        self.ring.merge(past.packs)
        if past.newest and (self.newest is None or _order(past.newest) > _order(self.newest)):
            self._hear(past.newest, silent_for_s=max(0.0, time.time() - past.newest.time_s))
            self._notify("frame")
        heard, self.marks = self.marks, {}
        for mark in [*past.marks, *heard.values()]:
            self._keep_mark(mark)
        self._notify("past", "marks", "visit")

    def _receiver(self, kind: str) -> Callable[[bytes], None]:
        if kind.startswith("answer/"):
            return self._receive_answer
        if kind.startswith("checklist/"):
            return partial(self._receive_checklist, kind)
        if kind.startswith(SHEETS):
            return self._receive_sheet
        if kind.startswith("watching/"):
            return partial(self._receive_watching, kind)
        if kind not in self._receivers:
            raise MessageError("no message that a page knows")
        return self._receivers[kind]

    def _receive_status(self, payload: bytes) -> None:
        self.status = decode(payload, Status)
        self._notify("status")

    def _receive_about(self, payload: bytes) -> None:
        about = decode(payload, About)
        if self.about is None or self.about.visit != about.visit:
            self.marks = {}
            self._unread.discard("marks")
            self.past_wanted.set()
        if self.about and about.unit.tag != self.about.unit.tag:
            self._leave_unit()
        if self.newest and about.session < self.newest.session:
            self.newest = None  # the rig counts from one again, in a new record
        if self.about and about.session <= self.about.session and about.started_s > self.about.started_s:
            self.numbering = Numbering()
            self.past_wanted.set()
        self.about = about
        for mark in about.marks:
            self._keep_mark(mark)
        self._notify("about", "bench", "hands", "marks", "checklist", "visit", "unit", "advice", "frame")

    def _leave_unit(self) -> None:
        """Keep nothing of a unit beside another: its readings would pass for those of that one."""
        self.ring = Ring(self.ring.capacity)
        self.numbering = Numbering()
        self.newest = self.advice = self.visit = None
        self.past_wanted.set()
        self._notify("past")

    def _receive_advice(self, payload: bytes) -> None:
        before = self._judged()
        self.advice = decode(payload, Advice)
        self._notify("advice", *(("visit",) if self._judged() != before else ()))

    def _judged(self) -> dict[str, str]:
        """Give what the judge says that a check asks for too; nothing of it before the verdict of an exercise."""
        return judged_of(None if self.exercise else self.advice)

    def _receive_mark(self, payload: bytes) -> None:
        mark = decode_mark(payload)
        self._keep_mark(mark)
        self._notify("marks", *(("visit",) if isinstance(mark, Finding) else ()))

    def _receive_bench(self, payload: bytes) -> None:
        self._bench = decode(payload, BenchAbout)
        self._notify("bench", "hands", "advice", "visit")

    def _receive_reveal(self, payload: bytes) -> None:
        """Take in the truth; an empty one takes back what an earlier bench told."""
        self.reveal = decode(payload, BenchReveal) if payload else None
        if self.reveal:
            self.revealed.set()
        else:
            self.revealed.clear()
        self._notify("bench", "hands", "advice", "visit")

    def _receive_hands(self, payload: bytes) -> None:
        self._hands = decode(payload, BenchState)
        self._notify("hands")

    def _receive_visit(self, payload: bytes) -> None:
        before = self.found
        self.visit = decode(payload, Visit)
        self._notify("marks", "visit", *(("checklist", "hands") if self.found != before else ()))

    @property
    def found(self) -> str:
        """The safety class that the visit found in the unit; empty where nobody looked."""
        return self.visit.safety_class if self.visit else ""

    def _receive_checklist(self, kind: str, payload: bytes) -> None:
        self._checks[kind] = decode(payload, Checklist)
        self._notify("visit")

    def _receive_units(self, payload: bytes) -> None:
        self._units = decode(payload, Units)
        self._notify("visit")

    def _receive_history(self, payload: bytes) -> None:
        self._history = decode(payload, UnitHistory)
        self._notify("checklist", "visit", "unit")

    def _receive_sheet(self, payload: bytes) -> None:
        """Take in the sheet of a unit; what a page shows of checks and places names its circuits and parts.

        Empty: it is retained no more, since the register tells of newer ones. What was heard of it is still so.
        """
        if not payload:
            return
        sheet = decode(payload, Sheet)
        self._sheets[sheet.tag] = sheet
        if self.about and sheet.tag == self.about.unit.tag:
            self._notify("checklist", "visit", "unit")

    def _keep_mark(self, mark: Mark) -> None:
        self.marks.setdefault(mark.id, mark)
        while len(self.marks) > MOST_MARKS:
            del self.marks[next(iter(self.marks))]

    def _receive_pack(self, payload: bytes) -> None:
        pack = believable(decode_pack(payload))
        if self.ring.holds(pack):
            return
        self.ring.append(pack)
        if pack.sequence is not None and self.numbering.hear(pack.sequence):
            self.past_wanted.set()
        if self.newest is None or _order(pack) > _order(self.newest):
            self._hear(pack, silent_for_s=self._late_s(pack))
            self._schedule_frame()

    def _receive_latest(self, payload: bytes) -> None:
        """Show the newest known values at once, until packs as new as they come: after an outage old ones come first.

        What the broker kept may be older than this page.
        """
        pack = believable(decode_pack(payload))
        if self.newest is None or _order(pack) > _order(self.newest):
            kept_s = max(0.0, time.time() - pack.time_s) if self.newest is None else 0.0
            self._hear(pack, silent_for_s=max(kept_s, self._late_s(pack)))
            self._schedule_frame()

    def _late_s(self, pack: Pack) -> float:
        return self._lateness.of(pack, Now(time.monotonic(), time.time()))

    def _hear(self, pack: Pack, *, silent_for_s: float) -> None:
        self.newest = pack
        self._heard_s = time.monotonic() - silent_for_s

    def _receive_answer(self, payload: bytes) -> None:
        answer = decode(payload, Answer)
        waiting = self._answers.get(answer.id)
        if waiting is not None and not waiting.done():
            waiting.set_result(answer)

    def _receive_watching(self, page: str, payload: bytes) -> None:
        """Take in who looks at the rig by another page; one that says nothing any more is forgotten."""
        watching = decode(payload, Watching)
        for names in (watching.opened, watching.among):
            if len(names) > MOST_TOLD or any(fault(name, LONGEST_NAME) for name in names):
                raise MessageError(f"at most {MOST_TOLD} names were expected, each of at most {LONGEST_NAME} letters")
        self._forget_watching(page)
        if watching.opened or watching.among:
            if len(self._watching) >= MOST_WATCHING:
                raise MessageError("more pages say that they watch than are believed")
            loop = asyncio.get_running_loop()
            self._watching[page] = (watching, loop.call_later(GONE_AFTER_S, self._gone, page))
        self._notify("watchers")

    def _forget_watching(self, page: str) -> None:
        if known := self._watching.pop(page, None):
            known[1].cancel()

    def _gone(self, page: str) -> None:
        self._forget_watching(page)
        self._notify("watchers")

    # --- to the rig

    async def send(self, topic: str, payload: bytes) -> None:
        """Publish something for the rig.

        Raises:
            AskError: the broker is out of reach.

        """
        if self.publish is None:
            raise AskError(503, "The page has lost the rig's broker. Nothing is recorded; try again when it is back.")
        await self.publish(topic, payload)

    async def ask(self, topic: str, payload: bytes, ask_id: str, timeout_s: float) -> Answer:
        """Publish a request and wait for the rig's answer.

        Raises:
            AskError: the broker is out of reach, or no answer came in time.

        """
        answer = self._answers.setdefault(ask_id, asyncio.get_running_loop().create_future())
        try:
            async with asyncio.timeout(timeout_s):
                await self.send(topic, payload)
                return await asyncio.shield(answer)
        except TimeoutError as error:
            raise AskError(
                504, f"The rig has not answered within {timeout_s:g} s. Look at the visit's marks before you repeat it."
            ) from error
        finally:
            self._answers.pop(ask_id, None)

    # --- to those who watch

    @property
    def viewers(self) -> int:
        """How many pages are open."""
        return len(self._viewers)

    def join(self, system: System, page: PageName = "charge") -> Viewer:
        """Let a page of whoever asks for it watch; it starts with everything that is known.

        Raises:
            FullError: every place is taken, and none can be made free for this visitor.

        """
        viewer = Viewer(system, visitor.get(), page)
        self._make_room(viewer.who)
        self._viewers[viewer] = None
        for kind in EVENTS[page]:
            event = self._event(kind, system)
            if event is not None:
                viewer.put(kind, event)
        self._came_or_went()
        return viewer

    def _make_room(self, who: Visitor) -> None:
        """Dismiss a page that must go for a new one: the visitor's own oldest, or another's for a technician's."""
        own = [viewer for viewer in self._viewers if viewer.who == who]
        others = [viewer for viewer in self._viewers if viewer.who.role != "technician"]
        full = len(self._viewers) >= MOST_VIEWERS
        if len(own) >= MOST_OF_ONE or (full and own):
            self._dismiss(own[0])
        elif who.role == "technician" and full and others:
            self._dismiss(others[0])
        elif full or (who.role != "technician" and len(others) >= MOST_VIEWERS - KEPT_FOR_TECHNICIANS):
            raise FullError(f"{len(self._viewers)} pages are open already. Close one that nobody looks at.")

    def _dismiss(self, viewer: Viewer) -> None:
        """Tell a page to end, and count it no more, whether or not it ever reads that."""
        viewer.dismiss()
        self._viewers.pop(viewer, None)

    def dismiss_viewers(self) -> None:
        """End every stream, so that the server can stop; the pages come back when it does."""
        for viewer in list(self._viewers):
            self._dismiss(viewer)

    def leave(self, viewer: Viewer) -> None:
        """Forget a page that was closed."""
        self._viewers.pop(viewer, None)
        self._came_or_went()

    def _came_or_went(self) -> None:
        self.looked_at_s = time.monotonic()
        self._notify("watchers")
        self.tell_leads()

    def _schedule_frame(self) -> None:
        if self._frame_timer is None:
            self._notify("frame")
            self._frame_timer = asyncio.get_running_loop().call_later(FRAME_SPACING_S, self._frame_due, self.newest)

    def _frame_due(self, shown: Pack | None) -> None:
        self._frame_timer = None
        if self.newest is not shown:
            self._schedule_frame()

    def _notify(self, *kinds: str) -> None:
        for kind in kinds:
            for system in {viewer.system for viewer in self._viewers if kind in viewer.told}:
                event = self._event(kind, system)
                if event is not None:
                    self._send(kind, event, system)

    def _send(self, kind: str, event: bytes, system: System) -> None:
        for viewer in self._viewers:
            if viewer.system == system and kind in viewer.told:
                viewer.put(kind, event)

    def _event(self, kind: str, system: System) -> bytes | None:
        try:
            data = self._data(kind, system)
        except Exception:
            # A newer rig says what nobody here foresaw: it silences that part of a page, and the page says so.
            if kind == "status":
                raise
            if kind not in self._unshown:
                logger.exception("what the rig says of %s cannot be shown: this page may be older than the rig", kind)
                self._unshown.add(kind)
                self._notify("status")
            return None
        if kind in self._unshown:
            self._unshown.discard(kind)
            self._notify("status")
        return None if data is None else encode_event(kind, data)

    def _data(self, kind: str, system: System) -> display.Json | None:
        if kind == "status":
            return self._status()
        if kind == "about":
            return display.about(self.about, system) if self.about else None
        if kind == "watchers":
            return {"says": self._watchers()}
        if kind == "past":
            return {"packs": len(self.ring)}
        if kind in _OF_THE_VISIT:
            return self._of_the_visit(kind, system)
        if kind == "marks":
            return journal.marks(list(self.marks.values()), self.visit, self.about, system)
        if kind == "frame" and self.newest:
            laid_out = display.frame(self.newest, self.about, system, since_s=time.monotonic() - self._heard_s)
            air = chart_air(self.newest, self.about)
            return laid_out if air is None else {**laid_out, "chart_air": air}
        if kind == "advice" and self.advice:
            advice = held_back(self.advice) if self.exercise else self.advice
            sheet = self._sheets.get(self.about.unit.tag) if self.about else None
            looks = looks_at(sheet, self.visit, self.marks.values())
            return display.advice(advice, self.newest, system, looks)
        if kind == "bench" and self.bench:
            return lay_out_exercise(self.bench, self.reveal, system)
        return self._controls(system) if kind == "hands" else None

    @property
    def leads(self) -> set[str]:
        """Name who watches by a page of this hub: leads, and whoever only sees."""
        return {viewer.who.name for viewer in self._viewers if viewer.who.role != "technician"}

    @property
    def people(self) -> set[str]:
        """Name everybody who has a page of this hub open."""
        return {viewer.who.name for viewer in self._viewers}

    def _watchers(self) -> str:
        """Say who watches, by this page's server or another: who has the rig open, then who has it among others."""
        told = [watching for watching, _ in self._watching.values()]
        opened = self.leads.union(*(it.opened for it in told))
        among = set[str]().union(*(it.among for it in told)) - opened
        return words.watchers(sorted(opened), sorted(among))

    def _controls(self, system: System) -> display.Json | None:
        """Lay out the controls of the bench; None where there is none."""
        if not (self._hands and self.bench):
            return None
        channels = {channel.name for channel in self.about.channels} if self.about else set()
        refrigerant = self.about.unit.refrigerant if self.about else None
        blind = self.exercise is not None
        return controls(
            self._hands, refrigerant=refrigerant, channels=channels, found=self.found, blind=blind, system=system
        )

    @property
    def checklists(self) -> list[Checklist]:
        """The guided checks that the rig retains, by their groups."""
        return [self._checks[group] for group in sorted(self._checks)]

    def _of_the_visit(self, kind: str, system: System) -> display.Json | None:
        """Lay out an event of the Visit page or of the Unit page; None before the rig is known."""
        if self.about is None:
            return None
        known = Known(
            self.about,
            self.visit,
            self.checklists,
            self._units,
            self._sheets,
            self._history,
            self._judged(),
            self.marks,
        )
        tell = {"checklist": checks_told, "visit": told, "unit": unit_told}[kind]
        return tell(known, system)

    def _status(self) -> display.Json:
        unsaved = self.status.not_saved if self.status else None
        return {
            "rig": self.rig,
            "state": self.status.s if self.status else "unheard",
            "broker": self.publish is not None,
            "refused": self.refused.total(),
            "another": bool(self.status and self.status.another),
            "left_out": list(self.status.left_out) if self.status else [],
            "not_understood": [words.TOLD[kind] for kind in words.TOLD if kind in self._unread | self._unshown],
            "not_saved": None if unsaved is None else msgspec.to_builtins(unsaved),
        }


def encode_event(kind: str, data: display.Json) -> bytes:
    """Encode one server-sent event (WHATWG HTML, section 9.2)."""
    return b"event: " + kind.encode() + b"\ndata: " + msgspec.json.encode(data) + b"\n\n"


def _order(pack: Pack) -> tuple[int, float]:
    return pack.session, pack.monotonic_s
