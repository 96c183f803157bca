"""Scenario files: those that come along work, and a wrong one is told by file, key and value."""

import pytest

from simulators import scenario
from simulators.scenario import ScenarioError, load_scenario, parse_scenario
from simulators.unit_model import Unit
from tests.test_sim_unit_model import subcooling_f, superheat_f

WHOLE = """
title = "A trial"
story = "It was tried."
charge = "6 lb 10 oz"
[unit]
tag = "RTU-T1"
place = "roof"
refrigerant = "R-410A"
metering_device = "txv"
"""


def test_low_charge_is_the_one_that_the_bench_starts_with() -> None:
    assert scenario.names() == ["fixed_orifice_low", "low_charge", "overcharged"]
    low = load_scenario("low_charge")
    assert low.file.unit.tag == "RTU-K7Q-4"
    assert low.parameters.charge_kg == pytest.approx(106 / 16 * 0.45359237)
    assert low.parameters.conditions.outdoor_air_k == pytest.approx(303.15)


@pytest.mark.parametrize("name", scenario.names())
def test_scenarios_are_what_they_are_called(name: str) -> None:
    state = Unit(load_scenario(name).parameters).true_state()
    match name:
        case "low_charge":
            assert 2.0 <= subcooling_f(state) <= 7.0  # its nameplate says 10; California Title 24 allows ±3
        case "fixed_orifice_low":
            assert superheat_f(state) >= 20.0  # the linear formula (3 WB - 80 - DB) / 2 gives 13
        case "overcharged":
            assert subcooling_f(state) >= 13.5


def test_standard_atmosphere() -> None:
    """ISO 2533: 1000 m is 89 874.6 Pa, 1600 m 83 523 Pa (to 0.02 %)."""
    assert scenario.standard_pressure(1000.0) == pytest.approx(89_874.6, rel=2e-4)
    assert scenario.standard_pressure(1600.0) == pytest.approx(83_523.0, rel=2e-4)


def test_everything_that_can_be_set_is_used() -> None:
    more = """
[conditions]
outdoor_air = "95 degF"
line_voltage = "208 V"
elevation = "1600 m"
[faults]
condenser_airflow = "60 %"
non_condensables = "20 psi"
[sensors.suction_pressure]
accuracy = "2 psi"
noise = "0.5 psi"
offset = "-1 psi"
[sensors.liquid_line_temperature]
lag = "40 s"
offset = "1 degF"
"""
    trial = parse_scenario((WHOLE + more).encode(), "trial.toml")
    assert trial.parameters.conditions.line_voltage_v == 208.0
    assert trial.parameters.conditions.barometric_pressure_pa == pytest.approx(83_523.0, rel=2e-4)
    assert trial.parameters.faults.condenser_airflow == pytest.approx(0.6)
    assert trial.parameters.faults.non_condensables_pa == pytest.approx(137_895.0, rel=1e-4)
    outputs = {output.channel: output for item in trial.instruments for output in item.outputs}
    suction, liquid = outputs["suction_pressure"], outputs["liquid_line_temperature"]
    assert suction.accuracy_text == "2 psi"
    assert suction.setting.noise == pytest.approx(3447.4, rel=1e-4)
    assert suction.setting.offset == pytest.approx(-6894.8, rel=1e-4)
    assert liquid.setting.lag_s == 40.0
    assert liquid.setting.offset == pytest.approx(5 / 9)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (WHOLE.replace('charge = "6 lb 10 oz"', ""), r"trial.toml: .*missing required field `charge`"),
        (WHOLE.replace("charge", "charges"), r"trial.toml: .*unknown field `charges`"),
        (WHOLE.replace("6 lb 10 oz", "6"), r"trial.toml: charge = '6': .*needs a unit"),
        (WHOLE.replace("6 lb 10 oz", "90 lb"), r"trial.toml: charge_kg is 40.*; the unit is simulated with 1 to 6"),
        (WHOLE.replace("R-410A", "R-1"), r"trial.toml: unit.refrigerant = 'R-1': .*R-22, R-32, R-407C, R-410A, R-454B"),
        (WHOLE.replace("txv", "wick"), r"trial.toml: Invalid enum value 'wick' - at `\$.unit.metering_device`"),
        (WHOLE + '[conditions]\noutdoor_air = "30 A"', r"conditions.outdoor_air = '30 A'"),
        (WHOLE + '[faults]\ncompressor_leakage = "80 %"', r"trial.toml: compressor_leakage is 0.8"),
        (WHOLE + '[sensors.oil]\nnoise = "1 psi"', r"sensors = 'oil': the bench measures compressor_current, "),
        (WHOLE + '[sensors.suction_pressure]\nnoise = "1 A"', r"sensors.suction_pressure.noise = '1 A'"),
        (WHOLE + '[sensors.suction_pressure]\naccuracy = "good"', r"sensors.suction_pressure.accuracy = 'good'"),
        ("title =", r"trial.toml: Invalid value"),
    ],
)
def test_a_wrong_scenario_is_told_by_file_key_and_value(wrong: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse_scenario(wrong.encode(), "trial.toml")


def test_a_scenario_that_is_not_there() -> None:
    with pytest.raises(ScenarioError, match="no scenario 'high': give one of fixed_orifice_low, low_charge"):
        load_scenario("high")
    with pytest.raises(ScenarioError, match=r"nowhere/high.toml cannot be read: No such file"):
        load_scenario("nowhere/high.toml")
