"""Megohms brought to 40 °C, against guides and makers in print, and held against their limits."""

import json
import math
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.motor import Insulation, Winding, insulation_at_40_degc, insulation_verdict
from tests.edges import check_edges
from tests.fuzzing import fuzz

BY_NAME = {"resistance": "200 Mohm", "winding_temperature": "25 degC", "insulation": "thermoplastic",
           "resistance_accuracy": "10 Mohm"}  # fmt: skip


def at_40(mohm, degc, insulation=Insulation.THERMOPLASTIC, u_mohm=0.0, u_k=0.0) -> Estimate:
    found = insulation_at_40_degc(
        mohm * 1e6,
        degc + 273.15,
        insulation=insulation,
        resistance_standard_uncertainty_ohm=u_mohm * 1e6,
        temperature_standard_uncertainty_k=u_k,
    )
    return Estimate(found.value / 1e6, found.standard_uncertainty / 1e6)


@pytest.mark.parametrize(
    ("mohm", "degc", "corrected_mohm", "relative"),
    [
        (500, 25, 177, 2e-3),  # a motor tester's guide: a factor of 0.354
        (3, 70, 21, 0.15),  # an electrician's article, its factor of 7 read off the graph of IEEE 43
        (100, 40, 100, 1e-12),
        (100, 50, 200, 1e-12),  # "halves for every 10 °C": IEEE 43, as test guides quote it
        (100, 30, 50, 1e-12),
        (100, 0, 6.25, 1e-12),
        (1, 100, 64, 1e-12),
    ],
)
def test_thermoplastic_insulation_halves_with_every_10_k(mohm, degc, corrected_mohm, relative):
    assert at_40(mohm, degc).value == pytest.approx(corrected_mohm, rel=relative)


@pytest.mark.parametrize(
    ("degc", "b_k"), [(10, 1245), (25, 1245), (39.9, 1245), (40, 0), (40.1, 4230), (60, 4230), (85, 4230)]
)
def test_thermosetting_insulation_follows_its_exponentials(degc, b_k):
    """IEEE 43-2013 (from memory): exp(-4230 (1/T - 1/313)) from 40 °C on, exp(-1245 (1/T - 1/313)) below."""
    factor = math.exp(-b_k * (1 / (degc + 273.15) - 1 / 313.15))
    assert at_40(1, degc, Insulation.THERMOSETTING).value == pytest.approx(factor, rel=1e-9)


def test_at_40_degc_itself_the_steeper_one_counts():
    assert at_40(1, 40, Insulation.THERMOSETTING, 0, 1).standard_uncertainty == pytest.approx(4230 / 313.15**2)


@pytest.mark.parametrize("insulation", Insulation)
@pytest.mark.parametrize("degc", [20, 70])
def test_both_instruments_count_as_in_forty_thousand_trials(insulation, degc):
    """JCGM 101: resistance and temperature drawn anew each time; the spread of what comes out, within 3 %."""
    draw = np.random.default_rng(5).normal
    trials = [
        at_40(*pair, insulation).value for pair in zip(draw(100, 3, 40_000), draw(degc, 0.5, 40_000), strict=True)
    ]
    assert at_40(100, degc, insulation, 3, 0.5).standard_uncertainty == pytest.approx(np.std(trials), rel=0.03)


@pytest.mark.parametrize(
    ("winding", "volts", "least_mohm"),
    [
        (Winding.RANDOM_WOUND, 230, 5),  # IEEE 43, as a test guide quotes it: below 1 kV
        (Winding.FORM_WOUND, 4160, 100),  # the same: made after about 1970
        (Winding.BEFORE_1970, 4160, 5.16),  # the same, and a calculator's worked example: 4.16 + 1
        (Winding.BEFORE_1970, 1000, 2),
        (Winding.HERMETIC, 230, 1),  # a rule of thumb, from memory
    ],
)
def test_the_least_of_a_winding(winding, volts, least_mohm):
    def verdict(mohm):
        return insulation_verdict(Estimate(mohm * 1e6, 0.0), winding, rated_voltage_v=volts)

    assert verdict(1).least_ohm / 1e6 == pytest.approx(least_mohm)
    assert verdict(1.01 * least_mohm).outcome == "met"
    assert verdict(0.99 * least_mohm).outcome == "not met"


def test_the_maker_wins_and_what_is_too_near_cannot_be_told():
    """A compressor maker's handbook: less than 2 Mohm from any pin to the housing is a ground fault."""
    for winding in Winding:
        verdict = insulation_verdict(Estimate(1.9e6, 0.2e6), winding, rated_voltage_v=230.0, maker_ohm=2e6)
        assert (verdict.outcome, verdict.least_ohm, verdict.source) == ("cannot tell", 2e6, "the maker")


@pytest.mark.parametrize(
    ("degc", "insulation"),
    [(-1, Insulation.THERMOPLASTIC), (101, Insulation.THERMOPLASTIC), (9, Insulation.THERMOSETTING),
     (86, Insulation.THERMOSETTING)],
)  # fmt: skip
def test_beyond_its_range_the_rule_says_nothing(degc, insulation):
    with pytest.raises(CalcRangeError, match=f"winding_temperature_k .*the rule for {insulation} insulation"):
        at_40(100, degc, insulation)


def test_limits():
    def at(ohm=1e6, u_ohm=0.0, u_k=0.0):
        return insulation_at_40_degc(
            ohm, 300.0, insulation=Insulation.THERMOPLASTIC, resistance_standard_uncertainty_ohm=u_ohm,
            temperature_standard_uncertainty_k=u_k,
        )  # fmt: skip

    check_edges(lambda value: at(ohm=value), "resistance_ohm", 0.0, 1e12)
    check_edges(lambda value: at(u_ohm=value), "resistance_standard_uncertainty_ohm", 0.0, 1e12)
    check_edges(lambda value: at(u_k=value), "temperature_standard_uncertainty_k", 0.0, 15.0)


def test_limits_of_a_verdict():
    def at(volts=230.0, maker_ohm=None):
        return insulation_verdict(Estimate(1e6, 0.0), Winding.HERMETIC, rated_voltage_v=volts, maker_ohm=maker_ohm)

    check_edges(lambda value: at(volts=value), "rated_voltage_v", 1.0, 1e5)
    check_edges(lambda value: at(maker_ohm=value), "maker_ohm", 1.0, 1e12)


def test_by_name_with_its_class_and_cautions():
    found = json.loads(catalogue.run("insulation_at_40_degc", BY_NAME).as_json())
    assert found["corrected_to_40_degc_ohm"] == pytest.approx(200e6 / 2**1.5)
    assert found["expanded_ohm"] == pytest.approx(math.hypot(10, 200 * math.log(2) / 10 * 5) / 2**1.5 * 1e6)
    assert found["insulation"] == "thermoplastic"
    assert "in a vacuum" in found["caution"]
    verdict = json.loads(
        catalogue.run("insulation_verdict", BY_NAME | {"winding": "hermetic", "rated_voltage": "230 V"}).as_json()
    )
    assert (verdict["outcome"], verdict["least_ohm"], "from memory" in verdict["says"]) == ("met", 1e6, True)
    assert verdict["corrected_to_40_degc_ohm"] == found["corrected_to_40_degc_ohm"]
    maker = BY_NAME | {"winding": "hermetic", "rated_voltage": "230 V", "maker": "100 Mohm"}
    assert catalogue.run("insulation_verdict", maker).values["outcome"] == "not met"


@fuzz
@given(st.floats(), st.floats(), st.sampled_from(Insulation), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(ohm, kelvin, insulation, u_ohm, u_k):
    with suppress(CalcError):
        found = insulation_at_40_degc(
            ohm, kelvin, insulation=insulation,
            resistance_standard_uncertainty_ohm=u_ohm, temperature_standard_uncertainty_k=u_k,
        )  # fmt: skip
        assert insulation_verdict(found, Winding.HERMETIC, rated_voltage_v=ohm).outcome


def verdict_of(**changed):
    asked = {"resistance": "200Mohm", "winding_temperature": "25degC", "insulation": "thermosetting",
             "resistance_accuracy": "1Mohm", "winding": "random_wound", "rated_voltage": "230V"}  # fmt: skip
    return catalogue.run("insulation_verdict", asked | changed).values


@pytest.mark.parametrize("degc", ["-30degC", "5degC", "25degC", "84degC", "120degC"])
@pytest.mark.parametrize("winding", Winding)
def test_a_grounded_winding_is_one_at_any_temperature(degc, winding):
    """Common practice, no source: 500 ohm to the case are a ground fault, hot or cold."""
    grounded = {"resistance": "500ohm", "resistance_accuracy": "50ohm", "winding": winding}
    for insulation in Insulation:
        assert verdict_of(**grounded, winding_temperature=degc, insulation=insulation)["outcome"] == "not met"


def test_what_is_not_grounded_is_still_refused_beyond_the_rule():
    with pytest.raises(CalcRangeError, match="winding_temperature"):
        verdict_of(winding_temperature="120degC")


def test_the_rule_of_thumb_is_judged_as_read_and_a_large_correction_is_warned_of():
    """A hot hermetic winding of 0.2 Mohm is bad, though the rule of 2 for each 10 K makes 5.4 Mohm of it at 87.5 °C."""
    hot = {"resistance": "0.2Mohm", "resistance_accuracy": "0.01Mohm", "winding_temperature": "87.5degC",
           "insulation": "thermoplastic", "winding": "hermetic"}  # fmt: skip
    found = verdict_of(**hot)
    assert found["outcome"] == "not met"
    assert found["judged"].startswith("as read")
    assert found["corrected_to_40_degc_ohm"].value == pytest.approx(0.2e6 * 2**4.75)
    assert found["warning"].startswith("the rule makes 27 times")
    assert "judged" not in verdict_of(**hot, maker="2Mohm")
    assert "warning" not in verdict_of()


def test_above_range_is_met_by_an_insulation_tester():
    """100 Mohm at least: common practice, no source."""
    for winding in ("hermetic", "random_wound"):
        found = verdict_of(resistance="OL", winding=winding)
        assert (found["outcome"], "multimeter tells nothing" in found["above_range"]) == ("met", True)
        assert isinstance(found["corrected_to_40_degc_ohm"], Unknown)
    assert verdict_of(resistance="OL", maker="2000Mohm")["outcome"] == "cannot tell"
