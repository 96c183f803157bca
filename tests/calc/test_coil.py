"""Coils: real moist air (CoolProp's humid air), the equation of state, and a unit measured in a laboratory."""

import math
from contextlib import suppress

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import air, catalogue
from calc.air import MoistAir
from calc.coil import coil_approach, liquid_approach, measured_sensible_heat_ratio, sensible_heat_ratio
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from tests.fuzzing import fuzz
from tests.printed import published

SEA_LEVEL_PA = 101325.0


@pytest.mark.parametrize("row", published("psychrometric_cases_ip.csv"))
def test_dew_point_in_inch_pound_units(row):
    """Computed cases with the dew point of ASHRAE's formulas."""
    found_k = air.dew_point((float(row["db_F"]) + 459.67) / 1.8, 100 * float(row["rh"]), pressure_pa=SEA_LEVEL_PA)
    assert found_k * 1.8 - 459.67 == pytest.approx(float(row["dewpoint_F"]), abs=0.02)


@pytest.mark.parametrize("celsius", [5, 20, 35, 50])
@pytest.mark.parametrize("percent", [10, 50, 95])
def test_dew_point_of_real_moist_air(celsius, percent):
    kelvin = celsius + 273.15
    real_k = HAPropsSI("D", "T", kelvin, "P", SEA_LEVEL_PA, "R", percent / 100)
    assert air.dew_point(kelvin, float(percent), pressure_pa=SEA_LEVEL_PA) == pytest.approx(real_k, abs=0.1)


@pytest.mark.parametrize("percent", [0.09, 100.1])
def test_limits_of_a_dew_point(percent):
    with pytest.raises(CalcRangeError, match="relative_humidity_percent"):
        air.dew_point(295.0, percent, pressure_pa=SEA_LEVEL_PA)
    assert air.dew_point(295.0, 100.0, pressure_pa=SEA_LEVEL_PA) == pytest.approx(295.0, abs=0.01)
    assert air.dew_point(295.0, 0.1, pressure_pa=SEA_LEVEL_PA) < 225


@pytest.mark.parametrize(
    ("return_k", "return_percent", "supply_k", "supply_percent"),
    [(299.8, 51.0, 287.6, 88.0), (297.0, 60.0, 285.0, 95.0), (300.0, 30.0, 288.0, 60.0), (296.0, 70.0, 290.0, 90.0)],
)
def test_sensible_heat_ratio_of_real_moist_air(return_k, return_percent, supply_k, supply_percent):
    """By enthalpies of the virial equation, of the entering air cooled with its water: within 0.01."""

    def real(what, *state):
        return HAPropsSI(what, "P", SEA_LEVEL_PA, *state)

    water = real("W", "T", return_k, "R", return_percent / 100)
    entering = real("H", "T", return_k, "W", water)
    cooled, leaving = real("H", "T", supply_k, "W", water), real("H", "T", supply_k, "R", supply_percent / 100)
    found = measured_sensible_heat_ratio(
        Estimate(return_k, 0.0), Estimate(return_percent, 0.0), supply_air=Estimate(supply_k, 0.0),
        supply_humidity=Estimate(supply_percent, 0.0), barometric_pressure_pa=SEA_LEVEL_PA,
    )  # fmt: skip
    assert found.value == pytest.approx((entering - cooled) / (entering - leaving), abs=0.01)


def test_a_dry_coil_has_one_and_a_hair_more_water_more_than_one():
    entering = MoistAir(300.0, 0.008)
    assert sensible_heat_ratio(entering, MoistAir(288.0, 0.008)) == pytest.approx(1.0)
    assert 1.0 < sensible_heat_ratio(entering, MoistAir(288.0, 0.0085)) < 1.2


def test_a_coil_that_does_nothing_has_no_ratio():
    entering = MoistAir(300.0, 0.008)
    with pytest.raises(ArgumentError, match="hardly at work"):
        sensible_heat_ratio(entering, MoistAir(300.5, 0.008))
    dry = MoistAir(300.0, 0.0)  # 1.006 kJ/(kg K) in the Handbook's formula
    with pytest.raises(ArgumentError, match="hardly at work"):
        sensible_heat_ratio(dry, MoistAir(300.0 - 999.5 / 1006, 0.0))
    assert sensible_heat_ratio(dry, MoistAir(300.0 - 1000.5 / 1006, 0.0)) == pytest.approx(1.0)


def test_all_four_readings_count():
    """JCGM 101: each drawn anew; within 5 %."""
    draw = np.random.default_rng(3).normal
    drawn = [draw(mean, u, 4000) for mean, u in ((299.8, 0.2), (51.0, 1.0), (287.6, 0.2), (85.0, 1.0))]
    ratios = measured_sensible_heat_ratio(
        Estimate(drawn[0], 0.0 * drawn[0]), Estimate(drawn[1], 0.0 * drawn[1]),
        supply_air=Estimate(drawn[2], 0.0 * drawn[2]), supply_humidity=Estimate(drawn[3], 0.0 * drawn[3]),
        barometric_pressure_pa=SEA_LEVEL_PA,
    ).value  # fmt: skip
    found = measured_sensible_heat_ratio(
        Estimate(299.8, 0.2), Estimate(51.0, 1.0), supply_air=Estimate(287.6, 0.2),
        supply_humidity=Estimate(85.0, 1.0), barometric_pressure_pa=SEA_LEVEL_PA,
    )  # fmt: skip
    assert found.standard_uncertainty == pytest.approx(np.std(ratios), rel=0.05)


@pytest.mark.parametrize(("refrigerant", "fluid"), [("R-410A", "R410A"), ("R-32", "R32"), ("R-22", "R22")])
def test_coil_approach_by_the_equation_of_state(refrigerant, fluid):
    dew_k = PropsSI("T", "P", 9e5, "Q", 1, fluid)
    found = coil_approach(
        refrigerant, 9e5, supply_air_k=286.0, pressure_standard_uncertainty_pa=12e3,
        temperature_standard_uncertainty_k=0.25,
    )  # fmt: skip
    assert found.value == pytest.approx(286.0 - dew_k, abs=2e-3)
    slope = (PropsSI("T", "P", 9.1e5, "Q", 1, fluid) - PropsSI("T", "P", 8.9e5, "Q", 1, fluid)) / 2e4
    assert found.standard_uncertainty >= math.hypot(0.25, 12e3 * slope)
    assert found.standard_uncertainty == pytest.approx(math.hypot(0.25, 12e3 * slope), rel=0.1)


MEASURED = published("sound_split_unit_measured.csv")


@pytest.mark.parametrize("row", MEASURED, ids=lambda row: row["test_condition"])
def test_liquid_approach_of_a_measured_unit(row):
    """A sound split heat pump, cooling, in a laboratory: condensing less subcooling is the liquid, over outdoor air."""
    outdoor_k, liquid_k = (float(row[name]) + 273.15 for name in ("T_outdoor_C", "T_liquid_service_valve_C"))
    found = liquid_approach(Estimate(liquid_k, 0.3), Estimate(outdoor_k, 0.4))
    over = float(row["calc_condensing_over_outdoor_K"]) - float(row["calc_subcooling_at_liquid_valve_K"])
    assert found.value == pytest.approx(over, abs=2e-3)
    assert found.standard_uncertainty == pytest.approx(0.5)


@pytest.mark.parametrize("row", MEASURED, ids=lambda row: row["test_condition"])
def test_coil_approach_of_a_measured_unit(row):
    found = coil_approach(
        "R-410A", 1e3 * float(row["p_evaporator_out_kPa_abs"]), supply_air_k=float(row["T_supply_C"]) + 273.15,
        pressure_standard_uncertainty_pa=0.0, temperature_standard_uncertainty_k=0.0,
    )  # fmt: skip
    assert 2.0 < found.value < 7.0


@pytest.mark.parametrize("off_k", [-60.1, 60.1])
def test_no_coil_is_so_far_off(off_k):
    with pytest.raises(CalcRangeError, match="liquid_line"):
        liquid_approach(Estimate(300.0 + off_k, 0.0), Estimate(300.0, 0.0))
    assert liquid_approach(Estimate(360.0, 0.0), Estimate(300.0, 0.0)).value == 60.0
    assert liquid_approach(Estimate(240.0, 0.0), Estimate(300.0, 0.0)).value == -60.0
    dew_k = PropsSI("T", "P", 9e5, "Q", 1, "R410A")
    exact = {"pressure_standard_uncertainty_pa": 0.0, "temperature_standard_uncertainty_k": 0.0}
    with pytest.raises(CalcRangeError, match="supply_air_k"):
        coil_approach("R-410A", 9e5, supply_air_k=dew_k + off_k, **exact)
    inside_k = off_k * 59.9 / 60.1
    assert coil_approach("R-410A", 9e5, supply_air_k=dew_k + inside_k, **exact).value == pytest.approx(
        inside_k, abs=2e-3
    )


def test_by_name():
    ends = {"return_air_temperature": "80 degF", "return_air_humidity": "51 %RH", "supply_air_temperature": "58 degF",
            "supply_air_humidity": "88 %RH"}  # fmt: skip
    delivered = catalogue.run("delivered_capacity", {**ends, "airflow": "1200 cfm"}).values
    ratio = catalogue.run("sensible_heat_ratio", ends).values["sensible_heat_ratio"]
    assert ratio.value == pytest.approx(delivered["sensible_heat_w"].value / delivered["total_heat_w"].value)
    dew = catalogue.run("air_dew_point", {"dry_bulb": "80 degF", "humidity": "51.1 %RH"}).values["air_dew_k"]
    assert dew.value * 1.8 - 459.67 == pytest.approx(60.32, abs=0.02)
    assert 0.5 < dew.expanded() < 1.5
    suction = {"refrigerant": "R-410A", "suction_pressure": "118 psig", "supply_air_temperature": "58 degF"}
    over = catalogue.run("coil_approach", suction).values
    assert over["coil_approach_dk"].value == pytest.approx((58 + 459.67) / 1.8 - over["dew_k"])
    ends = {"liquid_line_temperature": "101 degF", "outdoor_air_temperature": "95 degF"}
    assert catalogue.run("liquid_approach", ends).values["liquid_approach_dk"].value == pytest.approx(6 / 1.8)


@fuzz
@given(st.tuples(*(st.floats(),) * 4))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert math.isfinite(sensible_heat_ratio(MoistAir(*numbers[:2]), MoistAir(*numbers[2:])))
    with suppress(CalcError):
        assert math.isfinite(liquid_approach(Estimate(*numbers[:2]), Estimate(*numbers[2:])).value)
