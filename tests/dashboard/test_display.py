"""What a person reads: units, signs, ± and words, against published conversions."""

import math
import re
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.units import System
from dashboard import display, words
from dashboard.asks import mass_kg
from dashboard.binning import Binned
from dashboard.charge.layout.amounts import with_unit
from dashboard.errors import AskError
from ingest.supervise import LinkState
from ingest.visit.checklist import guided
from ingest.wire.messages import (
    QUALITIES,
    CheckAsk,
    DoubtMessage,
    Forecast,
    Pack,
    Reading,
    Steadiness,
    VerificationMessage,
    Waiting,
)
from tests import wire_rig
from tests.wire_rig import said

TIME_S = 1.7e9


def shown(name: str, value: float, system: System, uncertainty: float | None = None) -> list[Any]:
    pack = Pack("bench", 1, 1, 0, 1.0, TIME_S, {name: Reading(value, TIME_S - 0.4, "ok", "", uncertainty)})
    return display.frame(pack, wire_rig.about(started_s=TIME_S), system)["values"][name]


@pytest.mark.parametrize(
    ("name", "value", "us", "si"),
    [
        # NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 kPa; gauge at the standard atmosphere, 101.325 kPa.
        ("suction_pressure", 915_000.0, 118.0, 814.0),
        ("suction_line_temperature", 277.594, 40.0, 4.4),  # NIST SP 811, B.8: t/°C = (t/°F - 32)/1.8
        ("superheat", 10.0, 18.0, 10.0),  # a difference: 1 K = 1.8 °F, no 32
        ("compressor_current", 7.62, 7.6, 7.6),
        ("line_voltage_ab", 236.4, 236.0, 236.0),
        ("compressor_load_ratio", 0.6333, 0.63, 0.63),
    ],
)
def test_values_in_both_systems(name: str, value: float, us: float, si: float) -> None:
    assert shown(name, value, "us")[0] == us
    assert shown(name, value, "si")[0] == si


@pytest.mark.parametrize("kilograms", [0.1, 13.94343])
def test_a_scale_has_one_unit_for_value_margin_and_column(kilograms: float) -> None:
    """0.5 oz is 0.031 25 lb, by definition (NIST SP 811, B.8: 1 lb = 0.453 592 37 kg)."""
    known = display.about(wire_rig.about(started_s=TIME_S), "us")["quantities"]["cylinder_mass"]
    value, margin, *_ = shown("cylinder_mass", kilograms, "us", 0.5 * 0.45359237 / 16 / 2)
    assert (known["unit"], value, margin) == ("lb", round(kilograms / 0.45359237, 2), 0.031)
    column = np.array([kilograms, math.nan])
    binned = Binned(np.array([TIME_S, TIME_S]), {"cylinder_mass": column}, {"cylinder_mass": column})
    past = display.history(binned, wire_rig.about(started_s=TIME_S), newest_s=TIME_S, system="us")
    assert past["values"]["cylinder_mass"]["low"] == [round(kilograms / 0.45359237, 3), None]


def test_plus_minus_is_twice_the_standard_uncertainty() -> None:
    """The expanded uncertainty with k = 2: JCGM 100:2008 (GUM), 6.2 and 6.3."""
    assert shown("superheat", 10.0, "si", 0.25)[1] == 0.5
    assert shown("superheat", 10.0, "us", 0.25)[1] == 0.9
    assert shown("superheat", 10.0, "us")[1] is None


def test_unknown_stays_unknown_with_its_reason() -> None:
    pack = wire_rig.pack(1, {"superheat": None}, time_s=TIME_S)
    value, _, _, quality, reason = display.frame(pack, None, "us")["values"]["superheat"]
    assert value is None
    assert (quality, reason) == ("sensor_fault", "no sensor")


def test_before_the_rig_has_told_its_barometric_pressure_a_pressure_is_absolute() -> None:
    pack = wire_rig.pack(1, {"suction_pressure": 101_325.0}, time_s=TIME_S)
    assert display.frame(pack, None, "us")["values"]["suction_pressure"][0] == 14.7  # NIST SP 811: 1 atm


def test_about_names_units_targets_and_instruments() -> None:
    about = display.about(wire_rig.about(started_s=TIME_S, lost=["air probe"]), "us")
    assert about["facts"] == "R-410A · A1 · TXV"
    second = display.about(wire_rig.about(started_s=1.7e9, unit=wire_rig.unit(circuit="2")), "us")
    assert (about["circuit"], second["circuit"]) == ("", "Circuit 2")
    assert about["quantities"]["suction_pressure"]["unit"] == "psig"
    assert about["quantities"]["superheat"]["unit"] == "°F"
    # California Title 24, RA3.2 (2008/2013 text), for the installer: subcooling within ± 3 °F of the nameplate.
    assert about["limits"]["targets"]["subcooling"] == {"value": 10.0, "low": 7.0, "high": 13.0}
    assert "superheat" not in about["limits"]["targets"]
    states = {instrument["name"]: instrument["connected"] for instrument in about["instruments"]}
    assert states == {"low side probe": True, "high side probe": True, "clamp meter": True, "air probe": False}


def test_a_forecast_ends_in_a_number_with_its_interval_and_a_time() -> None:
    steadiness = Steadiness("settling", forecast=Forecast(5.0, 0.25, 225.0))
    advice = wire_rig.advice(time_s=TIME_S)
    pack = wire_rig.pack(1, {"subcooling": 2.0}, time_s=TIME_S)
    known = display.advice(type(advice)(TIME_S, advice.sentence, [], [], {"subcooling": steadiness}), pack, "us")
    forecast = known["steadiness"]["subcooling"]["forecast"]
    assert (forecast["end"], forecast["ahead"]) == ("9.0 ± 0.5 °F", "in 4 min")
    first, last = forecast["cone"][0], forecast["cone"][-1]
    assert first == [0.0, 3.6, 3.6, 3.6]  # it starts where the figure is now: 2.0 K
    assert last == [225.0, 8.55, 9.0, 9.45]
    middles = [middle for _, _, middle, _ in forecast["cone"]]
    assert middles == sorted(middles)


@pytest.mark.parametrize(("text", "kilograms"), [("6 oz", 0.17009714), ("170,5 g", 0.1705), ("1.5 lb", 0.68038856),
                                                  ("7 lb 4 oz", 3.2885447), ("7lb 4oz", 3.2885447)])  # fmt: skip
def test_amounts_as_people_write_them(text: str, kilograms: float) -> None:
    assert mass_kg(text) == pytest.approx(kilograms, rel=1e-7)


def test_a_number_that_stands_alone_has_the_unit_of_the_page_and_any_other_its_own() -> None:
    """NIST SP 811, B.8: 1 oz = 2.834 952 E-02 kg."""
    written: list[tuple[System, str, float]] = [
        ("us", "6", 0.17009714), ("us", "6 oz", 0.17009714), ("us", "170 g", 0.170), ("si", "170", 0.170),
        ("si", "1.2 kg", 1.2), ("si", "6 oz", 0.17009714),
    ]  # fmt: skip
    for units, text, kilograms in written:
        assert mass_kg(with_unit(text, units)) == pytest.approx(kilograms, rel=1e-7), (units, text)


@pytest.mark.parametrize("text", ["", " oz", "six oz", "0 oz", "-2 oz", "6 psi", "1e999 oz", "1,200 g", "7 lb 4"])
def test_no_amount_is_guessed(text: str) -> None:
    with pytest.raises(AskError) as refused:
        mass_kg(text)
    assert refused.value.status == 400


def test_every_quality_and_state_has_words() -> None:
    assert set(words.QUALITIES) == set(QUALITIES)
    assert set(words.LINK_STATES) == {state.value for state in LinkState}


WAYS = said("One is above the other."), said("Exchange them.")


def test_a_doubt_is_told_in_full_once_and_pointed_to_elsewhere() -> None:
    doubt = DoubtMessage(
        ("suction_pressure", "liquid_pressure"), said("One is above the other."), said("Exchange them."), 0.95, ""
    )
    weaker = DoubtMessage(("liquid_pressure",), said("It may be."), said("Look."), 0.5, "")
    given = msgspec.structs.replace(wire_rig.advice(time_s=1.0), doubts=[doubt, weaker])
    assert display.advice(given, None, "us")["doubts"] == {
        "suction_pressure": "In doubt. One is above the other. Exchange them.",
        "liquid_pressure": "In doubt: see Suction pressure.",
        **dict.fromkeys(
            ("condensing_over_ambient", "liquid_bubble_point", "subcooling", "suction_dew_point", "superheat"),
            "In doubt, as what it comes from.",
        ),
    }


def test_a_check_is_worded_in_either_system() -> None:
    """0.6 psi is 4.137 kPa (NIST SP 811, B.8)."""
    found = wire_rig.correctable(CheckAsk("c1", "Sam", check="open_to_air", channel="suction_pressure"))
    us, si = (words.check_found(found, system)[0].replace("\u00a0", " ") for system in ("us", "si"))
    assert us == "Suction pressure reads 0.60 psi higher than it should, ± 0.20 psi."
    assert si == "Suction pressure reads 4.1 kPa higher than it should, ± 1.4 kPa."
    far = msgspec.structs.replace(found, offset=813_581.0)  # 118 psi
    assert "reads 118.00\u00a0psi higher" in words.check_found(far, "us")[0]
    assert "reads 813.6\u00a0kPa higher" in words.check_found(far, "si")[0]
    unsure = msgspec.structs.replace(found, offset=-1.0, verdict="cannot_tell", corrected_standard_uncertainty=None)
    assert "lower than it should" in words.check_found(unsure, "us")[0]
    assert words.check_found(unsure, "us")[1:] == [
        "This check cannot tell whether that is within its maker's limit.",
        "It stays as it is: taking this off would not make it surer.",
    ]


@given(st.floats(1.0, 3e6), st.floats(10.0, 1e5))
def test_the_margin_that_is_shown_holds_what_a_check_found(offset_pa: float, uncertainty_pa: float) -> None:
    found = wire_rig.correctable(CheckAsk("c1", "Sam", check="open_to_air", channel="suction_pressure"))
    found = msgspec.structs.replace(found, offset=offset_pa, offset_standard_uncertainty=uncertainty_pa)
    reads = words.check_found(found, "us")[0].replace("\u00a0", " ")
    match = re.fullmatch(r"Suction pressure reads ([\d.]+) psi higher than it should, ± ([\d.]+) psi\.", reads)
    assert match, reads
    shown, margin = map(float, match.groups())
    assert margin == pytest.approx(2 * uncertainty_pa / 6894.757, rel=0.051)  # NIST SP 811, B.8
    assert abs(shown - offset_pa / 6894.757) <= 0.051 * margin


@pytest.mark.parametrize(("value_dk", "end"), [(-0.02, "0.0 ± 0.5 °F"), (-2.0, "−3.6 ± 0.5 °F")])
def test_a_forecast_below_zero_has_a_minus_of_its_own_and_zero_none(value_dk: float, end: str) -> None:
    given = msgspec.structs.replace(
        wire_rig.advice(time_s=0.0),
        steadiness={"superheat": Steadiness("settling", forecast=Forecast(value_dk, 0.25, 9.0))},
    )
    assert display.advice(given, None, "us")["steadiness"]["superheat"]["forecast"]["end"] == end


def test_the_target_of_a_fixed_orifice_moves_with_the_air_and_is_told_with_the_advice() -> None:
    """California Title 24, RA3.2: 17 °F at 66 °F wet bulb and 85 °F outdoors; ± 5 °F of it for the installer."""
    verified = VerificationMessage("superheat", "too little", 0.9, 4.0, 1.0, [], said(""), target_dk=17.0 / 1.8)
    given = msgspec.structs.replace(wire_rig.advice(time_s=TIME_S), verification=verified)
    assert display.advice(given, None, "us")["targets"] == {"superheat": {"value": 17.0, "low": 12.0, "high": 22.0}}
    assert display.advice(wire_rig.advice(time_s=TIME_S), None, "us")["targets"] == {}


def test_the_millivolts_over_a_lug_reach_the_page() -> None:
    """15.2 A through 0.05 ohm are 0.76 V (Ohm), which whole volts would show as 1, and 0.004 V of a sound lug as 0."""
    assert shown("multimeter_ac_voltage", 0.004, "us")[0] == 0.004
    assert shown("line_voltage_ab", 237.96, "us")[0] == 238.0


@pytest.mark.parametrize("word", guided())
def test_a_check_has_one_name_wherever_it_is_told(word: str) -> None:
    assert words.check(word) == guided()[word].check.title
    assert not {it for it in words._TITLES if it not in guided()}


@pytest.mark.parametrize(("reason", "text", "says"), [("owner", "", "the owner"), ("other", "A van.", "A van.")])
def test_what_a_visit_waits_for_is_told_in_words(reason: Any, text: str, says: str) -> None:
    assert words.mark(Waiting("m1", 1.7e9, reason=reason, text=text), "us") == f"Waits: {says}"
