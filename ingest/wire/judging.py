"""What travels of judging: calc's judgement at one moment, with every sentence worded in either system of units.

Each struct that calc has too is named after it, with `Message`. A sentence travels three times: as its kind with its
figures, for a program or another language, and worded, for those who only show it. Nothing reads the wording.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.wording import Wording


class Forecast(msgspec.Struct, frozen=True):
    """Where a figure is heading: final value ± expanded (k = 2) [K], and the time to get there [s]."""

    value_dk: float
    expanded_dk: float
    seconds: float


class Steadiness(msgspec.Struct, frozen=True):
    """Whether one figure has settled, and why not.

    why: a value of `calc.settling.Why`, where it is not steady; reason: the same in words. value_dk ± expanded_dk
    (k = 2): where it has settled [K]. swing_dk: how far it moves about or away, where that is the reason [K].
    """

    state: Literal["settled", "settling", "not_steady", "unknown"]
    reason: Wording | None = None
    why: str = ""
    swing_dk: float | None = None
    slope_dk_per_min: float | None = None
    forecast: Forecast | None = None
    value_dk: float | None = None
    expanded_dk: float | None = None


class DoubtMessage(msgspec.Struct, frozen=True):
    """A reason to doubt what some channels say, though each of them is plausible by itself.

    fix: what to do about it. confidence: that this is the cause, 0 to 1. source: of the rule.
    """

    channels: Sequence[str]
    reason: Wording
    fix: Wording
    confidence: float
    source: str


class AlarmMessage(msgspec.Struct, frozen=True):
    """A reason to stop at once.

    kind: a value of `calc.judge.alarms.AlarmKind`. says: why, and what to do. measured: against its limit. source: of
    the limit.
    """

    kind: str
    says: Wording
    measured: Wording
    source: str


class ConditionMessage(msgspec.Struct, frozen=True):
    """One condition under which the charge may be judged. says: why it is met or not, and what to do about it."""

    name: str
    state: Literal["met", "not met", "cannot tell"]
    says: Wording
    measured: Wording
    source: str


class VerificationMessage(msgspec.Struct, frozen=True):
    """What a formal verification says of the charge now.

    figure: that shows the charge. state: a value of `calc.judge.verification.ChargeState`. probability: of that
    verdict; where there is none, of the charge being right; None if it may not be judged. deviation_dk ± expanded_dk
    (k = 2): the figure less its target [K]; None without a target. says: the verdict in words. target_dk: the target
    under the conditions of now [K]; None without one.
    """

    figure: str
    state: str
    probability: float | None
    deviation_dk: float | None
    expanded_dk: float | None
    conditions: Sequence[ConditionMessage]
    says: Wording
    target_dk: float | None = None


class EvidenceMessage(msgspec.Struct, frozen=True):
    """What one figure says for or against a cause.

    figure: one of `calc.symptoms.FIGURES`. weight: the logarithm of how much likelier it makes the cause than a
    sound unit, by itself; a sound unit is compared with the likeliest fault. measured: against what was expected.
    source: of the expectation.
    """

    figure: str
    weight: float
    measured: Wording
    source: str


class CauseMessage(msgspec.Struct, frozen=True):
    """What would explain the readings.

    The first explains them best; the others stand by how likely they are there at all, `probability` and `beside`.

    fault, together: values of `calc.diagnosis.Fault`. beside: how likely it is there together with another.
    held_back: why a wrong charge is not blamed yet; else None.
    """

    fault: str
    probability: float
    together: Sequence[str]
    evidence_for: Sequence[EvidenceMessage]
    evidence_against: Sequence[EvidenceMessage]
    next_check: Wording
    held_back: Wording | None = None
    beside: float = 0.0


class NextStepMessage(msgspec.Struct, frozen=True):
    """How much refrigerant to move next: added above 0, recovered below [kg]. There is one only where it is advised.

    needed_kg: what it takes in all; nine in ten chances that it is from needed_least_kg to needed_most_kg.
    limited_by: a value of `calc.judge.next_step.Limit`, why the step is smaller than what is needed; else empty.
    """

    step_kg: float
    needed_kg: float
    needed_least_kg: float
    needed_most_kg: float
    phase: Literal["liquid", "vapour", ""]
    limited_by: str


class AwaitedMessage(msgspec.Struct, frozen=True):
    """What there is to wait for, and for how long still, of how long in all [s].

    what: first_forecast, superheat, subcooling or verification.
    """

    what: str
    seconds_left: float
    of_seconds: float


class Advice(msgspec.Struct, frozen=True):
    """What to do now, in one sentence, with what speaks for it and what to beware of. All of it is one state's.

    cautions: of what the hands do now, the worst first; cautions_once: those that are read once a visit. state: a value
    of `calc.judge.state.State`. steadiness: by figure, superheat and subcooling. doubts: what the readings contradict
    each other in. alarms: what to stop for. verification: None while the figure that shows the charge is unknown.
    causes, the likeliest first: only of a unit that runs and has settled. next_step: only where refrigerant is to be
    moved. not_judged: what no cause speaks of, as terms of `calc.sentences`.
    """

    time_s: float
    sentence: Wording
    details: Sequence[Wording]
    cautions: Sequence[str]
    steadiness: Mapping[str, Steadiness]
    state: str = "look"
    doubts: Sequence[DoubtMessage] = ()
    alarms: Sequence[AlarmMessage] = ()
    verification: VerificationMessage | None = None
    causes: Sequence[CauseMessage] = ()
    next_step: NextStepMessage | None = None
    awaited: AwaitedMessage | None = None
    not_judged: Sequence[str] = ()
    cautions_once: Sequence[str] = ()
