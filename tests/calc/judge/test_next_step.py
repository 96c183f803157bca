"""The next step against a crowd of units drawn at random: what it promises must be true of them.

Common practice, no source: 1 % of the charge moves subcooling by 0.5 °F and superheat by -0.9 °F, more or less by a
factor of e^0.5 from unit to unit (one standard deviation); the same unit answers the next time within 25 %, and the
figure comes to rest within 0.2 K. Tolerances: California Title 24, 2008, pages RA3-14 and RA3-15, 5 °F and 3 °F.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.judge.next_step import Limit, NextStep, at_trial, left_to_move, next_addition, says_the_same
from calc.judge.verification import Figure
from calc.protocols import tolerances
from calc.situation import Move
from tests.fahrenheit import DDEGF

CHARGE_KG = 3.0
TARGET_DK = 15 * DDEGF
USUAL_DK_PER_KG = {"subcooling": 50 * DDEGF / CHARGE_KG, "superheat": -90 * DDEGF / CHARGE_KG}
TOLERANCE_DK = {"subcooling": 3 * DDEGF, "superheat": 5 * DDEGF}
CROWD = np.random.default_rng(20).normal(size=(2, 400_000))


def ahead(
    figure: Figure,
    off_f: float,
    *,
    measured_dk: float = 0.3,
    target_dk: float = 0.4,
    moves: tuple[Move, ...] = (),
) -> NextStep | None:
    """The next step of a figure so much off its target, with the uncertainties of both."""
    value, target = Estimate(TARGET_DK + off_f * DDEGF, measured_dk), Estimate(TARGET_DK, target_dk)
    return next_addition(figure, value, target_dk=target, nameplate_charge_kg=CHARGE_KG, moves=moves)


def crowd(figure: Figure, off_f: float, moves: tuple[Move, ...] = ()) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Units: how far each is off [K], how it answers [K/kg], and how well it fits what the moves did."""
    off_dk = off_f * DDEGF + math.hypot(0.3, 0.4) * CROWD[0]
    answer = USUAL_DK_PER_KG[figure] * np.exp(0.5 * CROWD[1])
    fits = np.ones(answer.size)
    for move in moves:
        expected = answer * move.mass_kg
        spread = np.hypot(0.25 * expected, 0.2)
        found_dk = move.after_dk.value - move.before_dk.value
        fits *= np.exp(-(((found_dk - expected) / spread) ** 2) / 2) / spread
    return off_dk, answer, fits / fits.sum()


def quantile(values: np.ndarray, shares: np.ndarray, share: float) -> float:
    order = np.argsort(values)
    return float(np.interp(share, np.cumsum(shares[order]), values[order]))


def a_move(figure: Figure, mass_kg: float, times_usual: float, before_dk: float = 5.0) -> Move:
    after_dk = before_dk + times_usual * USUAL_DK_PER_KG[figure] * mass_kg
    return Move(mass_kg, Estimate(before_dk, 0.4), Estimate(after_dk, 0.4))


ONE_STRONG = {"subcooling": (a_move("subcooling", 0.12, 1.7),), "superheat": (a_move("superheat", -0.05, 1.7),)}
ONE_WEAK = {"subcooling": (a_move("subcooling", 0.12, 0.6),), "superheat": (a_move("superheat", -0.05, 0.6),)}
TWO_SMALL = {"subcooling": (a_move("subcooling", 0.02, 1.5),) * 2, "superheat": (a_move("superheat", -0.01, 1.5),) * 2}
NONE = {"subcooling": (), "superheat": ()}


@pytest.mark.parametrize("known", [NONE, ONE_STRONG, ONE_WEAK, TWO_SMALL], ids=["none", "strong", "weak", "small"])
@pytest.mark.parametrize(
    ("figure", "off_f"), [("subcooling", -4.0), ("subcooling", 4.0), ("superheat", 6.0), ("superheat", -5.5)]
)
def test_one_unit_in_fifty_overshoots_its_tolerance(
    figure: Figure, off_f: float, known: dict[str, tuple[Move, ...]]
) -> None:
    step = ahead(figure, off_f, moves=known[figure])
    assert step is not None
    off_dk, answer, shares = crowd(figure, off_f, known[figure])
    after_dk = off_dk + answer * step.step_kg
    overshot = shares[after_dk * -math.copysign(1.0, off_f) > TOLERANCE_DK[figure]].sum()
    if step.limited_by is Limit.OVERSHOOT:
        assert overshot == pytest.approx(0.02, abs=0.005)
    else:
        assert overshot < 0.025
        assert abs(step.step_kg) == pytest.approx(abs(quantile(-off_dk / answer, shares, 0.5)), rel=0.08)


@pytest.mark.parametrize("known", [NONE, ONE_STRONG, ONE_WEAK, TWO_SMALL], ids=["none", "strong", "weak", "small"])
@pytest.mark.parametrize(("figure", "off_f"), [("subcooling", -5.0), ("superheat", -8.0)])
def test_nine_units_in_ten_take_what_the_interval_says(
    figure: Figure, off_f: float, known: dict[str, tuple[Move, ...]]
) -> None:
    step = ahead(figure, off_f, moves=known[figure])
    assert step is not None
    off_dk, answer, shares = crowd(figure, off_f, known[figure])
    needed_kg = -off_dk / answer
    low_kg, high_kg = sorted(step.needed_interval_kg)
    assert shares[needed_kg < low_kg].sum() == pytest.approx(0.05, abs=0.015)
    assert shares[needed_kg > high_kg].sum() == pytest.approx(0.05, abs=0.015)
    assert step.response_dk_per_kg.value == pytest.approx(float((answer * shares).sum()), rel=0.02)


@pytest.mark.parametrize(("figure", "leaves_f", "moves_f"), [("subcooling", 1.4, 1.6), ("superheat", 2.4, 2.6)])
def test_within_half_the_installers_tolerance_nothing_is_moved(figure: Figure, leaves_f: float, moves_f: float) -> None:
    for sign in (1, -1):
        assert ahead(figure, sign * leaves_f) is None
        assert ahead(figure, sign * moves_f) is not None


def test_at_half_the_tolerance_itself_nothing_is_moved() -> None:
    half_dk = Estimate(tolerances("title_24_installer").limits["subcooling"].high / 2, 0.3)
    step = next_addition("subcooling", half_dk, target_dk=Estimate(0.0, 0.0), nameplate_charge_kg=CHARGE_KG)
    assert step is None


def test_how_near_is_near_enough_may_be_asked_for() -> None:
    short, target = Estimate(TARGET_DK - 1.0 * DDEGF, 0.3), Estimate(TARGET_DK, 0.0)
    steps = {
        near_f: next_addition(
            "subcooling", short, target_dk=target, nameplate_charge_kg=CHARGE_KG, near_dk=near_f * DDEGF
        )
        for near_f in (0.9, 1.1)
    }
    assert steps[1.1] is None
    assert steps[0.9] is not None
    assert steps[0.9].step_kg == pytest.approx(0.02 * CHARGE_KG, rel=0.1)  # 0.5 °F for 1 % of the charge


@pytest.mark.parametrize(("figure", "usual_f"), [("subcooling", 50.0), ("superheat", -90.0)])
def test_before_anything_was_moved_a_unit_answers_as_units_do(figure: Figure, usual_f: float) -> None:
    """A lognormal crowd has the mean e^(s²/2) = 1.133 of its middle, and e^(s²) - 1 = 0.284 of its mean as variance.

    Without the 0.27 % beyond three standard deviations, as here, 1.129 and 0.267, by the normal integral.
    """
    step = ahead(figure, -5.0 if figure == "subcooling" else 8.0)
    assert step is not None
    usual_dk_per_kg = usual_f * DDEGF / 3.0
    assert step.response_dk_per_kg.value == pytest.approx(1.129 * usual_dk_per_kg, rel=0.002)
    spread = step.response_dk_per_kg.standard_uncertainty / abs(step.response_dk_per_kg.value)
    assert spread == pytest.approx(math.sqrt(0.267), rel=0.01)


@pytest.mark.parametrize("known", [ONE_STRONG, ONE_WEAK, TWO_SMALL], ids=["strong", "weak", "small"])
@pytest.mark.parametrize(("figure", "off_f"), [("subcooling", -5.0), ("superheat", -8.0)])
def test_what_is_needed_is_as_uncertain_as_the_crowd_is_wide(
    figure: Figure, off_f: float, known: dict[str, tuple[Move, ...]]
) -> None:
    step = ahead(figure, off_f, moves=known[figure])
    assert step is not None
    off_dk, answer, shares = crowd(figure, off_f, known[figure])
    for found, values in ((step.needed_kg, -off_dk / answer), (step.response_dk_per_kg, answer)):
        mean = float((values * shares).sum())
        assert found.value == pytest.approx(mean, rel=0.03)
        assert found.standard_uncertainty == pytest.approx(
            math.sqrt(float(((values - mean) ** 2 * shares).sum())), rel=0.06
        )


@pytest.mark.parametrize(("superheat_dk", "limit"), [(1.4, None), (1.5, Limit.OVERSHOOT), (1.6, Limit.OVERSHOOT)])
def test_a_figure_is_at_its_floor_below_one_and_a_half_kelvin(superheat_dk: float, limit: Limit | None) -> None:
    """Nearly no superheat says the least that is wrong (common practice, no source): all of that comes out at once."""
    step = next_addition(
        "superheat", Estimate(superheat_dk, 0.3), target_dk=Estimate(4.5, 0.0), nameplate_charge_kg=CHARGE_KG
    )
    assert step is not None
    assert step.limited_by is limit


@pytest.mark.parametrize(("before_dk", "counts"), [(1.4, False), (1.6, True)])
def test_a_move_that_began_or_ended_at_the_floor_teaches_nothing(before_dk: float, counts: bool) -> None:
    up = a_move("subcooling", 0.15, 2.0, before_dk)
    down = Move(-up.mass_kg, up.after_dk, up.before_dk)
    for move in (up, down):
        assert (ahead("subcooling", -5.0, moves=(move,)) != ahead("subcooling", -5.0)) is counts


def test_a_doubtful_target_makes_the_step_as_careful_as_a_doubtful_reading() -> None:
    sure, reading, target = (
        ahead("subcooling", -5.0, measured_dk=measured_dk, target_dk=target_dk)
        for measured_dk, target_dk in ((0.1, 0.1), (0.8, 0.1), (0.1, 0.8))
    )
    assert sure is not None
    assert reading == target
    assert reading is not None
    assert reading.step_kg < sure.step_kg


def test_at_the_least_nothing_is_needed_and_never_the_contrary() -> None:
    """A figure 1.6 °F off, good to 2 K, may as well be on the other side: what is said to be needed stops at none."""
    for off_f in (-1.6, 1.6):
        step = ahead("subcooling", off_f, measured_dk=2.0)
        assert step is not None
        least_kg, most_kg = step.needed_interval_kg
        assert (least_kg, most_kg * step.step_kg > 0) == (0.0, True)


def test_what_cuts_a_step_down_is_told() -> None:
    """12 % of 3 kg is 0.36 kg; far off, that is less than what a careful step would be."""
    far, near = ahead("subcooling", -16.0), ahead("subcooling", -4.0)
    assert far is not None
    assert near is not None
    assert far.step_kg == pytest.approx(0.36)
    assert far.limited_by is Limit.LARGEST
    assert near.step_kg < 0.36
    assert near.limited_by is Limit.OVERSHOOT


def test_what_was_to_be_recovered_is_not_held_where_it_is_to_be_added() -> None:
    """Though the two are nearer to each other than the scale shows."""
    fresh = ahead("subcooling", -4.0)
    assert fresh is not None
    added, recovered = replace(fresh, step_kg=0.005), replace(fresh, step_kg=-0.005)
    assert says_the_same(added, added)
    assert says_the_same(recovered, recovered)
    assert not says_the_same(added, recovered)
    assert not says_the_same(recovered, added)


@pytest.mark.parametrize(("charge_kg", "is_one"), [(0.009, False), (0.01, True), (1e4, True), (10_000.5, False)])
def test_no_unit_holds_less_than_ten_grams_or_more_than_ten_tonnes(charge_kg: float, is_one: bool) -> None:
    """Common practice, no source: a slip of the unit, grams or pounds for kilograms, is what this catches."""
    short, target = Estimate(2.0, 0.5), Estimate(6.0, 0.0)
    if is_one:
        step = next_addition("subcooling", short, target_dk=target, nameplate_charge_kg=charge_kg)
        assert step is not None
        assert 0 < step.step_kg <= 0.12 * charge_kg
    else:
        with pytest.raises(CalcRangeError, match="nameplate_charge_kg"):
            next_addition("subcooling", short, target_dk=target, nameplate_charge_kg=charge_kg)


@pytest.mark.parametrize(("figure", "off_f"), [("subcooling", -2.0), ("subcooling", 0.0), ("superheat", 3.0)])
@pytest.mark.parametrize("steps", [0, 3])
def test_what_is_left_to_move_is_what_the_crowd_lacks(figure: Figure, off_f: float, steps: int) -> None:
    """Of the crowd, those that answered every step before as usual; three such steps tell how this unit answers."""
    usual = USUAL_DK_PER_KG[figure]
    step_kg = 0.06 * CHARGE_KG
    before, after = Estimate(TARGET_DK, 0.3), Estimate(TARGET_DK + usual * step_kg, 0.3)
    value = Estimate(TARGET_DK + off_f * DDEGF, 0.3)
    moves = (Move(step_kg, before, after),) * steps
    left = left_to_move(figure, value, target_dk=Estimate(TARGET_DK, 0.4), nameplate_charge_kg=CHARGE_KG, moves=moves)
    assert left is not None
    slopes = usual * np.exp(0.5 * CROWD[0])
    weights = np.ones_like(slopes)
    for _ in range(steps):
        spread = np.hypot(0.25 * slopes * step_kg, 0.2)
        weights *= np.exp(-(((usual - slopes) * step_kg / spread) ** 2) / 2) / spread
    needed = -(off_f * DDEGF + 0.5 * CROWD[1]) / slopes
    mean = np.average(needed, weights=weights)
    deviation = math.sqrt(np.average((needed - mean) ** 2, weights=weights))
    assert left.value == pytest.approx(mean, abs=0.04 * deviation)
    assert left.standard_uncertainty == pytest.approx(deviation, rel=0.05)


def test_near_zero_a_figure_does_not_tell_what_is_left() -> None:
    low = Estimate(1.0, 0.3)
    assert left_to_move("subcooling", low, target_dk=Estimate(5.0, 0.0), nameplate_charge_kg=CHARGE_KG) is None


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_trial_is_a_twentieth_of_the_charge_at_most(sign: float) -> None:
    """Common practice, no source: 5 %."""
    large = ahead("subcooling", -10.0 * sign)
    assert large is not None
    tried = at_trial(large, CHARGE_KG)
    assert (tried.step_kg, tried.limited_by) == (pytest.approx(0.15 * sign), Limit.TRIAL)
    assert (tried.needed_kg, tried.needed_interval_kg) == (large.needed_kg, large.needed_interval_kg)
    assert at_trial(tried, CHARGE_KG) == tried
