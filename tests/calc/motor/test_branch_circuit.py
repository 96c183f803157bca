"""MCA and MOCP against a code quiz in print."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import CalcError
from calc.motor import mca, mocp
from calc.motor.branch_circuit import STANDARD_RATINGS_A
from tests.edges import check_edges
from tests.fuzzing import fuzz


@pytest.mark.parametrize(("largest_a", "others_a", "mca_a", "usual_a", "greatest_a"), [
    (20, 2.5, 27.5, 35, 45),  # EC&M code quiz: 37.5 A needs a 35 A device, 47.5 A allows 45 A
    (17.9, 2.8, 25.175, 30, 40),  # computed
    (7.05, 0.7, 9.5125, 15, 15),  # computed: 13.0 and 16.6 A; never less than 15 A
    (29, 2.5, 38.75, 50, 60),  # computed: 53.25 and 67.75 A
])  # fmt: skip
def test_circuit_of_a_unit(largest_a, others_a, mca_a, usual_a, greatest_a):
    assert mca(largest_a, others_a).current_a == pytest.approx(mca_a)
    assert mocp(largest_a, others_a).current_a == usual_a
    assert mocp(largest_a, others_a, will_not_start=True).current_a == greatest_a


def test_the_nameplate_wins():
    for rating in (mca(20.0, 2.5, nameplate_a=26.0), mocp(20.0, 2.5, nameplate_a=26.0)):
        assert (rating.current_a, rating.source) == (26.0, "the nameplate")
    assert "computed" in mca(20.0).source


RATINGS_A = [
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    *(600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000),
]
"""The list of NEC 240.6(A) as several summaries print it: 37 ratings from 15 to 6000 A."""


def test_standard_ratings_are_those_of_the_code():
    assert list(STANDARD_RATINGS_A) == RATINGS_A


def test_electric_heat_counts_at_125_percent():
    """NEC 424.4(B) and UL 1995, both from memory: 1.25 x (20 + 20) + 2.5 A, worked out here."""
    assert mca(20.0, 2.5, electric_heat_a=20.0).current_a == pytest.approx(52.5)
    assert (
        mocp(20.0, 2.5, electric_heat_a=20.0).current_a == 60
    )  # 57.5 A gives 50 A, less than the 52.5 A of the circuit
    assert mocp(40.0, electric_heat_a=10.0).current_a == 80  # 1.75 x 40 + 10 A
    assert "424.4(B)" in mca(20.0, electric_heat_a=1.0).source
    assert "424.4(B)" not in mca(20.0).source


def test_a_motor_alone_has_no_other_loads():
    """1.75 times 20 A are 35 A, a standard rating of NEC 240.6(A); 1.75 times 19.9 A lie below it."""
    assert (mocp(20.0).current_a, mocp(19.9).current_a) == (35, 30)


def test_limits():
    """No fuse is greater than 6000 A (NEC 240.6(A)): 1.25 x (2000 + 2000) A leave 1000 A to others."""
    greatest = mocp(2000.0, 1000.0, electric_heat_a=2000.0)
    assert (greatest.current_a, greatest.source) == (6000, "computed: NEC 440.22, 240.6(A)")
    check_edges(lambda amps: mocp(2000.0, amps, electric_heat_a=2000.0), "other_loads_a", 0.0, 1000.0)
    check_edges(lambda amps: mca(20.0, amps), "other_loads_a", 0.0, 2000.0)
    for function in (mca, mocp):
        check_edges(function, "largest_motor_a", 0.01, 2000.0)
        check_edges(lambda amps, of=function: of(20.0, electric_heat_a=amps), "electric_heat_a", 0.0, 2000.0)
        check_edges(lambda amps, of=function: of(20.0, nameplate_a=amps), "nameplate_a", 0.01, 2000.0)


@pytest.mark.parametrize(("largest_a", "others_a", "least_a"), [(5, 40, 50), (7.05, 21, 30), (1, 14.5, 20)])
def test_a_fuse_is_never_smaller_than_the_circuit_needs(largest_a, others_a, least_a):
    """Worked out: 46.25, 29.8 and 15.75 A must flow; 48.75, 33.3 and 16.25 A allow 45, 30 and 15 A."""
    assert mocp(largest_a, others_a).current_a == least_a


@given(st.floats(0.1, 400), st.floats(0, 400))
def test_protection_is_a_standard_rating_that_its_limit_allows(largest_a, others_a):
    rating_a = mocp(largest_a, others_a).current_a
    assert rating_a in RATINGS_A
    least_a = 1.25 * largest_a + others_a
    next_above_a = next(rating for rating in RATINGS_A if rating >= least_a)
    assert least_a <= rating_a <= max(1.75 * largest_a + others_a, 15, next_above_a)
    assert mocp(largest_a, others_a, will_not_start=True).current_a >= rating_a


@fuzz
@given(st.floats(), st.floats(), st.one_of(st.none(), st.floats()))
def test_any_numbers_give_an_answer_or_a_calc_error(largest_a, others_a, nameplate_a):
    for function in (mca, mocp):
        try:
            answer = function(largest_a, others_a, nameplate_a=nameplate_a)
        except CalcError:
            continue
        assert math.isfinite(answer.current_a)
