"""The messages that Dewline publishes and takes over MQTT, by name: the one door to them for every other room.

Readings travel as SenML (ingest.wire.packs); everything else is plain JSON of frozen structs, each kind in a file of
its own. Unknown fields are ignored, so that a newer rig can be watched by an older page.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.about import About, ChannelAbout, InstrumentAbout, UnitAbout
from ingest.wire.address import BrokerAddress
from ingest.wire.asks import (
    AcknowledgeAsk,
    AddedAsk,
    Answer,
    Ask,
    CheckAsk,
    CorrectAsk,
    CorrectionAsk,
    MoveAsk,
    NoteAsk,
    ReadingAsk,
    RecoveredAsk,
    ReloadAsk,
    decode_ask,
)
from ingest.wire.checks import Calibration, CheckFound, CheckKind, Line
from ingest.wire.encoding import LARGEST_MESSAGE_BYTES, MessageError, decode, encode
from ingest.wire.marks import (
    Acknowledged,
    Added,
    AlarmChanged,
    Checked,
    ClockStepped,
    Corrected,
    Correction,
    LinkChanged,
    Mark,
    Moved,
    Note,
    OwnMark,
    Phase,
    ReadingTaken,
    RecordChanged,
    Recovered,
    Reloaded,
    SessionBegan,
    VisitOpened,
    decode_mark,
)
from ingest.wire.packs import (
    CELSIUS_ZERO_K,
    DECIMALS,
    QUALITIES,
    TIME_DECIMALS,
    Pack,
    Reading,
    SenmlRecord,
    as_recorded,
    decode_pack,
    encode_pack,
    from_wire,
    to_wire,
)
from ingest.wire.roles import AskKind, Role
from ingest.wire.status import NotSaved, Status
from ingest.wire.topics import rig_and_kind, topic
from ingest.wire.visit import PendingNote, Visit
from ingest.wire.wording import Wording

__all__ = [
    "CELSIUS_ZERO_K",
    "DECIMALS",
    "LARGEST_MESSAGE_BYTES",
    "QUALITIES",
    "TIME_DECIMALS",
    "About",
    "AcknowledgeAsk",
    "Acknowledged",
    "Added",
    "AddedAsk",
    "Advice",
    "Alarm",
    "AlarmChanged",
    "Answer",
    "Ask",
    "AskKind",
    "BrokerAddress",
    "Calibration",
    "ChannelAbout",
    "CheckAsk",
    "CheckFound",
    "CheckKind",
    "Checked",
    "ClockStepped",
    "Condition",
    "CorrectAsk",
    "Corrected",
    "Correction",
    "CorrectionAsk",
    "Doubt",
    "Evidence",
    "Explanation",
    "Forecast",
    "InstrumentAbout",
    "Judgement",
    "Line",
    "LinkChanged",
    "Mark",
    "MessageError",
    "MoveAsk",
    "Moved",
    "NextStep",
    "NotSaved",
    "Note",
    "NoteAsk",
    "OwnMark",
    "Pack",
    "PendingNote",
    "Phase",
    "Reading",
    "ReadingAsk",
    "ReadingTaken",
    "RecordChanged",
    "Recovered",
    "RecoveredAsk",
    "ReloadAsk",
    "Reloaded",
    "Role",
    "SenmlRecord",
    "SessionBegan",
    "Status",
    "Steadiness",
    "UnitAbout",
    "Visit",
    "VisitOpened",
    "Wording",
    "as_recorded",
    "decode",
    "decode_ask",
    "decode_mark",
    "decode_pack",
    "encode",
    "encode_pack",
    "from_wire",
    "rig_and_kind",
    "to_wire",
    "topic",
]


class Forecast(msgspec.Struct, frozen=True):
    """Where a figure is heading: final value ± expanded (k = 2) [K], and the time to get there [s]."""

    value_dk: float
    expanded_dk: float
    seconds: float


class Steadiness(msgspec.Struct, frozen=True):
    """Whether one figure has settled, and why not.

    value_dk ± expanded_dk (k = 2): where it has settled [K]. swing_dk: how far it moves about or away, where that is
    the reason [K].
    """

    state: Literal["settled", "settling", "not_steady", "unknown"]
    reason: str = ""
    swing_dk: float | None = None
    slope_dk_per_min: float | None = None
    forecast: Forecast | None = None
    value_dk: float | None = None
    expanded_dk: float | None = None


class Doubt(msgspec.Struct, frozen=True):
    """A reason to doubt what some channels say, though each of them is plausible by itself.

    fix: what to do about it. confidence: that this is the cause, 0 to 1. source: of the rule.
    """

    channels: Sequence[str]
    reason: str
    fix: str
    confidence: float
    source: str


class Alarm(msgspec.Struct, frozen=True):
    """A reason to stop at once.

    kind: a value of `calc.judge.guidance.AlarmKind`. says: why, and what to do. measured: against its limit. source: of
    the limit.
    """

    kind: str
    says: str
    measured: Wording
    source: str


class Condition(msgspec.Struct, frozen=True):
    """One condition under which the charge may be judged. says: why it is met or not, and what to do about it."""

    name: str
    state: Literal["met", "not met", "unknown"]
    says: str
    measured: Wording
    source: str


class Judgement(msgspec.Struct, frozen=True):
    """What a formal verification says of the charge now.

    figure: that shows the charge. state: a value of `calc.judge.guidance.ChargeState`. probability: of that verdict;
    where there is none, of the charge being right; None if it may not be judged. deviation_dk ± expanded_dk (k = 2):
    the figure less its target [K]; None without a target.
    """

    figure: str
    state: str
    probability: float | None
    deviation_dk: float | None
    expanded_dk: float | None
    conditions: Sequence[Condition]


class Evidence(msgspec.Struct, frozen=True):
    """What one figure says for or against an explanation.

    figure: one of `calc.judge.symptoms.FIGURES`. weight: the logarithm of how much likelier it makes the explanation
    than a sound unit, by itself; a sound unit is compared with the likeliest fault. measured: against what was
    expected. source: of the expectation.
    """

    figure: str
    weight: float
    measured: Wording
    source: str


class Explanation(msgspec.Struct, frozen=True):
    """One cause that would explain the readings.

    fault, together: values of `calc.diagnosis.Fault`. held_back: why a wrong charge is not blamed yet; else empty.
    """

    fault: str
    probability: float
    together: Sequence[str]
    evidence_for: Sequence[Evidence]
    evidence_against: Sequence[Evidence]
    next_check: str
    held_back: str


class NextStep(msgspec.Struct, frozen=True):
    """How much refrigerant to move next, were the charge the only fault: added above 0, recovered below [kg].

    needed_kg: what it takes in all; nine in ten chances that it is from needed_least_kg to needed_most_kg.
    advised: whether the readings bear out that it is the charge. limited_by: why the step is smaller than what is
    needed; else empty.
    """

    step_kg: float
    needed_kg: float
    needed_least_kg: float
    needed_most_kg: float
    phase: Literal["liquid", "vapour", ""]
    advised: bool
    limited_by: str


class Advice(msgspec.Struct, frozen=True):
    """What to do now, in one sentence, with what speaks for it and what to beware of.

    steadiness: by figure, superheat and subcooling. doubts: what the readings contradict each other in. alarms: what
    to stop for. judgement: None while the figure that shows the charge is unknown. explanations, the likeliest first,
    and next_step: only of a unit that runs and has settled.
    """

    time_s: float
    sentence: Wording
    details: Sequence[Wording]
    cautions: Sequence[str]
    steadiness: Mapping[str, Steadiness]
    doubts: Sequence[Doubt] = ()
    alarms: Sequence[Alarm] = ()
    judgement: Judgement | None = None
    explanations: Sequence[Explanation] = ()
    next_step: NextStep | None = None
