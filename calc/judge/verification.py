"""May the charge be judged now, and is it right? By a protocol, condition by condition.

Every condition comes back with what was measured, its limits and its source, as met, not met or unknown. Where the
instruments cannot tell, it is unknown. No verdict on the charge is given before all of them are met.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from calc.conformity import CONFIDENCE, OutOfTolerance, Verdict, WithinTolerance, judge
from calc.elementwise import within
from calc.errors import UnknownNameError
from calc.estimate import Estimate
from calc.protocols import Limits, tolerances
from calc.targets import NoTarget, Target
from calc.uncertainty import Budget

Figure = Literal["superheat", "subcooling"]

_GOVERNING_FIGURES: Mapping[str, Figure] = {"fixed_orifice": "superheat", "txv": "subcooling", "eev": "subcooling"}
_GOVERNING_SOURCE = "California Title 24, RA3.2"


class State(StrEnum):
    """Whether a condition is met."""

    MET = "met"
    NOT_MET = "not met"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition of a protocol.

    Attributes:
        name: what it is about, as in `Protocol.limits`, or `metering_device` or `target`.
        state: whether it is met.
        says: why, and what to do about it.
        measured: what was measured, in the unit of the limits; None if it was not, or is no number.
        limits: with the source; None where there is nothing to compare with.
        source: where the condition stands.

    """

    name: str
    state: State
    says: str
    measured: Estimate | None
    limits: Limits | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What is known of a unit and its surroundings; None is not known.

    Attributes:
        metering_device: fixed_orifice, txv or eev.
        running_s: since the compressor's last start [s].
        undisturbed_s: since the charge was last changed, or since the start [s].
        outdoor_air_temperature_k: entering the condenser [K].
        superheat_dk: of a unit with an expansion valve [K].
        maker_superheat_dk: the range that the maker gives for that; None: the protocol's [K].
        air_split_dk: return less supply [K].
        target_air_split_dk: by the protocol's table or the maker, for the return air at hand [K].
        airflow_m3_per_s: measured [m³/s].
        nominal_capacity_w: of the unit [W].
        design_airflow_m3_per_s: by the maker or the design [m³/s].
        pressure_accuracy_pa: the ± limit of the instrument at the pressure that counts [Pa].
        temperature_accuracy_dk: the ± limit of the line's thermometer [K].

    """

    metering_device: str | None = None
    running_s: float | None = None
    undisturbed_s: float | None = None
    outdoor_air_temperature_k: Estimate | None = None
    superheat_dk: Estimate | None = None
    maker_superheat_dk: tuple[float, float] | None = None
    air_split_dk: Estimate | None = None
    target_air_split_dk: Estimate | None = None
    airflow_m3_per_s: Estimate | None = None
    nominal_capacity_w: float | None = None
    design_airflow_m3_per_s: float | None = None
    pressure_accuracy_pa: float | None = None
    temperature_accuracy_dk: float | None = None


@dataclass(frozen=True, slots=True)
class Verification:
    """The outcome of a verification.

    Attributes:
        conditions: all of the protocol's.
        deviation_dk: the figure less its target [K]; None without a target.
        verdict: on that; None while a condition is not met or unknown.

    """

    conditions: tuple[Condition, ...]
    deviation_dk: Estimate | None
    verdict: Verdict | None

    @property
    def unmet(self) -> tuple[Condition, ...]:
        """The conditions that stand in the way of a verdict."""
        return tuple(condition for condition in self.conditions if condition.state is not State.MET)


def governing_figure(metering_device: str) -> Figure:
    """Name the figure that shows the charge: the one that this metering device leaves free.

    Args:
        metering_device: fixed_orifice, txv or eev.

    Raises:
        UnknownNameError: no such device.

    >>> governing_figure("fixed_orifice"), governing_figure("txv")  # California Title 24, RA3.2
    ('superheat', 'subcooling')

    """
    if metering_device not in _GOVERNING_FIGURES:
        raise UnknownNameError("metering device", metering_device, _GOVERNING_FIGURES)
    return _GOVERNING_FIGURES[metering_device]


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

    >>> cold = Situation(metering_device="txv", outdoor_air_temperature_k=Estimate(285.0, 0.3))  # 53.3 °F
    >>> for condition in may_be_judged("subcooling", None, cold)[:2]:
    ...     print(condition.name, condition.state, condition.source, sep=": ")
    metering_device: met: California Title 24, RA3.2
    outdoor_air_temperature: not met: California Title 24, 2013, RA3.2.1.1(d)

    """
    if figure not in _GOVERNING_FIGURES.values():
        raise UnknownNameError("figure", figure, sorted(set(_GOVERNING_FIGURES.values())))
    limits = tolerances(protocol).limits
    conditions = [_metering_device(figure, situation.metering_device)]
    conditions += [
        _compare(name, measured, limits[name], confidence)
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
    OutOfTolerance(probability=0.9..., side='high')

    """
    conditions = may_be_judged(figure, target, situation, protocol=protocol, confidence=confidence)
    if not isinstance(target, Target):
        return Verification(conditions, None, None)
    measured = Budget(measured_dk.value, {figure: measured_dk.standard_uncertainty})
    deviation_dk = (measured - target.value).estimate
    low_dk, high_dk, _ = tolerances(protocol).limits[figure]
    met = all(condition.state is State.MET for condition in conditions)
    verdict = judge(deviation_dk, low_dk, high_dk, confidence=confidence) if met else None
    return Verification(conditions, deviation_dk, verdict)


_WHAT_TO_DO: Mapping[str, str] = {
    "outdoor_air_temperature": "too cold outdoors: weigh the charge in by the maker's instructions, or come back; some "
    "makers allow a winter set-up for subcooling from 37 °F (California Title 24, RA1.2)",
    "running_time": "let it run on before any reading counts",
    "undisturbed_time": "the charge was changed: wait before any reading counts",
    "suction_pressure_accuracy": "take a better pressure instrument",
    "liquid_pressure_accuracy": "take a better pressure instrument",
    "temperature_accuracy": "take a better thermometer",
    "expansion_valve_superheat": "the expansion valve does not hold its superheat: look at it, and at its bulb, first",
    "air_split": "the split is above its target, so the airflow is low: raise it first",
    "airflow_per_capacity": "the airflow is low: raise it first",
    "airflow_over_design": "the airflow is off its design: set it first",
}
_SPLIT_BELOW = "met, but the split is below its target: average the air again; if it stays, the capacity is likely low"


def _metering_device(figure: Figure, metering_device: str | None) -> Condition:
    if metering_device is None:
        state, says = State.UNKNOWN, "find out which metering device it has: that decides which figure counts"
    elif governing_figure(metering_device) == figure:
        state, says = State.MET, f"{metering_device} leaves the {figure} free"
    else:
        says = f"{metering_device} is judged by {governing_figure(metering_device)}"
        state = State.NOT_MET
    return Condition("metering_device", state, says, None, None, _GOVERNING_SOURCE)


def _measured(figure: Figure, situation: Situation) -> dict[str, Estimate | None]:
    side = "suction" if figure == "superheat" else "liquid"
    return {
        "outdoor_air_temperature": situation.outdoor_air_temperature_k,
        "running_time": _exactly("running_s", situation.running_s, "s"),
        "undisturbed_time": _exactly("undisturbed_s", situation.undisturbed_s, "s"),
        f"{side}_pressure_accuracy": _exactly("pressure_accuracy_pa", situation.pressure_accuracy_pa, "Pa"),
        "temperature_accuracy": _exactly("temperature_accuracy_dk", situation.temperature_accuracy_dk, "K"),
    }


def _exactly(name: str, value: float | None, unit: str) -> Estimate | None:
    return None if value is None else Estimate(within(name, value, 0.0, _MUCH, unit), 0.0)


_MUCH = 1e9


def _compare(name: str, measured: Estimate | None, limits: Limits, confidence: float) -> Condition:
    if measured is None:
        return Condition(name, State.UNKNOWN, "not known", None, limits, limits.source)
    state, says = _judged(name, judge(measured, limits.low, limits.high, confidence=confidence))
    return Condition(name, state, says, measured, limits, limits.source)


def _judged(name: str, verdict: Verdict) -> tuple[State, str]:
    if isinstance(verdict, WithinTolerance):
        return State.MET, "met"
    if isinstance(verdict, OutOfTolerance):
        return State.NOT_MET, _WHAT_TO_DO[name]
    return State.UNKNOWN, "too near the limit for these instruments to tell"


def _expansion_valve(situation: Situation, limits: Limits, confidence: float) -> Condition:
    if situation.maker_superheat_dk is not None:
        limits = Limits(*situation.maker_superheat_dk, "the maker")
    return _compare("expansion_valve_superheat", situation.superheat_dk, limits, confidence)


def _target(figure: Figure, target: Target | NoTarget | None, least: Limits | None) -> Condition:
    source = least.source if least and figure == "superheat" else "the maker"
    if target is None:
        return Condition("target", State.UNKNOWN, "not known", None, None, source)
    if isinstance(target, NoTarget):
        return Condition("target", State.NOT_MET, target.reason, None, None, source)
    value = target.value.estimate
    if figure == "superheat" and least and value.value < least.low - _ROUNDING_DK:
        says = "a target so low is no valid test: warm the space, or test at another time"
        return Condition("target", State.NOT_MET, says, value, least, source)
    return Condition("target", State.MET, target.source, value, least if figure == "superheat" else None, source)


_ROUNDING_DK = 1e-6


def _airflow(situation: Situation, limits: Mapping[str, Limits], confidence: float) -> Condition:
    """Give the proof of the airflow that holds; if none does, the disproof; else one that is not known."""
    proofs = list(_airflow_proofs(situation, limits, confidence))
    for state in (State.MET, State.NOT_MET):
        for proof in proofs:
            if proof.state is state:
                return proof
    return proofs[0]


def _airflow_proofs(situation: Situation, limits: Mapping[str, Limits], confidence: float) -> Iterator[Condition]:
    if "air_split" in limits:
        yield _air_split(situation, limits["air_split"], confidence)
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
    if situation.air_split_dk is None or situation.target_air_split_dk is None:
        return _compare("air_split", None, limits, confidence)
    split, target = situation.air_split_dk, situation.target_air_split_dk
    uncertainty_dk = math.hypot(split.standard_uncertainty, target.standard_uncertainty)
    over_dk = Estimate(split.value - target.value, uncertainty_dk)
    state, says = _judged("air_split", judge(over_dk, -math.inf, limits.high, confidence=confidence))
    if over_dk.value < limits.low:
        says = _SPLIT_BELOW
    return Condition("air_split", state, says, over_dk, limits, limits.source)
