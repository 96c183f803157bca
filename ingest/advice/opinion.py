"""What is made of a unit that runs: may its charge be judged, what would explain the readings, how much to move."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import msgspec

from calc.diagnosis import Evidence as Speaking
from calc.diagnosis import Explanation, Fault, Observations, explain
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.guidance import ChargeState, judge, next_addition
from calc.judge.symptoms import departures
from calc.judge.verification import Condition, Figure, State
from calc.judge.verification import Situation as Conditions
from calc.protocols import Limits
from calc.quantities import Quantity
from calc.targets import NoTarget, Target
from calc.units import System
from calc.wording import limit, measured
from ingest.advice.situation import Situation
from ingest.advice.steadiness import History
from ingest.advice.wording import in_both, same
from ingest.wire import messages

LEAST_SHOWN = 0.02
"""An explanation that is less likely is not told."""

_COMPRESSOR_PHASES = ("compressor_current_a", "compressor_current_b", "compressor_current_c")


class Opinion(msgspec.Struct, frozen=True):
    """What is made of a unit. explanations, and next_step: only once the figure that shows the charge has settled."""

    judgement: messages.Judgement
    explanations: Sequence[messages.Explanation] = ()
    next_step: messages.NextStep | None = None


class Question(NamedTuple):
    """What an opinion is asked on.

    figure: the one that shows the charge, how steady it is, its value and its target.
    """

    figure: Figure
    steadiness: messages.Steadiness
    value: Estimate
    target: Target | NoTarget
    now: Situation
    history: History

    @property
    def settled(self) -> bool:
        """Whether the figure that shows the charge has settled."""
        return self.steadiness.state == "settled"

    @property
    def what_is_wrong_with_the_readings(self) -> str:
        """Why the figure cannot be relied upon; empty if it can."""
        doubt = self.now.doubt_of(self.figure)
        if doubt is not None:
            return f"{doubt.reason} {doubt.fix}"
        return "an instrument is late" if self.now.is_late(self.figure) else ""

    @property
    def ready(self) -> bool:
        """Whether anything may be made of the figure."""
        return self.settled and not self.what_is_wrong_with_the_readings and self.now.running_s != 0.0


def form_opinion(question: Question) -> Opinion:
    """Judge a unit by what is measured."""
    now = question.now
    seen = _observe(now, question.history)
    judgement = _judge(question, _expected_split(seen))
    if not question.ready:
        return Opinion(judgement)
    explanations = _explain(seen)
    return Opinion(
        judgement=_judged_last(judgement, explanations),
        explanations=[_message(found, now) for found in explanations if found.probability >= LEAST_SHOWN],
        next_step=_next_step(question, explanations),
    )


def _observe(now: Situation, history: History) -> Observations:
    """Gather what the causes are weighed by: of each channel its mean over the last minute."""
    known = now.trusted()
    found = {}
    for name, estimate in known.items():
        mean = history.mean(name, now.monotonic_s)
        found[name] = estimate if mean is None else Estimate(mean, estimate.standard_uncertainty)
    phases = [found[name] for name in _COMPRESSOR_PHASES if name in found]
    if phases and "compressor_current" not in found:
        found["compressor_current"] = max(phases, key=lambda phase: phase.value)
    unit = now.unit
    return Observations(
        refrigerant=unit.refrigerant,
        metering_device=unit.metering_device,
        measured=found,
        at_rest=now.at_rest,
        target_subcooling_dk=unit.target_subcooling_dk,
        target_superheat_dk=unit.target_superheat_dk,
        compressor_rla_a=unit.compressor_rla_a,
        condenser_fan_fla_a=unit.condenser_fan_fla_a,
    )


# --- may the charge be judged?


def _expected_split(seen: Observations) -> tuple[Estimate, str] | None:
    """Give the split of the air that is expected [K], by which rule; the protocol's own table is not at hand."""
    air = {name: estimate for name, estimate in seen.measured.items() if "_air_" in name}
    try:
        found = departures(replace(seen, measured=air, at_rest={})).found
    except CalcRangeError:
        return None
    return next(((it.expected, it.source) for it in found if it.name == "air_split"), None)


def _judge(question: Question, split: tuple[Estimate, str] | None) -> messages.Judgement:
    """Verify the charge by the protocol; not before the figure has settled."""
    figure, now, ready = question.figure, question.now, question.ready
    side, line = ("suction", "suction_line") if figure == "superheat" else ("liquid", "liquid_line")
    conditions = Conditions(
        metering_device=now.unit.metering_device,
        running_s=now.running_s,
        undisturbed_s=question.history.undisturbed_s(now.monotonic_s),
        outdoor_air_temperature_k=now.estimate("outdoor_air_temperature"),
        superheat_dk=now.estimate("superheat"),
        air_split_dk=now.estimate("air_split"),
        target_air_split_dk=None if split is None else Estimate(split[0].value, 0.0),
        pressure_accuracy_pa=now.accuracy(f"{side}_pressure"),
        temperature_accuracy_dk=now.accuracy(f"{line}_temperature"),
    )
    verdict = judge(question.value, question.target, conditions)
    deviation = verdict.deviation_dk
    return messages.Judgement(
        figure=figure,
        state=(verdict.state if ready else ChargeState.MAY_NOT_BE_JUDGED).value,
        probability=None if not ready or verdict.probability is None else round(verdict.probability, 4),
        deviation_dk=None if deviation is None else round(deviation.value, 3),
        expanded_dk=None if deviation is None else round(deviation.expanded(), 3),
        conditions=[_sound(question), _settled(question), *(_condition(it, now, split) for it in verdict.conditions)],
    )


def _judged_last(judgement: messages.Judgement, explanations: Sequence[Explanation]) -> messages.Judgement:
    """Add the condition that nothing else explains the readings as well; without it no charge is called wrong."""
    state, says = _other_causes(ChargeState(judgement.state), explanations)
    condition = messages.Condition("other_causes", state.value, says, same(""), _JUDGED_LAST)
    conditions = [*judgement.conditions, condition]
    if state is State.MET:
        return msgspec.structs.replace(judgement, conditions=conditions)
    not_yet = ChargeState.MAY_NOT_BE_JUDGED.value
    return msgspec.structs.replace(judgement, state=not_yet, probability=None, conditions=conditions)


_JUDGED_LAST = "charge is judged last: common practice, no source"
_BLAMED = {ChargeState.TOO_LITTLE: Fault.UNDERCHARGE, ChargeState.TOO_MUCH: Fault.OVERCHARGE}


def _other_causes(state: ChargeState, explanations: Sequence[Explanation]) -> tuple[State, str]:
    if not explanations:
        return State.UNKNOWN, "the causes cannot be weighed: a reading is beyond all physics"
    first = explanations[0]
    if is_another_cause(first.fault, first.probability):
        return State.NOT_MET, f"{first.fault.value} is most likely. {first.next_check}"
    blamed = next((it for it in explanations if it.fault is _BLAMED.get(state)), None)
    if blamed is not None and blamed.held_back:
        return State.UNKNOWN, blamed.held_back
    return State.MET, "met"


def is_another_cause(fault: str, probability: float) -> bool:
    """Tell whether one cause, and not the charge, is likelier than everything else together."""
    return fault not in _NO_OTHER_CAUSE and probability > LIKELIER_THAN_NOT


LIKELIER_THAN_NOT = 0.5
_NO_OTHER_CAUSE = frozenset(
    {Fault.UNDERCHARGE, Fault.OVERCHARGE, Fault.NOTHING_WRONG, Fault.NOT_ONE_OF_THESE, Fault.SEVERAL}
)


def _sound(question: Question) -> messages.Condition:
    wrong = question.what_is_wrong_with_the_readings
    source = "rules of physics; what an instrument promises"
    return messages.Condition("readings", "not met" if wrong else "met", wrong or "met", same(""), source)


def _settled(question: Question) -> messages.Condition:
    why_not = question.steadiness.reason or f"the {question.figure} is still settling: wait"
    return messages.Condition(
        name="settled",
        state="met" if question.settled else "not met",
        says="met" if question.settled else why_not,
        measured=same(""),
        source="a moving window, after NIST SP 1087, and the forecast",
    )


def _condition(condition: Condition, now: Situation, split: tuple[Estimate, str] | None) -> messages.Condition:
    source = condition.source
    if condition.name == "air_split" and split is not None:
        source = f"{source}; what it should be: {split[1]}"
    return messages.Condition(
        name=condition.name,
        state=condition.state.value,
        says=condition.says,
        measured=_against(condition, now),
        source=source,
    )


_QUANTITIES: Mapping[str, Quantity] = {
    "outdoor_air_temperature": Quantity.TEMPERATURE,
    "expansion_valve_superheat": Quantity.TEMPERATURE_DIFFERENCE,
    "target": Quantity.TEMPERATURE_DIFFERENCE,
    "air_split": Quantity.TEMPERATURE_DIFFERENCE,
    "temperature_accuracy": Quantity.TEMPERATURE_DIFFERENCE,
}
_TIMES = ("running_time", "undisturbed_time")


def _against(condition: Condition, now: Situation) -> messages.Wording:
    """Word what was measured of a condition, and its limits where it is not met."""
    found, limits = condition.measured, condition.limits
    if found is None:
        return same("")
    if condition.name in _TIMES:
        least = f" of {limits.low / 60:.0f}" if limits and condition.state is not State.MET else ""
        return same(f"{found.value / 60:.0f}{least} min")
    quantity = _QUANTITIES.get(condition.name)
    if quantity is None:
        return same("")
    barometric_pressure_pa = now.barometric_pressure_pa

    def say(system: System) -> str:
        shown = measured(found, quantity, system, barometric_pressure_pa)
        if condition.state is State.MET or limits is None:
            return shown
        return f"{shown}; {_limits_in_words(limits, quantity, system)}"

    return in_both(say)


def _limits_in_words(limits: Limits, quantity: Quantity, system: System) -> str:
    low, high = (limit(value, quantity, system, 0.0) if abs(value) < 1e9 else "" for value in limits[:2])
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}"


# --- what would explain the readings?


def _explain(seen: Observations) -> tuple[Explanation, ...]:
    try:
        return explain(seen)
    except CalcRangeError:
        return ()  # a reading beyond all physics is a doubt, and told as such


def _message(found: Explanation, now: Situation) -> messages.Explanation:
    return messages.Explanation(
        fault=found.fault.value,
        probability=round(found.probability, 4),
        together=[fault.value for fault in found.together],
        evidence_for=[_evidence(piece, now) for piece in found.evidence_for],
        evidence_against=[_evidence(piece, now) for piece in found.evidence_against],
        next_check=found.next_check,
        held_back=found.held_back,
    )


def _evidence(piece: Speaking, now: Situation) -> messages.Evidence:
    it = piece.departure
    quantity = _EVIDENCE.get(it.name, Quantity.TEMPERATURE_DIFFERENCE)
    barometric_pressure_pa = now.barometric_pressure_pa

    def say(system: System) -> str:
        number = limit(it.measured.value, quantity, system, barometric_pressure_pa)
        return f"{number}, expected {measured(it.expected, quantity, system, barometric_pressure_pa)}"

    return messages.Evidence(it.name, round(piece.weight, 2), in_both(say), it.source)


_EVIDENCE: Mapping[str, Quantity] = {
    "suction_dew_point": Quantity.TEMPERATURE,
    "compressor_load": Quantity.RATIO,
    "condenser_fan_load": Quantity.RATIO,
}


# --- how much to move?


def _next_step(question: Question, explanations: Sequence[Explanation]) -> messages.NextStep | None:
    unit, target = question.now.unit, question.target
    if isinstance(target, NoTarget) or unit.nameplate_charge_kg is None:
        return None
    step = next_addition(
        question.figure,
        question.value,
        target_dk=target.value.estimate,
        nameplate_charge_kg=unit.nameplate_charge_kg,
        moves=question.now.moves,
    )
    if step is None:
        return None
    adds = step.step_kg > 0
    least_kg, most_kg = step.needed_interval_kg
    blamed = Fault.UNDERCHARGE if adds else Fault.OVERCHARGE
    return messages.NextStep(
        step_kg=round(step.step_kg, 4),
        needed_kg=round(step.needed_kg.value, 4),
        needed_least_kg=round(least_kg, 4),
        needed_most_kg=round(most_kg, 4),
        phase="" if not adds else "liquid" if unit.charge_as_liquid else "vapour",
        advised=bool(explanations)
        and explanations[0].fault is blamed
        and not explanations[0].held_back
        and not question.now.alarms,
        limited_by=step.limited_by,
    )
