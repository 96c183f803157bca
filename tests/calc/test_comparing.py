"""Verdicts against JCGM 106:2012. Its figures here are from memory: table 1 (z for one limit), and 7.3.2's example."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.comparing import (
    CannotTell,
    Met,
    NotMet,
    acceptance_interval,
    compare,
    guard_band,
)
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate


@pytest.mark.parametrize(("confidence", "z"), [(0.8, 0.84), (0.9, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)])
def test_guard_bands_of_one_limit(confidence, z):
    assert guard_band(2.0, confidence=confidence) == pytest.approx(2 * z, abs=0.011)
    low, high = acceptance_interval(-math.inf, 10.0, 2.0, confidence=confidence)
    assert low == -math.inf
    assert high == pytest.approx(10 - 2 * z, abs=0.011)


def test_a_lower_limit_is_guarded_from_above():
    low, high = acceptance_interval(10.0, math.inf, 2.0, confidence=0.95)
    assert low == pytest.approx(10 + 2 * 1.64, abs=0.011)
    assert high == math.inf


@pytest.mark.parametrize(("low", "high"), [(2.0, 12.0), (-12.0, -2.0), (-5.0, 5.0)])
def test_two_limits_far_apart_are_guarded_as_one_is_wherever_they_lie(low, high):
    """z is 1.28 at 0.90; the other limit is 100 u away."""
    assert acceptance_interval(low, high, 0.1, confidence=0.9) == (
        pytest.approx(low + 0.128, abs=0.001),
        pytest.approx(high - 0.128, abs=0.001),
    )


def test_what_just_reaches_the_probability_asked_for_is_a_verdict():
    """JCGM 106, 8.2.1 (from memory): conforming is what is likely enough, not only what is likelier than that."""
    within = Estimate(1.0, 2.5).probability_within(-3.0, 3.0)
    assert compare(Estimate(1.0, 2.5), -3.0, 3.0, confidence=within) == Met(within)
    above = Estimate(4.0, 2.5).probability_within(3.0, math.inf)
    assert compare(Estimate(4.0, 2.5), -3.0, 3.0, confidence=above) == NotMet(above, "high")
    below = Estimate(-4.0, 2.5).probability_within(-math.inf, -3.0)
    assert compare(Estimate(-4.0, 2.5), -3.0, 3.0, confidence=below) == NotMet(below, "low")


def test_instruments_that_just_reach_it_on_target_can_tell_there_and_only_there():
    best = Estimate(0.0, 2.5).probability_within(-3.0, 3.0)
    assert acceptance_interval(-3.0, 3.0, 2.5, confidence=best) == pytest.approx((0.0, 0.0), abs=1e-7)
    off_target = compare(Estimate(0.5, 2.5), -3.0, 3.0, confidence=best)
    assert isinstance(off_target, CannotTell)
    assert not off_target.even_on_target


def test_the_zener_diode():
    verdict = compare(Estimate(-5.47, 0.05), -math.inf, -5.40)
    assert isinstance(verdict, Met)
    assert verdict.probability == pytest.approx(0.92, abs=0.005)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0, Met),
        (3.7, Met),
        (3.8, CannotTell),
        (5.0, CannotTell),
        (6.2, CannotTell),
        (6.3, NotMet),
        (-6.3, NotMet),
    ],
)
def test_superheat_within_five_degrees_read_with_two_at_k_2(value, expected):
    """±5 °F, u = 1 °F: guarded by 1.28 °F either side of the limit."""
    verdict = compare(Estimate(value, 1.0), -5.0, 5.0)
    assert isinstance(verdict, expected)
    if isinstance(verdict, NotMet):
        assert verdict.side == ("high" if value > 0 else "low")
        assert verdict.probability > 0.9
    if isinstance(verdict, CannotTell):
        assert not verdict.even_on_target


def test_instruments_too_poor_for_the_tolerance_cannot_tell_even_on_target():
    """±3 °F with u = 2.5 °F holds only 77 % of a normal distribution (table of the normal integral)."""
    verdict = compare(Estimate(0.0, 2.5), -3.0, 3.0)
    assert isinstance(verdict, CannotTell)
    assert verdict.even_on_target
    assert verdict.probability_within == verdict.best_probability == pytest.approx(0.770, abs=0.001)
    assert acceptance_interval(-3.0, 3.0, 2.5) is None


def test_hopeless_instruments_do_not_call_it_out():
    assert isinstance(compare(Estimate(0.0, 1e6), -3.0, 3.0), CannotTell)


def test_one_limit_can_always_be_told_far_enough_from_it():
    assert compare(Estimate(285.9, 0.5), 285.93, math.inf) == CannotTell(pytest.approx(0.476, abs=1e-3), 1.0, False)
    assert isinstance(compare(Estimate(287.0, 0.5), 285.93, math.inf), Met)


def test_an_exact_reading_needs_no_guard():
    assert acceptance_interval(-3.0, 3.0, 0.0) == (-3.0, 3.0)
    assert compare(Estimate(3.0, 0.0), -3.0, 3.0) == Met(1.0)
    assert compare(Estimate(3.1, 0.0), -3.0, 3.0) == NotMet(1.0, "high")


@given(st.floats(0.1, 10), st.floats(0.01, 20), st.floats(0.51, 0.99))
def test_the_acceptance_interval_is_where_the_verdict_turns(half, uncertainty, confidence):
    interval = acceptance_interval(-half, half, uncertainty, confidence=confidence)
    if interval is None:
        assert compare(Estimate(0.0, uncertainty), -half, half, confidence=confidence).even_on_target
        return
    edge = interval[1]
    within = Estimate(edge, uncertainty).probability_within(-half, half)
    assert within == pytest.approx(confidence, abs=1e-6)
    assert half - edge >= guard_band(uncertainty, confidence=confidence) - 1e-6


@pytest.mark.parametrize(
    ("low", "high", "confidence", "error", "message"),
    [
        (5.0, -5.0, 0.9, ArgumentError, "limits 5 to -5 are no interval"),
        (math.nan, 5.0, 0.9, ArgumentError, "no interval"),
        (-5.0, 5.0, 0.5, CalcRangeError, "confidence is 0.5, outside 0.5 to 1: a verdict must be likelier than not"),
        (-5.0, 5.0, math.nan, CalcRangeError, "confidence"),
        (-5.0, 5.0, 1.0, CalcRangeError, "confidence is 1, outside 0.5 to 1"),
        (-5.0, 5.0, 1.5, CalcRangeError, "confidence is 1.5, outside 0.5 to 1"),
    ],
)
def test_refuses_what_is_no_rule(low, high, confidence, error, message):
    with pytest.raises(error, match=message):
        compare(Estimate(0.0, 1.0), low, high, confidence=confidence)
    with pytest.raises(error, match=message):
        acceptance_interval(low, high, 1.0, confidence=confidence)


@given(st.floats(), st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_a_verdict_or_a_calc_error(value, uncertainty, low, high, confidence):
    try:
        verdict = compare(Estimate(value, uncertainty), low, high, confidence=confidence)
        acceptance_interval(low, high, uncertainty, confidence=confidence)
    except CalcError:
        return
    assert isinstance(verdict, Met | NotMet | CannotTell)
