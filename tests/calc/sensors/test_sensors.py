"""Sensors against the tables of their standards.

tests/published/pt100_iec60751.csv and thermocouple_k_its90.csv hold figures printed in the tables of IEC 60751 and of
NIST Monograph 175, beside the unrounded ones of the formulas.
"""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.sensors import (
    Beta,
    CalibrationPoint,
    LoopState,
    SteinhartHart,
    current_loop,
    ratiometric,
    rtd_resistance,
    rtd_temperature,
    thermistor_temperature,
    thermocouple_temperature,
    thermocouple_voltage,
    two_point,
)
from tests.edges import check_edges
from tests.fuzzing import fuzz
from tests.printed import published

ICE_K = 273.15
TABLE = SteinhartHart.through((32650.0, 10000.0, 3603.0), (ICE_K, ICE_K + 25, ICE_K + 50))


def rows(name: str) -> list[dict[str, float]]:
    return [{key: float(value) for key, value in row.items()} for row in published(name)]


@pytest.mark.parametrize("row", rows("pt100_iec60751.csv"), ids=lambda row: f"{row['T_C']:g}C")
def test_pt100_as_printed_in_iec_60751(row):
    temperature_k = row["T_C"] + ICE_K
    assert round(rtd_resistance(temperature_k), 2) == row["published"]
    assert rtd_resistance(temperature_k) == pytest.approx(row["R_ohm"], abs=6e-5)
    assert rtd_temperature(row["published"]) == pytest.approx(temperature_k, abs=0.015)  # 0.005 ohm
    assert rtd_temperature(10 * row["published"], 1000.0) == pytest.approx(rtd_temperature(row["published"]))


def test_pt100_at_the_end_of_its_standard():
    assert rtd_resistance(850 + ICE_K) == pytest.approx(390.48, abs=0.005)  # IEC 60751, table; from memory


@pytest.mark.parametrize("row", rows("thermocouple_k_its90.csv"), ids=lambda row: f"{row['T_C']:g}C")
def test_type_k_as_printed_in_monograph_175(row):
    temperature_k = row["T_C"] + ICE_K
    assert round(thermocouple_voltage(temperature_k) * 1e3, 3) == row["published_table_mV"]
    assert thermocouple_temperature(row["published_table_mV"] / 1e3, ICE_K) == pytest.approx(temperature_k, abs=0.015)


@pytest.mark.parametrize(("celsius", "millivolts"), [(-200, -5.891), (1372, 54.886)])
def test_type_k_at_the_ends_of_the_inverse_functions(celsius, millivolts):
    """The ranges that NIST prints above its inverse coefficients."""
    assert thermocouple_voltage(celsius + ICE_K) * 1e3 == pytest.approx(millivolts, abs=5e-4)


@pytest.mark.parametrize(("millivolts", "by_the_inverse_c"), [(0.397, 9.9568), (1.0, 24.9836), (4.096, 99.9633)])
def test_the_inverse_polynomial_of_its_90_is_within_its_printed_error(millivolts, by_the_inverse_c):
    """NIST states -0.05 to 0.04 °C from 0 to 500 °C; these are what that polynomial gives, computed."""
    assert thermocouple_temperature(millivolts / 1e3, ICE_K) - ICE_K == pytest.approx(by_the_inverse_c, abs=0.05)


@pytest.mark.parametrize(("ohm", "by_table_c", "by_beta_c"), [
    (32650, 0.0, 0.554), (12500, 19.987, 20.061), (8000, 30.166, 30.108), (3603, 50.0, 49.891),
])  # fmt: skip
def test_thermistor_by_three_rows_and_by_beta(ohm, by_table_c, by_beta_c):
    """Computed by solving the three equations as a linear system, and by the beta equation."""
    assert thermistor_temperature(ohm, TABLE) - ICE_K == pytest.approx(by_table_c, abs=1e-3)
    assert thermistor_temperature(ohm, Beta(3950.0, 10e3)) - ICE_K == pytest.approx(by_beta_c, abs=1e-3)


def test_the_curve_through_three_rows_is_the_solution_of_the_linear_system():
    logs = np.log([32650.0, 10000.0, 3603.0])
    solved = np.linalg.solve(np.stack([np.ones(3), logs, logs**3], 1), 1 / (ICE_K + np.array([0.0, 25.0, 50.0])))
    assert (TABLE.a, TABLE.b, TABLE.c) == pytest.approx(tuple(solved), rel=1e-9)


@pytest.mark.parametrize(
    ("ohms", "kelvins"),
    [((1e3, 1e3, 5e3), (280, 290, 300)), ((1e3, 2e3), (280, 290, 300)), ((1e3, 2e3, 3e3), (280, 290)),
     ((0.5, 1.0, 2.0), (280, 290, 300))],
)  # fmt: skip
def test_rows_that_make_no_curve(ohms, kelvins):
    with pytest.raises(ArgumentError, match="three rows of different resistance"):
        SteinhartHart.through(ohms, kelvins)


def test_rows_that_are_mixed_up_are_told_as_such():
    """The rows of 0 and 50 °C exchanged: more ohms where it is warmer, and less above."""
    mixed_up = SteinhartHart.through((32650.0, 10000.0, 3603.0), (331.15, 298.15, 323.15))
    with pytest.raises(ArgumentError, match="look whether its rows or coefficients are mixed up"):
        thermistor_temperature(6.56e6, mixed_up)


def test_a_thermistor_far_beyond_its_curve():
    with pytest.raises(CalcRangeError, match="an open or shorted probe"):
        thermistor_temperature(1e9, Beta(3950.0, 10e3))


@pytest.mark.parametrize(("milliamps", "value", "state"), [
    (3.5, None, LoopState.FAULT_LOW), (3.6, -12.5, LoopState.UNDER_RANGE), (3.9, -3.125, LoopState.UNDER_RANGE),
    (4.0, 0.0, LoopState.OK), (12.0, 250.0, LoopState.OK), (20.0, 500.0, LoopState.OK),
    (20.5, 515.625, LoopState.OVER_RANGE), (21.0, 531.25, LoopState.OVER_RANGE), (21.1, None, LoopState.FAULT_HIGH),
])  # fmt: skip
def test_loop_with_the_bands_of_ne_43(milliamps, value, state):
    """NAMUR NE 43 as its summaries print it: faults below 3.6 and above 21 mA; values by the straight line."""
    reading = current_loop(milliamps / 1e3, low=0.0, high=500.0)
    assert reading.state is state
    assert reading.value == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(("output_v", "psi"), [(0.5, 0.0), (4.5, 500.0), (0.45, -6.25)])
def test_ratiometric_follows_its_supply(output_v, psi):
    """0.5 to 4.5 V of 5 V, computed: and the same of any supply."""
    assert ratiometric(output_v, 5.0, full_scale_pa=500.0) == pytest.approx(psi, abs=1e-9)
    assert ratiometric(output_v * 0.98, 5.0 * 0.98, full_scale_pa=500.0) == pytest.approx(psi, abs=1e-9)


@pytest.mark.parametrize("output_v", [0.0, 0.24, 4.76, 5.0])
def test_a_broken_ratiometric_wire(output_v):
    with pytest.raises(CalcRangeError, match="broken or shorted wire"):
        ratiometric(output_v, 5.0, full_scale_pa=500.0)


def test_a_ratiometric_output_below_a_perfect_vacuum():
    """0.26 V of 5 V on 500 psi is -30 psig, worked out by the scale; there is no less than -14.7 psig at sea level."""
    with pytest.raises(CalcRangeError, match="below a perfect vacuum"):
        ratiometric(0.26, 5.0, full_scale_pa=500 * 6894.757)
    assert ratiometric(0.45, 5.0, full_scale_pa=500 * 6894.757) == pytest.approx(-6.25 * 6894.757)
    with pytest.raises(CalcRangeError, match=r"output is 0.26 V, outside 0.38.* to 4.75 V: .* perfect vacuum"):
        catalogue.run("ratiometric_pressure", {"output": "0.26V", "supply": "5V", "full_scale": "500psig"})


def test_limits_of_transmitters():
    check_edges(lambda amps: current_loop(amps, low=0.0, high=500.0), "current_a", -0.1, 0.1)
    check_edges(lambda low: current_loop(12e-3, low=low, high=500.0), "low", -1e12, 1e12)
    check_edges(lambda high: current_loop(12e-3, low=0.0, high=high), "high", -1e12, 1e12)
    check_edges(lambda volts: ratiometric(volts / 2, volts, full_scale_pa=1e6), "supply_v", 2.0, 30.0)
    check_edges(lambda pa: ratiometric(2.5, 5.0, full_scale_pa=pa), "full_scale_pa", 1.0, 1e9)
    check_edges(
        lambda site_pa: ratiometric(2.5, 5.0, full_scale_pa=1e6, barometric_pressure_pa=site_pa),
        "barometric_pressure_pa", 0.0, 180e3,
    )  # fmt: skip


def test_a_loop_below_a_perfect_vacuum_is_unknown():
    low = catalogue.run("current_loop_pressure", {"current": "3.7mA", "low": "0psia", "high": "500psia"})
    assert "below a perfect vacuum" in low.as_text()
    assert catalogue.run("current_loop_pressure", {"current": "12mA", "low": "-14.7psig", "high": "500psig"}).values


ICE = CalibrationPoint(Estimate(0.4, 0.03), Estimate(0.0, 0.1))
WARM = CalibrationPoint(Estimate(50.2, 0.03), Estimate(50.0, 0.2))


def test_a_calibration_meets_its_points():
    calibration = two_point(ICE, WARM)
    for point in (ICE, WARM):
        corrected = calibration.correct(Estimate(point.reading.value, 0.0))
        assert corrected.value == pytest.approx(point.reference.value)
        expected = math.hypot(point.reference.standard_uncertainty, calibration.gain * 0.03)
        assert corrected.standard_uncertainty == pytest.approx(expected)


def test_the_uncertainty_of_a_calibration_is_that_of_ten_thousand_trials():
    """JCGM 101: the points and the reading drawn anew each time; spread of the results, within 3 %."""
    draw = np.random.default_rng(7).normal
    low_reading, low, high_reading, high, reading = (
        draw(estimate.value, estimate.standard_uncertainty, 40_000)
        for estimate in (ICE.reading, ICE.reference, WARM.reading, WARM.reference, Estimate(70.0, 0.05))
    )
    trials = low + (reading - low_reading) * (high - low) / (high_reading - low_reading)
    corrected = two_point(ICE, WARM).correct(Estimate(70.0, 0.05))
    assert corrected.value == pytest.approx(trials.mean(), abs=0.01)
    assert corrected.standard_uncertainty == pytest.approx(trials.std(), rel=0.03)


def test_one_reference_in_two_points_errs_alike_in_both():
    """JCGM 101: one error of the reference for both points; JCGM 100, 5.2.2: equal errors do not average out."""
    low = CalibrationPoint(Estimate(0.4, 0.0), Estimate(0.0, 0.1))
    high = CalibrationPoint(Estimate(50.2, 0.0), Estimate(50.0, 0.1))
    error = np.random.default_rng(8).normal(0.0, 0.1, 40_000)
    trials = error + (25.3 - 0.4) * 50.0 / (50.2 - 0.4)
    corrected = two_point(low, high, reference_correlation=1.0).correct(Estimate(25.3, 0.0))
    assert corrected.value == pytest.approx(trials.mean(), abs=0.01)
    assert corrected.standard_uncertainty == pytest.approx(trials.std(), rel=0.03)
    apart = two_point(low, high).correct(Estimate(25.3, 0.0)).standard_uncertainty
    assert apart == pytest.approx(0.1 / math.sqrt(2), rel=1e-3)


def test_by_name_a_references_limit_is_a_rectangle():
    """JCGM 100, 4.3.7: ±0.2 °F is 0.2 / sqrt(3), and of one reference no less between the points; k = 2."""
    points = {"reading": "66 degF", "point_readings": "32 degF, 100 degF", "point_references": "32 degF, 100 degF",
              "reference_accuracy": "0.2degF", "repeatability": "0degF"}  # fmt: skip
    one = fields("two_point_calibration", **points)["expanded_temperature_k"] * 1.8
    assert one == pytest.approx(2 * 0.2 / math.sqrt(3))
    two = fields("two_point_calibration", **points, one_reference="no")["expanded_temperature_k"] * 1.8
    assert two == pytest.approx(one / math.sqrt(2), rel=1e-6)


def test_points_that_are_no_calibration():
    with pytest.raises(ArgumentError, match="two different readings"):
        two_point(ICE, CalibrationPoint(ICE.reading, WARM.reference))
    in_fahrenheit = CalibrationPoint(Estimate(122.0, 0.1), Estimate(50.0, 0.1))
    with pytest.raises(CalcRangeError, match=r"gain is .* check points and units"):
        two_point(ICE, in_fahrenheit)


@given(st.floats(73.15, 1123.15))
def test_there_and_back(temperature_k):
    assert rtd_temperature(rtd_resistance(temperature_k)) == pytest.approx(temperature_k, abs=1e-9)
    for cold_junction_k in (ICE_K, 310.0):
        voltage_v = thermocouple_voltage(temperature_k, cold_junction_k)
        assert thermocouple_temperature(voltage_v, cold_junction_k) == pytest.approx(temperature_k, abs=1e-8)


@given(st.lists(st.floats(75.0, 1120.0), min_size=1, max_size=20))
def test_arrays_give_what_scalars_give(temperatures_k):
    several_k = np.array(temperatures_k)
    for function, values in (
        (rtd_resistance, several_k),
        (rtd_temperature, rtd_resistance(several_k)),
        (thermocouple_voltage, several_k),
        (lambda voltage_v: thermocouple_temperature(voltage_v, 300.0), thermocouple_voltage(several_k, 300.0)),
        (lambda ohm: thermistor_temperature(ohm, TABLE), several_k * 10),
        (lambda ohm: thermistor_temperature(ohm, Beta(3950.0, 10e3)), several_k * 10),
        (lambda volts: ratiometric(volts, 5.0, full_scale_pa=1e6), 0.5 + several_k / 500),
    ):
        one_by_one = [function(value) for value in values.tolist()]
        np.testing.assert_allclose(function(values), one_by_one, rtol=1e-12)


@fuzz
@given(st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third):
    for function in (
        lambda: rtd_resistance(first, second),
        lambda: rtd_temperature(first, second),
        lambda: thermocouple_voltage(first, second),
        lambda: thermocouple_temperature(first, second),
        lambda: thermistor_temperature(first, TABLE),
        lambda: thermistor_temperature(first, Beta(second, third)),
        lambda: thermistor_temperature(1e4, SteinhartHart.through((first, second, third), (280.0, 290.0, 300.0))),
        lambda: thermistor_temperature(1e4, SteinhartHart.through((1e3, 1e4, 1e5), (first, second, third))),
        lambda: current_loop(first, low=second, high=third).value or 0.0,
        lambda: ratiometric(first, second, full_scale_pa=third),
        lambda: two_point(
            CalibrationPoint(Estimate(first, 0.1), Estimate(second, 0.1)),
            CalibrationPoint(Estimate(third, 0.1), Estimate(1.0, 0.1)),
        ).correct(Estimate(3.0, 0.1)).value,
    ):  # fmt: skip
        try:
            answer = function()
        except CalcError:
            continue
        assert math.isfinite(answer)


def fields(name: str, **arguments: str) -> dict:
    return json.loads(catalogue.run(name, arguments).as_json())


@pytest.mark.parametrize("current", ["3mA", "22mA"])
def test_by_name_a_loop_in_fault_is_unknown_with_the_reason(current):
    result = fields("current_loop_temperature", current=current, low="0degC", high="100degC")
    assert result["temperature_k"] is None
    assert "the transmitter reports its own fault" in result["temperature_k_reason"]


def test_by_name_a_loop_below_absolute_zero_is_unknown_with_the_reason():
    """3.8 mA is 0.2/16 of the scale below its foot: -273 °C - 0.0125 x 373 K."""
    result = fields("current_loop_temperature", current="3.8mA", low="-273degC", high="100degC")
    assert (result["temperature_k"], result["state"]) == (None, "under range")
    assert result["temperature_k_reason"] == "it would be below absolute zero: look at the scale"


def test_by_name_pressures_of_transmitters_count_from_the_air():
    site = {"barometric_pressure": "83 kPa"}
    loop = fields("current_loop_pressure", current="12mA", low="0psig", high="500psig", **site)
    bridge = fields("ratiometric_pressure", output="2.5V", supply="5V", full_scale="500psi", **site)
    for result in (loop, bridge):
        assert result["pressure_pa"] == pytest.approx(83e3 + 250 * 6894.757, abs=1)


def test_by_name_a_calibration_needs_two_points():
    with pytest.raises(ArgumentError, match="two readings and two references"):
        fields(
            "two_point_calibration",
            reading="50degF",
            point_readings="32 degF",
            point_references="32 degF, 100 degF",
            reference_accuracy="0.2degF",
            repeatability="0.1degF",
        )
