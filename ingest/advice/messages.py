"""From calc's structs to the messages that are named after them."""

from calc.comparing import Outcome
from calc.diagnosis import Cause, Evidence
from calc.doubts.observed import Doubt
from calc.judge.alarms import Alarm, AlarmKind
from calc.judge.next_step import NextStep
from calc.judge.state import Awaited
from calc.judge.verification import ChargeState, Condition, Verification
from calc.quantities import Quantity
from calc.sentences import amount, chance, count, figure, minutes, term
from ingest.advice.history import History
from ingest.advice.wording import Voice
from ingest.wire import judging
from ingest.wire.messages import Wording

_UNBOUNDED = float("inf")


def doubt_message(doubt: Doubt, voice: Voice) -> judging.DoubtMessage:
    """Word a doubt."""
    reason, fix = voice.word(doubt.reason), voice.word(doubt.fix)
    return judging.DoubtMessage(doubt.channels, reason, fix, doubt.confidence, doubt.source)


def alarm_message(alarm: Alarm, voice: Voice) -> judging.AlarmMessage:
    """Word an alarm."""
    kind = "alarm.at_least" if alarm.kind is AlarmKind.FLOODBACK else "alarm.at_most"
    found = figure("found", alarm.measured, alarm.quantity)
    measured = voice.say(kind, found, amount("limit", alarm.limit, alarm.quantity))
    return judging.AlarmMessage(alarm.kind.value, voice.word(alarm.says), measured, alarm.source)


def verification_message(verified: Verification, split_source: str, voice: Voice) -> judging.VerificationMessage:
    """Word a verification. split_source: by which rule the split of the air was expected; empty where it was not."""
    deviation = verified.deviation_dk
    return judging.VerificationMessage(
        figure=verified.figure,
        state=verified.state.value,
        probability=None if verified.probability is None else round(verified.probability, 4),
        deviation_dk=None if deviation is None else round(deviation.value, 3),
        expanded_dk=None if deviation is None else round(deviation.expanded(), 3),
        conditions=[_condition_message(condition, split_source, voice) for condition in verified.conditions],
        says=_verdict(verified, voice),
        target_dk=None if verified.target_dk is None else round(verified.target_dk, 3),
    )


def _verdict(verified: Verification, voice: Voice) -> Wording:
    if verified.state is ChargeState.MAY_NOT_BE_JUDGED:
        open_conditions, every = count("open", len(verified.unmet)), count("every", len(verified.conditions))
        return voice.say("verdict.not_yet", open_conditions, every)
    if verified.probability is None or verified.state is ChargeState.CANNOT_TELL:
        return voice.say("verdict.cannot_tell")
    return voice.say(
        "verdict",
        term("state", verified.state.value),
        term("figure", verified.figure),
        chance("chance", verified.probability),
    )


def _condition_message(condition: Condition, split_source: str, voice: Voice) -> judging.ConditionMessage:
    source = condition.source
    if condition.name == "air_split" and split_source:
        source = f"{source}; what it should be: {split_source}"
    measured = _against(condition, voice)
    return judging.ConditionMessage(condition.name, condition.state.value, voice.word(condition.says), measured, source)


_QUANTITIES = {
    "outdoor_air_temperature": Quantity.TEMPERATURE,
    "expansion_valve_superheat": Quantity.TEMPERATURE_DIFFERENCE,
    "target": Quantity.TEMPERATURE_DIFFERENCE,
    "air_split": Quantity.TEMPERATURE_DIFFERENCE,
    "temperature_accuracy": Quantity.TEMPERATURE_DIFFERENCE,
}
_TIMES = ("running_time", "undisturbed_time")


def _against(condition: Condition, voice: Voice) -> Wording:
    """Word what was measured of a condition, and its limits where it is not met."""
    found, limits = condition.measured, condition.limits
    shown = limits is not None and condition.state is not Outcome.MET
    if found is None:
        return voice.say("measured.not_at_all")
    if condition.name in _TIMES:
        if shown and limits is not None:
            return voice.say("measured.minutes_of", minutes("found", found.value), minutes("limit", limits.low))
        return voice.say("measured.minutes", minutes("found", found.value))
    quantity = _QUANTITIES.get(condition.name)
    if quantity is None:
        return voice.say("measured.not_at_all")
    measured = figure("found", found, quantity)
    if limits is None or not shown:
        return voice.say("measured.alone", measured)
    low, high = amount("low", limits.low, quantity), amount("high", limits.high, quantity)
    if limits.high == _UNBOUNDED:
        return voice.say("measured.at_least", measured, low)
    if limits.low == -_UNBOUNDED:
        return voice.say("measured.at_most", measured, high)
    return voice.say("measured.between", measured, low, high)


def cause_message(cause: Cause, voice: Voice) -> judging.CauseMessage:
    """Word a cause."""
    return judging.CauseMessage(
        fault=cause.fault.value,
        probability=round(cause.probability, 4),
        together=[fault.value for fault in cause.together],
        evidence_for=[_evidence_message(piece, voice) for piece in cause.evidence_for],
        evidence_against=[_evidence_message(piece, voice) for piece in cause.evidence_against],
        next_check=voice.word(cause.next_check),
        held_back=None if cause.held_back is None else voice.word(cause.held_back),
        beside=round(cause.beside, 4),
    )


_EVIDENCE = {
    "suction_dew_point": Quantity.TEMPERATURE,
    "compressor_load": Quantity.RATIO,
    "condenser_fan_load": Quantity.RATIO,
}


def _evidence_message(piece: Evidence, voice: Voice) -> judging.EvidenceMessage:
    it = piece.departure
    quantity = _EVIDENCE.get(it.name, Quantity.TEMPERATURE_DIFFERENCE)
    found, expected = amount("found", it.measured.value, quantity), figure("expected", it.expected, quantity)
    return judging.EvidenceMessage(it.name, round(piece.weight, 2), voice.say("evidence", found, expected), it.source)


def step_message(step: NextStep, *, as_liquid: bool) -> judging.NextStepMessage:
    """Give the next step, with the phase in which refrigerant goes in."""
    least_kg, most_kg = step.needed_interval_kg
    return judging.NextStepMessage(
        step_kg=round(step.step_kg, 4),
        needed_kg=round(step.needed_kg.value, 4),
        needed_least_kg=round(least_kg, 4),
        needed_most_kg=round(most_kg, 4),
        phase="" if step.step_kg < 0 else "liquid" if as_liquid else "vapour",
        limited_by=step.limited_by or "",
    )


def awaited_message(awaited: Awaited, history: History) -> judging.AwaitedMessage:
    """Give what is awaited, by the clock."""
    left_s, of_s = history.clock_s(awaited.seconds_left), history.clock_s(awaited.of_seconds)
    return judging.AwaitedMessage(awaited.what, round(left_s, 0), round(of_s, 0))
