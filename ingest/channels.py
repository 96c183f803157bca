"""Channels: from an instrument's value to a reading in SI, with calibration, uncertainty and quality.

A channel without a date of calibration reads `ok`: most field instruments come without papers, and a warning
that is always there is not read. One calibrated over a year ago reads `uncalibrated` and stays in use.
"""

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from calc.quantities import Quantity
from calc.situation import Repetition
from ingest.clock import Moment
from ingest.field_checks import Checkable
from ingest.frames import Malformed, Stamp, Unreadable, Value
from ingest.rig import ChannelSetup, Rig
from ingest.sample_course import Course
from ingest.wire.messages import Reading

STALE_INTERVALS = 3
LOST_INTERVALS = 10
SOONEST_STALE_S = 2.0

CALIBRATION_HOLDS = timedelta(days=366)
"""Yearly calibration is common practice, no source."""

PLAUSIBLE: Mapping[Quantity, tuple[float, float]] = {
    Quantity.PRESSURE: (0.0, 15e6),
    Quantity.TEMPERATURE: (173.15, 523.15),
    Quantity.HUMIDITY: (0.0, 105.0),
    Quantity.CURRENT: (-2e3, 2e3),
    Quantity.VOLTAGE: (-2e3, 2e3),
    Quantity.CAPACITANCE: (0.0, 1e-2),
    Quantity.MASS: (-10.0, 1e3),
    Quantity.RESISTANCE: (0.0, 1e12),
    Quantity.AIR_PRESSURE: (-5e3, 5e3),
    Quantity.AIR_FLOW: (0.0, 100.0),
    Quantity.CONCENTRATION: (0.0, 1.0),
}
"""Limits that nothing in this trade leaves [SI]: beyond them is a broken probe or a wrong unit."""

_UNREADABLE: Mapping[Unreadable, tuple[str, str]] = {
    Unreadable.OVERLOAD: ("overload", "the instrument shows overload"),
    Unreadable.SENSOR_FAULT: ("sensor_fault", "the instrument reports a fault of its sensor"),
    Unreadable.UNKNOWN: ("sensor_fault", "the instrument gives no value"),
    Unreadable.NOT_LIVE: ("stale", "the instrument shows a held, extreme or relative value; set it back to live"),
    Unreadable.OTHER_FUNCTION: ("stale", "the instrument is set to measure something else; turn its dial"),
    Unreadable.LOW_BATTERY: ("sensor_fault", "the instrument's battery is low: do not trust its number; change it"),
}


@dataclass(frozen=True, slots=True)
class Sample:
    """What an instrument said last for one channel, in its own unit, and when."""

    value: Value
    monotonic_s: float
    time_s: float


@dataclass(frozen=True, slots=True)
class Barometer:
    """The barometric pressure that gauge pressures count from [Pa], and how well it is known."""

    pressure_pa: float
    standard_uncertainty_pa: float


class Channels:
    """The newest sample of each channel of a rig.

    time_s: tells the wall time of an arrival.
    """

    def __init__(self, rig: Rig, time_s: Callable[[Stamp], float]) -> None:
        self._time_s = time_s
        self._samples: dict[str, Sample] = {}
        self._courses: dict[str, Course] = {}
        self._setups: list[ChannelSetup] = []
        self.change(rig, keep=())

    def change(self, rig: Rig, keep: Collection[str]) -> None:
        """Have the channels of this rig. keep: instruments that go on, so that what they said last still counts."""
        before = {setup.name: (setup.instrument, setup.field) for setup in self._setups}
        self._setups = sorted(rig.channels, key=lambda setup: setup.name != "barometric_pressure")
        self._configured = Barometer(rig.barometric_pressure_pa, rig.barometric_standard_uncertainty_pa)
        self._names: dict[tuple[str, str], list[str]] = {}
        samples, courses = {}, {}
        for setup in self._setups:
            source = setup.instrument, setup.field
            self._names.setdefault(source, []).append(setup.name)
            goes_on = setup.instrument in keep and before.get(setup.name) == source
            if goes_on and setup.name in self._samples:
                samples[setup.name] = self._samples[setup.name]
            courses[setup.name] = self._courses[setup.name] if goes_on else Course(setup.interval_s)
        self._samples, self._courses = samples, courses

    def accept(self, instrument: str, stamp: Stamp, values: Mapping[str, Value]) -> None:
        """Take what an instrument's decoder found; fields that no channel asks for are left."""
        time_s = self._time_s(stamp)
        for field, value in values.items():
            for name in self._names.get((instrument, field), ()):
                sample = Sample(value, stamp.monotonic_ns / 1e9, time_s)
                self._samples[name] = sample
                self._courses[name].add(value, sample.monotonic_s)

    def readings(self, moment: Moment) -> dict[str, Reading]:
        """Give the reading of every channel at this moment."""
        barometer = self._configured
        readings = {}
        for setup in self._setups:
            interval_s = self._courses[setup.name].interval_s
            reading = read(setup, self._samples.get(setup.name), moment, barometer, interval_s)
            readings[setup.name] = reading
            if setup.name == "barometric_pressure" and reading.value is not None:
                barometer = Barometer(reading.value, setup.standard_uncertainty)
        return readings

    def repetitions(self) -> dict[str, Repetition]:
        """Tell of each channel how its newest number repeats itself, where that says anything."""
        found = {name: self._courses[name].repetition for name in self._samples}
        return {name: repetition for name, repetition in found.items() if repetition}

    def checkable(self, moment: Moment) -> dict[str, Checkable]:
        """Give every channel with what its instrument sent lately, for a field check."""
        return {setup.name: self._checkable(setup, moment) for setup in self._setups}

    def _checkable(self, setup: ChannelSetup, moment: Moment) -> Checkable:
        sample, course = self._samples.get(setup.name), self._courses[setup.name]
        if sample is None or moment.monotonic_s - sample.monotonic_s > stale_after_s(course.interval_s):
            return Checkable(setup)
        return Checkable(setup, course.recent(), course.recent_s)


def stale_after_s(interval_s: float) -> float:
    """Tell how long after its newest sample a channel is stale, if samples usually come at this interval."""
    return max(SOONEST_STALE_S, STALE_INTERVALS * interval_s)


def read(
    setup: ChannelSetup, sample: Sample | None, moment: Moment, barometer: Barometer, interval_s: float
) -> Reading:
    """Turn the newest sample of a channel into its reading at a moment. interval_s: how often samples come."""
    if sample is None:
        return Reading(None, moment.time_s, "stale", f"never heard from the {setup.instrument}")
    stale_s = stale_after_s(interval_s)
    age_s = moment.monotonic_s - sample.monotonic_s
    if age_s > stale_s * LOST_INTERVALS / STALE_INTERVALS:
        return Reading(None, sample.time_s, "stale", f"the {setup.instrument} is silent")
    if isinstance(sample.value, Unreadable):
        quality, reason = _UNREADABLE[sample.value]
        return Reading(None, sample.time_s, quality, reason)
    if isinstance(sample.value, Malformed):
        return Reading(None, sample.time_s, "malformed", sample.value.reason)
    if not math.isfinite(sample.value):
        return Reading(None, sample.time_s, "malformed", "the instrument sent no finite number")
    value, uncertainty = _absolute(setup, setup.corrected(sample.value), barometer)
    low, high = PLAUSIBLE[setup.quantity]
    if not low <= value <= high:
        return Reading(None, sample.time_s, "out_of_range", f"{sample.value:g} {setup.unit} is not plausible")
    quality = "stale" if age_s > stale_s else _calibration(setup, moment)
    return Reading(value, sample.time_s, quality, "", uncertainty)


def _absolute(setup: ChannelSetup, value: float, barometer: Barometer) -> tuple[float, float]:
    """Give the value with its standard uncertainty, a gauge pressure turned into an absolute one."""
    if setup.reference != "gauge":
        return value, setup.standard_uncertainty
    return value + barometer.pressure_pa, math.hypot(setup.standard_uncertainty, barometer.standard_uncertainty_pa)


def _calibration(setup: ChannelSetup, moment: Moment) -> str:
    if setup.calibrated_on is None:
        return "ok"
    calibrated = datetime(*setup.calibrated_on.timetuple()[:3], tzinfo=UTC)
    held = moment.time_s <= (calibrated + CALIBRATION_HOLDS).timestamp()
    return "ok" if held else "uncalibrated"
