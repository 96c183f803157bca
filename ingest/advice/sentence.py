"""What to do now, in one sentence: stop, wait, look at an instrument, look for another cause, or move refrigerant.

The figure that counts is the one the metering device leaves free: subcooling behind an expansion valve,
superheat behind a fixed orifice. Nothing is said that the instruments cannot support, and charge is judged last.
"""

import math
from collections.abc import Sequence

from calc.cautions import Step, cautions
from calc.conformity import OutOfTolerance, WithinTolerance, judge
from calc.diagnosis import Fault
from calc.estimate import Estimate
from calc.judge.verification import Figure, governing_figure
from calc.protocols import tolerances
from calc.targets import NAMEPLATE_SOURCE, NoTarget, Target
from calc.units import System
from calc.wording import difference, limits, mass_between, mass_to_move, percent
from ingest.advice.doubts import EQUALIZED_RATIO
from ingest.advice.opinion import LIKELIER_THAN_NOT, Opinion, Question, form_opinion, is_another_cause
from ingest.advice.situation import FIGURE_INPUTS, Situation, find_target
from ingest.advice.steadiness import JUDGED_FIGURES, History, Judged, assess_figure
from ingest.advice.wording import in_both, same, sentence
from ingest.wire.messages import Advice, Explanation, Forecast, NextStep, Steadiness, Wording

PROTOCOL = tolerances("title_24_installer")


Words = tuple[Wording, list[Wording]]
"""The sentence, and its details."""


def advise(now: Situation, history: History) -> Advice:
    """Say what to do now."""
    judged = {name: assess_figure(name, now.readings.get(name), history) for name in JUDGED_FIGURES}
    figure = governing_figure(now.unit.metering_device)
    steadiness, value = judged[figure]
    opinion, words = None, _what_to_wait_for(figure, judged[figure], now)
    if value is not None:
        question = Question(figure, steadiness, value, find_target(figure, now), now, history)
        opinion = form_opinion(question)
        words = words or _settled(question, opinion)
    said, details = _stop(now) or words or (same(_what_to_connect(figure, now)), [_because(figure, steadiness)])
    return Advice(
        time_s=round(now.time_s, 3),
        sentence=said,
        details=details,
        cautions=cautions(now.unit.refrigerant, _next_act(opinion)),
        steadiness={name: found.steadiness for name, found in judged.items()},
        doubts=now.doubts,
        alarms=now.alarms,
        judgement=opinion.judgement if opinion else None,
        explanations=opinion.explanations if opinion else (),
        next_step=opinion.next_step if opinion else None,
    )


def _next_act(opinion: Opinion | None) -> Step:
    """Tell what the next hand on a valve would do: what to beware of depends on it."""
    step = opinion.next_step if opinion else None
    return Step.RECOVER if step is not None and step.step_kg < 0 else Step.CHARGE


def _stop(now: Situation) -> Words | None:
    if not now.alarms:
        return None
    kinds = " and ".join(alarm.kind for alarm in now.alarms)
    return same(f"Stop: {kinds}."), [same(sentence(alarm.says)) for alarm in now.alarms]


# --- before anything can be said


def _what_to_wait_for(figure: Figure, judged: Judged, now: Situation) -> Words | None:
    """Say what stands before a judgement; None where nothing does, or where the figure is not known at all."""
    steadiness, value = judged
    if value is None:
        return None
    if now.is_late(figure):
        return same("Wait for fresh readings."), [same(f"{figure.capitalize()}: an instrument is late.")]
    doubted = now.doubt_of(figure)
    if doubted is not None:
        return same(f"Check the {_names(doubted.channels)}."), [same(doubted.reason), same(doubted.fix)]
    if _is_at_rest(now):
        return same("Start the unit: its pressures are equalized."), []
    if steadiness.state == "not_steady":
        return same("Wait. Not steady yet."), [_because(figure, steadiness)]
    if steadiness.forecast is not None:
        return same("Wait. Still settling."), [_forecast(figure, steadiness.forecast)]
    return None


def _because(figure: str, steadiness: Steadiness) -> Wording:
    def say(system: System) -> str:
        swing_dk = steadiness.swing_dk
        swing = "" if swing_dk is None else f", by {difference(swing_dk, system)}"
        return f"{figure.capitalize()}: {steadiness.reason}{swing}."

    return in_both(say)


def _what_to_connect(figure: str, now: Situation) -> str:
    instruments = {channel.name: channel.instrument for channel in now.channels}
    for name in FIGURE_INPUTS[figure]:
        channel = name.replace("_", " ")
        if name not in instruments:
            return f"Add an instrument for the {channel}: {figure} needs it."
        reading = now.readings.get(name)
        if reading is None or reading.value is None:
            return f"Connect the {instruments[name]}: no {channel}."
    return f"Check the pressure: no {figure} follows from it."


def _names(channels: Sequence[str]) -> str:
    return " and the ".join(channel.replace("_", " ") for channel in channels)


def _is_at_rest(now: Situation) -> bool:
    suction, liquid = now.estimate("suction_pressure"), now.estimate("liquid_pressure")
    return suction is not None and liquid is not None and liquid.value < EQUALIZED_RATIO * suction.value


def _forecast(figure: str, ahead: Forecast) -> Wording:
    minutes = max(1, round(ahead.seconds / 60))
    return in_both(
        lambda system: (
            f"{figure.capitalize()} is heading for {limits(ahead.value_dk, ahead.expanded_dk, system)}, "
            f"in about {minutes} min."
        )
    )


# --- once the figure has settled


def _settled(question: Question, opinion: Opinion) -> Words:
    figure_said = _figure(question)
    details = _verdict(question)
    step, causes = opinion.next_step, opinion.explanations
    first = causes[0] if causes else None
    if first is not None and is_another_cause(first.fault, first.probability):
        return _look_elsewhere(first), [figure_said, same(sentence(first.next_check)), *details, *_conditional(step)]
    if step is None:
        if first is not None and first.fault == Fault.NOTHING_WRONG and first.probability > LIKELIER_THAN_NOT:
            details.append(same(sentence(first.next_check)))
        return figure_said, [*details, *_why_no_amount(question, opinion), *_early(question)]
    if step.advised and first is not None:
        check = same(sentence(first.next_check))
        return _move(step), [figure_said, *details, *_in_all(step), check, *_early(question)]
    held_back = first.held_back if first is not None and first.held_back else _WITHOUT_A_CAUSE
    why, _, what_to_do = held_back.partition(". ")
    to_do = [same(what_to_do)] if what_to_do else []
    return same(sentence(f"Not the charge yet: {why}")), [figure_said, *to_do, *details, *_conditional(step)]


_WITHOUT_A_CAUSE = "look at airflow, filters, coils and restrictions first"


def _look_elsewhere(first: Explanation) -> Wording:
    return same(f"Leave the charge alone: {first.fault} is most likely ({percent(first.probability)}).")


def _move(step: NextStep) -> Wording:
    verb, manner = ("Add", f" as {step.phase}") if step.step_kg > 0 else ("Recover", "")
    return in_both(
        lambda system: (
            f"{verb} {mass_to_move(step.step_kg, system)}{manner}, note it here, and wait until it has settled."
        )
    )


def _in_all(step: NextStep) -> list[Wording]:
    in_steps = f"; in steps, for {step.limited_by}" if step.limited_by else ""

    def say(system: System) -> str:
        likely = mass_between(step.needed_least_kg, step.needed_most_kg, system)
        return f"It takes some {mass_to_move(step.needed_kg, system)} in all, likely {likely}{in_steps}."

    return [in_both(say)]


def _conditional(step: NextStep | None) -> list[Wording]:
    """Say what it would take, were only the charge wrong."""
    if step is None:
        return []
    verb = "adding" if step.step_kg > 0 else "recovering"
    return [
        in_both(
            lambda system: f"Were only the charge wrong, {verb} {mass_to_move(step.step_kg, system)} would come next."
        )
    ]


def _figure(question: Question) -> Wording:
    value, target = question.value, question.target

    def say(system: System) -> str:
        found = f"Settled. {question.figure.capitalize()} {limits(value.value, value.expanded(), system)}"
        if isinstance(target, NoTarget):
            return f"{found}; no target is known."
        stands = "on the nameplate" if target.source == NAMEPLATE_SOURCE else "by the table"
        return f"{found} against {difference(target.value.value, system)} {stands}."

    return in_both(say)


def _verdict(question: Question) -> list[Wording]:
    """Compare with the target, as far as the instruments allow."""
    target = question.target
    if isinstance(target, NoTarget):
        return [same(sentence(target.reason))]
    said = [_comparison(question.figure, question.value, target)]
    if target.source != NAMEPLATE_SOURCE:
        said.append(same(f"The target: {target.source}."))
    return said


def _comparison(figure: Figure, value: Estimate, target: Target) -> Wording:
    low_dk, high_dk, source = PROTOCOL.limits[figure]
    target_dk = target.value.estimate
    uncertainty_dk = math.hypot(value.standard_uncertainty, target_dk.standard_uncertainty)
    verdict = judge(Estimate(value.value - target_dk.value, uncertainty_dk), low_dk, high_dk)

    def say(system: System) -> str:
        limit = difference(high_dk, system)
        match verdict:
            case WithinTolerance(probability):
                return f"Within {limit} of it ({percent(probability)}; {source})."
            case OutOfTolerance(probability, side):
                found = "below" if side == "low" else "above"
                return f"More than {limit} {found} it ({percent(probability)}; {source})."
        return f"These instruments cannot tell whether it is within {limit} of it ({source})."

    return in_both(say)


def _why_no_amount(question: Question, opinion: Opinion) -> list[Wording]:
    off_dk = opinion.judgement.deviation_dk
    is_near = off_dk is None or abs(off_dk) <= PROTOCOL.limits[question.figure].high
    if is_near or question.now.unit.nameplate_charge_kg is not None:
        return []
    return [same("How much to move cannot be said: the charge on the nameplate is not configured.")]


def _early(question: Question) -> list[Wording]:
    """Say that a formal verification would wait longer."""
    waited_s = question.history.undisturbed_s(question.now.monotonic_s)
    undisturbed = PROTOCOL.limits["undisturbed_time"]
    if waited_s >= undisturbed.low:
        return []
    return [
        same(
            f"Left alone for {waited_s / 60:.0f} min. A formal verification waits "
            f"{undisturbed.low / 60:.0f} min after the start and every change ({undisturbed.source})."
        )
    ]
