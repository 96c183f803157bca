"""Field checks of channels and what follows from them: a check proposes, a calibration is made when it is accepted.

Pure. A check looks at what came in the last seconds, so that nobody waits for it: the technician follows the steps,
sees the reading stand, and then asks.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import Literal

from calc.comparing import Met, NotMet
from calc.errors import CalcError
from calc.estimate import Estimate
from calc.quantities import CHANNELS, Quantity
from calc.sensors import field_checks
from calc.sensors.calibration import CalibrationPoint, two_point
from calc.uncertainty import rectangular
from calc.units import System
from calc.wording import limit
from ingest.frames import NoNumber, Value
from ingest.rig import ChannelSetup, Rig
from ingest.wire.messages import Calibration, CheckAsk, CheckFound, CheckKind, Corrected, Line, Mark, Wording
from ingest.wire.plausible import bounds
from ingest.wire.texts import shown

CHECKED_BY: Mapping[CheckKind, frozenset[Quantity]] = {
    "open_to_air": frozenset({Quantity.PRESSURE}),
    "ice_point": frozenset({Quantity.TEMPERATURE}),
    "one_pipe": frozenset({Quantity.TEMPERATURE}),
    "closed_jaw": frozenset({Quantity.CURRENT}),
    "reference": frozenset(Quantity),
}
"""What each check is for."""

_AIR = "barometric_pressure"
WEATHER_PA = 5e3
"""So far weather moves the air pressure of a place, seldom farther: common practice, no source."""
_NOT_IN_AIR = frozenset({"barometric_pressure", "vacuum_pressure"})
"""Pressures for which the air is no reference: one is the air, the other's gauge ends far below it."""

_CHECKS: Mapping[CheckKind, str] = {
    "open_to_air": "the open air",
    "ice_point": "an ice slurry",
    "one_pipe": "a second clamp on the pipe",
    "closed_jaw": "a jaw closed on nothing",
    "reference": "a better instrument",
}
"""What a channel is checked by, in words."""

LEAST_S = 3.0
"""Over less an average says little of what the instrument will do next: common practice, no source."""


class CheckRefusedError(Exception):
    """A check or a correction that cannot be made: says why and what to do."""


class ElsewhereError(Exception):
    """The probe reads as if it were elsewhere. questions: to the person, by name; it goes on once they confirm them."""

    def __init__(self, questions: Mapping[str, Wording]) -> None:
        super().__init__(" ".join(it.us for it in questions.values()))
        self.questions = questions


IS_IT_THERE: Mapping[CheckKind, str] = {
    "open_to_air": "is the hose still on the unit? Check once it is open to the air",
    "ice_point": "is it in the ice? Check once it has stood there for a while",
    "closed_jaw": "is a conductor in the jaw? Check once it is closed on nothing",
    "one_pipe": "are both on the same pipe? Check once they are side by side",
    "reference": "are both at the same place? Check once they are",
}
"""What to ask where a reading is far from what the check expects: common practice, no source."""


_UNDER_PRESSURE = (
    "still under pressure? No zero is so far off, so nothing is recorded. See by another gauge whether the pressure is "
    "gone before anything comes off; where it is gone, this probe is broken or counts otherwise: take another one"
)


@dataclass(frozen=True, slots=True)
class Checkable:
    """A channel that can be checked.

    recent: what its instrument sent lately, oldest first; empty if it is silent. seconds: over how long [s].
    """

    setup: ChannelSetup
    recent: Sequence[Value] = ()
    seconds: float = 0.0


def check(ask: CheckAsk, channels: Mapping[str, Checkable], barometer: Estimate, site_pa: float) -> CheckFound:
    """Compare what a channel read lately with what is true.

    barometer: the barometric pressure, as well as it is known [Pa]. site_pa: as the place of the rig is configured, by
    its elevation or as somebody read it there [Pa].

    Raises:
        CheckRefusedError: there is no such check of this channel now.
        ElsewhereError: it reads far from what the check expects, and nobody has confirmed that it is there; or, open
            to the air, more than any zero is off, whatever anybody confirms.

    """
    kind = ask.check
    channel = _checkable(kind, ask.channel, channels)
    setup = channel.setup
    sent = _sent(channel)
    read = [setup.corrected(value) for value in sent]
    try:
        reference = _reference(kind, ask, channels, setup, barometer)
        asked = {"of_this_place": _of_this_place(ask, site_pa)} if _is_of_elsewhere(ask, site_pa) else {}
        mean = math.fsum(read) / len(read)
        if kind == "open_to_air" and field_checks.is_under_pressure(mean, reference.value, setup.accuracy):
            said = _question(kind, setup, read[-1], reference.value, barometer.value, _UNDER_PRESSURE)
            raise ElsewhereError({"under_pressure": said})
        if not field_checks.is_near(mean, reference.value, setup.accuracy):
            asked[kind] = _question(kind, setup, read[-1], reference.value, barometer.value, IS_IT_THERE[kind])
        if asked and not ask.confirmed:
            raise ElsewhereError(asked)
        reading = field_checks.steady_average(read, setup.accuracy)
        found = field_checks.check(reading, reference, setup.accuracy)
    except CalcError as error:
        raise CheckRefusedError(f"the {_words(ask.channel)}: {error}") from error
    left = found.corrected_standard_uncertainty
    return CheckFound(
        kind=kind,
        channel=ask.channel,
        sent=_rounded(math.fsum(sent) / len(sent)),
        reading=_rounded(reading.value),
        reference=_rounded(reference.value),
        offset=_rounded(found.offset.value),
        offset_standard_uncertainty=_rounded(found.offset.standard_uncertainty),
        standard_uncertainty=_rounded(setup.standard_uncertainty),
        verdict=_verdict(found),
        corrected_standard_uncertainty=None if left is None else _rounded(min(left, setup.standard_uncertainty)),
        other=ask.other,
        value=ask.value,
        value_accuracy=ask.value_accuracy,
        instrument=setup.instrument,
    )


def _is_of_elsewhere(ask: CheckAsk, site_pa: float) -> bool:
    """Tell whether a typed air pressure is none that the weather makes here: its own limits are those of any place."""
    is_air = ask.check == "reference" and ask.channel == _AIR
    return is_air and ask.value is not None and abs(ask.value - site_pa) > WEATHER_PA


def _of_this_place(ask: CheckAsk, site_pa: float) -> Wording:
    def say(system: System) -> str:
        typed, here = (limit(value, Quantity.PRESSURE, system, 0.0) for value in (ask.value or 0.0, site_pa))
        return (
            f"{typed} was typed, and at this place the air presses {here}, which weather hardly moves so far: is it "
            "reduced to sea level, as weather reports are, or of another place?"
        )

    return Wording(us=say("us"), si=say("si"))


def _question(
    kind: CheckKind,
    setup: ChannelSetup,
    reading: float,
    reference: float,
    barometric_pressure_pa: float,
    asked: str,
) -> Wording:
    def say(system: System) -> str:
        above = barometric_pressure_pa if setup.reference == "gauge" else 0.0
        reads, beside = (
            limit(value + above, setup.quantity, system, barometric_pressure_pa) for value in (reading, reference)
        )
        compared = f", the other {beside}" if kind in ("one_pipe", "reference") else ""
        return f"It still reads {reads}{compared}: {asked}."

    return Wording(us=say("us"), si=say("si"))


def _words(channel: str) -> str:
    return channel.replace("_", " ")


def _checkable(kind: CheckKind, name: str, channels: Mapping[str, Checkable]) -> Checkable:
    if name not in channels:
        raise CheckRefusedError(f"there is no channel {name!r}; there are {', '.join(channels)}")
    if CHANNELS[name] not in CHECKED_BY[kind] or (kind == "open_to_air" and name in _NOT_IN_AIR):
        raise CheckRefusedError(f"{_CHECKS[kind]} is no check of the {_words(name)}")
    return channels[name]


def _sent(channel: Checkable) -> list[float]:
    """Give the numbers that a channel sent lately; refuse where there was anything else."""
    setup = channel.setup
    if not channel.recent:
        raise CheckRefusedError(f"the {setup.instrument} is silent: wait until it reads")
    if channel.seconds < LEAST_S:
        raise CheckRefusedError(f"the {setup.instrument} has been heard for too short a time: wait {LEAST_S:g} s")
    numbers = [value for value in channel.recent if not isinstance(value, NoNumber)]
    if len(numbers) < len(channel.recent):
        raise CheckRefusedError(
            f"the {setup.instrument} gave no number for the {_words(setup.name)}: wait until it reads"
        )
    return numbers


def _reference(
    kind: CheckKind, ask: CheckAsk, channels: Mapping[str, Checkable], setup: ChannelSetup, barometer: Estimate
) -> Estimate:
    match kind:
        case "ice_point":
            return field_checks.ICE_POINT_K
        case "closed_jaw":
            return field_checks.NO_CURRENT_A
        case "open_to_air":
            return field_checks.NO_GAUGE_PRESSURE_PA if setup.reference == "gauge" else barometer
        case "one_pipe":
            return _second_clamp(ask, channels)
    return _better_instrument(ask, setup, barometer)


def _second_clamp(ask: CheckAsk, channels: Mapping[str, Checkable]) -> Estimate:
    if ask.other == ask.channel:
        raise CheckRefusedError("two clamps on one pipe are compared: choose another one beside the first")
    second = _checkable("one_pipe", ask.other, channels)
    setup = second.setup
    average = field_checks.steady_average([setup.corrected(value) for value in _sent(second)], setup.accuracy)
    checked = setup.checked_standard_uncertainty
    instrument = rectangular(setup.accuracy) if checked is None else checked
    contacts = math.sqrt(2) * field_checks.PIPE_CONTACT_DK  # each of the two clamps has its own
    return Estimate(average.value, math.hypot(average.standard_uncertainty, instrument, contacts))


def _better_instrument(ask: CheckAsk, setup: ChannelSetup, barometer: Estimate) -> Estimate:
    if ask.value is None or ask.value_accuracy is None:
        raise CheckRefusedError(
            "what the better instrument says, or its ± limit, is missing: give both (value, value_accuracy)"
        )
    low, high = bounds(setup.name, setup.quantity)
    if not low <= ask.value <= high:
        least, most = (limit(each, setup.quantity, "si", barometer.value) for each in (low, high))
        raise CheckRefusedError(
            f"value is {limit(ask.value, setup.quantity, 'si', barometer.value)}, which no instrument reads of the "
            f"{_words(ask.channel)}: {least} to {most} were expected"
        )
    says = Estimate(ask.value, rectangular(ask.value_accuracy))
    if setup.reference != "gauge":
        return says
    return Estimate(says.value - barometer.value, math.hypot(says.standard_uncertainty, barometer.standard_uncertainty))


def _verdict(found: field_checks.FieldCheck) -> Literal["within", "out", "cannot_tell"]:
    match found.verdict:
        case Met():
            return "within"
        case NotMet():
            return "out"
    return "cannot_tell"


def correct(founds: Mapping[str, CheckFound], setup: ChannelSetup) -> Calibration:
    """Make the calibration that takes off what one check found, or that runs through what two found.

    founds: the checks, by the ids of their marks.

    Raises:
        CheckRefusedError: the checks do not make a calibration.

    """
    points = list(founds.values())
    if any(found.channel != setup.name for found in points):
        raise CheckRefusedError(f"the checks are not all of the {_words(setup.name)}")
    if another := {found.instrument for found in points} - {setup.instrument}:
        was_of = " and ".join(
            f"of {shown(name)}" if name else "without an instrument's name" for name in sorted(another)
        )
        raise CheckRefusedError(
            f"the {_words(setup.name)} is of {shown(setup.instrument)} now, and the check is {was_of}: check it again"
        )
    if any(found.corrected_standard_uncertainty is None for found in points):
        raise CheckRefusedError("a correction would not make it better: see what the check found")
    after = _shifted(points[0], setup) if len(points) == 1 else _through(points, setup)
    before = Line(setup.slope, setup.offset, _rounded(setup.standard_uncertainty))
    return Calibration(setup.name, before, after, tuple(founds), setup.instrument)


def _shifted(found: CheckFound, setup: ChannelSetup) -> Line:
    """Move the line so that what was sent gives what was true."""
    offset = setup.offset - (setup.corrected(found.sent) - found.reference) / setup.conversion.factor
    return Line(setup.slope, _rounded(offset), _left(found))


def _through(points: Sequence[CheckFound], setup: ChannelSetup) -> Line:
    """Run the line through both points. What an instrument is off between them stays as with one."""
    low, high = (
        CalibrationPoint(
            Estimate(setup.slope * found.sent + setup.offset, 0.0),
            Estimate(setup.conversion.from_si(found.reference), 0.0),
        )
        for found in points
    )
    try:
        gain = two_point(low, high).gain
    except CalcError as error:
        raise CheckRefusedError(f"the two checks of the {_words(setup.name)} make no calibration: {error}") from error
    offset = low.reference.value - gain * (low.reading.value - setup.offset)
    return Line(_rounded(gain * setup.slope), _rounded(offset), max(map(_left, points)))


def _left(found: CheckFound) -> float:
    return found.corrected_standard_uncertainty or found.standard_uncertainty


def corrected(rig: Rig, marks: Iterable[Mark], instruments: Mapping[str, str] = MappingProxyType({})) -> Rig:
    """Apply the calibrations among the marks of a visit, oldest first, to a rig as it is configured.

    One applies only to what it was made for: where the file says something new, the file counts. instruments: of which
    each was, by the id of its mark, as the record has it; an old mark does not say so itself.
    """
    made = [mark for mark in marks if isinstance(mark, Corrected)]

    def follow(setup: ChannelSetup) -> ChannelSetup:
        for mark in made:
            if setup.instrument == _made_for(mark, instruments):
                setup = _calibrated(setup, mark)
        return setup

    followed = (replace(it, channels=tuple(map(follow, it.channels))) for it in rig.instruments)
    return replace(rig, instruments=tuple(followed))


def _made_for(mark: Corrected, instruments: Mapping[str, str]) -> str:
    """Name the instrument that was checked. Of an old mark the record tells; where it does not, it is of none."""
    return mark.calibration.instrument or instruments.get(mark.id, "")


def lapsed(rig: Rig, marks: Iterable[Mark], instruments: Mapping[str, str] = MappingProxyType({})) -> list[str]:
    """Tell which corrections of a visit apply no more, as the channel is of another instrument now."""
    now = {channel.name: channel.instrument for channel in rig.channels}
    of: dict[str, list[str]] = {}
    for mark in marks:
        if isinstance(mark, Corrected) and mark.calibration.channel in now:
            of.setdefault(mark.calibration.channel, []).append(_made_for(mark, instruments))
    return [_lapsed(name, was[-1], now[name]) for name, was in of.items() if now[name] not in was]


def _lapsed(channel: str, was: str, now: str) -> str:
    of = f"was of {shown(was)}" if was else "names no instrument"
    return f"the correction of the {_words(channel)} {of} and does not apply to {shown(now)}: check that one"


def _calibrated(setup: ChannelSetup, mark: Corrected) -> ChannelSetup:
    calibration = mark.calibration
    if calibration.channel != setup.name:
        return setup
    before, after = calibration.before, calibration.after
    if (setup.slope, setup.offset) != (before.slope, before.offset):
        return setup
    return replace(
        setup,
        slope=after.slope,
        offset=after.offset,
        checked_standard_uncertainty=after.standard_uncertainty,
        calibrated_on=calibration_date(mark) or setup.calibrated_on,
    )


def calibration_date(mark: Corrected) -> date | None:
    """Give the day from which a mark's calibration counts as one: it takes two points. One is a check."""
    if len(mark.calibration.checks) < 2:
        return None
    return datetime.fromtimestamp(mark.time_s, UTC).date()


def _rounded(value: float) -> float:
    return float(f"{value:.7g}")
