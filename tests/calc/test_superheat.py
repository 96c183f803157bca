"""Superheat and subcooling against worked examples in print."""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc.air import barometric_pressure
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.refrigerants import get, names
from calc.saturation import dew_pressure, dew_slope
from calc.superheat import subcooling, subcooling_budget, superheat, superheat_budget
from calc.units import parse, parse_difference

SEA_LEVEL_PA = 101325.0


def psig(gauge_psi: float, site_pa: float = SEA_LEVEL_PA) -> float:
    return parse(f"{gauge_psi} psig", Quantity.PRESSURE, barometric_pressure_pa=site_pa)


def degf(fahrenheit: float) -> float:
    return parse(f"{fahrenheit} degF", Quantity.TEMPERATURE)


def superheat_of(refrigerant, pressure_pa, line_k, pressure_u_pa=0.0, temperature_u_k=0.0) -> Estimate:
    return superheat(
        refrigerant,
        pressure_pa,
        suction_line_temperature_k=line_k,
        pressure_standard_uncertainty_pa=pressure_u_pa,
        temperature_standard_uncertainty_k=temperature_u_k,
    )


def subcooling_of(refrigerant, pressure_pa, line_k, pressure_u_pa=0.0, temperature_u_k=0.0) -> Estimate:
    return subcooling(
        refrigerant,
        pressure_pa,
        liquid_line_temperature_k=line_k,
        pressure_standard_uncertainty_pa=pressure_u_pa,
        temperature_standard_uncertainty_k=temperature_u_k,
    )


@pytest.mark.parametrize(
    ("refrigerant", "pressure_psig", "line_degf", "printed_ddegf", "tolerance_ddegf", "source"),
    [
        ("R-410A", 355, 95.0, 13.0, 0.5, "manual of a water-cooled R-410A unit, pressure chart in whole psi"),
        ("R-22", 260, 105.0, 15.0, 0.2, "R-22 service manual"),
        ("R-448A", 272.9, 108.5, -0.5, 0.3, "R-448A laboratory case: sight glass full of liquid"),
    ],
)
def test_subcooling_in_print(refrigerant, pressure_psig, line_degf, printed_ddegf, tolerance_ddegf, source):
    computed = subcooling_of(refrigerant, psig(pressure_psig), degf(line_degf)).value * 1.8
    assert computed == pytest.approx(printed_ddegf, abs=tolerance_ddegf), source


def test_subcooling_below_zero_is_not_clamped():
    assert subcooling_of("R-448A", psig(272.9), degf(108.5)).value < 0


@pytest.mark.parametrize(
    ("suction_limit_psi", "superheat_ddegf", "liquid_limit_psi", "subcooling_ddegf"),
    [(1, 1.00, 1, 0.92), (4, 1.98, 4, 1.22), (3.5, 1.78, 7, 1.70)],  # computed from the slopes alone
)
def test_instruments_limits_add_in_quadrature(suction_limit_psi, superheat_ddegf, liquid_limit_psi, subcooling_ddegf):
    """R-410A at 118 and 350 psig with ±0.5 °C at the line; the model's 0.16 K at k = 1 comes on top."""
    model_ddegf = 2 * 0.16 * 1.8
    for function, gauge_psi, limit_psi, instruments_ddegf in (
        (superheat_of, 118, suction_limit_psi, superheat_ddegf),
        (subcooling_of, 350, liquid_limit_psi, subcooling_ddegf),
    ):
        half_limit_pa = parse_difference(f"{limit_psi} psi", Quantity.PRESSURE) / 2
        estimate = function("R-410A", psig(gauge_psi), 300.0, half_limit_pa, 0.25)
        expected_ddegf = math.hypot(instruments_ddegf, model_ddegf)
        assert estimate.expanded() * 1.8 == pytest.approx(expected_ddegf, abs=0.01)


@pytest.mark.parametrize(
    ("refrigerant", "gauge_psi", "error_ddegf"),
    [("R-410A", 118, 1.14), ("R-290", 55, 2.2), ("R-134a", 5, 5.8)],
)
def test_taking_sea_level_at_1600_m_reads_superheat_low(refrigerant, gauge_psi, error_ddegf):
    """Computed: 1,600 m is 83.52 kPa."""
    at_sea_level, there = (
        superheat_of(refrigerant, psig(gauge_psi, site_pa), 300.0).value * 1.8
        for site_pa in (SEA_LEVEL_PA, barometric_pressure(1600))
    )
    assert there - at_sea_level == pytest.approx(error_ddegf, abs=0.05)


@pytest.mark.parametrize("uncertainties", [(-1.0, 0.25), (1.0, -0.25)])
def test_negative_uncertainties_are_refused(uncertainties):
    pressure_u_pa, line_u_k = uncertainties
    with pytest.raises(CalcRangeError, match=r"standard_uncertainty_\w+ is -\S+ \w+, outside 0 to inf"):
        superheat(
            "R-32",
            1e6,
            suction_line_temperature_k=290.0,
            pressure_standard_uncertainty_pa=pressure_u_pa,
            temperature_standard_uncertainty_k=line_u_k,
        )


def test_pressure_without_saturation():
    with pytest.raises(CalcRangeError, match="R-410A has no saturation known there"):
        superheat_of("R-410A", 5e3, 280.0)


@given(st.sampled_from(names()), st.tuples(st.floats(), st.floats(), st.floats(), st.floats()))
def test_any_numbers_give_an_estimate_or_a_calc_error(refrigerant, numbers):
    for function in (superheat_of, subcooling_of):
        try:
            estimate = function(refrigerant, *numbers)
        except CalcError:
            continue
        assert math.isfinite(estimate.value)
        assert estimate.standard_uncertainty >= 0


@given(st.sampled_from(names()), st.floats(6e5, 2.5e6), st.floats(0, 1e5), st.floats(0, 2))
def test_no_instrument_makes_it_surer_than_the_model(refrigerant, pressure_pa, pressure_u_pa, line_u_k):
    estimate = superheat_of(refrigerant, pressure_pa, 300.0, pressure_u_pa, line_u_k)
    assert estimate.standard_uncertainty >= get(refrigerant).model_standard_uncertainty_k


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-404A", "R-507A"])
@pytest.mark.parametrize(("celsius", "at_most"), [(-40, 0.125), (-30, 0.135), (-20, 0.15), (5, 0.161)])
def test_the_model_is_not_less_sure_at_deep_suction_than_its_pressure(refrigerant, celsius, at_most):
    """Lemmon, Int. J. Thermophysics 24 (2003): 0.5 % of the pressure, which is fewer kelvin the colder it boils."""
    pressure_pa = dew_pressure(refrigerant, 273.15 + celsius)
    stated_k = 0.005 * pressure_pa * dew_slope(refrigerant, pressure_pa)
    model_k = superheat_of(refrigerant, pressure_pa, 300.0, 0.0, 0.0).standard_uncertainty
    assert 0.97 * stated_k <= model_k <= at_most


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-454B", "R-407C"])
def test_for_air_conditioning_the_models_doubt_is_the_stated_one(refrigerant):
    """-10 °C is where deep suction begins: common practice, no source."""
    found = superheat_of(refrigerant, dew_pressure(refrigerant, 263.15), 300.0).standard_uncertainty
    assert found == pytest.approx(get(refrigerant).model_standard_uncertainty_k, rel=1e-9)


def test_each_input_moves_the_figure_its_own_way():
    """Each raised by its standard uncertainty, as CoolProp's equation of state for R-32 has it, which has no glide."""
    gauge, site = Estimate(814e3, 700.0), Estimate(101325.0, 300.0)
    line = Estimate(283.0, 0.3)

    def saturated_k(pressure_pa):
        return PropsSI("T", "P", pressure_pa, "Q", 1, "R32")

    at_k = saturated_k(gauge.value + site.value)
    moved_dk = {name: saturated_k(gauge.value + site.value + it.standard_uncertainty) - at_k
                for name, it in (("gauge", gauge), ("site", site))}  # fmt: skip
    model_k = get("R-32").model_standard_uncertainty_k
    over = superheat_budget("R-32", gauge, suction_line_temperature_k=line, barometric_pressure_pa=site).contributions
    assert over == pytest.approx(
        {"suction_pressure": -moved_dk["gauge"], "barometric_pressure": -moved_dk["site"],
         "suction_line_temperature": 0.3, "dew_point_model": -model_k}, rel=2e-3,
    )  # fmt: skip
    under = subcooling_budget("R-32", gauge, liquid_line_temperature_k=line, barometric_pressure_pa=site).contributions
    assert under == pytest.approx(
        {"liquid_pressure": moved_dk["gauge"], "barometric_pressure": moved_dk["site"],
         "liquid_line_temperature": -0.3, "bubble_point_model": model_k}, rel=2e-3,
    )  # fmt: skip


@given(st.sampled_from(names()), st.tuples(st.floats(), st.floats(), st.floats()), st.floats())
def test_any_numbers_give_a_budget_or_a_calc_error(refrigerant, numbers, uncertainty):
    try:
        pressure, line, site = (Estimate(number, uncertainty) for number in numbers)
        found = [
            superheat_budget(refrigerant, pressure, suction_line_temperature_k=line, barometric_pressure_pa=site),
            subcooling_budget(refrigerant, pressure, liquid_line_temperature_k=line, barometric_pressure_pa=site),
        ]
        estimates = [budget.estimate for budget in found]
    except CalcError:
        return
    assert all(estimate.standard_uncertainty >= uncertainty for estimate in estimates)
