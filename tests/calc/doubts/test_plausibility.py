"""Slips of the hand, each made on a sound set of readings, must be told; illnesses of a unit must not.

The sound set: R-410A at 118 and 345 psig has its dew point at 39.84 °F and its bubble point at 105.65 °F (CoolProp
8.0.0). What an ill unit reads: a maker's manual for ground-source units, in print, in °F (undercharged: subcooling 6
to 8, superheat 25 to 30; overcharged: 20 to 25, unchanged; expansion valve plugged: 15 to 20, 25 to 30).
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.doubts.observed import Doubt
from calc.doubts.plausibility import doubts
from calc.errors import CalcError
from calc.estimate import Estimate
from calc.quantities import CHANNELS, Quantity
from calc.situation import Repetition, Situation

PSI = 6894.757  # NIST SP 811, B.8
AIR_PA = 101_325.0
DEW_DF, BUBBLE_DF = 39.84, 105.65


def fahrenheit(degrees):
    return (degrees + 459.67) / 1.8


SOUND = {
    "suction_pressure": 118 * PSI + AIR_PA,
    "liquid_pressure": 345 * PSI + AIR_PA,
    "suction_line_temperature": fahrenheit(DEW_DF + 12),
    "liquid_line_temperature": fahrenheit(BUBBLE_DF - 10),
    "return_air_temperature": fahrenheit(75),
    "supply_air_temperature": fahrenheit(57),
    "outdoor_air_temperature": fahrenheit(86),
}
GAUGE = {"suction_pressure": "gauge", "liquid_pressure": "gauge"}


def observe(running=True, references=GAUGE, **changes):
    values = {name: value for name, value in (SOUND | changes).items() if value is not None}
    uncertain = {Quantity.PRESSURE: PSI / 2, Quantity.TEMPERATURE: 0.25}
    readings = {name: Estimate(value, uncertain[CHANNELS[name]]) for name, value in values.items()}
    return situation(readings, running=running, references=references)


def situation(measured, **known):
    return Situation(refrigerant="R-410A", measured=measured, barometric_pressure_pa=AIR_PA, **known)


def exchanged(one, another):
    return {one: SOUND[another], another: SOUND[one]}


def the_doubt(observed) -> Doubt:
    (doubt,) = doubts(observed)
    return doubt


def test_sound_readings_raise_no_doubt():
    assert doubts(observe()) == []
    assert doubts(observe(running=None)) == []


@pytest.mark.parametrize(("superheat_df", "subcooling_df"), [(27.5, 7), (12, 22.5), (27.5, 17.5), (0.0, 10), (12, 0.5)])
@pytest.mark.parametrize("outdoor_f", [60, 86, 90])
def test_an_ill_unit_raises_none_that_would_hide_it(superheat_df, subcooling_df, outdoor_f):
    """The manual's figures, and a floodback and a liquid line that flashes."""
    found = doubts(
        observe(
            suction_line_temperature=fahrenheit(DEW_DF + superheat_df),
            liquid_line_temperature=fahrenheit(max(BUBBLE_DF - subcooling_df, outdoor_f + 1)),
            outdoor_air_temperature=fahrenheit(outdoor_f),
        )
    )
    assert [doubt for doubt in found if doubt.confidence >= 0.8] == []


@pytest.mark.parametrize(("running", "confidence"), [(True, 0.95), (None, 0.8)])
def test_pressures_exchanged(running, confidence):
    doubt = the_doubt(observe(running, **exchanged("suction_pressure", "liquid_pressure")))
    assert doubt.channels == ("suction_pressure", "liquid_pressure")
    assert "recover what the hoses hold; then exchange the two hoses or probes" in str(doubt.fix)
    assert doubt.confidence == confidence


@pytest.mark.parametrize("channel", ["suction_pressure", "liquid_pressure"])
@pytest.mark.parametrize(("sent", "factor"), [("kPa", 6.894757), ("psi", 1 / 6.894757)])  # NIST SP 811, B.8
def test_a_pressure_in_the_other_unit(channel, sent, factor):
    wrong_pa = (SOUND[channel] - AIR_PA) * factor + AIR_PA
    doubt = the_doubt(observe(**{channel: wrong_pa}))
    assert doubt.channels == (channel,)
    assert str(doubt.fix).startswith(f"See whether the probe is set to {sent}")


def test_a_unit_at_rest_may_have_either_pressure_above():
    assert doubts(observe(False, **exchanged("suction_pressure", "liquid_pressure"))) == []


def test_clamps_exchanged():
    doubt = the_doubt(observe(**exchanged("suction_line_temperature", "liquid_line_temperature")))
    assert doubt.channels == ("suction_line_temperature", "liquid_line_temperature")
    assert "Exchange the two clamps" in str(doubt.fix)


def test_two_cold_clamps_are_not_exchanged_clamps():
    found = doubts(observe(suction_line_temperature=fahrenheit(95), liquid_line_temperature=fahrenheit(5)))
    assert not [doubt for doubt in found if "the other way round" in str(doubt.reason)]


def test_air_exchanged():
    doubt = the_doubt(observe(**exchanged("return_air_temperature", "supply_air_temperature")))
    assert doubt.channels == ("return_air_temperature", "supply_air_temperature")


def test_a_suction_clamp_that_hangs_in_the_outdoor_air():
    doubt = the_doubt(observe(suction_line_temperature=fahrenheit(86.5)))
    assert doubt.channels == ("suction_line_temperature",)
    assert "as warm as the outdoor air" in str(doubt.reason)
    assert doubt.confidence == 0.8


def test_a_suction_line_as_warm_as_the_return_air_may_also_be_starved_behind_a_restriction():
    doubt = the_doubt(observe(suction_line_temperature=fahrenheit(75)))
    assert (doubt.channels, doubt.confidence) == (("suction_line_temperature",), 0.5)
    assert "look for a restriction" in str(doubt.fix)


def test_a_liquid_clamp_that_hangs_in_the_outdoor_air():
    doubt = the_doubt(observe(liquid_line_temperature=fahrenheit(86)))
    assert (doubt.channels, doubt.confidence) == (("liquid_line_temperature",), 0.5)


def test_nothing_is_colder_than_what_cools_it():
    doubt = the_doubt(observe(outdoor_air_temperature=fahrenheit(110)))
    assert doubt.channels == ("liquid_line_temperature", "outdoor_air_temperature")
    assert "out of the sun" in str(doubt.fix)


@pytest.mark.parametrize("reference", ["gauge", "absolute"])
def test_a_probe_open_to_the_air_with_the_other_reference(reference):
    """A gauge probe reads 0 in the air and an absolute one 14.696 psi: taken for each other, off by just that."""
    reads_pa = 2 * AIR_PA if reference == "gauge" else 0.0
    doubt = the_doubt(observe(None, {"suction_pressure": reference}, suction_pressure=reads_pa, liquid_pressure=None))
    assert doubt.channels == ("suction_pressure",)
    assert f"may send {'absolute' if reference == 'gauge' else 'gauge'} pressure" in str(doubt.fix)
    side = "above" if reads_pa > AIR_PA else "below"
    assert str(doubt.reason).endswith(f"it reads one barometric pressure {side} what it should.")


def test_a_probe_open_to_the_air_that_reads_the_barometer_is_sound():
    assert doubts(observe(None, suction_pressure=AIR_PA, liquid_pressure=AIR_PA)) == []


@pytest.mark.parametrize(("reference", "error_pa"), [("gauge", AIR_PA), ("absolute", -AIR_PA)])
def test_a_unit_at_rest_with_the_other_reference(reference, error_pa):
    """R-410A at 25 °C: 1652.1 kPa on the dew line (CoolProp 8.0.0)."""
    at_rest = {name: 298.15 for name in SOUND if name.endswith("temperature")}
    references = {"suction_pressure": reference}
    off = observe(False, references, **at_rest, suction_pressure=1652.1e3 + error_pa, liquid_pressure=1652.1e3)
    doubt = the_doubt(off)
    assert doubt.channels == ("suction_pressure",)
    assert f"one barometric pressure {'above' if error_pa > 0 else 'below'} what it should" in str(doubt.reason)
    assert f"may send {'absolute' if error_pa > 0 else 'gauge'} pressure" in str(doubt.fix)
    right = observe(False, references, **at_rest, suction_pressure=1652.1e3, liquid_pressure=1652.1e3)
    assert doubts(right) == []


def test_at_rest_nothing_is_said_where_no_saturation_is_known():
    at_rest = {name: 298.15 for name in SOUND if name.endswith("temperature")}
    assert doubts(observe(False, **at_rest, suction_pressure=5e3 + AIR_PA, liquid_pressure=60e3)) == []


def test_superheat_below_zero_that_one_barometric_pressure_explains():
    """psia taken for psig raised a dew point by some 6 °F here: 14.696 psi at 0.42 °F/psi."""
    doubt = the_doubt(
        observe(suction_pressure=SOUND["suction_pressure"] + AIR_PA, suction_line_temperature=fahrenheit(DEW_DF))
    )
    assert doubt.channels == ("suction_pressure", "suction_line_temperature")
    assert str(doubt.fix).startswith("One barometric pressure would explain it")


def test_subcooling_below_zero_that_it_does_not_explain():
    doubt = the_doubt(observe(references={}, liquid_line_temperature=fahrenheit(BUBBLE_DF + 20)))
    assert doubt.channels == ("liquid_pressure", "liquid_line_temperature")
    assert str(doubt.fix).startswith("Check the probe in air")


@pytest.mark.parametrize("channel", [name for name in SOUND if name.endswith("temperature")])
@pytest.mark.parametrize(("sent", "taken"), [("°F", "°C"), ("°C", "°F")])
def test_the_other_scale(channel, sent, taken):
    """The number of a sound reading on one scale, taken as one on the other; 32 °F is 0 °C (NIST SP 811, B.8)."""
    celsius = SOUND[channel] - 273.15
    wrong_k = celsius * 1.8 + 32 + 273.15 if sent == "°F" else fahrenheit(celsius)
    told = [doubt for doubt in doubts(observe(**{channel: wrong_k})) if channel in doubt.channels]
    ambiguous = (channel, sent) in {("outdoor_air_temperature", "°C"), ("suction_line_temperature", "°F")}
    if not ambiguous:  # 30 °F outdoors, and a line at 52 °C that might lie in the sun
        assert f"as {sent} it would be ordinary" in str(told[0].reason)
        assert (
            str(told[0].fix)
            == f"See whether the instrument is set to {sent}, and put its unit right in the rig's file."
        )


def test_a_number_that_comes_again_and_again():
    held = observe()
    frozen = replace(held, repetitions={"suction_pressure": Repetition(20, 2, 10.0)})
    coarse = replace(held, repetitions={"suction_pressure": Repetition(20, 9, 10.0)})
    assert the_doubt(frozen).channels == ("suction_pressure",)
    assert doubts(coarse) == []


def test_what_is_not_measured_is_not_doubted():
    for name in SOUND:
        assert doubts(observe(**{name: None})) == []
    assert doubts(situation({})) == []


@given(
    st.dictionaries(st.sampled_from(sorted(SOUND)), st.floats(-1e9, 1e9)),
    st.sampled_from([True, False, None]),
    st.sampled_from(["gauge", "absolute"]),
)
def test_whatever_is_read_gets_an_answer(values, running, reference):
    readings = {name: Estimate(value, 0.1) for name, value in values.items()}
    references = dict.fromkeys(GAUGE, reference)
    found = doubts(situation(readings, running=running, references=references))
    concerned = [channel for doubt in found for channel in doubt.channels]
    assert len(concerned) == len(set(concerned))
    assert set(concerned) <= set(values)
    assert all(0 < doubt.confidence < 1 and doubt.reason and doubt.fix and doubt.source for doubt in found)


def test_an_unknown_refrigerant_is_an_error():
    with pytest.raises(CalcError):
        doubts(replace(observe(), refrigerant="R-41A"))
