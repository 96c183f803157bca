"""The nitrogen test against print and against real nitrogen (CoolProp), and its verdict against its own ±."""

import json
from contextlib import suppress

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError
from calc.nitrogen import NOTICEABLE_LOSS_PA, Finding, nitrogen_pressure, nitrogen_test
from tests.edges import check_edges
from tests.fuzzing import fuzz

PSI = 6894.757
AIR_PA = 101325.0
WARM_K, COOL_K = 299.8167, 294.2611  # 80 and 70 °F


def judged(start_psig, end_psig, start_k=WARM_K, end_k=WARM_K, u_psi=0.1, u_k=0.1, loss_psi=1.0):
    return nitrogen_test(
        start_psig * PSI + AIR_PA,
        end_psig * PSI + AIR_PA,
        start_temperature_k=start_k,
        end_temperature_k=end_k,
        pressure_standard_uncertainty_pa=u_psi * PSI,
        temperature_standard_uncertainty_k=u_k,
        noticeable_loss_pa=loss_psi * PSI,
    )


def test_150_psig_at_80_is_146_9_psig_at_70_degf():
    """By p1 T2 / T1 in absolute pressure, as manuals print the correction: 146.95 psig."""
    pressure_pa = nitrogen_pressure(150 * PSI + AIR_PA, WARM_K, end_temperature_k=COOL_K)
    assert round((pressure_pa - AIR_PA) / PSI, 1) == 146.9
    by_the_law_pa = (150 * PSI + AIR_PA) * COOL_K / WARM_K
    assert pressure_pa == pytest.approx(by_the_law_pa, abs=0.1 * PSI)


@pytest.mark.parametrize("start_mpa", [0.2, 1.1, 2.0, 3.0, 4.2])
@pytest.mark.parametrize(("start_k", "end_k"), [(300, 294.4), (300, 270), (270, 320), (255, 330), (320, 321)])
def test_the_swing_as_of_real_nitrogen(start_mpa, start_k, end_k):
    """At constant density, of the equation of Span et al. in CoolProp 8.0.0; 0.3 % of the swing per MPa."""
    density = PropsSI("D", "P", 1e6 * start_mpa, "T", start_k, "Nitrogen")
    real_pa = PropsSI("P", "D", density, "T", end_k, "Nitrogen")
    found_pa = nitrogen_pressure(1e6 * start_mpa, start_k, end_temperature_k=end_k)
    swing_pa = abs(real_pa - 1e6 * start_mpa)
    assert found_pa == pytest.approx(real_pa, abs=max(3e-3 * start_mpa, 3e-4) * swing_pa)


@pytest.mark.parametrize(
    ("end_psig", "finding", "says"),
    [
        (146.9, Finding.HELD, "ruled out"),
        (146.65, Finding.HELD, "ruled out"),  # 0.22 psi lost, ± 0.32
        (145.0, Finding.LEAK, "more is lost"),
        (146.2, Finding.LEAK, "more is lost"),  # 0.7 psi: less than the loss that matters, and a loss all the same
        (150.0, Finding.ROSE, "regulator is shut off"),
    ],
)
def test_what_the_temperature_explains_and_what_not(end_psig, finding, says):
    """The pressure itself fell by 3 psi or did not: only what the temperature does not explain counts."""
    found = judged(150, end_psig, end_k=COOL_K)
    assert (found.finding, says in found.reason) == (finding, True)
    assert found.loss.value / PSI == pytest.approx(146.873 - end_psig, abs=5e-3)
    assert found.expected.value == pytest.approx(found.loss.value + end_psig * PSI + AIR_PA)


@pytest.mark.parametrize(
    ("u_psi", "u_k", "says"),
    [(0.1, 2.0, "in the shade, or wait"), (1.0, 0.1, "a finer one"), (1.0, 0.0, "a finer one")],
)
def test_within_the_plus_minus_it_cannot_tell_and_says_what_would(u_psi, u_k, says):
    found = judged(150, 149, u_psi=u_psi, u_k=u_k)
    assert (found.finding, says in found.reason) == (Finding.CANNOT_TELL, True)


@pytest.mark.parametrize(("lost_psi", "finding"), [(0.35, Finding.HELD), (0.37, Finding.CANNOT_TELL)])
def test_held_means_that_the_loss_that_matters_is_ruled_out_with_90_percent(lost_psi, finding):
    """JCGM 106: 1 psi less 1.2816 standard uncertainties of 0.5 psi, which two gauge readings of 0.35355 psi make."""
    assert judged(150, 150 - lost_psi, u_psi=0.353553, u_k=0.0).finding is finding


@pytest.mark.parametrize(("lost_psi", "finding"), [(0.99, Finding.CANNOT_TELL), (1.01, Finding.LEAK)])
def test_a_leak_is_what_goes_beyond_twice_its_standard_uncertainty(lost_psi, finding):
    assert judged(150, 150 - lost_psi, u_psi=0.353553, u_k=0.0).finding is finding


@pytest.mark.parametrize(("rise_psi", "finding"), [(0.99, Finding.HELD), (1.01, Finding.ROSE)])
def test_a_rise_likewise(rise_psi, finding):
    assert judged(150, 150 + rise_psi, u_psi=0.353553, u_k=0.0).finding is finding


def test_four_readings_count_as_in_forty_thousand_trials():
    """JCGM 101: each drawn anew; the spread of what is lost, and of what is expected, within 3 %."""
    draw = np.random.default_rng(4).normal
    start_pa, end_pa = draw(150 * PSI + AIR_PA, PSI, 40_000), draw(147 * PSI + AIR_PA, PSI, 40_000)
    start_k, end_k = draw(WARM_K, 1.0, 40_000), draw(COOL_K, 1.0, 40_000)
    expected_pa = nitrogen_pressure(start_pa, start_k, end_temperature_k=end_k)
    found = judged(150, 147, end_k=COOL_K, u_psi=1.0, u_k=1.0)
    assert found.loss.standard_uncertainty == pytest.approx(np.std(expected_pa - end_pa), rel=0.03)
    assert found.expected.standard_uncertainty == pytest.approx(np.std(expected_pa), rel=0.03)


def test_at_high_pressure_the_gas_itself_is_not_known_better():
    """0.3 % of the swing per MPa, which the test against CoolProp holds: of 0.67 MPa at 4.1 MPa."""
    found = judged(580, 480, 300.0, 250.0, u_psi=0.0, u_k=0.0)
    swing_pa = found.expected.value - (580 * PSI + AIR_PA)
    assert found.loss.standard_uncertainty == pytest.approx(3e-9 * (580 * PSI + AIR_PA) * abs(swing_pa))
    assert found.expected.standard_uncertainty == found.loss.standard_uncertainty


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [("start_pressure_pa", 100e3, 5e6), ("start_temperature_k", 233.15, 353.15), ("end_temperature_k", 233.15, 353.15)],
)
def test_limits(which, low, high):
    good = {"start_pressure_pa": 1e6, "start_temperature_k": 300.0, "end_temperature_k": 300.0}
    check_edges(lambda value: nitrogen_pressure(**{**good, which: value}), which, low, high)


@pytest.mark.parametrize(("which", "low", "high"), [("end_pressure_pa", 0.0, 10e6), ("noticeable_loss_pa", 1.0, 5e6)])
def test_limits_of_a_test(which, low, high):
    good = {"start_pressure_pa": 1e6, "end_pressure_pa": 1e6, "noticeable_loss_pa": 1e3}

    def at(value):
        return nitrogen_test(
            **{**good, which: value}, start_temperature_k=300.0, end_temperature_k=300.0,
            pressure_standard_uncertainty_pa=0.0, temperature_standard_uncertainty_k=0.0,
        )  # fmt: skip

    check_edges(at, which, low, high)


def test_what_neither_fell_nor_rose_held_if_the_instruments_are_exact():
    assert judged(150, 150, u_psi=0.0, u_k=0.0).finding is Finding.HELD


def test_the_loss_that_matters_is_1_psi_unless_another_is_said():
    """Common practice, no source."""
    assert pytest.approx(PSI, rel=1e-12) == NOTICEABLE_LOSS_PA
    usual = nitrogen_test(
        1e6, 1e6 - 0.36 * PSI, start_temperature_k=300.0, end_temperature_k=300.0,
        pressure_standard_uncertainty_pa=0.353553 * PSI, temperature_standard_uncertainty_k=0.0,
    )  # fmt: skip
    assert usual.finding is Finding.CANNOT_TELL


def test_by_name_in_gauge_pressure_and_with_its_cautions():
    readings = {"start_pressure": "150 psig", "end_pressure": "145 psig", "start_temperature": "80 degF",
                "end_temperature": "70 degF"}  # fmt: skip
    result = catalogue.run("nitrogen_test", readings)
    found = json.loads(result.as_json())
    assert found["finding"] == "leak"
    assert found["lost_dpa"] == pytest.approx(1.873 * PSI, abs=0.01 * PSI)
    assert found["expanded_lost_dpa"] == pytest.approx(1.607 * PSI, abs=0.01 * PSI)
    assert "never oxygen" in found["caution"]
    assert "expected pressure    146.87 ± 1.26 psig" in result.as_text()
    finer = {"pressure_accuracy": "0.1 psi", "temperature_accuracy": "0.1 degC", "noticeable_loss": "0.5 psi"}
    assert catalogue.run("nitrogen_test", readings | finer).values["lost_dpa"].expanded() < 0.2 * PSI
    del readings["end_pressure"]
    expected = catalogue.run("nitrogen_pressure", readings).values
    assert expected["expected_pressure_pa"] == pytest.approx(146.873 * PSI + AIR_PA, abs=10)
    assert expected["swing_dpa"] == pytest.approx(-3.127 * PSI, abs=10)


@fuzz
@given(st.floats(), st.floats(), st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(start_pa, end_pa, start_k, end_k, u_pa, u_k):
    with suppress(CalcError):
        found = nitrogen_test(
            start_pa, end_pa, start_temperature_k=start_k, end_temperature_k=end_k,
            pressure_standard_uncertainty_pa=u_pa, temperature_standard_uncertainty_k=u_k,
        )  # fmt: skip
        assert found.reason
        assert np.isfinite(found.expected.standard_uncertainty)
