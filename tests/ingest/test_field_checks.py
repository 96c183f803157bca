"""Field checks of channels, from what the instrument sent to the line that is read by from then on."""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from msgspec.structs import replace as changed

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.units import conversion
from ingest.field_checks import Checkable, CheckRefusedError, ElsewhereError, check, correct, corrected, lapsed
from ingest.frames import Unreadable, Value
from ingest.rig import ChannelSetup, Rig
from ingest.wire.messages import Calibration, CheckAsk, CheckFound, CheckKind, Corrected

PSI = 6894.757  # NIST SP 811, B.8
AIR = Estimate(101_325.0, 100.0)
NOW_S = 1_700_000_000.0
SUCTION, SUCTION_LINE, LIQUID_LINE = "suction_pressure", "suction_line_temperature", "liquid_line_temperature"


def setup_of(rig: Rig, name: str) -> ChannelSetup:
    return next(channel for channel in rig.channels if channel.name == name)


def found_by(kind: CheckKind, rig: Rig, sent: dict[str, Sequence[Value]], **fields: object) -> CheckFound:
    """The check of the first channel that sent something."""
    channels = {setup.name: Checkable(setup, sent.get(setup.name, ()), 10.0) for setup in rig.channels}
    ask = CheckAsk("c1", "Sam", check=kind, channel=next(iter(sent)), **fields)  # type: ignore[arg-type]
    return check(ask, channels, AIR, AIR.value)


def mark(calibration: Calibration, time_s: float = NOW_S) -> Corrected:
    return Corrected("m1", time_s, by="Sam", role="technician", calibration=calibration)


def test_a_clamp_in_ice_that_reads_32_9_fahrenheit_is_corrected_by_0_9(rig: Rig) -> None:
    found = found_by("ice_point", rig, {SUCTION_LINE: [32.9, 32.9, 32.9, 32.9]})
    assert found.offset == pytest.approx(0.5)  # 0.9 °F is 0.5 K
    assert (found.sent, found.reference, found.verdict) == (32.9, 273.15, "cannot_tell")  # its limit is ±0.9 °F
    setup = setup_of(rig, SUCTION_LINE)
    calibration = correct({"c1": found}, setup)
    assert calibration.after.offset == pytest.approx(-0.9)
    now = setup_of(corrected(rig, [mark(calibration)]), SUCTION_LINE)
    assert now.corrected(32.9) == pytest.approx(273.15)
    assert now.corrected(50.9) == pytest.approx(283.15)  # 50 °F is 10 °C
    assert now.standard_uncertainty == found.corrected_standard_uncertainty
    assert now.standard_uncertainty < setup.standard_uncertainty
    assert now.calibrated_on == setup.calibrated_on  # one point is no calibration


def test_a_gauge_probe_open_to_the_air_counts_from_the_air(rig: Rig) -> None:
    found = found_by("open_to_air", rig, {SUCTION: [0.6, 0.7, 0.6, 0.7]})
    assert found.reading == pytest.approx(0.65 * PSI, rel=1e-5)
    assert (found.reference, found.verdict) == (0.0, "within")


def test_an_absolute_probe_open_to_the_air_is_compared_with_the_barometer(rig: Rig) -> None:
    absolute = tuple(replace(channel, reference="absolute") for channel in rig.instruments[0].channels[:1])
    absolute_rig = replace(rig, instruments=(replace(rig.instruments[0], channels=absolute),))
    found = found_by("open_to_air", absolute_rig, {SUCTION: [14.7, 14.7, 14.7]})  # 14.696 psi, NIST SP 811
    assert (found.reference, found.verdict) == (101_325.0, "within")


def test_a_jaw_closed_on_nothing_reads_nothing(rig: Rig) -> None:
    amps = ChannelSetup(
        "compressor_current", "clamp meter", "amps", "A", "", conversion("A", Quantity.CURRENT), 0.15, 0.5
    )
    meter = replace(rig.instruments[0], name="clamp meter", channels=(amps,))
    found = found_by("closed_jaw", replace(rig, instruments=(meter,)), {"compressor_current": [0.02, 0.02, 0.03]})
    assert (found.verdict, found.reference) == ("within", 0.0)
    assert found.corrected_standard_uncertainty == pytest.approx(0.075 * 0.5**0.5, rel=0.02)


def test_two_clamps_on_one_pipe_disagree(rig: Rig) -> None:
    sent = {SUCTION_LINE: [80.0, 80.0, 80.0], LIQUID_LINE: [25.0, 25.0, 25.0]}  # 25 °C is 77 °F
    found = found_by("one_pipe", rig, dict(sent), other=LIQUID_LINE)
    assert found.offset == pytest.approx(3 / 1.8)
    assert (found.verdict, found.other, found.corrected_standard_uncertainty) == ("out", LIQUID_LINE, None)
    with pytest.raises(CheckRefusedError, match="would not make it better"):
        correct({"c1": found}, setup_of(rig, SUCTION_LINE))


def test_a_second_instrument_is_known_by_its_limit_alone(rig: Rig) -> None:
    """JCGM 100, 4.3.7: ±0.5 K is 0.5 / sqrt(3); each clamp's contact ±0.3 K likewise (common practice, no source)."""
    steady = {SUCTION_LINE: [77.0] * 3, LIQUID_LINE: [25.0] * 3}  # 25 °C is 77 °F
    pipe = found_by("one_pipe", rig, dict(steady), other=LIQUID_LINE)
    limit = setup_of(rig, LIQUID_LINE).accuracy / math.sqrt(3)
    digit = 0.1 * setup_of(rig, SUCTION_LINE).accuracy / math.sqrt(12)
    contacts = math.sqrt(2) * 0.3 / math.sqrt(3)
    assert pipe.offset_standard_uncertainty == pytest.approx(math.hypot(limit, digit, contacts), rel=1e-6)
    better = found_by("reference", rig, {SUCTION_LINE: [77.0] * 3}, value=298.15, value_accuracy=0.1)
    assert better.offset_standard_uncertainty == pytest.approx(math.hypot(0.1 / math.sqrt(3), digit), rel=1e-6)


def test_two_points_make_a_line_and_a_date(rig: Rig) -> None:
    """It reads 32.9 °F in ice and 104.5 °F at 40 °C: by hand, true = 72 / 71.6 x (sent - 32.9) + 32."""
    setup = setup_of(rig, SUCTION_LINE)
    ice = found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})
    warm = found_by("reference", rig, {SUCTION_LINE: [104.5] * 3}, value=313.15, value_accuracy=0.1)
    calibration = correct({"c1": ice, "c2": warm}, setup)
    assert calibration.after.slope == pytest.approx(72 / 71.6)
    assert calibration.after.offset == pytest.approx(32 - 72 / 71.6 * 32.9)
    now = setup_of(corrected(rig, [mark(calibration)]), SUCTION_LINE)
    assert (now.corrected(32.9), now.corrected(104.5)) == pytest.approx((273.15, 313.15))
    assert str(now.calibrated_on) == "2023-11-14"  # 1,700,000,000 s after 1970


def test_two_checks_at_one_value_make_no_line(rig: Rig) -> None:
    ice = found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})
    with pytest.raises(CheckRefusedError, match="two different readings"):
        correct({"c1": ice, "c2": ice}, setup_of(rig, SUCTION_LINE))


def test_a_reference_pressure_is_absolute_and_the_probe_gauge(rig: Rig) -> None:
    found = found_by("reference", rig, {SUCTION: [118.3] * 3}, value=118 * PSI + AIR.value, value_accuracy=0.1 * PSI)
    assert (found.value, found.value_accuracy) == (118 * PSI + AIR.value, 0.1 * PSI)
    assert found.offset == pytest.approx(0.3 * PSI, rel=1e-4)


def test_accepting_twice_changes_once_and_a_new_file_counts_more(rig: Rig) -> None:
    found = found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})
    once = corrected(rig, [first := mark(correct({"c1": found}, setup_of(rig, SUCTION_LINE)))])
    again = correct({"c1": found}, setup_of(once, SUCTION_LINE))
    assert again.after.offset == pytest.approx(again.before.offset)
    channels = tuple(replace(channel, offset=1.0) for channel in rig.instruments[0].channels)
    rewritten = replace(rig, instruments=(replace(rig.instruments[0], channels=channels), *rig.instruments[1:]))
    assert corrected(rewritten, [first]) == rewritten


@pytest.mark.parametrize(
    ("kind", "sent", "fields", "reason"),
    [
        ("ice_point", {"oil_temperature": [0.0] * 3}, {}, "there is no channel 'oil_temperature'"),
        ("ice_point", {SUCTION: [0.0] * 3}, {}, "an ice slurry is no check of the suction pressure"),
        ("open_to_air", {SUCTION: []}, {}, "the low side probe is silent"),
        ("open_to_air", {SUCTION: [0.0, Unreadable.OVERLOAD, 0.0]}, {}, "gave no number for the suction pressure"),
        ("open_to_air", {SUCTION: [0.0, 0.0]}, {}, "wait for 3"),
        ("open_to_air", {SUCTION: [4.0, 3.0, 2.0, 1.0]}, {}, "the suction pressure: .*still moves"),
        ("one_pipe", {SUCTION_LINE: [50.0] * 3}, {"other": SUCTION_LINE}, "choose another one"),
        ("one_pipe", {SUCTION_LINE: [50.0] * 3}, {"other": LIQUID_LINE}, "the high side probe is silent"),
        ("reference", {SUCTION_LINE: [50.0] * 3}, {}, "what the better instrument says, or its ± limit, is missing"),
        ("reference", {SUCTION_LINE: [50.0] * 3}, {"value": 283.15, "value_accuracy": -1.0}, "standard_uncertainty"),
        (
            "reference",
            {SUCTION_LINE: [50.0] * 3},
            {"value": 900.0, "value_accuracy": 0.1, "confirmed": True},
            "value is 626.9 °C, which no instrument reads of the suction line temperature: −100 °C to 250 °C were",
        ),
    ],
)
def test_what_cannot_be_checked_says_why(
    rig: Rig, kind: CheckKind, sent: dict[str, Sequence[Value]], fields: dict[str, object], reason: str
) -> None:
    with pytest.raises(CheckRefusedError, match=reason):
        found_by(kind, rig, sent, **fields)


def test_a_moment_is_too_short(rig: Rig) -> None:
    channels = {SUCTION: Checkable(setup_of(rig, SUCTION), [0.0] * 20, 2.0)}
    with pytest.raises(CheckRefusedError, match="wait 3 s"):
        check(CheckAsk("c1", "Sam", check="open_to_air", channel=SUCTION), channels, AIR, AIR.value)


def test_a_correction_is_of_the_instrument_that_was_checked_alone(rig: Rig) -> None:
    found = found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})
    setup = setup_of(rig, SUCTION_LINE)
    made = mark(correct({"c1": found}, setup))
    assert made.calibration.instrument == found.instrument == setup.instrument == "low side probe"
    another = replace(setup, instrument="spare probe")
    first, *rest = rig.instruments
    moved = tuple(another if channel == setup else channel for channel in first.channels)
    exchanged = replace(rig, instruments=(replace(first, channels=moved), *rest))
    assert corrected(exchanged, [made]) == exchanged
    assert lapsed(rig, [made]) == []
    [told] = lapsed(exchanged, [made])
    assert told == (
        "the correction of the suction line temperature was of low side probe and does not apply to spare probe: "
        "check that one"
    )
    with pytest.raises(CheckRefusedError, match="is of spare probe now, and the check is of low side probe: check it"):
        correct({"c1": found}, another)
    with pytest.raises(CheckRefusedError, match="the check is without an instrument's name"):
        correct({"c1": changed(found, instrument="")}, setup)


def test_an_old_correction_applies_to_the_instrument_that_the_record_names_and_without_one_to_none(rig: Rig) -> None:
    setup = setup_of(rig, SUCTION_LINE)
    made = mark(correct({"c1": found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})}, setup))
    old = changed(made, calibration=changed(made.calibration, instrument=""))
    assert corrected(rig, [old], {"m1": setup.instrument}) == corrected(rig, [made]) != rig
    assert corrected(rig, [old], {"m1": "spare probe"}) == corrected(rig, [old]) == rig
    assert "names no instrument" in lapsed(rig, [old])[0]


def test_checks_of_another_channel_correct_nothing(rig: Rig) -> None:
    found = found_by("ice_point", rig, {SUCTION_LINE: [32.9] * 3})
    with pytest.raises(CheckRefusedError, match="not all of the liquid line temperature"):
        correct({"c1": found}, setup_of(rig, LIQUID_LINE))


@pytest.mark.parametrize(
    ("kind", "sent", "fields", "us", "si"),
    [
        (
            "open_to_air",
            {SUCTION: [117.9, 118.1, 118.0]},
            {},
            "It still reads 118 psig: still under pressure? No zero is so far off, so nothing is recorded.",
            "It still reads 814 kPa gauge: still under pressure",  # 118 x 6.894 757 (NIST SP 811, B.8)
        ),
        ("open_to_air", {SUCTION: [118.0, 112.0, 121.0]}, {}, "It still reads 121 psig", "It still reads 834 kPa"),
        (
            "ice_point",
            {SUCTION_LINE: [50.0] * 3},
            {},
            "It still reads 50 °F: is it in the ice?",
            "It still reads 10 °C",
        ),
        (
            "one_pipe",
            {SUCTION_LINE: [50.0] * 3, LIQUID_LINE: [35.0] * 3},
            {"other": LIQUID_LINE},
            "It still reads 50 °F, the other 95 °F: are both on the same pipe?",
            "It still reads 10 °C, the other 35 °C",
        ),
    ],
)
def test_a_probe_that_is_elsewhere_is_asked_about_before_it_is_blamed(
    rig: Rig, kind: CheckKind, sent: dict[str, Sequence[Value]], fields: dict[str, object], us: str, si: str
) -> None:
    with pytest.raises(ElsewhereError) as caught:
        found_by(kind, rig, dict(sent), **fields)
    (question,) = caught.value.questions.values()
    assert question.us.startswith(us)
    assert question.si.startswith(si)


def test_a_clamp_that_still_holds_a_conductor_is_asked_about(rig: Rig) -> None:
    amps = ChannelSetup(
        "compressor_current", "clamp meter", "amps", "A", "", conversion("A", Quantity.CURRENT), 0.15, 0.5
    )
    meter = replace(rig.instruments[0], name="clamp meter", channels=(amps,))
    with pytest.raises(ElsewhereError, match=r"7\.6 A: is a conductor in the jaw"):
        found_by("closed_jaw", replace(rig, instruments=(meter,)), {"compressor_current": [7.6] * 3})


def test_what_is_confirmed_to_be_there_gets_a_verdict_and_so_does_what_is_near(rig: Rig) -> None:
    """The limit is ±1 psi: 4 psi off is out of it, and so is 7 psi, open to the air."""
    near = found_by("open_to_air", rig, {SUCTION: [4.0] * 3})
    assert (near.verdict, near.corrected_standard_uncertainty) == ("out", None)
    far = found_by("open_to_air", rig, {SUCTION: [7.0] * 3}, confirmed=True)
    assert (far.verdict, far.corrected_standard_uncertainty) == ("out", None)


def test_a_hose_under_pressure_is_asked_about_and_its_probe_never_blamed(rig: Rig) -> None:
    """Beyond 5 psi and three limits of ±1 psi no zero is off: common practice, no source."""
    for confirmed in (False, True):
        with pytest.raises(ElsewhereError, match="It still reads 119 psig: still under pressure") as caught:
            found_by("open_to_air", rig, {SUCTION: [119.0] * 3}, confirmed=confirmed)
        assert "by another gauge" in caught.value.questions["under_pressure"].si
    with pytest.raises(ElsewhereError):
        found_by("open_to_air", rig, {SUCTION: [8.1] * 3}, confirmed=True)


@pytest.mark.parametrize(("site_pa", "typed_pa", "is_asked"), [
    (83_500.0, 101_325.0, True),  # reduced to sea level, as weather reports are: ISO 2533 has 101.325 kPa there
    (83_500.0, 88_400.0, False),
    (83_500.0, 88_600.0, True),
    (101_325.0, 96_200.0, True),
    (101_325.0, 96_400.0, False),
])  # fmt: skip
def test_an_air_pressure_that_no_weather_makes_at_this_place_is_asked_about(
    rig: Rig, site_pa: float, typed_pa: float, *, is_asked: bool
) -> None:
    air = ChannelSetup(
        "barometric_pressure", "barometer", "air", "Pa", "absolute", conversion("Pa", Quantity.PRESSURE), 100.0, 0.5
    )
    channels = {air.name: Checkable(air, [typed_pa, typed_pa, typed_pa], 10.0)}
    ask = CheckAsk("c1", "Sam", check="reference", channel=air.name, value=typed_pa, value_accuracy=100.0)
    if is_asked:
        with pytest.raises(ElsewhereError, match="reduced to sea level"):
            check(ask, channels, AIR, site_pa)
    found = check(changed(ask, confirmed=is_asked), channels, AIR, site_pa)
    assert (found.reference, found.verdict) == (typed_pa, "within")
