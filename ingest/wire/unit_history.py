"""What is remembered of a unit: its visits before this one, and every reading of its parts over all of them."""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.baselines import Baseline
from ingest.wire.findings import FindingStands, Grade, Outcome

PartKind = Literal["motor", "capacitor", "contactor"]


class PartReading(msgspec.Struct, frozen=True, omit_defaults=True):
    """One figure that was measured of a part, in the house's unit.

    id: of the finding's mark. of: which section, leg, pair or pole, by the second part of the value's name; label: the
    same for people, as the check has it. quantity: a kind of `calc.units`. accuracy: its ± limit, None where nothing
    tells. label_value: of a capacitor's section, what its label says [F]. outcome: of the finding.
    """

    visit: str
    id: str
    time_s: float
    check: str
    of: str
    label: str
    quantity: str
    value: float
    grade: Grade
    outcome: Outcome
    accuracy: float | None = None
    label_value: float | None = None


class PartHistory(msgspec.Struct, frozen=True, omit_defaults=True):
    """What was measured of one part, newest first.

    part: its name in the sheet; empty where nobody named it. drives: of a motor nobody named, which it is.
    label: what was read off a can, as far as it was: herm, fan [F], tolerance [share], volts [V], hertz [Hz].
    since_s: when it was fitted [s since 1970], where that was seen: a new part begins a history of its own.
    until_s: when it was taken out; None for the one that is in.
    """

    kind: PartKind
    readings: Sequence[PartReading]
    part: str = ""
    drives: str = ""
    label: Mapping[str, float] = {}
    since_s: float | None = None
    until_s: float | None = None


class CircuitMoved(msgspec.Struct, frozen=True, omit_defaults=True):
    """What went into a circuit at a visit, and what came out of it, as corrections left it [kg]."""

    circuit: str
    added_kg: float = 0.0
    recovered_kg: float = 0.0


class VisitBefore(msgspec.Struct, frozen=True, omit_defaults=True):
    """One visit. began_s: when its first mark was made [s since 1970]. technician: who last worked at it.

    signed_by, signed_s: None and empty where nobody signed. complaint: in the words of whoever called; was_answered:
    gone, better or not; left: how the unit was left. found: what was not met or could not be told, why a part failed,
    and what was replaced, the newest of each. moved: by circuit. next_person, next_reading, owner: what the next person
    must know, when to read again, what the owner was told. open_questions: asked, and never replied to. more: how many
    findings and questions were left out.
    isolated: which disconnect was opened, and how each other feed was found, by the names of that check; nobody's lock.
    screws: by the check that counts them, how many came out. Both are shown as of then, and make nothing so now.
    """

    visit: str
    began_s: float
    technician: str = ""
    signed_by: str = ""
    signed_s: float | None = None
    complaint: str = ""
    was_answered: str = ""
    left: str = ""
    found: Sequence[FindingStands] = ()
    moved: Sequence[CircuitMoved] = ()
    next_person: str = ""
    next_reading: str = ""
    owner: str = ""
    open_questions: Sequence[str] = ()
    more: int = 0
    isolated: Mapping[str, str] = {}
    screws: Mapping[str, float] = {}


class UnitHistory(msgspec.Struct, frozen=True, omit_defaults=True):
    """What the record knows of the unit at work. visits: before the one under way, newest first; parts: with this one.

    baselines: what its circuits showed when they were sound, this visit's and what counts no more among them, newest
    first.
    more_visits, more_readings: how many older ones were left out, since they did not fit.
    """

    tag: str
    visits: Sequence[VisitBefore] = ()
    parts: Sequence[PartHistory] = ()
    more_visits: int = 0
    more_readings: int = 0
    baselines: Sequence[Baseline] = ()
