"""Targets against the published table, its interpolated cases and a worked example; tolerances against the protocols.

tests/published/target_superheat_degf.csv is the table of target superheat of California Title 24, RA3.2, in whole °F;
the interpolated cases were computed apart from this code. What the protocols ask for was read in the text of Title 24,
2008 and 2013, or is from memory where its source here says so.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import CalcError, CalcRangeError, UnknownNameError
from calc.estimate import Estimate
from calc.protocols import protocols
from calc.sentences import say
from calc.targets import (
    NoTarget,
    Target,
    estimate_target_superheat,
    find_target_superheat,
    target_subcooling,
    target_superheat,
    tolerances,
)
from tests.edges import check_edges
from tests.fahrenheit import DDEGF, kelvin
from tests.printed import published

PRINTED = [
    (float(name.removeprefix("wb_")), float(row["outdoor_db_F"]), float(value) if value else None)
    for row in published("target_superheat_degf.csv")
    for name, value in row.items()
    if name != "outdoor_db_F"
]


def test_every_printed_value_is_found_and_every_dash_is_none():
    assert len(PRINTED) == 13 * 14
    for wet_bulb_degf, outdoor_degf, printed_ddegf in PRINTED:
        found_dk = target_superheat(kelvin(wet_bulb_degf), kelvin(outdoor_degf))
        if printed_ddegf is None:
            assert found_dk is None, (wet_bulb_degf, outdoor_degf)
        else:
            assert found_dk / DDEGF == pytest.approx(printed_ddegf, abs=1e-6), (wet_bulb_degf, outdoor_degf)


@pytest.mark.parametrize("row", published("target_superheat_interpolation_cases.csv"), ids=lambda row: str(row))
def test_between_the_printed_values(row):
    found_dk = target_superheat(kelvin(float(row["indoor_wb_F"])), kelvin(float(row["outdoor_db_F"])))
    assert found_dk / DDEGF == pytest.approx(float(row["bilinear_F_or_blank_if_any_corner_is_dash"]), abs=0.06)


@pytest.mark.parametrize("row", published("target_superheat_formula_cases.csv"), ids=lambda row: str(row))
def test_the_formula(row):
    """64 °F and 96 °F give 8 °F in a trade-training article; the others were computed apart from this code."""
    target = estimate_target_superheat(kelvin(float(row["indoor_wb_F"])), kelvin(float(row["outdoor_db_F"])))
    assert target.value.value / DDEGF == pytest.approx(float(row["formula_F"]), abs=1e-6)
    assert "estimate" in target.source


def test_how_far_the_formula_is_from_the_table():
    """-0.45 °F on average, 1.6 °F by root mean square, -6.5 °F at worst: the uncertainty that the formula is given."""
    differences = [
        (3 * wet_bulb - 80 - outdoor) / 2 - printed for wet_bulb, outdoor, printed in PRINTED if printed is not None
    ]
    assert sum(differences) / len(differences) == pytest.approx(-0.45, abs=0.01)
    rms = math.sqrt(sum(difference**2 for difference in differences) / len(differences))
    assert rms == pytest.approx(1.6, abs=0.05)
    assert min(differences) == -6.5
    stated = estimate_target_superheat(kelvin(70), kelvin(85)).value.estimate.standard_uncertainty
    assert stated / DDEGF == pytest.approx(rms, abs=0.05)


def test_hot_and_dry_has_no_target_and_says_what_to_do():
    """California Title 24, 2008, page RA3-14: a dash is below 5 °F, and no valid test."""
    found = find_target_superheat(Estimate(kelvin(56), 0.1), Estimate(kelvin(100), 0.1))
    assert isinstance(found, NoTarget)
    assert str(found.reason) == (
        "The target would be below 5 °F (2.8 K), too hot and dry for a valid test: warm the space or come back."
    )
    assert "less than 5 °F" in str(estimate_target_superheat(kelvin(56), kelvin(100)).reason)


@pytest.mark.parametrize(("wet_bulb_degf", "outdoor_degf"), [(49, 60), (77, 90), (70, 54), (70, 116)])
def test_beyond_the_table_the_makers_chart_counts(wet_bulb_degf, outdoor_degf):
    found = find_target_superheat(Estimate(kelvin(wet_bulb_degf), 0.1), Estimate(kelvin(outdoor_degf), 0.1))
    assert isinstance(found, NoTarget)
    assert str(found.reason) == (
        "The table runs from 50 °F to 76 °F wet bulb and 55 °F to 115 °F outdoors: take the maker's chart."
    )
    assert "from 10 °C to 24.4 °C wet bulb and 12.8 °C to 46.1 °C outdoors" in say(found.reason, "si")
    assert target_superheat(kelvin(wet_bulb_degf), kelvin(outdoor_degf)) is None


def test_the_uncertainty_of_a_target_follows_the_slopes_of_the_table():
    """At 67/95 °F it rises by 2 °F per °F of wet bulb, and falls by about 0.4 per °F outdoors: read off the table."""
    target = find_target_superheat(Estimate(kelvin(67), 0.2), Estimate(kelvin(92.5), 0.3))
    contributions = target.value.contributions
    assert contributions["return_wet_bulb"] / 0.2 == pytest.approx(((14 - 10) / 2 + (16 - 13) / 2) / 2)
    assert contributions["outdoor_dry_bulb"] / 0.3 == pytest.approx((12 - 14.5) / 5)
    assert contributions["table_rounding"] == pytest.approx(0.5 * DDEGF / math.sqrt(3))  # JCGM 100, 4.3.7
    assert target.value.leading_input == "return_wet_bulb"


def test_subcooling_is_the_nameplates():
    target = target_subcooling(10 * DDEGF)
    assert target == Target(target.value, "nameplate")
    assert target.value.estimate == Estimate(10 * DDEGF, 0.0)
    assert "nameplate" in str(target_subcooling(None).reason)
    with pytest.raises(CalcRangeError, match="nameplate_dk is -1 K, outside 0 to 30 K"):
        target_subcooling(-1.0)
    check_edges(target_subcooling, "nameplate_dk", 0.0, 30.0)


def test_limits_of_air():
    for function in (target_superheat, estimate_target_superheat):
        check_edges(lambda wet_k, of=function: of(wet_k, 300.0), "return_wet_bulb_k", 200.0, 350.0)
        check_edges(lambda outdoor_k, of=function: of(290.0, outdoor_k), "outdoor_dry_bulb_k", 200.0, 350.0)


def test_to_a_thousandth_of_a_degree_the_last_line_is_in_the_table():
    """50 to 76 °F and 55 to 115 °F in print: what rounds to these in kelvin is still on them."""
    for at, beyond in (((50, 58), (-1, 0)), ((76, 60), (1, 0)), ((70, 55), (0, -1)), ((70, 115), (0, 1))):
        for share, known in ((0.0009, True), (0.0011, False)):
            wet_bulb_degf, outdoor_degf = (line + share * way for line, way in zip(at, beyond, strict=True))
            air_k = kelvin(wet_bulb_degf), kelvin(outdoor_degf)
            found = [target_superheat(*air_k), estimate_target_superheat(*air_k)]
            assert [found[0] is not None, isinstance(found[1], Target)] == [known, known]


@pytest.mark.parametrize(
    ("protocol", "name", "low_ddegf", "high_ddegf"),
    [
        ("title_24_installer", "superheat", -5, 5),
        ("title_24_installer", "subcooling", -3, 3),
        ("title_24_installer", "expansion_valve_superheat", 4, 25),
        ("title_24_installer", "air_split", -3, 3),
        ("title_24_installer", "target_superheat", 5, math.inf),
        ("title_24_installer", "temperature_accuracy", 0, 1.3),
        ("title_24_verifier", "superheat", -6, 6),
        ("title_24_verifier", "subcooling", -4, 4),
        ("title_24_verifier", "expansion_valve_superheat", 3, 26),
        ("title_24_verifier", "air_split", -4, 4),
        ("acca_5", "superheat", -5, 5),
        ("acca_5", "subcooling", -3, 3),
    ],
)
def test_tolerances(protocol, name, low_ddegf, high_ddegf):
    low_dk, high_dk, source = tolerances(protocol).limits[name]
    assert (low_dk / DDEGF, high_dk / DDEGF) == pytest.approx((low_ddegf, high_ddegf))
    assert source


def test_conditions_and_instruments_of_title_24():
    limits = tolerances("title_24_verifier").limits
    assert limits["outdoor_air_temperature"].low == pytest.approx(kelvin(55))
    assert limits["running_time"].low == limits["undisturbed_time"].low == 900
    assert limits["suction_pressure_accuracy"].high == pytest.approx(3.5 * 6894.757)
    assert limits["liquid_pressure_accuracy"].high == pytest.approx(7 * 6894.757)
    assert limits["line_sensor_settling"].high == 90
    cfm_per_ton = limits["airflow_per_capacity"].low * 12000 * 1055.056 / 3600 / (0.3048**3 / 60)
    assert cfm_per_ton == pytest.approx(300)


def test_what_is_from_memory_says_so():
    assert "from memory" in tolerances("title_24_verifier").limits["subcooling"].source
    assert all("from memory" in limits.source for limits in tolerances("acca_5").limits.values())
    assert not any("from memory" in limits.source for limits in tolerances("title_24_installer").limits.values())


def test_unknown_protocols_are_refused():
    assert protocols() == ("title_24_installer", "title_24_verifier", "acca_5")
    with pytest.raises(UnknownNameError, match="unknown protocol 'title 24'"):
        tolerances("title 24")


@given(st.floats(), st.floats(), st.floats())
def test_any_numbers_give_a_target_a_reason_or_a_calc_error(wet_bulb_k, outdoor_k, uncertainty_k):
    try:
        found = find_target_superheat(Estimate(wet_bulb_k, uncertainty_k), Estimate(outdoor_k, uncertainty_k))
        estimated = estimate_target_superheat(wet_bulb_k, outdoor_k)
    except CalcError:
        return
    for target in (found, estimated):
        assert isinstance(target, NoTarget) or target.value.value >= 5 * DDEGF - 1e-6


@given(st.floats(50, 76), st.floats(55, 115))
def test_a_target_is_given_exactly_where_no_corner_is_blank_and_lies_between_them(wet_bulb_degf, outdoor_degf):
    corners = [
        printed
        for wet_bulb, outdoor, printed in PRINTED
        if abs(wet_bulb - wet_bulb_degf) < 2 and abs(outdoor - outdoor_degf) < 5
    ]
    found_dk = target_superheat(kelvin(wet_bulb_degf), kelvin(outdoor_degf))
    if found_dk is None:
        assert None in corners
    elif None not in corners:
        assert min(corners) - 1e-6 <= found_dk / DDEGF <= max(corners) + 1e-6


@pytest.mark.parametrize(("wet_bulb_degf", "outdoor_degf"), [(95, 60), (100, 55), (77, 95), (67, 120)])
def test_the_formula_stands_in_for_the_table_only_where_the_table_runs(wet_bulb_degf, outdoor_degf):
    """Worked out by the formula alone, 95 and 60 °F would give 72.5 °F of superheat."""
    found = estimate_target_superheat((wet_bulb_degf + 459.67) / 1.8, (outdoor_degf + 459.67) / 1.8)
    assert isinstance(found, NoTarget)
    assert "that runs from 50 °F to 76 °F wet bulb" in str(found.reason)
