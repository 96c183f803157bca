"""Estimates against the normal distribution as JCGM 100 (the GUM), table G.1, has it (from memory)."""

import math
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate


@pytest.mark.parametrize(("k", "percent"), [(1, 68.27), (1.645, 90), (1.96, 95), (2, 95.45), (3, 99.73)])
def test_coverage_factors(k, percent):
    estimate = Estimate(10.0, 0.5)
    half_width = estimate.expanded(k)
    assert half_width == 0.5 * k
    probability = estimate.probability_within(10 - half_width, 10 + half_width)
    assert 100 * probability == pytest.approx(percent, abs=0.01)


def test_an_exact_value_is_within_or_not():
    assert Estimate(3.0, 0.0).probability_within(2, 4) == 1
    assert Estimate(3.0, 0.0).probability_within(4, 5) == 0
    assert Estimate(3.0, 0.0).probability_within(3, 4) == Estimate(3.0, 0.0).probability_within(2, 3) == 1


def test_one_sided_limits():
    assert Estimate(0.0, 1.0).probability_within(-math.inf, 0.0) == pytest.approx(0.5)
    assert Estimate(0.0, 1.0).probability_within(1.0, -1.0) == 0


@pytest.mark.parametrize(
    ("value", "uncertainty"),
    [(math.nan, 1.0), (math.inf, 1.0), (-math.inf, 1), (1.0, -0.1), (1, -0.1), (1.0, math.nan), (1.0, math.inf)],
)
def test_refuses_what_is_no_estimate(value, uncertainty):
    with pytest.raises(CalcRangeError):
        Estimate(value, uncertainty)


def test_the_greatest_numbers_are_numbers():
    greatest = sys.float_info.max
    for value in (greatest, -greatest):
        assert Estimate(value, greatest).value == value
    assert Estimate(0, 1).expanded() == 2


def test_many_values_may_share_an_uncertainty():
    assert list(Estimate(np.array([1.0, 3.0]), 0.5).probability_within(0.5, 1.5)) == pytest.approx(
        [0.6827, 0.0013], abs=1e-4
    )


@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_probabilities_are_probabilities(value, uncertainty, low, high):
    try:
        estimate = Estimate(value, uncertainty)
    except CalcError:
        return
    if not (math.isnan(low) or math.isnan(high)):
        assert 0 <= estimate.probability_within(low, high) <= 1
