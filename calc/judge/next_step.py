"""How much refrigerant to move next, by the figure that shows the charge.

Refrigerant is moved in small steps: how much a step does is known roughly beforehand, and better from each step of this
visit. Whether any is to be moved at all, `calc.judge.state` decides.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from calc.elementwise import within
from calc.estimate import Estimate
from calc.governing import Figure
from calc.protocols import tolerances
from calc.situation import Move
from calc.wording import weighing_step_kg

_FAHRENHEIT_DK = 5 / 9
_RESPONSE: Mapping[Figure, float] = MappingProxyType(
    {"subcooling": 50 * _FAHRENHEIT_DK, "superheat": -90 * _FAHRENHEIT_DK}
)
"""How a figure follows the charge [K per nameplate charge]: 0.5 and 0.9 °F for 1 % (common practice, no source)."""

_RESPONSE_SPREAD = 0.5  # of its logarithm, among units
_UNEVEN = 0.25  # the next step does as much as the last one within this share
_LARGEST_STEP = 0.12  # of the nameplate charge
_TRIAL = 0.05  # likewise: of an addition that is to show whether refrigerant is what is missing
_ANSWERED = 0.5  # of the usual response; common practice, no source
_OVERSHOOT = 0.02  # the probability of leaving the tolerance on the other side that is accepted
_FED_VALVE_DK = 10.0  # 18 °F: a valve that liquid reaches holds less at the suction line; common practice, no source
_FLOOR_DK = 1.5  # below it a figure follows no change: there is no liquid, or no vapour, left to tell by
_FACTORS = np.exp(np.linspace(-3.0, 3.0, 121) * _RESPONSE_SPREAD)
_DEVIATES = np.linspace(-2.5, 2.5, 21)


class Limit(StrEnum):
    """Why a step is smaller than what is needed."""

    LARGEST = "no step is larger than 12 % of the charge"
    OVERSHOOT = "it must not overshoot"
    TRIAL = "it is tried first whether the figure follows"


@dataclass(frozen=True, slots=True)
class NextStep:
    """What to move next: added above 0, recovered below [kg].

    Attributes:
        step_kg: how much to move now; then wait until the figure has settled.
        needed_kg: how much it takes in all, as far as known.
        needed_interval_kg: nine in ten chances that it takes from the first, the least, to the second.
        response_dk_per_kg: how much the figure rises with the charge.
        limited_by: why the step is smaller than what is needed; None if it is not.

    """

    step_kg: float
    needed_kg: Estimate
    needed_interval_kg: tuple[float, float]
    response_dk_per_kg: Estimate
    limited_by: Limit | None


def next_addition(
    figure: Figure,
    measured_dk: Estimate,
    *,
    target_dk: Estimate,
    nameplate_charge_kg: float,
    moves: Sequence[Move] = (),
    protocol: str = "title_24_installer",
    near_dk: float | None = None,
) -> NextStep | None:
    """Work out how much refrigerant to move next; None if the figure is as near to its target as it need be.

    The step comes from below: it is so small that it overshoots the tolerance in one of fifty cases at most, were the
    charge the only fault. Whether it is, `calc.diagnosis` tells first. A figure near zero shows only the least that
    is wrong, and the step is what that least takes.

    Args:
        figure: the one that shows the charge; superheat or subcooling.
        measured_dk: the figure, settled [K].
        target_dk: what it should be [K].
        nameplate_charge_kg: of the unit [kg].
        moves: what was moved before, at this visit and in these conditions.
        protocol: one of `protocols.protocols()`, for its tolerance.
        near_dk: how near to its target it need be; None for half the tolerance [K].

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
    if abs(deviation_dk.value) <= (tolerance_dk / 2 if near_dk is None else near_dk):
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
    limited_by = None
    if step_kg < middle_kg:
        limited_by = Limit.LARGEST if most_kg <= safe_kg else Limit.OVERSHOOT
    return NextStep(
        step_kg=direction * step_kg,
        needed_kg=_estimate(needed, shares),
        needed_interval_kg=_interval(needed, shares, direction),
        response_dk_per_kg=_estimate(slopes, weights),
        limited_by=limited_by,
    )


def has_answered(figure: Figure, move: Move, nameplate_charge_kg: float, superheat_dk: Estimate | None = None) -> bool:
    """Tell whether a figure followed a move by half of what is usual: behind a restriction it hardly does.

    Near zero it follows no charge, and that is no answer to the contrary. With an expansion valve what stacks up in the
    condenser raises the subcooling behind a restriction as well: there the superheat after the move has to have come
    down to what a valve that is fed holds, too; where that is not known, the unit has not answered.

    Args:
        figure: the one that shows the charge; by subcooling, the unit has an expansion valve.
        move: the one that was tried, above 0.
        nameplate_charge_kg: of the unit [kg].
        superheat_dk: after it, of an expansion valve [K].

    """
    if min(move.before_dk.value, move.after_dk.value) < _FLOOR_DK:
        return True
    usual_dk = _RESPONSE[figure] * move.mass_kg / nameplate_charge_kg
    follows = (move.after_dk.value - move.before_dk.value) / usual_dk >= _ANSWERED
    is_fed = figure == "superheat" or (superheat_dk is not None and superheat_dk.value <= _FED_VALVE_DK)
    return follows and is_fed


def left_to_move(
    figure: Figure,
    measured_dk: Estimate,
    *,
    target_dk: Estimate,
    nameplate_charge_kg: float,
    moves: Sequence[Move] = (),
) -> Estimate | None:
    """Give how much is missing, above 0, or too much, below 0, as well as the figure can tell [kg].

    How far the figure is off its target, how well both are known, and what refrigerant did to it at this visit, all in
    one. None near zero, where a figure follows no charge. Arguments and errors as `next_addition`.

    >>> left_to_move("subcooling", Estimate(5.5, 0.5), target_dk=Estimate(6.0, 0.0), nameplate_charge_kg=3.4)
    Estimate(value=0.069..., standard_uncertainty=0.08...)

    """
    within("nameplate_charge_kg", nameplate_charge_kg, 0.01, 1e4, "kg", "a unit's charge")
    if measured_dk.value < _FLOOR_DK:
        return None
    uncertainty_dk = math.hypot(measured_dk.standard_uncertainty, target_dk.standard_uncertainty)
    deviation_dk = Estimate(measured_dk.value - target_dk.value, uncertainty_dk)
    slopes, weights = _responses(figure, nameplate_charge_kg, moves)
    return _estimate(*_needed(deviation_dk, slopes, weights))


def at_trial(step: NextStep, nameplate_charge_kg: float) -> NextStep:
    """Give no more of a step than shows whether the figure follows: 5 % of the charge."""
    most_kg = _TRIAL * nameplate_charge_kg
    if abs(step.step_kg) <= most_kg:
        return step
    return replace(step, step_kg=math.copysign(most_kg, step.step_kg), limited_by=Limit.TRIAL)


def says_the_same(step: NextStep, said: NextStep) -> bool:
    """Tell whether a step is the one that was said, by less than one step of the scale.

    Worked out anew each second it moves by a little, and would be read as 7 and 8 oz in turn.
    """
    return (step.step_kg < 0) == (said.step_kg < 0) and all(
        abs(now_kg - said_kg) < weighing_step_kg(said_kg)
        for now_kg, said_kg in ((step.step_kg, said.step_kg), (step.needed_kg.value, said.needed_kg.value))
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
    return float(values.ravel()[order[np.searchsorted(reached, share)]])


def _interval(needed: Array, shares: Array, direction: float) -> tuple[float, float]:
    least, most = (max(_quantile(direction * needed, shares, share), 0.0) for share in (0.05, 0.95))
    return direction * least, direction * most


def _estimate(values: Array, weights: Array) -> Estimate:
    mean = float((values * weights).sum())
    return Estimate(mean, math.sqrt(float(((values - mean) ** 2 * weights).sum())))
