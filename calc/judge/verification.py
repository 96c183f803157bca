"""May the charge be judged now, and is it right? By a protocol, condition by condition.

Every condition comes back with what was measured, its limits and its source, as met, not met or cannot tell. No
verdict on the charge is given before all of them are met.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import get_args

from calc.comparing import CONFIDENCE, CannotTell, Comparison, Met, NotMet, Outcome, compare, outcome
from calc.elementwise import within
from calc.errors import ArgumentError, UnknownNameError
from calc.estimate import Estimate
from calc.governing import Figure, governing_figure
from calc.protocols import Limits, tolerances
from calc.sentences import Sentence, term, text
from calc.situation import Situation
from calc.targets import NoTarget, Target
from calc.uncertainty import Budget

_GOVERNING_SOURCE = "California Title 24, RA3.2"


class ChargeState(StrEnum):
    """What can be said of the charge."""

    RIGHT = "right"
    TOO_LITTLE = "too little"
    TOO_MUCH = "too much"
    CANNOT_TELL = "cannot tell"
    MAY_NOT_BE_JUDGED = "may not be judged"


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition of a protocol.

    Attributes:
        name: what it is about, as in `Protocol.limits`, or `metering_device`, `target`, or what judging adds.
        state: whether it is met.
        says: why, and what to do about it.
        measured: what was measured, in the unit of the limits; None if it was not, or is no number.
        limits: with the source; None where there is nothing to compare with.
        source: where the condition stands.

    """

    name: str
    state: Outcome
    says: Sentence
    measured: Estimate | None
    limits: Limits | None
    source: str


@dataclass(frozen=True, slots=True)
class Verification:
    """What a protocol says of the charge.

    Attributes:
        figure: the one that shows the charge.
        conditions: all that a verdict needs.
        deviation_dk: the figure less its target [K]; None without a target.
        target_dk: the target [K]; None without one.
        comparison: of that with the tolerance, whatever the conditions; None without a target.

    """

    figure: Figure
    conditions: tuple[Condition, ...]
    deviation_dk: Estimate | None
    comparison: Comparison | None
    target_dk: float | None = None

    @property
    def unmet(self) -> tuple[Condition, ...]:
        """The conditions that stand in the way of a verdict."""
        return tuple(condition for condition in self.conditions if condition.state is not Outcome.MET)

    @property
    def verdict(self) -> Comparison | None:
        """The comparison, once every condition is met; None before, and without a target."""
        return None if self.unmet else self.comparison

    @property
    def state(self) -> ChargeState:
        """What can be said of the charge: too little refrigerant lowers subcooling and raises superheat."""
        match self.verdict:
            case None:
                return ChargeState.MAY_NOT_BE_JUDGED
            case Met():
                return ChargeState.RIGHT
            case NotMet(_, side):
                short = (side == "low") == (self.figure == "subcooling")
                return ChargeState.TOO_LITTLE if short else ChargeState.TOO_MUCH
        return ChargeState.CANNOT_TELL

    @property
    def probability(self) -> float | None:
        """Of the verdict; where there is none, of the charge being right; None if it may not be judged."""
        verdict = self.verdict
        if verdict is None:
            return None
        return verdict.probability_within if isinstance(verdict, CannotTell) else verdict.probability

    def also(self, *conditions: Condition) -> "Verification":
        """Give the same with further conditions."""
        return replace(self, conditions=(*self.conditions, *conditions))


def may_be_judged(
    figure: Figure,
    target: Target | NoTarget | None,
    situation: Situation,
    *,
    protocol: str = "title_24_installer",
    confidence: float = CONFIDENCE,
) -> tuple[Condition, ...]:
    """List the conditions under which a protocol lets the charge be judged by a figure.

    Args:
        figure: superheat or subcooling.
        target: of that figure; None is not known.
        situation: what is measured.
        protocol: one of `protocols.protocols()`.
        confidence: the probability by which a measured value must keep its limits, or break them.

    Raises:
        UnknownNameError: no such figure, protocol or metering device.
        CalcRangeError: a duration, an accuracy, a capacity or an airflow is none.

    >>> cold = Situation(metering_device="txv", measured={"outdoor_air_temperature": Estimate(285.0, 0.3)})  # 53 °F
    >>> for condition in may_be_judged("subcooling", None, cold)[:2]:
    ...     print(condition.name, condition.state, condition.source, sep=": ")
    metering_device: met: California Title 24, RA3.2
    outdoor_air_temperature: not met: California Title 24, 2013, RA3.2.1.1(d)

    """
    if figure not in get_args(Figure):
        raise UnknownNameError("figure", figure, sorted(get_args(Figure)))
    limits = tolerances(protocol).limits
    conditions = [_metering_device(figure, situation.metering_device)]
    conditions += [
        _waited(name, limits[name])
        if name in _TIMES and situation.steady_since_arrival
        else _relied_on(_compare(name, measured, limits[name], confidence), _rests_on(figure, name), situation)
        for name, measured in _measured(figure, situation).items()
        if name in limits
    ]
    if figure == "subcooling" and "expansion_valve_superheat" in limits:
        conditions.append(_expansion_valve(situation, limits["expansion_valve_superheat"], confidence))
    conditions.append(_target(figure, target, limits.get("target_superheat")))
    conditions.append(_airflow(situation, limits, confidence))
    return tuple(conditions)


def verify(
    figure: Figure,
    measured_dk: Estimate,
    target: Target | NoTarget | None,
    situation: Situation,
    *,
    protocol: str = "title_24_installer",
    confidence: float = CONFIDENCE,
) -> Verification:
    """Verify the charge: first whether it may be judged, then whether the figure is near enough to its target.

    Args:
        figure: superheat or subcooling.
        measured_dk: the figure [K].
        target: of that figure; None is not known.
        situation: what is measured beside it.
        protocol: one of `protocols.protocols()`.
        confidence: the probability that a verdict must reach.

    Raises:
        UnknownNameError, CalcRangeError: as `may_be_judged`.

    >>> situation = Situation(
    ...     metering_device="txv", airflow_m3_per_s=Estimate(0.5, 0.01), design_airflow_m3_per_s=0.5
    ... )
    >>> nameplate = Target(Budget(5.56, {}), "nameplate")  # 10 °F; ± 3 °F by ANSI/ACCA 5 QI, from memory
    >>> verify("subcooling", Estimate(8.5, 0.5), nameplate, situation, protocol="acca_5").verdict
    NotMet(probability=0.9..., side='high')

    """
    conditions = may_be_judged(figure, target, situation, protocol=protocol, confidence=confidence)
    if not isinstance(target, Target):
        return Verification(figure, conditions, None, None)
    measured = Budget(measured_dk.value, {figure: measured_dk.standard_uncertainty})
    deviation_dk = (measured - target.value).estimate
    low_dk, high_dk, _ = tolerances(protocol).limits[figure]
    comparison = compare(deviation_dk, low_dk, high_dk, confidence=confidence)
    return Verification(figure, conditions, deviation_dk, comparison, target.value.value)


def judge(
    figure_dk: Estimate,
    target: Target | NoTarget | None,
    situation: Situation,
    *,
    protocol: str = "title_24_installer",
    confidence: float = CONFIDENCE,
) -> Verification:
    """Judge the charge by the figure that this unit's metering device leaves free.

    Args:
        figure_dk: settled: superheat behind a fixed orifice, subcooling behind an expansion valve [K].
        target: of that figure; None is not known.
        situation: what is measured beside it; the metering device must be in it.
        protocol: one of `protocols.protocols()`.
        confidence: the probability that a verdict must reach.

    Raises:
        ArgumentError: the metering device is not known.
        UnknownNameError, CalcRangeError: as `verify`.

    """
    if situation.metering_device is None:
        raise ArgumentError("the metering device is not known: it decides which figure shows the charge")
    figure = governing_figure(situation.metering_device)
    return verify(figure, figure_dk, target, situation, protocol=protocol, confidence=confidence)


_TIMES = ("running_time", "undisturbed_time")


def _waited(name: str, limits: Limits) -> Condition:
    """Take a wait for granted: what has been steady since someone came had been left alone long before."""
    source = f"{limits.source}; that it was steady on arrival shows it: common practice, no source"
    return Condition(name, Outcome.MET, Sentence("condition.steady_since_arrival"), None, limits, source)


def _metering_device(figure: Figure, metering_device: str | None) -> Condition:
    if metering_device is None:
        state, says = Outcome.CANNOT_TELL, Sentence("condition.metering_device_unknown")
    else:
        governing = governing_figure(metering_device)
        state = Outcome.MET if governing == figure else Outcome.NOT_MET
        says = Sentence("condition.metering_device", (term("device", metering_device), term("figure", governing)))
    return Condition("metering_device", state, says, None, None, _GOVERNING_SOURCE)


def _rests_on(figure: Figure, name: str) -> str:
    """Name what a condition is told by; an instrument that is in doubt promises no accuracy either."""
    side = "suction" if figure == "superheat" else "liquid"
    return f"{side}_line_temperature" if name == "temperature_accuracy" else name.removesuffix("_accuracy")


def _relied_on(condition: Condition, rests_on: str, situation: Situation) -> Condition:
    """Give the condition as cannot tell where what it is told by is not to be relied on."""
    if rests_on not in situation.unreliable:
        return condition
    return replace(condition, state=Outcome.CANNOT_TELL, says=Sentence("condition.in_doubt"))


def _measured(figure: Figure, situation: Situation) -> dict[str, Estimate | None]:
    side = "suction" if figure == "superheat" else "liquid"
    running, undisturbed, accuracies = situation.running_s, situation.undisturbed_s, situation.accuracies
    return {
        "outdoor_air_temperature": situation.measured.get("outdoor_air_temperature"),
        "running_time": _exactly("running_s", running, "s"),
        "undisturbed_time": _exactly("undisturbed_s", undisturbed, "s"),
        f"{side}_pressure_accuracy": _exactly(f"{side}_pressure_accuracy", accuracies.get(f"{side}_pressure"), "Pa"),
        "temperature_accuracy": _exactly("temperature_accuracy", accuracies.get(f"{side}_line_temperature"), "K"),
    }


def _exactly(name: str, value: float | None, unit: str) -> Estimate | None:
    return None if value is None else Estimate(within(name, value, 0.0, _MUCH, unit), 0.0)


_MUCH = 1e9


def _compare(name: str, measured: Estimate | None, limits: Limits, confidence: float) -> Condition:
    if measured is None:
        return Condition(name, Outcome.CANNOT_TELL, Sentence("condition.not_known"), None, limits, limits.source)
    state, says = _compared(name, compare(measured, limits.low, limits.high, confidence=confidence))
    return Condition(name, state, says, measured, limits, limits.source)


def _compared(name: str, comparison: Comparison) -> tuple[Outcome, Sentence]:
    state = outcome(comparison)
    kinds = {Outcome.MET: "condition.met", Outcome.NOT_MET: f"condition.not_met.{name}"}
    return state, Sentence(kinds.get(state, "condition.cannot_tell"))


def _expansion_valve(situation: Situation, limits: Limits, confidence: float) -> Condition:
    if situation.maker_superheat_dk is not None:
        limits = Limits(*situation.maker_superheat_dk, "the maker")
    found = _compare("expansion_valve_superheat", situation.measured.get("superheat"), limits, confidence)
    if found.state is Outcome.NOT_MET and found.measured is not None and found.measured.value > limits.high:
        found = replace(found, says=Sentence("condition.not_met.expansion_valve_superheat_high"))
    return _relied_on(found, "superheat", situation)


def _target(figure: Figure, target: Target | NoTarget | None, least: Limits | None) -> Condition:
    source = least.source if least and figure == "superheat" else "the maker"
    if target is None:
        return Condition("target", Outcome.CANNOT_TELL, Sentence("condition.not_known"), None, None, source)
    if isinstance(target, NoTarget):
        return Condition("target", Outcome.NOT_MET, target.reason, None, None, source)
    value = target.value.estimate
    if figure == "superheat" and least and value.value < least.low - _ROUNDING_DK:
        says = Sentence("condition.not_met.target_superheat")
        return Condition("target", Outcome.NOT_MET, says, value, least, source)
    says = Sentence("as_it_stands", (text("said", target.source),))
    return Condition("target", Outcome.MET, says, value, least if figure == "superheat" else None, source)


_ROUNDING_DK = 1e-6


def _airflow(situation: Situation, limits: Mapping[str, Limits], confidence: float) -> Condition:
    """Give the proof of the airflow that holds; if none does, the disproof; else one that is not known."""
    proofs = list(_airflow_proofs(situation, limits, confidence))
    for state in (Outcome.MET, Outcome.NOT_MET):
        for proof in proofs:
            if proof.state is state:
                return proof
    return proofs[0]


def _airflow_proofs(situation: Situation, limits: Mapping[str, Limits], confidence: float) -> Iterator[Condition]:
    if "air_split" in limits:
        yield _relied_on(_air_split(situation, limits["air_split"], confidence), "air_split", situation)
    flow = situation.airflow_m3_per_s
    if "airflow_per_capacity" in limits:
        per_watt = _over(flow, "nominal_capacity_w", situation.nominal_capacity_w, "W")
        yield _compare("airflow_per_capacity", per_watt, limits["airflow_per_capacity"], confidence)
    if "airflow_over_design" in limits:
        ratio = _over(flow, "design_airflow_m3_per_s", situation.design_airflow_m3_per_s, "m³/s")
        yield _compare("airflow_over_design", ratio, limits["airflow_over_design"], confidence)


def _over(flow: Estimate | None, name: str, base: float | None, unit: str) -> Estimate | None:
    if flow is None or base is None:
        return None
    within(name, base, 1e-3, _MUCH, unit)
    return Estimate(flow.value / base, flow.standard_uncertainty / base)


def _air_split(situation: Situation, limits: Limits, confidence: float) -> Condition:
    """Compare the split with its target: only above it does the airflow fail (page RA3-16)."""
    split, target = situation.measured.get("air_split"), situation.target_air_split_dk
    if split is None or target is None:
        return _compare("air_split", None, limits, confidence)
    uncertainty_dk = math.hypot(split.standard_uncertainty, target.standard_uncertainty)
    over_dk = Estimate(split.value - target.value, uncertainty_dk)
    state, says = _compared("air_split", compare(over_dk, -math.inf, limits.high, confidence=confidence))
    if over_dk.value < limits.low:
        says = Sentence("condition.split_below")
    return Condition("air_split", state, says, over_dk, limits, limits.source)
