"""Run capacitors against worked examples in print and the label's limits."""

import itertools
import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.motor import (
    CapacitorVerdict,
    Condition,
    capacitance_under_load,
    capacitor_verdict,
    discharge_time_s,
    dual_capacitor_condition,
    stored_energy_j,
)
from tests.calc.motor.taking import takes_and_refuses
from tests.fuzzing import fuzz


def under_load(current_a, voltage_v, frequency_hz=60.0, current_u_a=0.0, voltage_u_v=0.0) -> Estimate:
    return capacitance_under_load(
        current_a,
        voltage_v,
        frequency_hz=frequency_hz,
        current_standard_uncertainty_a=current_u_a,
        voltage_standard_uncertainty_v=voltage_u_v,
    )


def energy(capacitance_f, voltage_v):
    return stored_energy_j(capacitance_f, voltage_v)


def discharge(capacitance_f, resistance_ohm, from_v, to_v):
    return discharge_time_s(capacitance_f, resistance_ohm, from_v=from_v, to_v=to_v)


def verdict(label_f, tolerance_ratio):
    return capacitor_verdict(Estimate(40e-6, 0.0), label_f, tolerance_ratio=tolerance_ratio)


@pytest.mark.parametrize(("function", "taken", "refused"), [
    (
        under_load,
        [(0.0, 240.0), (1000.0, 2000.0), (1.0, 1.0), (1.0, 240.0, 45.0), (1.0, 240.0, 65.0), (1, 240, 60, 1e3, 2e3)],
        [(-0.5, 240.0), (1000.5, 2000.0), (1.0, 0.5), (1.0, 2000.5), (1.0, 240.0, 44.5), (1.0, 240.0, 65.5),
         (1, 240, 60, -0.5), (1, 240, 60, 1000.5), (1, 240, 60, 0.0, -0.5), (1, 240, 60, 0.0, 2000.5),
         (5.0, 1.0)],  # 13 mF: no motor has that
    ),
    (verdict, [(0.1, 0.06), (1e-6, 0.5)], [(0.0, 0.06), (0.2, 0.06), (1e-6, 0.0), (1e-6, -0.5), (1e-6, 0.6)]),
    (energy, [(0.0, 0.0), (0.1, 2000.0), (1e-5, 0.5)], [(-0.5, 9.0), (0.2, 9.0), (1e-5, -0.5), (1e-5, 2000.5)]),
    (
        discharge,
        [(1e-5, 1.0, 0.0, 1.0), (1e-5, 1.0, 0.5, 1.0), (0.1, 1e9, 2000.0, 1.5), (1e-5, 2e4, 523.0, 2000.0)],
        [(-0.5, 1e4, 9.0, 1.0), (0.2, 1e4, 9.0, 1.0), (1e-5, 0.7, 0.5, 1.0), (1e-5, 1e9 + 0.5, 9.0, 1.0),
         (1e-5, 1e4, -0.5, 1.0), (1e-5, 1e4, 2000.5, 1.0), (1e-5, 1e4, 9.0, 0.5), (1e-5, 1e4, 9.0, 2000.5)],
    ),
])  # fmt: skip
def test_what_their_docstrings_allow_is_taken_and_nothing_else(function, taken, refused):
    takes_and_refuses(function, taken, refused)


@pytest.mark.parametrize(("amps", "volts", "hertz", "printed_uf", "within_uf", "source"), [
    (1.1, 383, 60, 7.61, 0.01, "a contractor's worked example, constant rounded to 2652"),
    (8.3, 240, 60, 91.7, 0.1, "a trade calculator's worked example, constant rounded to 2652"),
    (8.3, 295.4, 60, 74.5, 0.1, "a trade school's worked example, likewise"),
    (4.6, 345, 60, 35.368, 0.001, "computed"),
    (2.0, 400, 50, 15.915, 0.001, "computed at 50 Hz"),
    (0.0, 370, 60, 0.0, 0.0, "an open capacitor carries nothing"),
])  # fmt: skip
def test_capacitance_under_load(amps, volts, hertz, printed_uf, within_uf, source):
    assert under_load(amps, volts, hertz).value * 1e6 == pytest.approx(printed_uf, abs=within_uf), source


def test_both_instruments_count_as_in_forty_thousand_trials():
    """JCGM 101: current and voltage drawn anew each time; the spread of the quotient, within 3 %."""
    draw = np.random.default_rng(11).normal
    trials = draw(4.6, 0.05, 40_000) / (2 * math.pi * 60 * draw(345, 2.5, 40_000))
    measured = under_load(4.6, 345.0, 60.0, 0.05, 2.5)
    assert measured.standard_uncertainty == pytest.approx(trials.std(), rel=0.03)


def test_an_open_capacitor_is_known_no_better_than_the_ammeter():
    assert under_load(0.0, 370.0, 60.0, 0.05, 2.5).expanded() * 1e6 == pytest.approx(2 * 2652.58 * 0.05 / 370, rel=1e-4)


@pytest.mark.parametrize(("measured_uf", "label_uf", "tolerance", "condition"), [
    (7.618, 7.5, 0.06, Condition.SOUND), (35.368, 35, 0.06, Condition.SOUND), (15.915, 16, 0.05, Condition.SOUND),
    (7.02, 7.5, 0.06, Condition.FAILED), (0.0, 5, 0.06, Condition.FAILED), (5.4, 5, 0.06, Condition.FAILED),
])  # fmt: skip
def test_verdict_by_the_label(measured_uf, label_uf, tolerance, condition):
    """7.02 of 7.5 µF: 7.05 to 7.95 in print; the others computed."""
    verdict = capacitor_verdict(Estimate(measured_uf * 1e-6, 0.0), label_uf * 1e-6, tolerance_ratio=tolerance)
    assert verdict.condition is condition
    assert ("below" in verdict.reason) == (measured_uf < label_uf and condition is Condition.FAILED)


def test_no_verdict_that_the_instruments_cannot_support():
    verdict = capacitor_verdict(Estimate(7.1e-6, 0.15e-6), 7.5e-6)
    assert verdict.condition is Condition.UNDECIDED
    assert verdict.reason == "it reads 7.10 µF ± 0.30: too near an end of 7.05 to 7.95 µF to tell"
    assert verdict.probability_within == pytest.approx(0.5 + math.erf((7.1 - 7.05) / 0.15 / math.sqrt(2)) / 2, abs=1e-3)


def test_eyes_overrule_the_meter():
    sound_reading = Estimate(45e-6, 0.0)
    assert capacitor_verdict(sound_reading, 45e-6).condition is Condition.SOUND
    verdict = capacitor_verdict(sound_reading, 45e-6, bulged_or_leaking=True)
    assert verdict.condition is Condition.FAILED
    assert verdict.probability_within == 1


def test_a_can_is_as_bad_as_its_worst_section():
    for pair in itertools.product(Condition, repeat=2):
        verdicts = [CapacitorVerdict(condition, "", 0.5) for condition in pair]
        expected = next(c for c in (Condition.FAILED, Condition.UNDECIDED, Condition.SOUND) if c in pair)
        assert dual_capacitor_condition(*verdicts) is expected


@pytest.mark.parametrize(("uf", "ohm", "joule", "seconds"), [
    (45, 20e3, 6.16, 2.113), (5, 20e3, 0.684, 0.235), (45, 1e6, 6.16, 105.66),
])  # fmt: skip
def test_energy_and_discharge(uf, ohm, joule, seconds):
    """Computed by hand at the peak of 370 V: ½CV², RC ln(V/50)."""
    assert stored_energy_j(uf * 1e-6, 523.3) == pytest.approx(joule, abs=0.005)
    assert discharge_time_s(uf * 1e-6, ohm, from_v=523.3) == pytest.approx(seconds, rel=1e-3)


def test_by_name_the_peak_is_asked_for_and_the_end_voltage_may_be_said():
    """RC ln(523.3 / 30), worked out: 0.9 s x 2.859."""
    arguments = {"capacitance": "45 MFD", "resistance": "20k", "peak_voltage": "523.3 V"}
    assert "the peak, 1.414 times the RMS volts" in catalogue.describe("discharge_time")
    assert "460.6" not in catalogue.describe("discharge_time")
    found = json.loads(catalogue.run("discharge_time", {**arguments, "end_voltage": "30V"}).as_json())
    assert found["time_s"] == pytest.approx(2.573, abs=1e-3)
    assert found["end_v"] == 30
    once = catalogue.run("stored_energy", {"capacitance": "45uF", "voltage": "523.3V"}).values
    assert (once["energy_j"], once["peak_voltage_v"]) == (pytest.approx(6.16, abs=0.005), 523.3)
    with pytest.raises(ArgumentError, match="one argument"):
        catalogue.run("stored_energy", {"capacitance": "45uF", "voltage": "523V", "peak_voltage": "523V"})


@pytest.mark.parametrize(("resistance", "within"), [("560k", True), ("570k", False)])
def test_a_minute_to_fifty_volts(resistance, within):
    """Common practice, no source: 45 µF x ln(523.3 / 50) is 105.7 s a megohm, worked out."""
    arguments = {"capacitance": "45uF", "resistance": resistance, "peak_voltage": "523.3V"}
    assert catalogue.run("discharge_time", arguments).values["within_a_minute"] is within


def test_a_screwdriver_with_a_number_is_refused():
    """More than 1 A at first: common practice, no source. 20 kohm, 2 W stands in a maker's manual."""
    arguments = {"capacitance": "45uF", "peak_voltage": "523V"}
    with pytest.raises(CalcRangeError, match=r"resistance is 5 Ω, outside 523 to .* as through a screwdriver") as told:
        catalogue.run("discharge_time", arguments | {"resistance": "5ohm"})
    assert "20 kohm, 2 W" in str(told.value)
    with pytest.raises(CalcRangeError):
        discharge_time_s(45e-6, 522.9, from_v=523.0)
    assert discharge_time_s(45e-6, 523.0, from_v=523.0) == pytest.approx(0.05525, abs=1e-4)  # R C ln(523 / 50)


def test_the_peak_current_and_the_energy_of_a_discharge_are_told():
    """Ohm's law: 523 V on 20 kohm is 26 mA; C V² / 2 is 6.15 J."""
    arguments = {"capacitance": "45uF", "peak_voltage": "523V"}
    usual = catalogue.run("discharge_time", arguments | {"resistance": "20kohm"}).values
    assert usual["peak_a"] == pytest.approx(0.02615)
    assert usual["into_the_resistor_j"] == pytest.approx(6.154, abs=1e-3)
    assert "warning" not in usual
    assert "warning" not in catalogue.run("discharge_time", arguments | {"resistance": "5.23kohm"}).values
    strong = catalogue.run("discharge_time", arguments | {"resistance": "5.2kohm"}).values
    assert "made for such a pulse" in strong["warning"]


def test_no_capacitor_of_a_motor_is_that_large():
    with pytest.raises(CalcRangeError, match="no capacitor of a motor"):
        under_load(900.0, 1.0)


def test_what_is_discharged_takes_no_time():
    assert discharge_time_s(45e-6, 20e3, from_v=40.0) == 0


@fuzz
@given(st.floats(), st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third, fourth, fifth):
    for function in (
        lambda: under_load(first, second, third, fourth, fifth).standard_uncertainty,
        lambda: capacitor_verdict(Estimate(first, second), third, tolerance_ratio=fourth).probability_within,
        lambda: stored_energy_j(first, second),
        lambda: discharge_time_s(first, second, from_v=third, to_v=fourth),
    ):
        try:
            answer = function()
        except CalcError:
            continue
        assert math.isfinite(answer)


@given(st.floats(0, 1e-4), st.floats(0, 1e-5), st.floats(1e-6, 1e-4))
def test_sound_and_failed_are_never_both_likely(measured_f, uncertainty_f, label_f):
    verdict = capacitor_verdict(Estimate(measured_f, uncertainty_f), label_f)
    if verdict.condition is Condition.SOUND:
        assert verdict.probability_within >= 0.9
    elif verdict.condition is Condition.FAILED:
        assert verdict.probability_within <= 0.1


def run(**arguments: str) -> dict:
    given_arguments = {"bulged_or_leaking": "no", "accuracy": "0.1uF", **arguments}
    return json.loads(catalogue.run("capacitor_verdict", given_arguments).as_json())


def test_by_name_each_section_has_its_verdict():
    result = run(measured="44 uF, 4.2 uF", label="45 uF, 5 uF")
    assert result["condition"] == "failed"
    assert [section.split(":")[0] for section in result["sections"]] == ["sound", "failed"]
    assert "Discharge through a resistor" in result["caution"]


def test_by_name_sections_must_match():
    with pytest.raises(ArgumentError, match="2 and 1 are given"):
        run(measured="44 uF, 4.2 uF", label="45 uF")
