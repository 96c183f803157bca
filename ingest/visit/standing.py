"""How a visit stands: a fold over its marks. The same marks give the same state, from the record or as they come.

Beside it stands what the judge says of this moment, which no mark holds: since when it has settled.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from calc.judge.after_move import least_wait_s
from calc.ledger import Ledger
from ingest.visit.charges_left import ChargesLeft, stands
from ingest.visit.earlier import NONE_BEFORE, History
from ingest.visit.findings import Findings
from ingest.visit.fitting import fitting
from ingest.visit.leading import Now, led_to
from ingest.visit.leaks import LEAKS
from ingest.visit.moved import Moved
from ingest.visit.pattern import PatternFold
from ingest.visit.photographs import Photographs
from ingest.visit.placing import Placing
from ingest.visit.progress import ProgressFold
from ingest.visit.proposals import Proposals
from ingest.visit.renaming import as_named_now, renamed_in
from ingest.visit.stopping import Stops
from ingest.visit.talk import Talk
from ingest.wire.checklist import Fact
from ingest.wire.messages import (
    LARGEST_MESSAGE_BYTES,
    Acknowledged,
    Added,
    ByHold,
    ChargeLeft,
    Correction,
    Described,
    Finding,
    Mark,
    Note,
    PendingNote,
    Progress,
    ProposedFinding,
    Recovered,
    Released,
    Reply,
    SettledSince,
    Visit,
    VisitOpened,
    encode,
)

NOTES_BYTES = 12 * 1024
"""How much of `visit` pending notes may be, the oldest first; the rest follow as these are acknowledged."""

PROPOSALS_BYTES = 8 * 1024
"""Likewise of what the instruments proposed."""
CYLINDERS_BYTES = 5 * 1024
"""Likewise of cylinders, of which those that were described last travel."""
ACCOUNTS_BYTES = 32 * 1024
"""Likewise of circuits, of which the one in view comes first."""
_BEFORE, _AFTER = "readings_before", "readings_after"
_READINGS = (_BEFORE, _AFTER)
NOTHING_READ = Now()
SHARES = (1.0, 0.6, 0.3)
"""Of all these, how much is tried until the whole is one message: seldom are all full, and then each gives way."""


class Exchanged(NamedTuple):
    """Names that are another circuit's since somebody renamed them."""

    names: frozenset[str]
    by: str
    mark: str


class Standing:
    """The state of one visit. visit: its id. history: of the visits to its unit before."""

    def __init__(self, visit: str, marks: Iterable[Mark] = (), history: History = NONE_BEFORE) -> None:
        self.visit = visit
        self.opened: VisitOpened | None = None
        """By whom the rig was last sent to its unit, and when."""
        self.described_by: dict[str, str] = {}
        """By the tag of a unit, who described it last at this visit."""
        self.exchanged: Exchanged | None = None
        """Who gave a name to another circuit last at this visit."""
        self.unsaved: Sequence[Mark] = ()
        """Of a stop, what is told though the disk has not taken it yet: of no fold, and sealed by nobody."""
        self.stops_elsewhere: Sequence[Mark] = ()
        """Of its stops, what stands in the visits to which they were carried over, or the rig was going: neither."""
        self.by_hold: ByHold | None = None
        """What the HOLD key of a meter takes next, by what the rig reads; None where no meter is read."""
        self._at_s: dict[str, float] = {}  # when each mark was made, by its id
        self._judged_at_s: float | None = None
        self._marks: list[Mark] = []
        self._begin(history)
        for mark in marks:
            self.take(mark)

    def _begin(self, history: History) -> None:
        """Begin with none of its marks."""
        self.moved = Moved(history)
        self.charges_left = ChargesLeft(self.moved.ledgers)
        self.ledger = Ledger()
        self.proposals = Proposals()
        self._last_move_s: float | None = None
        self._last_move_at_s: float | None = None
        self._released_at_s: float | None = None
        self._moved_s: dict[str, float] = {}  # by circuit
        self._measured: set[str] = set()  # circuits
        self._settled: SettledSince | None = None
        self._now = Now()
        self._pending: dict[str, PendingNote] = {}
        self._notes: set[str] = set()
        self.placing = Placing()
        self.findings = Findings(history.locks)
        self._progress = ProgressFold()
        self.talk = Talk()
        self.photographs = Photographs()
        self.pattern = PatternFold()

    @property
    def progress(self) -> Progress:
        """How far the visit is."""
        return self._progress.now

    @property
    def stops(self) -> Stops:
        """The stops, with what was said to them elsewhere, and with what the disk has not taken yet."""
        unsaved = [mark for mark in self.unsaved if mark.id not in self._at_s]
        return self.talk.stops.with_more(self.stops_elsewhere, unsaved)

    def take(self, mark: Mark, at_s: float | None = None) -> float:
        """Take the next mark; returns by how much it changes the charge of the circuit in view [kg].

        at_s: when it was made, by a clock that nobody sets (`ingest.clock`); without it its stamp counts.
        """
        self._at_s[mark.id] = mark.time_s if at_s is None else at_s
        self._marks.append(mark)
        match mark:
            case VisitOpened():
                self.opened = mark
            case Described():
                self.described_by[mark.sheet.tag] = mark.by
                self._rename(renamed_in(mark.sheet, mark.circuits_were))
        return self._fold(mark)

    def has(self, mark_id: str) -> bool:
        """Whether there is such a mark in this visit."""
        return mark_id in self._at_s

    def at_s(self, mark_id: str) -> float:
        """Tell when a mark of this visit was made, by the clock by which things are compared."""
        return self._at_s[mark_id]

    def _rename(self, names: Mapping[str, str]) -> None:
        """Read all that was recorded of circuits by the names that they have from now on."""
        if not names:
            return
        if again := names.keys() & names.values():
            self.exchanged = Exchanged(frozenset(again), self._marks[-1].by, self._marks[-1].id)
        *self._marks, now = [as_named_now(mark, names) for mark in self._marks]
        place, circuits, unnamed = self.findings.place, self.moved.circuits, self.moved.ledgers.unnamed
        instruments = self.placing.instruments
        self._begin(self.moved.history.renamed(names))
        self.findings.at(place)
        self.placing.instruments = instruments
        self.moved.know(circuits, names.get(unnamed, unnamed))
        for mark in self._marks:
            self._fold(mark)
        self._marks.append(now)

    def _fold(self, mark: Mark) -> float:
        """Take a mark as its circuit is named now; returns as `take` does."""
        for topic in (self.placing, self._progress, self.proposals, self.findings, self.talk, self.photographs):
            topic.take(mark)
        self.proposals.withdraw(self.findings.past_of(self.proposals.all_waiting), mark)
        if isinstance(mark, Added | Recovered):
            self.proposals.withdraw(self._read_before(mark), mark)
        self.pattern.take(mark)
        change_kg = self.moved.take(mark, self.placing.circuit)
        self.charges_left.take(mark)
        match mark:
            case Added():
                self.ledger.added(mark.id, mark.mass_kg)
            case Recovered():
                self.ledger.recovered(mark.id, mark.mass_kg)
            case Correction():
                self.ledger.corrected(mark.id, mark.of, mark.mass_kg)
            case Released():
                self._released_at_s = self._at_s[mark.id]
            case Note():
                self._notes.add(mark.id)
                if mark.role == "lead":
                    self._pending.setdefault(mark.id, PendingNote(mark.id, mark.by, mark.time_s, mark.text, mark.at_s))
            case Acknowledged() | Reply() if mark.role != "lead":  # who replies has read it
                self._pending.pop(mark.of, None)
        self._know_circuit(mark)
        return change_kg

    def _read_before(self, move: Added | Recovered) -> list[str]:
        """Name the proposals of readings after an earlier move of its circuit: they are none after this one."""
        circuits = self._names_of(move.circuit or self.placing.circuit)
        return [
            it.id
            for it in self.proposals.all_waiting
            if isinstance(it.what, ProposedFinding) and it.what.check == _AFTER and it.from_s < move.time_s
            if it.what.circuit in circuits
        ]

    def _names_of(self, circuit: str) -> set[str]:
        """Give the names by which a circuit goes: where none was named, the one that was meant."""
        unnamed = {"", self.moved.ledgers.unnamed}
        return unnamed if circuit in unnamed else {circuit}

    def _know_circuit(self, mark: Mark) -> None:
        """Take when a circuit was moved of, and that it was read."""
        if isinstance(mark, Finding) and mark.check in _READINGS:  # one that was skipped is put aside
            self._measured.add(mark.circuit or self.placing.circuit)
        if isinstance(mark, Added | Recovered):
            self._last_move_s = self._moved_s[mark.circuit or self.placing.circuit] = mark.time_s
            self._last_move_at_s = self._at_s[mark.id]
            self._settled = None

    def judged(
        self,
        settled: Literal["superheat", "subcooling", ""],
        time_s: float,
        *,
        now: Now = NOTHING_READ,
        at_s: float | None = None,
    ) -> None:
        """Take what the judge says now: the figure that has settled, or none; what it said before a move is over.

        now: what the rig reads. at_s: as in `take`.
        """
        self._now = now
        self._judged_at_s = judged_s = time_s if at_s is None else at_s
        if self._last_move_at_s is not None and judged_s <= self._last_move_at_s:
            settled = ""
        self.moved.judged(settled)
        if settled:
            self._measured.add(self.placing.circuit)
        if not settled:
            self._settled = None
        elif self._settled is None or self._settled.figure != settled:
            self._settled = SettledSince(settled, round(time_s, 3))

    @property
    def is_judged_since_go_on(self) -> bool:
        """Whether the judge has spoken since a lead last said go on: what it said before is of another moment."""
        if self._released_at_s is None:
            return True
        return self._judged_at_s is not None and self._judged_at_s > self._released_at_s

    @property
    def settled(self) -> str:
        """The figure that shows the charge, where the judge says that it has settled; else empty."""
        return self._settled.figure if self._settled else ""

    @property
    def last_move_s(self) -> float | None:
        """When refrigerant was last moved [s since 1970]; None before the first time."""
        return self._last_move_s

    @property
    def moved_in_view_s(self) -> float | None:
        """When refrigerant of the circuit in view was last moved, as `moved_s`."""
        return self.moved_s(self.placing.circuit)

    def moved_s(self, circuit: str) -> float | None:
        """When refrigerant of a circuit was last moved [s since 1970]; None before the first time."""
        of = self._names_of(circuit)
        return max((moved_s for name, moved_s in self._moved_s.items() if name in of), default=None)

    def read_before(self, circuit: str) -> Mapping[str, float]:
        """Give what the readings before have of a circuit, by the names there [SI]; nothing without such.

        Those that the rig proposed and nobody has answered yet are as good: it read them itself.
        """
        circuit = circuit or self.placing.circuit
        found = self.findings.newest(_BEFORE, circuit)
        if found is not None:
            return {} if found.outcome == "skipped" else found.values
        seen = [it.what for it in self.proposals.all_waiting if isinstance(it.what, ProposedFinding)]
        waiting = [it.values for it in seen if (it.check, it.circuit) == (_BEFORE, circuit)]
        return waiting[-1] if waiting else {}

    @property
    def unmeasured(self) -> list[str]:
        """The circuits beside the one in view that have not settled at this visit, and of which no reading was kept."""
        measured = {name or self.moved.ledgers.unnamed for name in self._measured}
        return [circuit.name for circuit in self.moved.circuits[1:] if circuit.name not in measured]

    @property
    def least_wait_s(self) -> float:
        """How long to wait after a move at least, as was said in the readings after one: by maker or protocol [s]."""
        said = self.findings.newest(_AFTER, self.placing.circuit)
        if said is None:
            return 0.0
        claimed = said.choices.get("claimed", "none")
        return least_wait_s(maker_s=said.values.get("maker_wait"), protocol="" if claimed == "none" else claimed)

    def has_note(self, note: str) -> bool:
        """Whether there is such a note in this visit."""
        return note in self._notes

    def message(self, share: float = 1.0) -> Visit:
        """Say it for the wire. share: of the room that each list has."""
        asked = led_to(
            self.findings.next(self.placing.circuit, is_live=self._now.is_live),
            self.findings.making_dead_open(),
            replace(
                self._now,
                charge_asked=self._is_charge_asked and not self._is_charge_left,
                leaks_first=self._are_leaks_first and not self._is_charge_left,
            ),
        )
        stops = self.stops
        return Visit(
            visit=self.visit,
            added_kg=round(self.ledger.added_kg, 6),
            recovered_kg=round(self.ledger.recovered_kg, 6),
            moves=self.ledger.count,
            last_move_s=self._last_move_s,
            notes=fitting(self._pending.values(), share * NOTES_BYTES),
            settled=self._settled,
            circuit=self.placing.circuit,
            places=dict(sorted(self.placing.now().items())),
            hoses=sorted(self.placing.hoses),
            elsewhere=self.placing.elsewhere(),
            came_from=self.placing.came_from,
            progress=self.progress,
            proposals=fitting(self.proposals.message(), share * PROPOSALS_BYTES),
            findings=self.findings.message(share),
            locks=self.findings.locks,
            next=() if stops.standing else asked,  # until a lead says go on, nothing is to be touched
            left_in_the_panel=self.findings.left_in_the_panel(),
            facts=self._facts(),
            safety_class=self.findings.safety_class(),
            circuits=fitting(self.moved.accounts(), share * ACCOUNTS_BYTES),
            by_weight=self.moved.by_weight(),
            cylinders=fitting(reversed(self.moved.cylinders_stand()), share * CYLINDERS_BYTES)[::-1],
            photographs=self.photographs.message(share),
            pattern=self.pattern.pattern,
            chosen=self.pattern.chosen,
            by_hold=self.by_hold if self.by_hold and self.by_hold.check in asked else None,
            charge_left=stands(left) if (left := self.charge_left) else None,
            **self.talk.message(share, stops)._asdict(),
        )

    @property
    def _is_charge_asked(self) -> bool:
        """Whether the judge asks for the charge of a circuit whose probes are on, as far as anybody said."""
        return self._now.charge_asked and self.findings.is_at_charge(self.placing.circuit)

    @property
    def _are_leaks_first(self) -> bool:
        """Whether leaks are to be looked for before more is added, and nobody did at this visit, or skipped that."""
        circuit, leaks = self.placing.circuit or self.moved.ledgers.unnamed, self.moved.leaks
        if not self._now.leaks_first or not self._is_charge_asked or circuit in {*leaks.sought, *leaks.open}:
            return False
        found = self.findings.newest(LEAKS, self.placing.circuit)
        return found is None or found.outcome != "skipped"

    @property
    def _is_charge_left(self) -> bool:
        """Whether somebody decided to leave it alone, and moved none since: the visit is then led on.

        Not while a lead's stop stands: what was decided before it holds again once they say go on.
        """
        is_alone = self.moved_in_view_s is None and self.findings.is_charge_left(self.placing.circuit)
        return not self.stops.standing and (is_alone or self.charge_left is not None)

    @property
    def charge_left(self) -> ChargeLeft | None:
        """The decision to leave the charge of the circuit in view; None once the judge asks for more than it was about.

        That is the other way, any amount where only a look was asked for, or a much larger one.
        """
        mark = self.charges_left.of(self.placing.circuit)
        if mark is None or not self._now.way:
            return mark
        way = "" if mark.advised_kg is None else "add" if mark.advised_kg > 0.0 else "recover"
        if way != self._now.way or _is_much_more(self._now.step_kg, mark.advised_kg):
            return None
        return mark

    def _facts(self) -> list[Fact]:
        """Name what is so of this visit, and at this moment."""
        so = self.findings.facts() | self._now.facts()
        if self._is_charge_asked:
            so |= {"charge_asked"}
        if self.moved.history.is_first:
            so |= {"first_visit"}
        if "runs" in so and not self.findings.has_been_isolated:
            so |= {"on_throughout"}
        if "runs" in so and self.findings.is_lock_taken_off:
            so |= {"lock_taken_off"}
        is_let_be = self.charge_left is not None or bool(self.stops.standing)
        if "runs" in so and self.findings.is_all_well and not is_let_be:
            so |= {"runs_well"}
        if self.findings.is_closed:
            so |= {"cover_closed"}
        if self._now.both_pressed and not self.placing.are_probes_away:
            so |= {"cores_under_probes"}
        if self.findings.is_cover_off and not self._now.is_live and not self.findings.dead_still_open():
            so |= {"panel_dead"}
        return sorted(so)

    def encoded(self) -> bytes:
        """Say it as bytes, in one message: who sends a larger one is cut off by the broker."""
        for share in SHARES:
            said = encode(self.message(share))
            if len(said) <= LARGEST_MESSAGE_BYTES:
                break
        return said


_MUCH_MORE, _MUCH_MORE_KG = 2.0, 0.05
"""So many times what somebody left alone, and by so much, is another thing: common practice, no source."""


def _is_much_more(step_kg: float | None, left_kg: float | None) -> bool:
    """Tell whether more is asked for than a person decided about."""
    if step_kg is None or left_kg is None:
        return False
    return abs(step_kg) > _MUCH_MORE * abs(left_kg) and abs(step_kg) - abs(left_kg) >= _MUCH_MORE_KG
