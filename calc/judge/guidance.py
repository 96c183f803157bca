"""Is the charge right, which way is it wrong, how much to move next, and when to stop at once.

Only the figure that the metering device leaves free shows the charge, and only when the conditions and the
instruments allow it (`calc.judge.verification`). Refrigerant is then moved in small steps: how much a step does is
known roughly beforehand, and better from each step of this visit.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from calc.conformity import CONFIDENCE, OutOfTolerance, WithinTolerance
from calc.elementwise import within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.judge.verification import Condition, Figure, Situation, governing_figure, verify
from calc.protocols import tolerances
from calc.quantities import Quantity
from calc.targets import NoTarget, Target

__all__ = [
    "Alarm",
    "AlarmKind",
    "ChargeState",
    "Judgement",
    "Move",
    "NextMove",
    "Running",
    "alarms",
    "judge",
    "next_addition",
]

_FAHRENHEIT_DK = 5 / 9


class ChargeState(StrEnum):
    """What can be said of the charge."""

    RIGHT = "right"
    TOO_LITTLE = "too little"
    TOO_MUCH = "too much"
    CANNOT_TELL = "cannot tell"
    MAY_NOT_BE_JUDGED = "may not be judged"


@dataclass(frozen=True, slots=True)
class Judgement:
    """What can be said of the charge, by the figure that shows it.

    Attributes:
        figure: superheat or subcooling.
        state: the verdict, or that there is none.
        probability: of that verdict; where there is none, of the charge being right; None if it may not be judged.
        deviation_dk: the figure less its target [K]; None without a target.
        why_not: what stands in the way of a verdict, and what to do about it.
        conditions: all that a verdict needs.

    """

    figure: Figure
    state: ChargeState
    probability: float | None
    deviation_dk: Estimate | None
    why_not: tuple[str, ...]
    conditions: tuple[Condition, ...]


def judge(
    figure_dk: Estimate,
    target: Target | NoTarget | None,
    situation: Situation,
    *,
    protocol: str = "title_24_installer",
    confidence: float = CONFIDENCE,
) -> Judgement:
    """Judge the charge by the figure that this unit's metering device leaves free.

    Too little refrigerant lowers subcooling and raises superheat.

    Args:
        figure_dk: settled: superheat behind a fixed orifice, subcooling behind an expansion valve [K].
        target: of that figure; None is not known.
        situation: what is measured beside it; the metering device must be in it.
        protocol: one of `protocols.protocols()`.
        confidence: the probability that a verdict must reach.

    Raises:
        ArgumentError: the metering device is not known.
        UnknownNameError, CalcRangeError: as `verification.verify`.

    """
    if situation.metering_device is None:
        raise ArgumentError("the metering device is not known: it decides which figure shows the charge")
    figure = governing_figure(situation.metering_device)
    verified = verify(figure, figure_dk, target, situation, protocol=protocol, confidence=confidence)
    why_not = tuple(f"{condition.name.replace('_', ' ')}: {condition.says}" for condition in verified.unmet)
    match verified.verdict:
        case None:
            state, probability = ChargeState.MAY_NOT_BE_JUDGED, None
        case WithinTolerance(probability):
            state = ChargeState.RIGHT
        case OutOfTolerance(probability, side):
            short = (side == "low") == (figure == "subcooling")
            state = ChargeState.TOO_LITTLE if short else ChargeState.TOO_MUCH
        case cannot_tell:
            state, probability = ChargeState.CANNOT_TELL, cannot_tell.probability_within
            why_not = ("these instruments cannot tell on which side of the limit it is",)
    return Judgement(figure, state, probability, verified.deviation_dk, why_not, verified.conditions)


_RESPONSE: Mapping[Figure, float] = MappingProxyType(
    {"subcooling": 50 * _FAHRENHEIT_DK, "superheat": -90 * _FAHRENHEIT_DK}
)
"""How a figure follows the charge [K per nameplate charge]: 0.5 and 0.9 °F for 1 % (common practice, no source)."""

_RESPONSE_SPREAD = 0.5  # of its logarithm, among units
_UNEVEN = 0.25  # the next step does as much as the last one within this share
_LARGEST_STEP = 0.12  # of the nameplate charge
_OVERSHOOT = 0.02  # the probability of leaving the tolerance on the other side that is accepted
_FLOOR_DK = 1.5  # below it a figure follows no change: there is no liquid, or no vapour, left to tell by
_FACTORS = np.exp(np.linspace(-3.0, 3.0, 121) * _RESPONSE_SPREAD)
_DEVIATES = np.linspace(-2.5, 2.5, 21)


@dataclass(frozen=True, slots=True)
class Move:
    """Refrigerant that was added (above 0) or recovered (below 0) at this visit [kg], and the figure about it [K]."""

    mass_kg: float
    before_dk: Estimate
    after_dk: Estimate


@dataclass(frozen=True, slots=True)
class NextMove:
    """What to move next: added above 0, recovered below [kg].

    Attributes:
        step_kg: how much to move now; then wait until the figure has settled.
        needed_kg: how much it takes in all, as far as known.
        needed_interval_kg: nine in ten chances that it takes from the first, the least, to the second.
        response_dk_per_kg: how much the figure rises with the charge.
        limited_by: why the step is smaller than what is needed; empty if it is not.

    """

    step_kg: float
    needed_kg: Estimate
    needed_interval_kg: tuple[float, float]
    response_dk_per_kg: Estimate
    limited_by: str


def next_addition(
    figure: Figure,
    measured_dk: Estimate,
    *,
    target_dk: Estimate,
    nameplate_charge_kg: float,
    moves: Sequence[Move] = (),
    protocol: str = "title_24_installer",
) -> NextMove | None:
    """Work out how much refrigerant to move next; None if the figure is as near to its target as it need be.

    The step comes from below: it is so small that it overshoots the tolerance in one of fifty cases at most, were the
    charge the only fault. Whether it is, `calc.diagnosis` tells first. A figure near nought shows only the least that
    is wrong, and the step is what that least takes.

    Args:
        figure: the one that shows the charge; superheat or subcooling.
        measured_dk: the figure, settled [K].
        target_dk: what it should be [K].
        nameplate_charge_kg: of the unit [kg].
        moves: what was moved before, at this visit and in these conditions.
        protocol: one of `protocols.protocols()`, for its tolerance.

    Raises:
        CalcRangeError: no unit has such a charge.
        UnknownNameError: no such protocol.

    >>> step = next_addition("subcooling", Estimate(2.0, 0.5), target_dk=Estimate(6.0, 0.0), nameplate_charge_kg=3.4)
    >>> round(step.step_kg, 3), round(step.needed_kg.value, 2)  # 0.5 °F for 1 % of the charge would be 0.49 kg
    (0.246, 0.55)

    """
    within("nameplate_charge_kg", nameplate_charge_kg, 0.01, 1e4, "kg", "a unit's charge")
    tolerance_dk = tolerances(protocol).limits[figure].high
    uncertainty_dk = math.hypot(measured_dk.standard_uncertainty, target_dk.standard_uncertainty)
    deviation_dk = Estimate(measured_dk.value - target_dk.value, uncertainty_dk)
    if abs(deviation_dk.value) <= tolerance_dk / 2:
        return None
    slopes, weights = _responses(figure, nameplate_charge_kg, moves)
    needed, shares = _needed(deviation_dk, slopes, weights)
    direction = math.copysign(1.0, -deviation_dk.value * _RESPONSE[figure])
    middle_kg = abs(_quantile(needed, shares, 0.5))
    at_floor = measured_dk.value < _FLOOR_DK
    safe_kg = (
        math.inf
        if at_floor
        else _quantile(np.abs(needed + direction * tolerance_dk / np.abs(slopes)[:, np.newaxis]), shares, _OVERSHOOT)
    )
    most_kg = _LARGEST_STEP * nameplate_charge_kg
    step_kg = min(middle_kg, safe_kg, most_kg)
    limited_by = ""
    if step_kg < middle_kg:
        limited_by = "no step is larger than 12 % of the charge" if most_kg <= safe_kg else "it must not overshoot"
    return NextMove(
        step_kg=direction * step_kg,
        needed_kg=_estimate(needed, shares),
        needed_interval_kg=_interval(needed, shares, direction),
        response_dk_per_kg=_estimate(slopes, weights),
        limited_by=limited_by,
    )


Array = NDArray[np.float64]


def _responses(figure: Figure, nameplate_charge_kg: float, moves: Sequence[Move]) -> tuple[Array, Array]:
    """Weigh every response from a quarter to four times the usual by what earlier moves did [K/kg]."""
    slopes = _FACTORS * _RESPONSE[figure] / nameplate_charge_kg
    logarithms = -((np.log(_FACTORS) / _RESPONSE_SPREAD) ** 2) / 2
    for move in moves:
        if min(move.before_dk.value, move.after_dk.value) < _FLOOR_DK:
            continue
        expected = slopes * move.mass_kg
        change_dk = move.after_dk.value - move.before_dk.value
        # The instruments are off by the same before and after; what differs is noise and how settled it was.
        spread = np.hypot(_UNEVEN * expected, 0.2)
        logarithms -= ((change_dk - expected) / spread) ** 2 / 2 + np.log(spread)
    weights = np.exp(logarithms - logarithms.max())
    return slopes, weights / weights.sum()


def _needed(deviation_dk: Estimate, slopes: Array, weights: Array) -> tuple[Array, Array]:
    """Divide every deviation by every response."""
    deviations = deviation_dk.value + deviation_dk.standard_uncertainty * _DEVIATES
    likely = np.exp(-(_DEVIATES**2) / 2)
    return -deviations / slopes[:, np.newaxis], np.outer(weights, likely / likely.sum())


def _quantile(values: Array, weights: Array, share: float) -> float:
    order = np.argsort(values, axis=None)
    reached = np.cumsum(weights.ravel()[order])
    return float(values.ravel()[order][min(int(np.searchsorted(reached, share)), order.size - 1)])


def _interval(needed: Array, shares: Array, direction: float) -> tuple[float, float]:
    least, most = (max(_quantile(direction * needed, shares, share), 0.0) for share in (0.05, 0.95))
    return direction * least, direction * most


def _estimate(values: Array, weights: Array) -> Estimate:
    mean = float((values * weights).sum())
    return Estimate(mean, math.sqrt(float(((values - mean) ** 2 * weights).sum())))


class AlarmKind(StrEnum):
    """Why to stop at once."""

    FLOODBACK = "floodback"
    HEAD_PRESSURE = "head pressure"
    COMPRESSOR_CURRENT = "compressor current"
    CYLINDER = "cylinder"


@dataclass(frozen=True, slots=True)
class Alarm:
    """Stop at once.

    Attributes:
        kind: what it is about.
        says: why, and what to do.
        measured: what is over its limit, or under it [unit of quantity].
        limit: likewise.
        quantity: what the two are.
        source: where the limit stands.

    """

    kind: AlarmKind
    says: str
    measured: Estimate
    limit: float
    quantity: Quantity
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """What must be watched while refrigerant is moved; None is not known.

    Attributes:
        superheat_dk: at the compressor's inlet [K].
        liquid_pressure_pa: absolute [Pa].
        design_pressure_pa: the high side's, of the nameplate, absolute [Pa].
        condensing_over_outdoor_dk: bubble point less outdoor air [K].
        compressor_load_ratio: amps over RLA [1].
        cylinder_refrigerant_kg: in the recovery cylinder, without its tare [kg].
        cylinder_safe_fill_kg: the most that it may hold; `charging.safe_fill_mass` [kg].

    """

    superheat_dk: Estimate | None = None
    liquid_pressure_pa: Estimate | None = None
    design_pressure_pa: float | None = None
    condensing_over_outdoor_dk: Estimate | None = None
    compressor_load_ratio: Estimate | None = None
    cylinder_refrigerant_kg: Estimate | None = None
    cylinder_safe_fill_kg: float | None = None


_LEAST_SUPERHEAT_DK = 1.0
_MOST_OVER_OUTDOOR_DK = 45 * _FAHRENHEIT_DK
_NEAR_DESIGN = 0.95
_LIKELY = 0.5
_PRACTICE = "common practice, no source"


def alarms(running: Running) -> tuple[Alarm, ...]:
    """List every reason to stop at once: what is likelier over its limit than not.

    >>> [alarm.kind.value for alarm in alarms(Running(superheat_dk=Estimate(0.2, 0.5)))]
    ['floodback']
    """
    found: dict[AlarmKind, Alarm] = {}
    for alarm in _candidates(running):
        if _is_over(alarm):
            found.setdefault(alarm.kind, alarm)
    return tuple(found.values())


def _candidates(running: Running) -> Iterator[Alarm]:
    """Give an alarm for every limit that can be compared with what is measured."""
    if running.superheat_dk is not None:
        yield Alarm(
            AlarmKind.FLOODBACK,
            "no superheat: liquid reaches the compressor. Stop adding; if it stays, stop the unit",
            running.superheat_dk,
            _LEAST_SUPERHEAT_DK,
            Quantity.TEMPERATURE_DIFFERENCE,
            f"what instruments can tell from none; {_PRACTICE}",
        )
    if running.liquid_pressure_pa is not None and running.design_pressure_pa is not None:
        yield Alarm(
            AlarmKind.HEAD_PRESSURE,
            "the head is near the design pressure. Stop adding; look at the condenser and its fan",
            running.liquid_pressure_pa,
            _NEAR_DESIGN * running.design_pressure_pa,
            Quantity.PRESSURE,
            f"95 % of the design pressure on the nameplate: {_PRACTICE}",
        )
    if running.condensing_over_outdoor_dk is not None:
        yield Alarm(
            AlarmKind.HEAD_PRESSURE,
            "it condenses far above the outdoor air. Stop adding; look at the condenser and its fan",
            running.condensing_over_outdoor_dk,
            _MOST_OVER_OUTDOOR_DK,
            Quantity.TEMPERATURE_DIFFERENCE,
            _PRACTICE,
        )
    if running.compressor_load_ratio is not None:
        yield Alarm(
            AlarmKind.COMPRESSOR_CURRENT,
            "the compressor draws more than its rated load amps. Stop adding; check the supply and the head",
            running.compressor_load_ratio,
            1.0,
            Quantity.RATIO,
            "nameplate",
        )
    if running.cylinder_refrigerant_kg is not None and running.cylinder_safe_fill_kg is not None:
        yield Alarm(
            AlarmKind.CYLINDER,
            "the cylinder holds as much as it may. Stop recovering; take another one",
            running.cylinder_refrigerant_kg,
            running.cylinder_safe_fill_kg,
            Quantity.MASS,
            "80 % of liquid at 77 °F at most: AHRI Guideline K; 70 % of what burns: common practice, no source",
        )


def _is_over(alarm: Alarm) -> bool:
    """Tell whether it is likelier than not beyond its limit; superheat must not be below it."""
    below = alarm.measured.probability_within(-math.inf, alarm.limit)
    return (below if alarm.kind is AlarmKind.FLOODBACK else 1 - below) >= _LIKELY
