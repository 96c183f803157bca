"""Field checks against the GUM's own example of an average, fixed points, and cases worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.comparing import CannotTell, Met, NotMet
from calc.errors import CalcError, CalcRangeError, SeriesError
from calc.estimate import Estimate
from calc.sensors.field_checks import (
    ICE_POINT_K,
    NO_CURRENT_A,
    NO_GAUGE_PRESSURE_PA,
    PIPE_CONTACT_DK,
    check,
    is_near,
    is_under_pressure,
    steady_average,
)
from tests.edges import check_edges

PSI = 6894.757  # NIST SP 811, B.8

JCGM_100_4_4_3 = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]  # fmt: skip
"""Twenty observations of a temperature [°C], JCGM 100:2008, 4.4.3, table 1; from memory. They are sorted there."""


def test_the_average_of_the_gum_and_its_deviation():
    in_turn = JCGM_100_4_4_3[::2] + JCGM_100_4_4_3[::-2]
    average = steady_average(in_turn, accuracy=10.0)
    assert average.value == pytest.approx(100.145, abs=5e-4)
    assert average.standard_uncertainty == pytest.approx(1.489, abs=5e-4)


def test_what_still_moves_is_no_average():
    with pytest.raises(SeriesError, match="still moves"):
        steady_average([40.0, 38.0, 36.5, 35.2, 34.3, 33.6], accuracy=0.9)


def test_two_readings_are_too_few():
    with pytest.raises(SeriesError, match="wait for 3"):
        steady_average([32.0, 32.0], accuracy=0.9)


def test_no_number_is_no_reading():
    with pytest.raises(CalcRangeError, match="reading is nan"):
        steady_average([32.0, math.nan, 32.0], accuracy=0.9)


def test_a_clamp_in_ice_reads_32_fahrenheit():
    """0 °C is 32 °F (NIST SP 811, B.8); a clamp of ±0.9 °F that shows 32.5 °F is within, and better for the check."""
    reading_k = (32.5 + 459.67) / 1.8
    found = check(Estimate(reading_k, 0.03), ICE_POINT_K, accuracy=0.5)
    assert found.offset.value * 1.8 == pytest.approx(0.5, abs=1e-9)
    assert isinstance(found.verdict, Met)
    # by hand: the span keeps 0.25 sqrt(1/2) = 0.1768; offset sqrt(0.03² + 0.05² + (0.05/sqrt(12))²) = 0.0601
    assert found.corrected_standard_uncertainty == pytest.approx(math.hypot(0.1768, 0.0601), abs=1e-4)


def test_a_gauge_probe_in_the_air_reads_zero_and_an_absolute_one_the_barometer():
    """14.696 psi is the standard atmosphere (NIST SP 811, B.8: 101 325 Pa)."""
    gauge = check(Estimate(0.4 * PSI, 0.05 * PSI), NO_GAUGE_PRESSURE_PA, accuracy=PSI)
    absolute = check(Estimate(15.096 * PSI, 0.05 * PSI), Estimate(101_325.0, 100.0), accuracy=PSI)
    assert gauge.offset.value == pytest.approx(absolute.offset.value, abs=5.0)
    assert gauge.offset.standard_uncertainty < absolute.offset.standard_uncertainty
    assert isinstance(gauge.verdict, Met)


def test_a_probe_that_sends_psia_as_psig_is_no_matter_of_adjustment():
    found = check(Estimate(14.7 * PSI, 0.0), NO_GAUGE_PRESSURE_PA, accuracy=PSI)
    assert isinstance(found.verdict, NotMet)
    assert found.corrected_standard_uncertainty is None


def test_out_of_its_limits_it_can_be_corrected_yet_is_trusted_no_more_than_its_maker_says():
    found = check(Estimate(0.4, 0.01), NO_CURRENT_A, accuracy=0.15)
    assert found.verdict == NotMet(pytest.approx(1.0), "high")
    assert found.corrected_standard_uncertainty == 0.075


def test_two_equal_clamps_on_one_pipe_say_whether_they_agree_and_not_which_is_right():
    """Each ±0.5 K: 0.25 K is as much as the other is uncertain, so nothing is gained by following it."""
    second = Estimate(300.0, 0.25)
    agreeing = check(Estimate(300.1, 0.02), second, accuracy=0.5)
    apart = check(Estimate(302.0, 0.02), second, accuracy=0.5)
    unclear = check(Estimate(300.5, 0.02), second, accuracy=0.5)
    assert isinstance(agreeing.verdict, Met)
    assert isinstance(apart.verdict, NotMet)
    assert isinstance(unclear.verdict, CannotTell)
    assert {found.corrected_standard_uncertainty for found in (agreeing, apart, unclear)} == {None}


@pytest.mark.parametrize(
    ("reading", "near"), [(105.9, True), (106.0, True), (106.1, False), (94.0, True), (93.9, False)]
)
def test_within_six_limits_it_may_be_of_the_place(reading, near):
    """Common practice, no source."""
    assert is_near(reading, 100.0, accuracy=1.0) is near


@pytest.mark.parametrize(("over_psi", "under_pressure"), [(7.9998, False), (8.0002, True), (-20.0, False)])
def test_beyond_5_psi_and_three_limits_a_hose_is_full(over_psi, under_pressure):
    """Common practice, no source."""
    assert is_under_pressure(14.7 * PSI + over_psi * PSI, 14.7 * PSI, PSI) is under_pressure


def test_a_reading_that_moves_by_half_its_limit_still_stands():
    assert steady_average([30.0, 30.5, 31.0, 31.5], accuracy=2.0).value == 30.75
    with pytest.raises(SeriesError, match="still moves"):
        steady_average([30.0, 30.0, 31.0, 31.1], accuracy=2.0)
    assert steady_average([30.0, 50.0, 30.0], accuracy=0.9).value == pytest.approx(
        110 / 3
    )  # the middle one is of neither
    check_edges(lambda value: steady_average([value] * 3, accuracy=1.0), "reading", -1e12, 1e12)


def test_a_last_digit_is_a_rectangle():
    """JCGM 100, F.2.2.1: a step over the root of 12; a tenth of the limit is the step: common practice, no source."""
    exact = Estimate(0.0, 0.0)
    found = check(exact, NO_GAUGE_PRESSURE_PA, accuracy=2.0).offset
    assert found.value == 0.0  # gauge pressure is counted from the air
    assert found.standard_uncertainty == pytest.approx(0.2 / math.sqrt(12))
    assert pytest.approx(0.3 / math.sqrt(3)) == PIPE_CONTACT_DK
    check_edges(lambda accuracy: check(exact, exact, accuracy=accuracy), "accuracy", math.ulp(0.0), 1e12)


def test_as_far_as_three_limits_it_is_corrected():
    """Common practice, no source."""
    assert check(Estimate(0.75, 0.01), NO_CURRENT_A, accuracy=0.25).corrected_standard_uncertainty == 0.125
    assert check(Estimate(0.76, 0.01), NO_CURRENT_A, accuracy=0.25).corrected_standard_uncertainty is None


def test_an_accuracy_is_a_limit():
    with pytest.raises(CalcRangeError, match="accuracy"):
        check(Estimate(0.0, 0.0), NO_CURRENT_A, accuracy=0.0)


@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_only_errors_that_name_the_value(value, uncertainty, accuracy, truth):
    try:
        found = check(Estimate(value, uncertainty), Estimate(truth, 0.0), accuracy)
    except CalcError:
        return
    left = found.corrected_standard_uncertainty
    assert left is None or 0 < left <= accuracy / 2


@given(st.lists(st.floats(), max_size=8), st.floats(min_value=0, allow_nan=False))
def test_an_average_is_among_its_readings_or_refused(values, accuracy):
    try:
        average = steady_average(values, accuracy)
    except CalcError:
        return
    assert min(values) - 1e-9 * abs(min(values)) <= average.value <= max(values) + 1e-9 * abs(max(values))
