"""What works on one value as on an array, against numpy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial import Polynomial

from calc.elementwise import at_most, exp, hypot, log, polynomial, slope, within
from calc.errors import CalcRangeError

small = st.floats(-100, 100)


@given(st.lists(small, min_size=1, max_size=8), small)
def test_polynomials_are_those_of_numpy(terms, x):
    theirs = Polynomial(terms)
    scale = sum(abs(term * x**power) for power, term in enumerate(terms)) + 1e-300
    assert polynomial(terms, x) == pytest.approx(theirs(x), abs=1e-12 * scale)
    assert polynomial(terms, np.array([x])) == pytest.approx(theirs(x), abs=1e-12 * scale)
    assert slope(terms) == tuple(theirs.deriv().coef)[: len(terms) - 1]


@given(st.floats())
def test_within_lets_through_what_lies_between_and_nothing_else(value):
    for given_value in (value, np.array([5.0, value]), np.float64(value)):
        if np.min(given_value) >= 0 and np.max(given_value) <= 10:
            assert within("x", given_value, 0, 10, "A") is given_value
        else:
            with pytest.raises(CalcRangeError, match=r"x is .* A, outside 0 to 10 A: so"):
                within("x", given_value, 0, 10, "A", "so")


def test_within_names_the_first_bad_value_of_an_array():
    with pytest.raises(CalcRangeError) as caught:
        within("x", np.array([5.0, 11.0, np.nan]), 0, 10, "")
    assert caught.value.value == 11.0


def test_logarithms_and_exponentials():
    assert log(np.array([1.0, 7.0])).tolist() == pytest.approx([log(1.0), np.log(7.0)])
    assert exp(np.array([0.0, 2.0])).tolist() == pytest.approx([exp(0.0), np.exp(2.0)])


def test_the_root_of_squares_and_the_lesser_are_numpys():
    sides = np.array([3.0, 5.0])
    assert hypot(sides, 4.0, 12.0).tolist() == pytest.approx([13.0, np.sqrt(185.0)])
    assert at_most(sides, 4.0).tolist() == [3.0, 4.0]
    assert (at_most(3.0, 4.0), at_most(5.0, 4.0)) == (3.0, 4.0)
