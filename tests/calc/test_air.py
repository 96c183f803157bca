"""Air against the ASHRAE Handbook of Fundamentals 2017, chapter 1, and against real moist air (CoolProp).

Values of the Handbook's tables 1 and 2 and of its example 1 are as a public psychrometric library's tests quote them.
CoolProp's humid air is the virial equation of Herrmann, Kretzschmar and Gatley (ASHRAE RP-1485), which knows that air
is no ideal gas; the Handbook's formulas here do not, and the tolerances are that difference.
"""

import itertools
import math
import re

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import air, catalogue
from calc.air import MoistAir, barometric_pressure
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from tests.edges import check_edges
from tests.fahrenheit import kelvin
from tests.printed import published

SEA_LEVEL_PA = 101325.0
PSI = 6894.757
BTU_PER_LB = 2326.0
BTU_PER_H = 1055.056 / 3600
CFM = 0.3048**3 / 60
LB_PER_FT3 = 0.45359237 / 0.3048**3


@pytest.mark.parametrize(
    ("elevation_m", "printed_kpa"),
    [(-500, 107.478), (0, 101.325), (500, 95.461), (1000, 89.875), (4000, 61.640), (10000, 26.436)],
)
def test_standard_atmosphere(elevation_m, printed_kpa):
    """Table 1."""
    assert barometric_pressure(elevation_m) == pytest.approx(printed_kpa * 1e3, abs=1.0)


@pytest.mark.parametrize("row", published("altitude_density_ratio.csv"), ids=lambda row: f"{row['elev_ft']} ft")
def test_altitude_correction(row):
    """Computed from the Handbook's formula in inch-pound units; the factors are the trade's 1.08 and 4.5 times it."""
    pressure_pa = barometric_pressure(float(row["elev_ft"]) * 0.3048)
    assert pressure_pa / PSI == pytest.approx(float(row["P_psia"]), abs=2e-3)
    assert air.density_ratio(pressure_pa) == pytest.approx(float(row["ratio"]), abs=1e-4)
    factor = air.sensible_heat_w(CFM, 1 / 1.8, pressure_pa=pressure_pa) / BTU_PER_H
    assert factor == pytest.approx(float(row["1.08_factor"]), abs=1e-3)
    factor = air.total_heat_w(CFM, BTU_PER_LB, pressure_pa=pressure_pa) / BTU_PER_H
    assert factor == pytest.approx(float(row["4.5_factor"]), abs=5e-3)


@pytest.mark.parametrize("row", published("air_side_cases.csv"), ids=lambda row: f"{row['cfm']} cfm")
def test_sensible_and_total_heat(row):
    """The trade's formulas, 1.08 x cfm x °F and 4.5 x cfm x Btu/lb of dry air, worked out."""
    airflow_m3_per_s = float(row["cfm"]) * CFM
    sensible_w = air.sensible_heat_w(airflow_m3_per_s, float(row["dT_F"]) / 1.8)
    total_w = air.total_heat_w(airflow_m3_per_s, float(row["dh_btu_lb"]) * BTU_PER_LB)
    assert sensible_w / BTU_PER_H == pytest.approx(float(row["sensible=1.08*cfm*dT*ratio_btuh"]), rel=1e-4)
    assert total_w / BTU_PER_H == pytest.approx(float(row["total=4.5*cfm*dh*ratio_btuh"]), rel=1e-4)


@pytest.mark.parametrize("row", published("psychrometric_cases_ip.csv"), ids=lambda row: f"{row['db_F']} °F")
def test_states_in_inch_pound_units(row):
    """Computed with psychrolib in inch-pound units, a check of ours: enthalpy counts from 0 °F there."""
    dry_bulb_k, percent, pressure_pa = kelvin(float(row["db_F"])), 100 * float(row["rh"]), float(row["p_psia"]) * PSI
    ratio = air.humidity_ratio(dry_bulb_k, percent, pressure_pa=pressure_pa)
    wet_bulb_degf = air.wet_bulb(dry_bulb_k, percent, pressure_pa=pressure_pa) * 1.8 - 459.67
    volume_ft3_per_lb = (1 + ratio) / air.density(dry_bulb_k, ratio, pressure_pa=pressure_pa) * LB_PER_FT3
    assert ratio == pytest.approx(float(row["humratio"]), abs=2e-6)
    assert wet_bulb_degf == pytest.approx(float(row["wb_F"]), abs=0.02)
    assert air.enthalpy(dry_bulb_k, ratio) / BTU_PER_LB + 0.24 * 32 == pytest.approx(float(row["h_btu_lb"]), abs=0.02)
    assert volume_ft3_per_lb == pytest.approx(float(row["v_ft3_lbda"]), rel=1e-4)
    by_name = catalogue.run(
        "moist_air",
        {"dry_bulb": f"{row['db_F']}degF", "humidity": f"{percent}%", "barometric_pressure": f"{row['p_psia']}psia"},
    ).as_text()
    shown = re.search(r"enthalpy +([\d.]+)", by_name)
    assert float(shown[1]) == pytest.approx(float(row["h_btu_lb"]), abs=0.02)


@pytest.mark.parametrize(("celsius", "printed"), [(-20, 6.373e-4), (-5, 2.4863e-3), (5, 5.425e-3), (25, 20.173e-3)])
def test_humidity_ratio_at_saturation(celsius, printed):
    """Table 2."""
    assert air.humidity_ratio(273.15 + celsius, 100.0, pressure_pa=SEA_LEVEL_PA) == pytest.approx(printed, rel=6e-3)


@pytest.mark.parametrize(("celsius", "printed_kj"), [(-20, -18.542), (5, 18.639), (25, 76.504)])
def test_enthalpy_at_saturation(celsius, printed_kj):
    """Table 2."""
    ratio = air.humidity_ratio(273.15 + celsius, 100.0, pressure_pa=SEA_LEVEL_PA)
    assert air.enthalpy(273.15 + celsius, ratio) == pytest.approx(printed_kj * 1e3, rel=6e-3)


def test_example_1_of_the_handbook():
    """40 °C dry bulb and 20 °C wet bulb: 0.0065 kg/kg, 14 %, 56.7 kJ/kg and 0.896 m³/kg, read from the chart."""
    ratio = air.humidity_ratio_from_wet_bulb(313.15, 293.15, pressure_pa=SEA_LEVEL_PA)
    assert ratio == pytest.approx(0.0065, abs=1e-4)
    assert air.enthalpy(313.15, ratio) == pytest.approx(56.7e3, abs=200)
    assert (1 + ratio) / air.density(313.15, ratio, pressure_pa=SEA_LEVEL_PA) == pytest.approx(0.896, rel=1e-3)
    assert air.wet_bulb(313.15, 14.0, pressure_pa=SEA_LEVEL_PA) == pytest.approx(293.15, abs=0.1)


@pytest.mark.parametrize(
    ("celsius", "percent", "pressure_pa"),
    list(itertools.product((-10, 0, 10, 25, 35, 50), (5, 20, 50, 80, 100), (80e3, 101325))),
)
def test_against_real_moist_air(celsius, percent, pressure_pa):
    dry_bulb_k = 273.15 + celsius
    state = ("T", dry_bulb_k, "P", pressure_pa, "R", percent / 100)
    ratio = air.humidity_ratio(dry_bulb_k, percent, pressure_pa=pressure_pa)
    volume_m3_per_kg = (1 + ratio) / air.density(dry_bulb_k, ratio, pressure_pa=pressure_pa)
    assert ratio == pytest.approx(HAPropsSI("W", *state), rel=7e-3)
    assert air.wet_bulb(dry_bulb_k, percent, pressure_pa=pressure_pa) == pytest.approx(HAPropsSI("B", *state), abs=0.03)
    assert air.enthalpy(dry_bulb_k, ratio) == pytest.approx(HAPropsSI("H", *state), rel=6e-3, abs=100)
    assert volume_m3_per_kg == pytest.approx(HAPropsSI("V", *state), rel=2e-3)


def test_what_a_coil_delivers_agrees_with_real_moist_air():
    """The cooling rating point, 80/67 °F, leaving at 55 °F and 95 %; the states' enthalpies from CoolProp."""
    entering, leaving = (
        MoistAir(dry_bulb_k, air.humidity_ratio(dry_bulb_k, percent, pressure_pa=SEA_LEVEL_PA))
        for dry_bulb_k, percent in ((kelvin(80), 51.1), (kelvin(55), 95.0))
    )
    got = air.delivered(entering, leaving, airflow_m3_per_s=1200 * CFM, pressure_pa=SEA_LEVEL_PA)
    before, after = ("T", kelvin(80), "P", SEA_LEVEL_PA, "R", 0.511), ("T", kelvin(55), "P", SEA_LEVEL_PA, "R", 0.95)
    dry_kg_per_s = 1200 * CFM / HAPropsSI("V", *before)
    assert got.total_w == pytest.approx(dry_kg_per_s * (HAPropsSI("H", *before) - HAPropsSI("H", *after)), rel=0.01)
    assert got.sensible_w + got.latent_w == pytest.approx(got.total_w)
    water_kg_per_s = dry_kg_per_s * (HAPropsSI("W", *before) - HAPropsSI("W", *after))
    assert got.condensate_kg_per_s == pytest.approx(water_kg_per_s, rel=0.01)
    assert got.latent_w / got.condensate_kg_per_s == pytest.approx(2.5e6, rel=0.03)  # heat of evaporation, steam tables


def test_the_trades_formulas_agree_with_the_exact_ones_within_their_neglects():
    ratio = air.humidity_ratio(kelvin(75), 50.0, pressure_pa=SEA_LEVEL_PA)
    entering, leaving = MoistAir(kelvin(75), ratio), MoistAir(kelvin(55), ratio)
    exact = air.delivered(entering, leaving, airflow_m3_per_s=0.5, pressure_pa=SEA_LEVEL_PA)
    assert exact.latent_w == pytest.approx(0, abs=1e-9)
    assert air.sensible_heat_w(0.5, 20 / 1.8) == pytest.approx(exact.sensible_w, rel=0.03)


def test_efficiency():
    """A ton for 1 kW is an EER of 12 Btu/Wh, a coefficient of performance of 3.517: by the definition of the ton."""
    assert air.coefficient_of_performance(12000 * BTU_PER_H, 1000.0) == pytest.approx(3.517, abs=1e-3)


@pytest.mark.parametrize(("correlation", "uncertainty_dk"), [(0.0, 0.5), (0.64, 0.3), (1.0, 0.1), (-1.0, 0.7)])
def test_one_instrument_at_both_ends_of_the_split(correlation, uncertainty_dk):
    """JCGM 100, 5.2.2: u² = 0.4² + 0.3² - 2 r 0.4 0.3."""
    found = air.split(Estimate(297.0, 0.4), Estimate(286.0, 0.3), correlation=correlation)
    assert found.value == 11.0
    expected = math.sqrt(max(0.0, 0.25 - 0.24 * correlation))
    assert found.standard_uncertainty == pytest.approx(expected) == pytest.approx(uncertainty_dk, abs=0.02)


def test_two_instruments_err_apart_unless_it_is_said():
    """JCGM 100, 5.1.2: 0.4 and 0.3 in quadrature."""
    assert air.split(Estimate(297.0, 0.4), Estimate(286.0, 0.3)).standard_uncertainty == pytest.approx(0.5)


def test_nobody_elses_units_change_ours():
    before = air.wet_bulb(300.0, 50.0, pressure_pa=SEA_LEVEL_PA)
    units = psychrolib.GetUnitSystem()
    try:
        psychrolib.SetUnitSystem(psychrolib.IP)
        assert air.wet_bulb(300.0, 50.0, pressure_pa=SEA_LEVEL_PA) == before
        assert psychrolib.GetUnitSystem() is psychrolib.IP
    finally:
        psychrolib.SetUnitSystem(units or psychrolib.SI)


def test_arrays_give_what_their_elements_give():
    dry_bulbs_k, percents = np.array([280.0, 290.0, 300.0]), np.array([30.0, 60.0, 90.0])
    ratios = air.humidity_ratio(dry_bulbs_k, percents, pressure_pa=90e3)
    for index, (dry_bulb_k, percent) in enumerate(zip(dry_bulbs_k, percents, strict=True)):
        ratio = air.humidity_ratio(float(dry_bulb_k), float(percent), pressure_pa=90e3)
        wet_bulb_k = air.wet_bulb(float(dry_bulb_k), float(percent), pressure_pa=90e3)
        assert ratios[index] == ratio
        assert air.wet_bulb(dry_bulbs_k, percents, pressure_pa=90e3)[index] == wet_bulb_k
        assert air.enthalpy(dry_bulbs_k, ratios)[index] == air.enthalpy(float(dry_bulb_k), ratio)
        assert air.density(dry_bulbs_k, ratios, pressure_pa=90e3)[index] == air.density(
            float(dry_bulb_k), ratio, pressure_pa=90e3
        )
    wet_bulbs_k = np.minimum(air.wet_bulb(dry_bulbs_k, percents, pressure_pa=90e3), dry_bulbs_k)
    again = air.humidity_ratio_from_wet_bulb(dry_bulbs_k, wet_bulbs_k, pressure_pa=90e3)
    assert again == pytest.approx(ratios, rel=1e-3)
    flows = np.array([0.1, 0.5])
    assert air.sensible_heat_w(flows, np.array([10.0, 11.0]))[1] == air.sensible_heat_w(0.5, 11.0)
    assert air.total_heat_w(flows, np.array([1e4, 2e4]))[1] == air.total_heat_w(0.5, 2e4)


DRY_BULBS = st.floats(233.15, 333.15)


@given(DRY_BULBS, st.floats(0, 100), st.floats(50e3, 110e3))
def test_the_wet_bulb_lies_between_and_leads_back(dry_bulb_k, percent, pressure_pa):
    wet_bulb_k = air.wet_bulb(dry_bulb_k, percent, pressure_pa=pressure_pa)
    assert wet_bulb_k <= dry_bulb_k + 2e-3
    ratio = air.humidity_ratio(dry_bulb_k, percent, pressure_pa=pressure_pa)
    if 233.15 <= wet_bulb_k <= dry_bulb_k:
        again = air.humidity_ratio_from_wet_bulb(dry_bulb_k, wet_bulb_k, pressure_pa=pressure_pa)
        assert again == pytest.approx(ratio, abs=2e-5)


@given(st.floats(), st.floats(), st.floats())
def test_any_numbers_give_air_or_a_calc_error(first, second, third):
    calls = (
        lambda: barometric_pressure(first),
        lambda: air.density_ratio(first),
        lambda: air.humidity_ratio(first, second, pressure_pa=third),
        lambda: air.humidity_ratio_from_wet_bulb(first, second, pressure_pa=third),
        lambda: air.wet_bulb(first, second, pressure_pa=third),
        lambda: air.enthalpy(first, second),
        lambda: air.density(first, second, pressure_pa=third),
        lambda: air.sensible_heat_w(first, second, pressure_pa=third),
        lambda: air.total_heat_w(first, second, pressure_pa=third),
        lambda: air.coefficient_of_performance(first, second),
        lambda: air.split(Estimate(first, 0.1), Estimate(second, 0.1), correlation=third).value,
    )
    for call in calls:
        try:
            found = call()
        except CalcError:
            continue
        assert math.isfinite(found)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: barometric_pressure(math.nan), "elevation_m is nan m, outside -5000 to 11000 m"),
        (lambda: air.wet_bulb(80.0, 50.0, pressure_pa=101325.0), "dry_bulb_k is 80 K, outside 233.15 to 333.15 K"),
        (lambda: air.wet_bulb(300.0, 101.0, pressure_pa=101325.0), "relative_humidity_percent is 101 %RH, outside"),
        (lambda: air.wet_bulb(300.0, 50.0, pressure_pa=0.0), "pressure_pa is 0 Pa, outside .*barometric"),
        (lambda: air.humidity_ratio_from_wet_bulb(290.0, 291.0, pressure_pa=101325.0), "wet_bulb_k .* never above"),
        (lambda: air.enthalpy(300.0, -0.1), "humidity_ratio_kg_per_kg is -0.1"),
        (lambda: air.sensible_heat_w(-0.1, 10.0), "airflow_m3_per_s is -0.1"),
        (lambda: air.coefficient_of_performance(3e3, 0.0), "power_w is 0 W"),
    ],
)
def test_errors_name_what_was_wrong(call, message):
    with pytest.raises(CalcRangeError, match=message):
        call()


def test_limits():
    """A thirtieth of the capacity is the least power: common practice, no source; the rest is where air is met."""
    coldest_k, hottest_k = 273.15 - 40, 273.15 + 60
    check_edges(barometric_pressure, "elevation_m", -5000.0, 11_000.0)
    check_edges(air.density_ratio, "pressure_pa", 40e3, 180e3)
    for function in (air.humidity_ratio, air.wet_bulb, air.dew_point):
        driest = 0.1 if function is air.dew_point else 0.0
        check_edges(lambda at_k, of=function: of(at_k, 50.0, pressure_pa=9e4), "dry_bulb_k", coldest_k, hottest_k)
        check_edges(
            lambda percent, of=function: of(300.0, percent, pressure_pa=9e4), "relative_humidity_percent", driest, 100.0
        )
        check_edges(lambda site_pa, of=function: of(280.0, 50.0, pressure_pa=site_pa), "pressure_pa", 40e3, 180e3)
    check_edges(
        lambda at_k: air.humidity_ratio_from_wet_bulb(300.0, at_k, pressure_pa=9e4), "wet_bulb_k", coldest_k, 300.0
    )
    check_edges(lambda ratio: air.enthalpy(300.0, ratio), "humidity_ratio_kg_per_kg", 0.0, 1.0)
    check_edges(lambda split_dk: air.sensible_heat_w(0.5, split_dk), "air_split_dk", -100.0, 100.0)
    check_edges(lambda airflow: air.sensible_heat_w(airflow, 10.0), "airflow_m3_per_s", 0.0, 1e4)
    check_edges(lambda fall: air.total_heat_w(0.5, fall), "enthalpy_fall_j_per_kg", -1e6, 1e6)
    check_edges(lambda capacity_w: air.coefficient_of_performance(capacity_w, 1e9), "capacity_w", 0.0, 1e9)
    check_edges(lambda power_w: air.coefficient_of_performance(3e3, power_w), "power_w", 100.0, 1e9)
    check_edges(lambda power_w: air.coefficient_of_performance(3.0, power_w), "power_w", 1.0, 1e9)
