"""Instruments: the channels of each with its ± and calibration, field checks of the day, and what was corrected."""

from collections.abc import Iterator, Sequence

from calc.quantities import QUANTITIES
from calc.units import Kind, difference_to_display
from ingest.record.reading import RecordedChannel
from ingest.report.channels import NAMES
from ingest.report.clock import day_as_written
from ingest.report.course import Course
from ingest.report.document import Block, Fields, Items, Section, Statement
from ingest.report.said import said
from ingest.wire.messages import Checked, Corrected

_KINDS = {
    "open_to_air": "open to the air",
    "ice_point": "in melting ice",
    "one_pipe": "both on one pipe",
    "closed_jaw": "jaw closed on nothing",
    "reference": "against a better instrument",
}
_VERDICTS = {"within": "within its ±", "out": "out", "cannot_tell": "cannot tell"}


def instruments(course: Course) -> Section:
    """Say it."""
    by_instrument: dict[str, list[RecordedChannel]] = {}
    for it in sorted(course.known.channels, key=lambda it: (it.instrument, it.name)):
        by_instrument.setdefault(it.instrument, []).append(it)
    rows = [_row(course, name, channels) for name, channels in by_instrument.items()]
    blocks: list[Block] = [Fields(rows)] if rows else []
    told = [*_checked(course), *_corrected(course), *_never(course)]
    return Section("Instruments", [*blocks, Items(told)] if told else blocks)


def _row(course: Course, instrument: str, channels: Sequence[RecordedChannel]) -> tuple[str, Statement]:
    """Tell the channels of an instrument, those together that may be off by as much and were calibrated together."""
    alike: dict[str, list[str]] = {}
    for it in channels:
        alike.setdefault(_how_well(course, it), []).append(_within(instrument, NAMES.get(it.name, it.name)))
    ids = [course.visit_id, *(it.mark for it in channels)]
    return instrument, said("; ".join(f"{', '.join(names)} {how}" for how, names in alike.items()), ids)


def _within(instrument: str, name: str) -> str:
    """Name a channel behind its instrument.

    >>> _within("multimeter", "Multimeter, volts AC")
    'volts AC'
    """
    return name.removeprefix(f"{instrument.capitalize()}, ")


def _how_well(course: Course, it: RecordedChannel) -> str:
    day = f" ({day_as_written(it.calibrated) or it.calibrated})" if it.calibrated else ""
    corrected = ", corrected" if it.mark else ""
    return f"±{_spread(course, it.name, it.accuracy)}{day}{corrected}"


def _never(course: Course) -> Iterator[Statement]:
    """Tell what nobody recorded of them."""
    was_checked = any(isinstance(mark, Checked) for mark in course.marks)
    was_calibrated = any(it.calibrated for it in course.known.channels)
    lacking = [
        *([] if was_checked else ["field check of this day"]),
        *([] if was_calibrated else ["day of calibration"]),
    ]
    if lacking:
        yield said(f"Not recorded: {', '.join(lacking)}.", course.visit_id)


def _spread(course: Course, channel: str, value: float) -> str:
    """Tell what a channel may be off by."""
    kind: Kind = "vacuum_pressure" if channel == "vacuum_pressure" else QUANTITIES[channel]
    number, unit = difference_to_display(value, kind, course.system)
    return f"{float(f'{number:.2g}'):g} {unit}".rstrip()


def _checked(course: Course) -> Iterator[Statement]:
    for mark in course.marks:
        if isinstance(mark, Checked):
            it = mark.check
            off = _spread(course, it.channel, it.offset).replace("-", "−")
            text = f"{course.clock.time(mark.time_s)} {NAMES.get(it.channel, it.channel)}, {_KINDS[it.kind]}: "
            yield said(f"{text}reads {off} too high, {_VERDICTS[it.verdict]}.", mark.id)


def _corrected(course: Course) -> Iterator[Statement]:
    for mark in course.marks:
        if isinstance(mark, Corrected):
            channel = NAMES.get(mark.calibration.channel, mark.calibration.channel)
            text = f"{course.clock.time(mark.time_s)} {channel}: what the check found is taken off from here on."
            yield said(text, mark.id, list(mark.calibration.checks))
