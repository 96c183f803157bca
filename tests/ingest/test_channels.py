"""Channels: what an instrument sent, as a reading in SI with its quality."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from calc.quantities import Quantity
from calc.situation import Repetition
from calc.units import conversion
from ingest import channels as channels_module
from ingest.channels import Barometer, Channels, Sample, as_configured
from ingest.clock import Clock, Moment
from ingest.frames import Earlier, InUnit, Malformed, Stamp, Unreadable, Value
from ingest.rig import ChannelSetup
from ingest.wire.messages import QUALITIES, Reading
from ingest.wire.plausible import PLAUSIBLE
from tests.ingest.test_clock import Machine
from tests.rigs import make_rig

LEARNED_GAPS = 8
"""Enough to hold the pause between two bursts: common practice, no source."""

PSI = 6894.757  # NIST SP 811
SEA_LEVEL = Barometer(101_325.0, 0.0)
NOW_S = datetime(2026, 6, 1, tzinfo=UTC).timestamp()

SUCTION = ChannelSetup(
    name="suction_pressure",
    instrument="low side probe",
    field="pressure",
    unit="psi",
    reference="gauge",
    conversion=conversion("psi", Quantity.PRESSURE, reference="gauge", barometric_pressure_pa=0.0),
    accuracy=PSI,
    interval_s=1.0,
)


def read(setup: ChannelSetup, newest: Sample | None, moment: Moment, barometer: Barometer) -> Reading:
    """A reading of an instrument that speaks as often as configured."""
    return channels_module.read(setup, newest, moment, barometer, setup.interval_s)


def at(age_s: float) -> Moment:
    return Moment(1000.0 + age_s, NOW_S + age_s, 0)


def sample(value: Value) -> Sample:
    return Sample(value, 1000.0, NOW_S)


@pytest.mark.parametrize(
    ("late_s", "since_s", "quality", "value", "reason"),
    [
        (0.0, 1.9, "ok", 118.0, ""),
        (1.0, 0.9, "ok", 118.0, ""),
        (0.5, 1.6, "stale", 118.0, ""),
        (3.0, 0.2, "stale", 118.0, "the low side probe sent what it had measured 3.0 s before; is its clock set?"),
        (9.9, 0.2, "stale", None, "the low side probe sent what it had measured 9.9 s before; is its clock set?"),
        (3.0, 7.1, "stale", None, "the low side probe is silent"),
    ],
)
def test_a_value_is_as_old_as_its_instrument_says_though_it_came_just_now(
    tmp_path: Path, late_s: float, since_s: float, quality: str, value: float | None, reason: str
) -> None:
    machine = Machine()
    clock = Clock(machine.now)
    rig = make_rig(tmp_path)
    channels = Channels(rig, clock.time_s)
    channels.accept("low side probe", machine.now(), {"pressure": Earlier(118.0, late_s)})
    measured_s = clock.now().time_s - late_s
    machine.wait(since_s)
    reading = channels.readings(clock.now())["suction_pressure"]
    assert (reading.quality, reading.reason, reading.time_s) == (quality, reason, pytest.approx(measured_s, abs=1e-3))
    assert (reading.value is None) is (value is None)
    assert channels.heard_s()["suction_pressure"] == pytest.approx(clock.now().monotonic_s - since_s - late_s)


@pytest.mark.parametrize(("late_s", "shows_psi"), [(1.2, 250.0), (0.4, 100.0)])
def test_what_was_measured_before_what_is_known_takes_its_place_no_more(
    tmp_path: Path, late_s: float, shows_psi: float
) -> None:
    """A message that came late, or the past that an instrument sends after a pause: it is no news."""
    machine = Machine()
    clock = Clock(machine.now)
    channels = Channels(make_rig(tmp_path), clock.time_s)
    channels.accept("low side probe", machine.now(), {"pressure": 250.0})
    machine.wait(0.5)
    channels.accept("low side probe", machine.now(), {"pressure": Earlier(100.0, late_s)})
    reading = channels.readings(clock.now())["suction_pressure"]
    assert (reading.quality, reading.value) == ("ok", pytest.approx(shows_psi * PSI + SEA_LEVEL.pressure_pa, rel=1e-3))


def test_how_often_an_instrument_speaks_is_told_by_what_arrives(tmp_path: Path) -> None:
    machine = Machine()
    clock = Clock(machine.now)
    channels = Channels(make_rig(tmp_path), clock.time_s)
    for number in range(LEARNED_GAPS + 1):  # a clock that is set while it sends makes no burst and no pause of it
        channels.accept("low side probe", machine.now(), {"pressure": Earlier(118.0, 3.0 * (number % 2))})
        machine.wait(0.1)
    assert channels._courses["suction_pressure"].interval_s == pytest.approx(0.1)


def test_a_gauge_pressure_becomes_absolute() -> None:
    # 118 psig at 14.696 psia is 132.696 psia
    reading = read(SUCTION, sample(118.0), at(0.1), SEA_LEVEL)
    assert reading.value == pytest.approx(132.696 * PSI, rel=1e-5)
    assert (reading.quality, reading.time_s) == ("ok", NOW_S)
    assert reading.standard_uncertainty == pytest.approx(PSI / 2)


def as_read(setup: ChannelSetup, value: Value) -> Reading:
    """A reading of a value as it is taken from an instrument."""
    return read(setup, sample(as_configured(setup, value)), at(0.1), SEA_LEVEL)


@pytest.mark.parametrize(
    ("said", "unit", "psi"),
    [(118.2, "psi", 118.2), (118.2, "psig", 118.2), (8.0, "bar", 116.0302), (800.0, "kPa", 116.0302)],
)
def test_a_number_that_came_with_its_unit_is_in_that(said: float, unit: str, psi: float) -> None:
    """NIST SP 811: 1 psi is 6.894757 kPa. A probe whose key changes its unit is read right all the same."""
    reading = as_read(SUCTION, InUnit(said, unit))
    assert reading.quality == "ok"
    assert reading.value == pytest.approx(psi * PSI + 101_325.0, rel=1e-6)


def test_a_calibration_is_of_the_number_in_the_configured_unit() -> None:
    corrected = replace(SUCTION, slope=1.002, offset=-0.4)
    plain = as_read(corrected, 118.2).value
    assert as_read(corrected, InUnit(118.2 * PSI / 1000, "kPa")).value == pytest.approx(plain)


@pytest.mark.parametrize("unit", ["°C", "kg", "psia", "zeppelins"])
def test_a_unit_of_something_else_is_never_read(unit: str) -> None:
    reading = as_read(SUCTION, InUnit(118.2, unit))
    assert (reading.value, reading.quality) == (None, "malformed")
    assert reading.reason == f"the low side probe says 118.2 {unit} where psi was expected: see to `field`"


def test_what_is_kept_of_a_number_with_its_unit_is_in_the_configured_one(tmp_path: Path) -> None:
    """What a check in the field compares is what was sent, in the unit that its channel has."""
    rig = make_rig(tmp_path)
    low = next(setup for setup in rig.channels if setup.name == "suction_pressure")
    channels = Channels(rig, lambda stamp: stamp.time_ns / 1e9)
    for second in range(3):
        stamp = Stamp(second * 10**9, second * 10**9)
        channels.accept(low.instrument, stamp, {low.field: InUnit(118.2 * PSI / 1000, "kPa")})
    moment = Moment(2.1, 2.1, 0)
    assert channels.checkable(moment)["suction_pressure"].recent[-1] == pytest.approx(118.2)
    assert channels.readings(moment)["suction_pressure"].quality == "ok"


def test_an_absolute_pressure_stays_as_it_is() -> None:
    setup = replace(SUCTION, reference="absolute")
    reading = read(setup, sample(132.696), at(0.1), Barometer(83_520.0, 5_000.0))
    assert reading.value == pytest.approx(132.696 * PSI, rel=1e-5)
    assert reading.standard_uncertainty == pytest.approx(PSI / 2)


def test_a_gauge_pressure_is_no_surer_than_the_barometer() -> None:
    reading = read(SUCTION, sample(118.0), at(0.1), Barometer(101_325.0, 1_000.0))
    assert reading.standard_uncertainty == pytest.approx(math.hypot(PSI / 2, 1_000.0), rel=1e-6)


@pytest.mark.parametrize(("interval_s", "stale_s", "lost_s"), [(1.0, 3.0, 10.0), (0.1, 2.0, 20 / 3), (5.0, 15.0, 50.0)])
def test_a_silent_instrument_is_stale_then_lost(interval_s: float, stale_s: float, lost_s: float) -> None:
    setup = replace(SUCTION, interval_s=interval_s)
    fresh = read(setup, sample(118.0), at(stale_s - 0.01), SEA_LEVEL)
    stale = read(setup, sample(118.0), at(stale_s + 0.01), SEA_LEVEL)
    still = read(setup, sample(118.0), at(lost_s - 0.01), SEA_LEVEL)
    lost = read(setup, sample(118.0), at(lost_s + 0.01), SEA_LEVEL)
    assert [reading.quality for reading in (fresh, stale, still, lost)] == ["ok", "stale", "stale", "stale"]
    assert stale.value == fresh.value == still.value
    assert (lost.value, lost.reason) == (None, "the low side probe is silent")


def test_age_counts_by_the_monotonic_clock() -> None:
    an_hour_later = Moment(1000.1, NOW_S + 3600, 1)
    assert read(SUCTION, sample(118.0), an_hour_later, SEA_LEVEL).quality == "ok"


def test_before_the_first_reading_the_reason_says_so() -> None:
    reading = read(SUCTION, None, at(0), SEA_LEVEL)
    assert (reading.value, reading.quality) == (None, "stale")
    assert reading.reason == "never heard from the low side probe"


@pytest.mark.parametrize(
    ("value", "quality"),
    [
        (Unreadable.OVERLOAD, "overload"),
        (Unreadable.SENSOR_FAULT, "sensor_fault"),
        (Unreadable.UNKNOWN, "sensor_fault"),
        (Unreadable.NOT_LIVE, "stale"),
        (Unreadable.HELD, "held"),
        (Unreadable.OTHER_FUNCTION, "stale"),
        (Unreadable.LOW_BATTERY, "sensor_fault"),
        (Malformed("the document has nothing at /h"), "malformed"),
        (math.nan, "malformed"),
        (math.inf, "malformed"),
        (-14.8, "out_of_range"),  # below a perfect vacuum
        (3000.0, "out_of_range"),
    ],
)
def test_what_is_no_reading_is_none_with_the_reason(value: Value, quality: str) -> None:
    reading = read(SUCTION, sample(value), at(0.1), SEA_LEVEL)
    assert (reading.value, reading.quality) == (None, quality)
    assert reading.reason


def test_what_is_malformed_says_what_came_instead() -> None:
    reading = read(SUCTION, sample(Malformed("the document has nothing at /h")), at(0.1), SEA_LEVEL)
    assert reading.reason == "the document has nothing at /h"


DETECTOR = replace(
    SUCTION,
    name="refrigerant_in_air",
    field="refrigerant",
    unit="ppm",
    reference="",
    conversion=conversion("ppm", Quantity.CONCENTRATION),
    accuracy=100e-6,
)


@pytest.mark.parametrize(("sent_ppm", "value"), [(-0.92, 0.0), (-100.0, 0.0), (-101.0, None), (40.0, 40e-6)])
def test_below_nothing_by_no_more_than_its_tolerance_is_nothing(sent_ppm: float, value: float | None) -> None:
    """A detector of ±100 ppm drifts about zero in clean air: what it promises covers that."""
    reading = read(DETECTOR, sample(sent_ppm), at(0.1), SEA_LEVEL)
    assert reading.value == (None if value is None else pytest.approx(value))
    assert reading.quality == ("out_of_range" if value is None else "ok")


@pytest.mark.parametrize(
    ("calibrated_on", "quality"),
    [(None, "ok"), (date(2025, 6, 2), "ok"), (date(2025, 5, 1), "uncalibrated")],
)
def test_an_old_calibration_shows_and_a_missing_one_does_not(calibrated_on: date | None, quality: str) -> None:
    reading = read(replace(SUCTION, calibrated_on=calibrated_on), sample(118.0), at(0.1), SEA_LEVEL)
    assert reading.quality == quality
    assert reading.value is not None


def test_every_quality_and_quantity_is_known() -> None:
    bad = {"sensor_fault", "malformed", "overload", "out_of_range", "stale", "held", "elsewhere"}
    assert bad | {"uncalibrated", "ok"} == set(QUALITIES)
    derived = {Quantity.TEMPERATURE_DIFFERENCE, Quantity.RATIO}
    assert set(PLAUSIBLE) == set(Quantity) - derived


def test_fields_find_their_channels(tmp_path: Path) -> None:
    channels = Channels(make_rig(tmp_path), lambda stamp: stamp.time_ns / 1e9)
    stamp = Stamp(1000 * 10**9, round(NOW_S * 1e9))
    channels.accept("low side probe", stamp, {"pressure": 118.0, "temperature": 50.0, "battery": 3.1})
    channels.accept("high side probe", stamp, {"pressure": 2413.0})
    readings = channels.readings(at(0.1))
    assert readings["suction_pressure"].value == pytest.approx(101_325 + 118 * PSI, rel=1e-6)
    assert readings["suction_line_temperature"].value == pytest.approx(283.15)
    assert readings["liquid_pressure"].value == pytest.approx(101_325 + 2413e3)
    assert readings["liquid_line_temperature"].value is None


def test_a_channel_that_is_elsewhere_keeps_its_value_and_says_so(tmp_path: Path) -> None:
    channels = Channels(make_rig(tmp_path), lambda stamp: NOW_S)
    channels.accept("low side probe", Stamp(1000 * 10**9, 0), {"pressure": 118.0, "temperature": Unreadable.OVERLOAD})
    channels.place({"suction_pressure": "a hose is on the suction port", "suction_line_temperature": "on 2"}, {})
    readings = channels.readings(at(0.1))
    suction, line = readings["suction_pressure"], readings["suction_line_temperature"]
    assert (suction.quality, suction.reason) == ("elsewhere", "a hose is on the suction port")
    assert suction.value == pytest.approx(101_325 + 118 * PSI, rel=1e-6)
    assert line.quality == "overload"  # what is worse is told first
    channels.place({}, {})
    assert channels.readings(at(0.1))["suction_pressure"].quality == "ok"


def test_a_lead_that_passes_ten_times_through_the_jaw_counts_once(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    amps = conversion("A", Quantity.CURRENT)
    clamp = replace(
        SUCTION, name="condenser_fan_current", instrument="clamp", reference="", conversion=amps, accuracy=0.11
    )
    clamp_meter = replace(rig.instruments[0], name="clamp", channels=(clamp,))
    channels = Channels(replace(rig, instruments=(*rig.instruments, clamp_meter)), lambda stamp: NOW_S)
    channels.accept("clamp", Stamp(1000 * 10**9, 0), {"pressure": 5.0})
    channels.place({}, {"condenser_fan_current": 10})
    reading = channels.readings(at(0.1))["condenser_fan_current"]
    assert reading.value == pytest.approx(0.5)
    assert reading.standard_uncertainty == pytest.approx(0.0055)  # of half an ampere now 2.2 %, k = 2; it was 22 %


def test_a_live_barometer_counts_instead_of_the_elevation(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    barometer = replace(SUCTION, name="barometric_pressure", instrument="weather", reference="absolute", accuracy=200.0)
    high = replace(rig.instruments[0], name="weather", channels=(barometer,))
    channels = Channels(replace(rig, instruments=(*rig.instruments, high)), lambda stamp: NOW_S)
    stamp = Stamp(1000 * 10**9, 0)
    channels.accept("low side probe", stamp, {"pressure": 118.0})
    # 1,600 m is 83.52 kPa (ISO 2533), 12.114 psi
    channels.accept("weather", stamp, {"pressure": 83_520 / PSI})
    assert channels.readings(at(0.1))["suction_pressure"].value == pytest.approx(83_520 + 118 * PSI, rel=1e-6)
    lost = channels.readings(at(30.0))
    assert lost["barometric_pressure"].value is None


CLAMP = replace(
    SUCTION,
    name="compressor_current",
    field="compressor",
    unit="A",
    reference="",
    conversion=conversion("A", Quantity.CURRENT),
    accuracy=0.3,
)


@pytest.mark.parametrize(("sent_a", "value_a"), [(-14.0, 14.0), (14.0, 14.0), (-0.2, -0.2), (0.0, 0.0)])
def test_a_clamp_that_was_put_on_the_other_way_round_reads_the_same_amps(sent_a: float, value_a: float) -> None:
    """Common practice, no source. Within its ± of nothing it drifts about nothing, and is left as it is."""
    reading = read(CLAMP, sample(sent_a), at(0.1), SEA_LEVEL)
    assert (reading.value, reading.quality) == (pytest.approx(value_a), "ok")


KPA_BAROMETER = replace(
    SUCTION,
    name="barometric_pressure",
    instrument="weather",
    unit="kPa",
    reference="absolute",
    conversion=conversion("kPa", Quantity.PRESSURE, reference="absolute"),
    accuracy=200.0,
)


def at_1600_m(directory: Path) -> Channels:
    """A rig whose file has it at sea level, with a barometer of 1,600 m and a probe at 118 psi above the air."""
    rig = replace(make_rig(directory), barometric_standard_uncertainty_pa=1_000.0)
    weather = replace(rig.instruments[0], name="weather", channels=(KPA_BAROMETER,))
    channels = Channels(replace(rig, instruments=(*rig.instruments, weather)), lambda stamp: NOW_S)
    assert channels.barometer == Barometer(101_325.0, 1_000.0)
    channels.accept("weather", Stamp(1000 * 10**9, 0), {"pressure": 83.52})  # ISO 2533
    channels.accept("low side probe", Stamp(1000 * 10**9, 0), {"pressure": 118.0})
    channels.readings(at(0.1))
    return channels


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (None, "the weather is silent"),
        (0.0, "0 kPa is not plausible"),
        (24.66, "24.66 kPa is not plausible; it would be in inHg: see to the channel's unit"),
        (835.2, "835.2 kPa is not plausible; it would be in hPa: see to the channel's unit"),
        (49.9, "49.9 kPa is not plausible"),
        (math.nan, "the instrument sent no finite number"),
    ],
)
def test_pressures_count_on_from_the_last_barometer_that_was_believed(
    sent: float | None, said: str, tmp_path: Path
) -> None:
    """What the file has would move the suction pressure by 18 kPa at once; weather moves it by 300 Pa in an hour."""
    channels = at_1600_m(tmp_path)
    hour = Stamp(4600 * 10**9, 0)
    channels.accept("low side probe", hour, {"pressure": 118.0})
    if sent is not None:
        channels.accept("weather", hour, {"pressure": sent})
    readings = channels.readings(at(3600.1))
    barometer, suction = readings["barometric_pressure"], readings["suction_pressure"]
    assert barometer.value is None
    assert barometer.reason == f"{said}; pressures count from what it read last, with a wider ±"
    assert suction.value == pytest.approx(83_520 + 118 * PSI, rel=1e-6)
    assert suction.standard_uncertainty == pytest.approx(math.hypot(PSI / 2, 100.0, 300.0), rel=1e-6)
    assert channels.barometer.pressure_pa == pytest.approx(83_520.0)


def test_a_barometer_that_was_never_believed_leaves_what_is_configured(tmp_path: Path) -> None:
    rig = replace(make_rig(tmp_path), barometric_standard_uncertainty_pa=1_000.0)
    weather = replace(rig.instruments[0], name="weather", channels=(KPA_BAROMETER,))
    channels = Channels(replace(rig, instruments=(*rig.instruments, weather)), lambda stamp: NOW_S)
    channels.accept("weather", Stamp(1000 * 10**9, 0), {"pressure": 1013.0})
    reading = channels.readings(at(0.1))["barometric_pressure"]
    assert (reading.value, reading.quality) == (None, "out_of_range")
    assert reading.reason.endswith("hPa: see to the channel's unit; pressures count from what is configured")
    assert channels.barometer == Barometer(101_325.0, 1_000.0)


def test_a_barometer_that_is_configured_anew_is_waited_for(tmp_path: Path) -> None:
    """Its last reading may have been of another place or unit; one that goes on keeps what it read."""
    channels = at_1600_m(tmp_path)
    rig = make_rig(tmp_path)
    weather = replace(rig.instruments[0], name="weather", channels=(KPA_BAROMETER,))
    rig = replace(rig, instruments=(*rig.instruments, weather))
    channels.change(rig, keep=["weather"])
    assert channels.barometer.pressure_pa == pytest.approx(83_520.0)
    channels.change(rig, keep=[])
    assert channels.barometer.pressure_pa == pytest.approx(101_325.0)


def test_a_live_barometer_brings_its_own_uncertainty(tmp_path: Path) -> None:
    """Not the 1,000 Pa or so by which an elevation is off."""
    rig = replace(make_rig(tmp_path), barometric_standard_uncertainty_pa=1_000.0)
    barometer = replace(SUCTION, name="barometric_pressure", instrument="weather", reference="absolute", accuracy=200.0)
    weather = replace(rig.instruments[0], name="weather", channels=(barometer,))
    channels = Channels(replace(rig, instruments=(*rig.instruments, weather)), lambda stamp: NOW_S)
    stamp = Stamp(1000 * 10**9, 0)
    channels.accept("low side probe", stamp, {"pressure": 118.0})
    by_elevation = channels.readings(at(0.1))["suction_pressure"].standard_uncertainty
    assert by_elevation == pytest.approx(math.hypot(PSI / 2, 1_000.0), rel=1e-6)
    channels.accept("weather", stamp, {"pressure": 83_520 / PSI})
    measured = channels.readings(at(0.1))["suction_pressure"].standard_uncertainty
    assert measured == pytest.approx(math.hypot(PSI / 2, 100.0), rel=1e-6)


def test_a_sample_stays_with_the_instrument_and_the_field_it_came_from(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    low, high = rig.instruments
    pressure, temperature = low.channels
    channels = Channels(rig, lambda stamp: NOW_S)
    names = [low.name, high.name]

    def values_of(*setups: ChannelSetup, keep: Sequence[str] = names) -> list[float | None]:
        channels.change(rig, keep=())
        values = {"pressure": 118.0, "temperature": 50.0}
        channels.accept(low.name, Stamp(1000 * 10**9, 0), values)
        channels.accept(high.name, Stamp(1000 * 10**9, 0), {"pressure": 2413.0})
        channels.change(replace(rig, instruments=(replace(low, channels=setups), high)), keep)
        return [channels.readings(at(0.1))[setup.name].value for setup in setups]

    suction_pa, line_k = pytest.approx(101_325 + 118 * PSI, rel=1e-6), pytest.approx(283.15)
    assert values_of(pressure, temperature) == [suction_pa, line_k]
    assert values_of(replace(pressure, accuracy=2 * PSI), temperature) == [suction_pa, line_k]
    assert values_of(replace(pressure, field="second pressure"), temperature) == [None, line_k]
    assert values_of(replace(pressure, instrument=high.name), temperature) == [None, line_k]
    assert values_of(pressure, temperature, keep=[high.name]) == [None, None]


def test_a_channel_whose_instrument_fell_silent_cannot_be_checked(tmp_path: Path) -> None:
    channels = Channels(make_rig(tmp_path), lambda stamp: NOW_S)  # every half second, so stale after two
    for half_second in range(-8, 1):
        stamp = Stamp(1000 * 10**9 + half_second * 500_000_000, 0)
        channels.accept("low side probe", stamp, {"pressure": 118.0})
    checkable = channels.checkable(at(2.0))["suction_pressure"]
    assert (list(checkable.recent), checkable.seconds) == ([118.0] * 9, 4.0)
    silent = channels.checkable(at(2.1))["suction_pressure"]
    assert (list(silent.recent), silent.seconds) == ([], 0.0)
    assert list(channels.checkable(at(2.0))["liquid_pressure"].recent) == []


def test_an_instrument_that_speaks_more_often_than_configured_is_missed_sooner(tmp_path: Path) -> None:
    """Configured every 5 s, so stale after 15; it speaks every second, so after 3."""
    rig = make_rig(tmp_path)
    slow = tuple(replace(channel, interval_s=5.0) for channel in rig.instruments[0].channels)
    channels = Channels(replace(rig, instruments=(replace(rig.instruments[0], channels=slow),)), lambda stamp: NOW_S)
    for second in range(LEARNED_GAPS + 1):
        channels.accept("low side probe", Stamp((991 + second) * 10**9, 0), {"pressure": 118.0 + second})
    newest = 991 + LEARNED_GAPS - 1000  # against `at`
    assert channels.readings(at(newest + 2.9))["suction_pressure"].quality == "ok"
    assert channels.readings(at(newest + 3.1))["suction_pressure"].quality == "stale"


def test_an_instrument_that_speaks_less_often_than_configured_is_late_as_configured(tmp_path: Path) -> None:
    channels = Channels(make_rig(tmp_path), lambda stamp: NOW_S)
    for number in range(LEARNED_GAPS + 1):
        channels.accept("low side probe", Stamp((1000 + 4 * number) * 10**9, 0), {"pressure": 118.0})
    newest = 4 * LEARNED_GAPS
    assert channels.readings(at(newest + 1.9))["suction_pressure"].quality == "ok"
    assert channels.readings(at(newest + 2.1))["suction_pressure"].quality == "stale"


def test_a_probe_that_repeats_itself_is_told_from_one_that_is_coarse(tmp_path: Path) -> None:
    channels = Channels(make_rig(tmp_path), lambda stamp: NOW_S)
    for number in range(24):
        values = {"pressure": 118.0 + number % 2, "temperature": 50.0 + number // 8}
        channels.accept("low side probe", Stamp((1000 + number) * 10**9, 0), values)
    for number in range(24, 44):
        channels.accept("low side probe", Stamp((1000 + number) * 10**9, 0), {"pressure": 119.0, "temperature": 53.0})
    repetitions = channels.repetitions()
    assert repetitions == {
        "suction_pressure": Repetition(21, 1, 20.0)
    }  # the other has not changed often enough to tell
