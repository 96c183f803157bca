"""Load ratio and windings, against examples in print."""

import json
import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError
from calc.motor import WindingState, load_ratio, winding_check
from tests.fuzzing import fuzz

OPEN = math.inf


def test_load_ratio_by_definition():
    assert load_ratio(9.0, 12.0) == 0.75
    assert load_ratio(0.0, 12.0) == 0


@pytest.mark.parametrize(("start_common", "run_common", "start_run", "state"), [
    (11, 4, 15, WindingState.CONSISTENT),  # a supplier's example
    (0.5, 1.2, 1.7, WindingState.CONSISTENT),  # an article's example, where start is below run
    (30, 10, 40, WindingState.CONSISTENT),  # another article's example
    (11, 4, 15.7, WindingState.CONSISTENT),  # within 5 %: common practice, no source
    (11, 4, 15.8, WindingState.INCONSISTENT),
    (11, 4, 13, WindingState.INCONSISTENT),
    (OPEN, OPEN, 15, WindingState.COMMON_OPEN),  # the same supplier: infinite to common, whole across, overload open
    (OPEN, 4, OPEN, WindingState.START_OPEN),  # by definition, as the others
    (11, OPEN, OPEN, WindingState.RUN_OPEN),
    (OPEN, OPEN, OPEN, WindingState.ALL_OPEN),
    (11, 4, OPEN, WindingState.INCONSISTENT),  # no single pair can be open alone
])  # fmt: skip
def test_windings(start_common, run_common, start_run, state):
    assert winding_check(start_common, run_common, start_run_ohm=start_run).state is state


@pytest.mark.parametrize(
    ("start_common", "run_common", "start_run", "says"),
    [
        ("4ohm", "11ohm", "15ohm", "start reads less than run"),  # the supplier's 11, 4 and 15 with two leads exchanged
        ("15ohm", "4ohm", "11ohm", "taken for common is another"),
        ("4ohm", "15ohm", "11ohm", "taken for common is another"),
    ],
)
def test_exchanged_leads_are_told(start_common, run_common, start_run, says):
    """The start winding has more resistance than the run winding, and both together most: texts of the trade."""
    arguments = {"start_common": start_common, "run_common": run_common, "start_run": start_run}
    found = catalogue.run("winding_check", arguments).values
    assert found["state"] == "the leads may be swapped"
    assert says in found["reason"]


def test_no_motor_draws_that():
    with pytest.raises(CalcRangeError, match="even locked"):
        load_ratio(500.0, 12.0)


@pytest.mark.parametrize("ohm", [0.0, -1.0, math.nan, 1e7])
def test_no_winding_has_such_a_resistance(ohm):
    with pytest.raises(CalcRangeError, match=r"run_common_ohm is .* give an open one as infinite"):
        winding_check(11.0, ohm, start_run_ohm=15.0)


@fuzz
@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third, fourth):
    with suppress(CalcError):
        assert winding_check(first, second, start_run_ohm=third, tolerance_ratio=fourth).reason
    with suppress(CalcError):
        assert math.isfinite(load_ratio(first, second))


def checked(start_common, run_common, start_run, **tolerance):
    return winding_check(start_common, run_common, start_run_ohm=start_run, **tolerance)


def test_what_fits_within_the_tolerance_fits_and_what_is_further_off_does_not():
    for start_run, state in ((16.7, WindingState.CONSISTENT), (16.9, WindingState.INCONSISTENT)):
        assert checked(11.0, 5.0, start_run).state is state  # 5 % of 16 ohm are 0.8 ohm
    assert checked(11.0, 5.0, 20.0, tolerance_ratio=0.25).state is WindingState.CONSISTENT  # a quarter, and no more


@pytest.mark.parametrize(("start", "run", "swapped"), [
    (4.0, 4.0, False), (3.9, 4.0, False), (3.8, 4.0, False), (3.7, 4.0, True), (7.0, 4.0, False),
])  # fmt: skip
def test_start_is_taken_for_exchanged_where_it_reads_less_than_run_by_more_than_the_tolerance(start, run, swapped):
    """The start winding has more resistance on most motors: texts of the trade. 5 %: common practice, no source."""
    assert checked(start, run, start + run).leads_may_be_swapped is swapped


@pytest.mark.parametrize(("three", "tolerance", "swapped"), [
    ((20.5, 12.0, 8.0), 0.05, True),  # the greatest of three is the sum of the others, within 5 %
    ((20.0, 10.0, 6.0), 0.25, True),
    ((20.5, 10.0, 6.0), 0.25, False),
    ((20.0, 3.0, 4.0), 0.05, False),  # these are no three of one motor
    ((3.0, 4.0, 20.0), 0.05, False),
])  # fmt: skip
def test_another_terminal_is_common_where_the_greatest_is_the_sum_of_the_others(three, tolerance, swapped):
    """Between start and run are both windings: texts of the trade."""
    verdict = checked(*three, tolerance_ratio=tolerance)
    assert (verdict.state, verdict.leads_may_be_swapped) == (WindingState.INCONSISTENT, swapped)


def test_windings_of_up_to_a_megohm_and_tolerances_of_up_to_a_half_are_taken():
    """The limits of its docstring."""
    checked(1e6, 5e5, 1e6)
    checked(11.0, 4.0, 15.0, tolerance_ratio=0.0)
    checked(11.0, 4.0, 15.0, tolerance_ratio=0.5)
    for ohm, tolerance in ((1e6 + 0.5, 0.05), (11.0, -0.1), (11.0, 0.6)):
        with pytest.raises(CalcRangeError):
            checked(ohm, 4.0, 15.0, tolerance_ratio=tolerance)


def test_by_name_a_winding_may_be_open():
    arguments = {"start_common": "open", "run_common": "open", "start_run": "15 ohm"}
    result = json.loads(catalogue.run("winding_check", arguments).as_json())
    assert result["state"] == "common open"
    assert "overload" in result["reason"]
    assert "Lock out" in result["caution"]


@pytest.mark.parametrize(
    ("resistances", "may_be_shorted"),
    [
        (("0.2ohm", "4ohm", "4.2ohm"), True),
        (("0.2ohm", "OL", "OL"), True),
        (("0.3ohm", "0.9ohm", "0.6ohm"), True),
        (("9ohm", "0.4ohm", "20ohm"), True),
        (("11ohm", "0.5ohm", "11.5ohm"), False),
    ],
)
def test_a_winding_of_next_to_no_resistance_may_be_shorted(resistances, may_be_shorted):
    """Below 0.5 ohm: common practice, no source."""
    names = ("start_common", "run_common", "start_run")
    found = catalogue.run("winding_check", dict(zip(names, resistances, strict=True))).values
    assert found["reason"].startswith("possibly SHORTED") is may_be_shorted


@pytest.mark.parametrize(("current", "says"), [("16A", None), ("18A", "above the rated amps"), ("26A", "STOP: 1.62")])
def test_a_load_above_the_plate_is_warned_of_first(current, says):
    """1.4 times the rated amps: from memory, as of calc.expected_current."""
    result = catalogue.run("load_ratio", {"current": current, "rated_current": "16A"})
    assert ("warning" in result.values) is (says is not None)
    assert result.as_text().startswith(f"warning     {says}" if says else "load ratio")
