"""Heated air: trade pages' worked examples, and real moist air (CoolProp's humid air, ASHRAE RP-1485)."""

import math
from contextlib import suppress

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.heated_air import airflow_from_heat_rise, heating_performance, resistance_heat_w
from tests.fuzzing import fuzz

CFM = 0.3048**3 / 60
RETURN_K, SUPPLY_K = 296.483, 316.483  # 74 and 110 °F


def exact(value):
    return Estimate(value, 0.0)


def airflow(heat_w=17625.0, return_k=RETURN_K, supply_k=SUPPLY_K, percent=40.0, pressure_pa=101325.0):
    return airflow_from_heat_rise(
        exact(heat_w), exact(return_k), supply_air=exact(supply_k), humidity=exact(percent),
        barometric_pressure_pa=pressure_pa,
    )  # fmt: skip


def performance(airflow_m3_per_s=0.55, return_k=294.26, supply_k=310.93, power_w=3000.0, percent=40.0):
    return heating_performance(
        exact(airflow_m3_per_s), exact(return_k), supply_air=exact(supply_k), power=exact(power_w),
        humidity=exact(percent), barometric_pressure_pa=101325.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("volts", "amps", "rise_f", "printed_cfm"), [(235.0, 75.0, 36.0, 1548), (235.0, 49.0, 30.0, 1212)]
)
def test_airflow_by_electric_heat_on_trade_pages(volts, amps, rise_f, printed_cfm):
    """Watts x 3.413 (3.414) / (1.08 x rise) as two pages work it; as standard air, 0.1 %: their rounding."""
    heat_w = resistance_heat_w(exact(volts), exact(amps), phases=1).value
    found = airflow(heat_w, supply_k=RETURN_K + rise_f / 1.8)
    assert found.standard_airflow.value / CFM == pytest.approx(printed_cfm, rel=1e-3)
    assert found.airflow.value / CFM == pytest.approx(printed_cfm, rel=0.015)  # real air at 74 °F and sea level


@pytest.mark.parametrize("percent", [10.0, 40.0, 80.0])
@pytest.mark.parametrize("pressure_pa", [101325.0, 83520.0])
@pytest.mark.parametrize(("return_k", "supply_k"), [(291.0, 296.0), (294.26, 310.93), (297.0, 330.0)])
def test_heat_of_real_moist_air(return_k, supply_k, pressure_pa, percent):
    """By enthalpy and volume of the virial equation: within 0.5 %."""
    state = {"P": pressure_pa, "W": HAPropsSI("W", "T", return_k, "P", pressure_pa, "R", percent / 100)}
    ends = [
        HAPropsSI("H", "T", kelvin, *(it for pair in state.items() for it in pair)) for kelvin in (return_k, supply_k)
    ]
    volume = HAPropsSI("V", "T", return_k, *(it for pair in state.items() for it in pair))  # per kg of dry air
    per_m3 = (ends[1] - ends[0]) / volume
    found = airflow_from_heat_rise(
        exact(8000.0), exact(return_k), supply_air=exact(supply_k), humidity=exact(percent),
        barometric_pressure_pa=pressure_pa,
    )  # fmt: skip
    assert found.airflow.value == pytest.approx(8000.0 / per_m3, rel=5e-3)
    heated = heating_performance(
        exact(0.5), exact(return_k), supply_air=exact(supply_k), power=exact(2500.0), humidity=exact(percent),
        barometric_pressure_pa=pressure_pa,
    )  # fmt: skip
    assert heated.capacity.value == pytest.approx(0.5 * per_m3, rel=5e-3)
    assert heated.coefficient_of_performance.value == pytest.approx(0.5 * per_m3 / 2500.0, rel=5e-3)


def test_thin_air_is_more_volume_for_the_same_heat():
    """5,000 ft is 0.8321 of sea level: ASHRAE's standard atmosphere."""
    thin = airflow(pressure_pa=0.8321 * 101325.0)
    assert airflow().airflow.value / thin.airflow.value == pytest.approx(0.8321, abs=2e-3)
    assert thin.standard_airflow.value == airflow().standard_airflow.value


def test_three_phases_count_root_three():
    """480 V and 30 A of three phases are 24.9 kW: √3 V I, as every handbook has it."""
    found = resistance_heat_w(Estimate(480.0, 2.0), Estimate(30.0, 0.3), phases=3)
    assert found.value == pytest.approx(24942, abs=1)
    assert found.standard_uncertainty / found.value == pytest.approx(math.hypot(2 / 480, 0.01), rel=1e-6)
    with pytest.raises(ArgumentError, match="1 or 3"):
        resistance_heat_w(exact(240.0), exact(20.0), phases=2)


@pytest.mark.parametrize(("volts", "amps"), [(49.9, 20.0), (1001.0, 20.0), (240.0, 0.09), (240.0, 2001.0)])
def test_limits_of_elements(volts, amps):
    with pytest.raises(CalcRangeError, match="voltage_v" if volts != 240.0 else "current_a"):
        resistance_heat_w(exact(volts), exact(amps), phases=1)
    assert resistance_heat_w(exact(50.0), exact(0.1), phases=1).value == 5.0
    assert resistance_heat_w(exact(1000.0), exact(2000.0), phases=1).value == 2e6


@pytest.mark.parametrize(
    ("changed", "name"),
    [({"heat_w": 99.0}, "heat"), ({"heat_w": 1e6 + 0.5}, "heat"), ({"supply_k": RETURN_K + 2.99}, "supply_air"),
     ({"return_k": 273.0, "supply_k": 333.01}, "supply_air"), ({"percent": 101.0}, "humidity"),
     ({"pressure_pa": 39e3}, "pressure_pa")],
)  # fmt: skip
def test_limits_of_airflow(changed, name):
    with pytest.raises(CalcRangeError, match=name):
        airflow(**changed)
    assert airflow(heat_w=100.0).airflow.value > 0
    assert airflow(heat_w=1e6).airflow.value > 0
    assert airflow(return_k=273.0, supply_k=276.0).airflow.value > airflow(return_k=273.0, supply_k=333.0).airflow.value


@pytest.mark.parametrize(
    ("changed", "name"),
    [({"airflow_m3_per_s": 9e-4}, "airflow"), ({"airflow_m3_per_s": 101.0}, "airflow"),
     ({"power_w": 1e9 + 0.5}, "power"), ({"power_w": 360.0}, "more than 30 times"), ({"supply_k": 294.0}, "supply_air"),
     ({"airflow_m3_per_s": 1e-3, "power_w": 0.99}, "power")],
)  # fmt: skip
def test_limits_of_heating(changed, name):
    with pytest.raises(CalcRangeError, match=name):
        performance(**changed)
    assert performance(airflow_m3_per_s=1e-3, power_w=1.0).capacity.value > 1
    assert performance(airflow_m3_per_s=100.0, power_w=1e9).coefficient_of_performance.value < 1
    assert performance(power_w=370.0).coefficient_of_performance.value == pytest.approx(30, abs=1.0)


def test_what_the_readings_leave_open_as_in_forty_thousand_trials():
    """JCGM 101: each drawn anew; within 3 %."""
    draw = np.random.default_rng(7).normal
    heat_w, return_k, supply_k = draw(9600, 200, 40_000), draw(295, 0.5, 40_000), draw(311, 0.5, 40_000)
    spread = np.std(heat_w / (supply_k - return_k)) / np.mean(heat_w / (supply_k - return_k))
    found = airflow_from_heat_rise(
        Estimate(9600.0, 200.0), Estimate(295.0, 0.5), supply_air=Estimate(311.0, 0.5), humidity=exact(40.0),
        barometric_pressure_pa=101325.0,
    )  # fmt: skip
    for flow in (found.airflow, found.standard_airflow):
        assert flow.standard_uncertainty / flow.value == pytest.approx(spread, rel=0.03)
    assert found.leading_input in ("return_k", "supply_k")
    heated = heating_performance(
        Estimate(0.5, 0.04), Estimate(294.0, 0.25), supply_air=Estimate(310.0, 0.25), power=Estimate(3000.0, 60.0),
        humidity=exact(40.0), barometric_pressure_pa=101325.0,
    )  # fmt: skip
    relative = math.hypot(0.08, 0.25 * 2**0.5 / 16)
    assert heated.capacity.standard_uncertainty / heated.capacity.value == pytest.approx(relative, rel=0.02)
    cop = heated.coefficient_of_performance
    assert cop.standard_uncertainty / cop.value == pytest.approx(math.hypot(relative, 0.02), rel=0.02)


AIR = {"return_air_temperature": "74 degF", "supply_air_temperature": "110 degF"}


def test_by_name():
    by_amps = catalogue.run("airflow_from_electric_heat", {**AIR, "voltage": "235 V", "current": "75 A"}).values
    assert by_amps["as_standard_air_m3_per_s"].value / CFM == pytest.approx(1547.5, abs=1)
    by_watts = catalogue.run("airflow_from_electric_heat", {**AIR, "heat": "17.625 kW"}).values
    assert by_watts["airflow_m3_per_s"].value == pytest.approx(by_amps["airflow_m3_per_s"].value)
    assert by_watts["airflow_m3_per_s"].standard_uncertainty == pytest.approx(
        by_amps["airflow_m3_per_s"].standard_uncertainty
    )
    more = catalogue.run("airflow_from_electric_heat", {**AIR, "heat": "17.625 kW", "blower_power": "500 W"}).values
    assert more["airflow_m3_per_s"].value / by_watts["airflow_m3_per_s"].value == pytest.approx(18125 / 17625)
    assert "trained" in more["how"]
    roof = catalogue.run("airflow_from_electric_heat", {**AIR, "heat": "9.6 kW", "elevation": "1600 m"}).values
    assert roof["airflow_m3_per_s"].value > 1.2 * roof["as_standard_air_m3_per_s"].value
    sure = {"heat_accuracy": "0 %", "temperature_accuracy": "0 degC", "heat": "9.6 kW"}
    assert catalogue.run("airflow_from_electric_heat", AIR | sure).values["most_of_the_uncertainty_from"] == (
        "none is stated"
    )
    heating = {"airflow": "1200 cfm", "return_air_temperature": "70 degF", "supply_air_temperature": "98 degF"}
    found = catalogue.run("heating_performance", heating | {"power": "3.1 kW"}).values
    assert found["coefficient_of_performance_ratio"].value == pytest.approx(1.08 * 1200 * 28 / 3412 / 3.1, rel=0.02)


@pytest.mark.parametrize(
    "given_values",
    [
        {},
        {"voltage": "235 V"},
        {"current": "75 A"},
        {"heat": "9 kW", "voltage": "235 V"},
        {"heat": "9 kW", "current": "5 A"},
    ],
)
def test_heat_is_given_in_one_way(given_values):
    with pytest.raises(ArgumentError, match="needs heat"):
        catalogue.run("airflow_from_electric_heat", AIR | given_values)


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = airflow(*numbers[:5])
        assert np.isfinite(found.airflow.value)
    with suppress(CalcError):
        assert np.isfinite(performance(*numbers[:5]).coefficient_of_performance.standard_uncertainty)
