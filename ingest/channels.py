"""Channels: from an instrument's value to a reading in SI, with calibration, uncertainty and quality.

A channel without a date of calibration reads `ok`: most field instruments come without papers, and a warning
that is always there is not read. One calibrated over a year ago reads `uncalibrated` and stays in use.
"""

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from msgspec.structs import replace

from calc.errors import CalcError
from calc.quantities import Quantity
from calc.situation import Repetition
from ingest.clock import Moment
from ingest.field_checks import Checkable
from ingest.frames import Earlier, InUnit, Malformed, Stamp, Unreadable, Value
from ingest.rig import ChannelSetup, Rig
from ingest.sample_course import Course
from ingest.wire.messages import Reading
from ingest.wire.plausible import bounds, other_units, plausible

STALE_INTERVALS = 3
LOST_INTERVALS = 10
SOONEST_STALE_S = 2.0

CALIBRATION_HOLDS = timedelta(days=366)
"""Yearly calibration is common practice, no source."""

_UNREADABLE: Mapping[Unreadable, tuple[str, str]] = {
    Unreadable.OVERLOAD: ("overload", "the instrument shows overload"),
    Unreadable.SENSOR_FAULT: ("sensor_fault", "the instrument reports a fault of its sensor"),
    Unreadable.UNKNOWN: ("sensor_fault", "the instrument gives no value"),
    Unreadable.NOT_LIVE: ("stale", "the instrument shows an extreme or relative value; set it back to live"),
    Unreadable.HELD: ("held", "the instrument's display is held; press HOLD again to let it go"),
    Unreadable.OTHER_FUNCTION: ("stale", "the instrument is set to measure something else; turn its dial"),
    Unreadable.UNSTEADY: ("stale", "the instrument says that it is not steady yet"),
    Unreadable.LOW_BATTERY: ("sensor_fault", "the instrument's battery is low: do not trust its number; change it"),
}


_BAROMETER = "barometric_pressure"

_WEATHER_PA_PER_S = 300.0 / 3600.0
"""So fast weather moves the barometric pressure, seldom faster: from memory. As a standard uncertainty."""

_COUNTS = ("ok", "uncalibrated")
"""What a reading is that counts for the circuit it is on."""


@dataclass(frozen=True, slots=True)
class Sample:
    """What an instrument said last for one channel, in its own unit, and when that was so.

    late_s: how much later it came [s].
    """

    value: Value
    monotonic_s: float
    time_s: float
    late_s: float = 0.0


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
        self._elsewhere: Mapping[str, str] = {}
        self._turns: Mapping[str, int] = {}
        self._believed: tuple[Barometer, float] | None = None
        self.change(rig, keep=())

    def change(self, rig: Rig, keep: Collection[str]) -> None:
        """Have the channels of this rig. keep: instruments that go on, so that what they said last still counts."""
        before = {setup.name: (setup.instrument, setup.field) for setup in self._setups}
        self._setups = sorted(rig.channels, key=lambda setup: setup.name != _BAROMETER)
        self._configured = Barometer(rig.barometric_pressure_pa, rig.barometric_standard_uncertainty_pa)
        self._names: dict[tuple[str, str], list[str]] = {}
        self._setup = {setup.name: setup for setup in self._setups}
        samples, courses = {}, {}
        for setup in self._setups:
            source = setup.instrument, setup.field
            self._names.setdefault(source, []).append(setup.name)
            goes_on = setup.instrument in keep and before.get(setup.name) == source
            if goes_on and setup.name in self._samples:
                samples[setup.name] = self._samples[setup.name]
            courses[setup.name] = self._courses[setup.name] if goes_on else Course(setup.interval_s)
        self._samples, self._courses = samples, courses
        if _BAROMETER not in samples:
            self._believed = None
        self.barometer = self._believed[0] if self._believed else self._configured

    def place(self, elsewhere: Mapping[str, str], turns: Mapping[str, int]) -> None:
        """Have channels where they were put.

        elsewhere: those that do not read the circuit in view, and why. turns: how often a lead passes through the jaw
        of a clamp, which reads so many times its current.
        """
        self._elsewhere, self._turns = elsewhere, turns

    def slept(self, for_s: float) -> None:
        """Let what is known be older by the time for which this machine slept [s]: its monotonic clock stood still."""
        for name, known in self._samples.items():
            self._samples[name] = Sample(known.value, known.monotonic_s - for_s, known.time_s, known.late_s)

    def accept(self, instrument: str, stamp: Stamp, values: Mapping[str, Value]) -> None:
        """Take what an instrument's decoder found; fields that no channel asks for are left."""
        time_s = self._time_s(stamp)
        for field, said in values.items():
            for name in self._names.get((instrument, field), ()):
                value = as_configured(self._setup[name], said)
                came_s, late_s = stamp.monotonic_ns / 1e9, value.by_s if isinstance(value, Earlier) else 0.0
                self._courses[name].add(value, came_s)
                known = self._samples.get(name)
                if late_s and known and known.monotonic_s > came_s - late_s:
                    continue  # of a time before what is known: a message that came late, or a past that is sent
                self._samples[name] = Sample(value, came_s - late_s, time_s - late_s, late_s)

    def readings(self, moment: Moment) -> dict[str, Reading]:
        """Give the reading of every channel at this moment; `barometer` is then what gauge pressures count from."""
        self.barometer = self._configured
        readings = {}
        for setup in self._setups:
            interval_s = self._courses[setup.name].interval_s
            reading = read(setup, self._samples.get(setup.name), moment, self.barometer, interval_s)
            readings[setup.name] = self._placed(setup.name, reading)
            if setup.name == _BAROMETER:
                readings[setup.name] = self._counted_from(setup, readings[setup.name], moment.monotonic_s)
        return readings

    def _counted_from(self, setup: ChannelSetup, reading: Reading, monotonic_s: float) -> Reading:
        """Have gauge pressures count from this reading of the barometer; else give it with what they count from.

        One that is silent or cannot be believed leaves what it read last, less and less surely, as weather moves: what
        is configured instead would move every pressure at once, by as much as the elevation is off.
        """
        if reading.value is not None:
            self.barometer = Barometer(reading.value, setup.standard_uncertainty)
            self._believed = self.barometer, monotonic_s
            return reading
        if self._believed is None:
            return replace(reading, reason=f"{reading.reason}; pressures count from what is configured")
        last, at_s = self._believed
        moved_pa = _WEATHER_PA_PER_S * (monotonic_s - at_s)
        self.barometer = Barometer(last.pressure_pa, math.hypot(last.standard_uncertainty_pa, moved_pa))
        return replace(reading, reason=f"{reading.reason}; pressures count from what it read last, with a wider ±")

    def _placed(self, name: str, reading: Reading) -> Reading:
        """Give a reading as it counts where its channel is; one that is worse than elsewhere stays what it is."""
        if reading.value is None:
            return reading
        turns = self._turns.get(name, 1)
        if turns != 1:
            spread = reading.standard_uncertainty
            reading = replace(
                reading, value=reading.value / turns, standard_uncertainty=None if spread is None else spread / turns
            )
        if name in self._elsewhere and reading.quality in _COUNTS:
            return replace(reading, quality="elsewhere", reason=self._elsewhere[name])
        return reading

    def heard_s(self) -> dict[str, float]:
        """Tell when the newest sample of each channel was measured, as far as is known, by the monotonic clock [s].

        That is when it came, unless the instrument itself says that it was before.
        """
        return {name: sample.monotonic_s for name, sample in self._samples.items()}

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
        return Reading(
            None, sample.time_s, "stale", _too_old(setup, sample, age_s) or f"the {setup.instrument} is silent"
        )
    number = sample.value
    if isinstance(number, Unreadable):
        quality, reason = _UNREADABLE[number]
        return Reading(None, sample.time_s, quality, reason)
    if isinstance(number, Malformed):
        return Reading(None, sample.time_s, "malformed", number.reason)
    if not math.isfinite(number):
        return Reading(None, sample.time_s, "malformed", "the instrument sent no finite number")
    value, uncertainty = absolute(setup, setup.corrected(number), barometer)
    if setup.quantity is Quantity.CURRENT and value < -setup.accuracy:
        value = -value  # all these are alternating: a clamp that signs them was put on the other way round; no source
    of_zero = 0.0 if setup.reference == "gauge" else setup.accuracy  # a gauge counts from the air, not from nothing
    counts = plausible(bounds(setup.name, setup.quantity), value, of_zero)
    if counts is None:
        units = other_units(setup.name, number)
        hint = f"; it would be in {' or '.join(units)}: see to the channel's unit" if units else ""
        return Reading(None, sample.time_s, "out_of_range", f"{number:g} {setup.unit} is not plausible{hint}")
    if age_s > stale_s:
        return Reading(counts, sample.time_s, "stale", _too_old(setup, sample, age_s), uncertainty)
    return Reading(counts, sample.time_s, _calibration(setup, moment), "", uncertainty)


def as_configured(setup: ChannelSetup, said: Value) -> Value:
    """Give a number that came with its unit in the unit that is configured, and anything else as it is."""
    if not isinstance(said, InUnit):
        return said
    try:
        return setup.restated(said)
    except CalcError:
        shown = f"the {setup.instrument} says {said:g} {said.unit} where {setup.unit} was expected"
        return Malformed(f"{shown}: see to `field`")


def _too_old(setup: ChannelSetup, sample: Sample, age_s: float) -> str:
    """Say why a sample is too old, where it came late and not nothing since; else empty."""
    if sample.late_s <= age_s - sample.late_s:
        return ""
    return f"the {setup.instrument} sent what it had measured {sample.late_s:.1f} s before; is its clock set?"


def absolute(setup: ChannelSetup, value: float, barometer: Barometer) -> tuple[float, float]:
    """Give a value, or an array, with its standard uncertainty, a gauge pressure turned into an absolute one."""
    if setup.reference != "gauge":
        return value, setup.standard_uncertainty
    return value + barometer.pressure_pa, math.hypot(setup.standard_uncertainty, barometer.standard_uncertainty_pa)


def _calibration(setup: ChannelSetup, moment: Moment) -> str:
    if setup.calibrated_on is None:
        return "ok"
    calibrated = datetime(*setup.calibrated_on.timetuple()[:3], tzinfo=UTC)
    held = moment.time_s <= (calibrated + CALIBRATION_HOLDS).timestamp()
    return "ok" if held else "uncalibrated"
