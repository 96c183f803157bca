"""Slips of the hand, each made on a sound set of readings, must be told; illnesses of a unit must not.

The sound set: R-410A at 118 and 345 psig has its dew point at 39.84 °F and its bubble point at 105.65 °F (CoolProp
8.0.0). What an ill unit reads: a maker's manual for ground-source units, in print, in °F (undercharged: subcooling 6
to 8, superheat 25 to 30; overcharged: 20 to 25, unchanged; expansion valve plugged: 15 to 20, 25 to 30).
"""

from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc.doubts.observed import Doubt
from calc.doubts.plausibility import doubts
from calc.doubts.pressures import pressure_in_other_unit, reference_mixed_up_at_rest
from calc.doubts.temperatures import liquid_clamp_beside_its_pipe, other_scale, suction_clamp_beside_its_pipe
from calc.errors import CalcError
from calc.estimate import Estimate
from calc.quantities import CHANNELS, Quantity
from calc.saturation import bubble_pressure, dew_pressure
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
    uncertain = {Quantity.PRESSURE: PSI / 2, Quantity.TEMPERATURE: 0.25, Quantity.CURRENT: 0.15}
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


@pytest.mark.parametrize("at_f", [75, 86])
def test_of_a_compressor_that_pumps_nothing_no_pressure_and_no_line_is_doubted(at_f):
    """A scroll that turns backwards: both lines near the air, in which the two pressures are those at rest."""
    at_rest_pa, air = dew_pressure("R-410A", fahrenheit(at_f)), fahrenheit(at_f - 13)
    lines = {"suction_line_temperature": air, "liquid_line_temperature": fahrenheit(at_f + 10)}
    airs = dict.fromkeys(("return_air_temperature", "supply_air_temperature", "outdoor_air_temperature"), air)
    assert doubts(observe(suction_pressure=at_rest_pa, liquid_pressure=1.02 * at_rest_pa, **lines, **airs)) == []
    pumps = doubts(observe(suction_pressure=at_rest_pa, liquid_pressure=1.3 * at_rest_pa, **lines, **airs))
    expected = {75: "doubt.suction_line_beyond_saturation", 86: "doubt.other_unit"}
    assert expected[at_f] in [it.reason.kind for it in pumps]


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


STOPPED_30_S = {  # the simulated unit half a minute after a stop: both sides come together
    "suction_pressure": dew_pressure("R-410A", 283.25),
    "liquid_pressure": bubble_pressure("R-410A", 311.75),
    "outdoor_air_temperature": 303.15,
    "return_air_temperature": 297.05,
}


@pytest.mark.parametrize(
    ("changes", "is_doubted"),
    [
        ({}, True),
        ({"compressor_current": 0.3}, True),
        ({"compressor_current": 9.0}, False),
        ({"compressor_current": None}, False),
        ({"return_air_temperature": None}, True),
        ({"outdoor_air_temperature": None}, False),
        ({"liquid_pressure": None}, False),  # its suction alone does not tell that it works
        ({"outdoor_air_temperature": fahrenheit(DEW_DF + 8.0)}, False),  # in the cold its suction is cold at rest too
        (STOPPED_30_S, False),
        (STOPPED_30_S | {"return_air_temperature": None}, False),
        (STOPPED_30_S | {"suction_pressure": SOUND["suction_pressure"], "liquid_pressure": 1.9e6}, False),
    ],
)
def test_no_amps_at_pressures_of_a_unit_that_runs_doubt_the_clamp(changes, is_doubted):
    values = SOUND | {"supply_air_temperature": None, "compressor_current": 0.0} | changes
    for rested_s, tells in ((None, is_doubted), (60.0, is_doubted), (59.0, False)):
        now = replace(observe(False, **values), rested_s=rested_s)
        found = [it for it in doubts(now) if it.channels == ("compressor_current",)]
        assert [str(it.fix).startswith("See whether the clamp is off") for it in found] == [True] * tells


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


@pytest.mark.parametrize("vapour_valve", [False, True])
def test_what_a_heat_pump_exchanges_by_itself_is_in_no_doubt(vapour_valve):
    """The air leaves it warmer, and at the large line's valve stands the discharge (trade press)."""
    lines = {"suction_line_temperature": None, "liquid_line_temperature": None}
    air = {"return_air_temperature": fahrenheit(70), "supply_air_temperature": fahrenheit(94)}
    heats = {**lines, **air, "outdoor_air_temperature": fahrenheit(38)}
    if vapour_valve:
        heats["suction_pressure"] = 420 * PSI + AIR_PA
    assert doubts(observe(**heats)) == doubts(observe(**heats | {"supply_air_temperature": fahrenheit(99)})) == []
    not_so = {doubt.reason.kind for doubt in doubts(observe(**heats | {"outdoor_air_temperature": fahrenheit(90)}))}
    assert not_so == ({"doubt.other_unit", "doubt.air_exchanged"} if vapour_valve else {"doubt.air_exchanged"})


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


@pytest.mark.parametrize(
    ("times", "usually", "seconds", "told"),
    [(20, 2, 10.0, True), (19, 2, 10.0, False), (20, 2, 9.9, False), (24, 5, 10.0, False), (25, 5, 10.0, True)],
)
def test_how_often_a_number_must_come_again(times, usually, seconds, told):
    """Twenty times, five times the usual, ten seconds: common practice, no source."""
    held = replace(observe(), repetitions={"suction_pressure": Repetition(times, usually, seconds)})
    assert bool(doubts(held)) is told


def test_a_number_that_stands_at_rest_may_well_stand():
    confidence = {
        running: the_doubt(replace(observe(running), repetitions={"return_air_temperature": Repetition(40, 2, 10.0)}))
        for running in (True, None)
    }
    assert {running: doubt.confidence for running, doubt in confidence.items()} == {True: 0.8, None: 0.5}


def test_the_surest_doubt_comes_first():
    found = doubts(
        observe(
            **exchanged("suction_pressure", "liquid_pressure"),
            **exchanged("return_air_temperature", "supply_air_temperature"),
        )
    )
    assert [doubt.confidence for doubt in found] == [0.95, 0.8]
    frozen = {"suction_pressure": Repetition(40, 2, 10.0)}
    loose = observe(liquid_line_temperature=fahrenheit(86))
    assert [doubt.confidence for doubt in doubts(replace(loose, repetitions=frozen))] == [0.8, 0.5]


@pytest.mark.parametrize(("factor", "confidence"), [(6.894757, 0.8), (1 / 6.894757, 0.5)])
def test_a_unit_that_is_nearly_empty_has_pressures_as_low(factor, confidence):
    """Judgement, no source: 17 psig may be a unit without refrigerant; 2379 psig is no pressure of a unit at all."""
    wrong_pa = (SOUND["liquid_pressure"] - AIR_PA) * factor + AIR_PA
    assert the_doubt(observe(liquid_pressure=wrong_pa)).confidence == confidence


def test_an_open_probe_within_four_kilopascal_has_its_reference_mixed_up():
    """Common practice, no source; and twice what the probe itself may be off by (0.5 psi at k = 1)."""
    limit_pa = 4e3 + PSI
    for off_pa, told in ((limit_pa - 50, True), (limit_pa + 50, False)):
        for reference, reads_pa in (("gauge", 2 * AIR_PA), ("absolute", 0.0)):
            for sign in (1, -1):
                seen = observe(
                    None, {"suction_pressure": reference}, suction_pressure=reads_pa + sign * off_pa,
                    liquid_pressure=None, suction_line_temperature=None,
                )  # fmt: skip
                assert any("barometric" in str(doubt.reason) for doubt in doubts(seen)) is told


ORDINARY_K = {
    "return_air_temperature": (283.0, 313.0),
    "supply_air_temperature": (273.0, 308.0),
    "outdoor_air_temperature": (250.0, 328.0),
    "return_air_wet_bulb": (278.0, 305.0),
    "liquid_line_temperature": (273.0, 338.0),
    "discharge_line_temperature": (305.0, 420.0),
}
"""What is met in a unit that cools: common practice, no source."""


@pytest.mark.parametrize("channel", ORDINARY_K)
def test_what_is_ordinary_on_the_scale_it_was_taken_for_is_not_of_the_other(channel):
    low_k, high_k = ORDINARY_K[channel]
    for taken_k in (low_k, high_k):
        assert list(other_scale(situation({channel: Estimate(taken_k, 0.1)}))) == []
    for sent_k in (low_k + 0.1, high_k - 0.1):
        as_celsius_k = sent_k * 1.8 - 459.67 + 273.15  # the number on the one scale, taken as one on the other
        as_fahrenheit_k = (sent_k - 273.15 + 459.67) / 1.8
        for taken_k, scale in ((as_celsius_k, "°F"), (as_fahrenheit_k, "°C")):
            (*_, doubt) = (*other_scale(situation({channel: Estimate(taken_k, 0.1)})), None)[:1]
            if not low_k <= taken_k <= high_k:
                assert doubt is not None
                assert str(doubt.fix).startswith(f"See whether the instrument is set to {scale}")
    for taken_k in (low_k - 0.1, high_k + 0.1):
        if low_k <= taken_k * 1.8 - 459.67 + 273.15 <= high_k:
            told = other_scale(situation({channel: Estimate(taken_k, 0.1)}))
            assert any("set to °C" in str(doubt.fix) for doubt in told)
    for sent_k in (low_k - 0.1, high_k + 0.1):
        as_celsius_k = sent_k * 1.8 - 459.67 + 273.15
        if not low_k <= as_celsius_k <= high_k:
            told = other_scale(situation({channel: Estimate(as_celsius_k, 0.1)}))
            assert not any("set to °F" in str(doubt.fix) for doubt in told)


@pytest.mark.parametrize(
    ("off_pipe_dk", "told"), [(0.0, True), (1.84, True), (-1.84, True), (1.86, False), (-1.86, False), (2.4, False)]
)
def test_how_near_the_air_a_loose_clamp_reads(off_pipe_dk, told):
    """1.5 K: common practice, no source; and what the two thermometers leave open: 0.25 K twice, in quadrature."""
    outdoor_k = SOUND["outdoor_air_temperature"] - 2.0
    for line, rule in (("liquid", liquid_clamp_beside_its_pipe), ("suction", suction_clamp_beside_its_pipe)):
        clamp = {f"{line}_line_temperature": outdoor_k + off_pipe_dk}
        assert bool(list(rule(observe(**clamp, outdoor_air_temperature=outdoor_k)))) is told


@pytest.mark.parametrize(("subcooling_dk", "told"), [(9.9, False), (10.1, True)])
def test_with_ten_kelvin_of_subcooling_some_difference_to_the_air_is_left(subcooling_dk, told):
    """No condenser is endless: common practice, no source."""
    line_k = fahrenheit(BUBBLE_DF) - subcooling_dk
    near = observe(liquid_line_temperature=line_k, outdoor_air_temperature=line_k)
    assert bool(list(liquid_clamp_beside_its_pipe(near))) is told


def test_a_unit_at_rest_has_no_loose_clamp():
    near = observe(False, liquid_line_temperature=SOUND["outdoor_air_temperature"])
    assert list(liquid_clamp_beside_its_pipe(near)) == []
    assert list(suction_clamp_beside_its_pipe(observe(False, suction_line_temperature=fahrenheit(86)))) == []


def test_of_two_airs_as_warm_as_a_clamp_the_one_outdoors_is_named():
    alike = observe(
        suction_line_temperature=fahrenheit(86), return_air_temperature=fahrenheit(86), supply_air_temperature=None
    )
    (doubt,) = suction_clamp_beside_its_pipe(alike)
    assert "outdoor air" in str(doubt.reason)


@pytest.mark.parametrize(
    ("dew_k", "superheat_dk", "told"),
    [(277.5, -9.9, False), (277.5, -10.1, True), (266.5, 44.9, False), (266.5, 45.1, True)],
)
def test_a_superheat_that_comes_from_no_illness_may_come_from_the_scale(dew_k, superheat_dk, told):
    """Common practice, no source. The other scale would make it 17 K and 10 K here, worked out."""
    seen = observe(suction_pressure=dew_pressure("R-410A", dew_k), suction_line_temperature=dew_k + superheat_dk)
    assert bool(list(other_scale(seen))) is told


@pytest.mark.parametrize(
    ("refrigerant", "channel", "bound_k", "inwards_dk"),
    [
        ("R-134a", "suction_pressure", 240.0, 0.5),
        ("R-134a", "suction_pressure", 300.0, -0.5),
        ("R-32", "liquid_pressure", 280.0, 0.5),
        ("R-134a", "liquid_pressure", 345.0, -0.5),
    ],
)
def test_what_saturation_is_ordinary_of_a_pressure_in_the_other_unit(refrigerant, channel, bound_k, inwards_dk):
    """Common practice, no source; by the equations of state in CoolProp, 6.894757 kPa to the psi: NIST SP 811, B.8."""
    for saturated_k, told in ((bound_k + inwards_dk, True), (bound_k - inwards_dk, False)):
        gauge_pa = PropsSI("P", "T", saturated_k, "Q", 1, refrigerant.replace("-", "")) - AIR_PA
        taken = {channel: Estimate(gauge_pa * 6.894757 + AIR_PA, 0.1)}
        seen = replace(situation(taken, running=True), refrigerant=refrigerant)
        assert any("set to kPa" in str(doubt.fix) for doubt in pressure_in_other_unit(seen)) is told


@pytest.mark.parametrize(
    ("share", "apart_dk", "told"), [(1.0, 2.0, True), (0.75, 2.0, False), (0.6, 0.0, False), (0.75, 0.0, True)]
)
def test_how_much_of_a_barometric_pressure_is_its_reference(share, apart_dk, told):
    """A K and half of what the temperatures differ by: no source. One is 2.4 K of R-410A at 25 °C (CoolProp 8.0.0)."""
    at_rest = {name: 298.15 for name in SOUND if name.endswith("temperature")}
    at_rest |= {"suction_line_temperature": 298.15 + apart_dk / 2, "liquid_line_temperature": 298.15 - apart_dk / 2}
    off = observe(False, **at_rest, suction_pressure=1652.1e3 + share * AIR_PA, liquid_pressure=None)
    assert bool(list(reference_mixed_up_at_rest(off))) is told


def test_one_pressure_without_saturation_does_not_hide_the_other():
    at_rest = {name: 298.15 for name in SOUND if name.endswith("temperature")}
    off = observe(False, **at_rest, suction_pressure=5e3, liquid_pressure=1657.2e3 + AIR_PA)
    assert [doubt.channels for doubt in reference_mixed_up_at_rest(off)] == [("liquid_pressure",)]


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
