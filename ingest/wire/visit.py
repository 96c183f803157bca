"""How the visit stands, as the daemon knows it from the record; no page works it out from what it happens to hold."""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.account import ByWeight, CircuitAccount
from ingest.wire.checklist import Fact
from ingest.wire.cylinders import CylinderStands
from ingest.wire.findings import FindingStands
from ingest.wire.leaving import ChargeLeftStands
from ingest.wire.pattern import ChosenStands, PatternStands
from ingest.wire.photographs import PhotographsStand
from ingest.wire.placing import ChannelPlace
from ingest.wire.progress import Progress
from ingest.wire.proposals import ByHold, ProposalStands
from ingest.wire.talk import HoldStands, StopStands, TalkCounts, ThreadStands, WantStands


class PendingNote(msgspec.Struct, frozen=True, omit_defaults=True):
    """A lead's note that no technician has acknowledged. id: by which to acknowledge it. at_s: as in the note."""

    id: str
    by: str
    time_s: float
    text: str
    at_s: float | None = None


class SettledSince(msgspec.Struct, frozen=True):
    """The figure that shows the charge has settled, by the judge's rules, and since when [s since 1970]."""

    figure: Literal["superheat", "subcooling"]
    since_s: float


class Visit(msgspec.Struct, frozen=True, omit_defaults=True):
    """The state of a visit. added_kg, recovered_kg: what the moves come to, with every correction.

    moves: how many there were. last_move_s: when the last was, None before the first. notes: pending, oldest first.
    circuit: the one in view. places: where channels were put. hoses: the ports that a hose shares with a probe.
    elsewhere: the channels that do not read the circuit in view, and why. came_from: the units whose channels
    of them these were, as long as nobody has said where they are; else empty. progress: how far it is.
    circuits: the account of each, the one in view first. by_weight: a charge by weight of that one, while there is one.
    cylinders: in the order in which they were described.
    settled: None while the judge does not say so; a move, a correction of the readings and a new start end it.
    proposals: what the instruments showed and nobody has answered yet, the oldest first.
    findings: the newest of each check and part or circuit, oldest first. locks: whose stand, as far as was said; empty:
    of somebody not known.
    next: the checks that the facts ask for, by their words: advice. left_in_the_panel: those that were open as its
    cover went on, where it has run well since: named as open, and led to by nothing. facts: what is so of this visit,
    by which figures are asked for or not. questions, wants, holds: those that are open, oldest first, as far as they
    fit. safety_class: that was found in a circuit, the one that burns worst; "not_known" where nobody knows, empty
    where nobody looked. stop: a lead's. talk: how many there are of each. pattern: the newest one of the fan. chosen:
    the unit, as it was told last; None for none of these. by_hold: what the HOLD key of a linked meter takes next,
    while that is asked for. charge_left: that the charge of the circuit in view is left, against what the judge asks
    for.
    """

    visit: str
    added_kg: float
    recovered_kg: float
    moves: int
    last_move_s: float | None = None
    notes: Sequence[PendingNote] = ()
    settled: SettledSince | None = None
    circuit: str = ""
    places: Mapping[str, ChannelPlace] = {}
    hoses: Sequence[str] = ()
    elsewhere: Mapping[str, str] = {}
    came_from: str = ""
    progress: Progress = Progress()
    proposals: Sequence[ProposalStands] = ()
    findings: Sequence[FindingStands] = ()
    locks: Sequence[str] = ()
    next: Sequence[str] = ()
    left_in_the_panel: Sequence[str] = ()
    facts: Sequence[Fact] = ()
    safety_class: str = ""
    circuits: Sequence[CircuitAccount] = ()
    by_weight: ByWeight | None = None
    cylinders: Sequence[CylinderStands] = ()
    questions: Sequence[ThreadStands] = ()
    wants: Sequence[WantStands] = ()
    holds: Sequence[HoldStands] = ()
    stop: StopStands | None = None
    talk: TalkCounts = TalkCounts()
    photographs: PhotographsStand = PhotographsStand()
    pattern: PatternStands | None = None
    chosen: ChosenStands | None = None
    by_hold: ByHold | None = None
    charge_left: ChargeLeftStands | None = None

    @property
    def is_stopped(self) -> bool:
        """Whether a lead has asked to stop, and none has said go on: nothing is next then."""
        return self.stop is not None and self.stop.released_s is None
