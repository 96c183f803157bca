"""How the parts and circuits of a unit have gone over its visits, as lines to be drawn: each reading with its ±.

Nothing is fitted or foretold here: between two visits nobody looked.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from calc import wording
from calc.quantities import STANDARD_PRESSURE_PA
from calc.units import Kind, System, display_unit, to_display
from dashboard import words
from dashboard.sentences import say
from ingest.wire.messages import PartHistory, PartReading, UnitHistory

_DRAWN = frozenset({"capacitance", "current", "resistance", "voltage"})
"""Quantities of a part that a trend tells something of; a count or a temperature belongs to its moment."""
_MOST_POINTS = 60
"""More than five years of months (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Point:
    """A reading on a day. value, plus_minus: as drawn; None where nothing tells its ±. says: the same in words."""

    time_s: float
    value: float
    plus_minus: float | None
    says: str
    is_right: bool


@dataclass(frozen=True, slots=True)
class Trend:
    """What is drawn, oldest first. label: what the part should show; low, high: how far from that it may be.

    All as drawn, in one unit. says: the newest reading, and how it stands to the label.
    """

    title: str
    says: str
    points: Sequence[Point]
    label: float | None = None
    low: float | None = None
    high: float | None = None


def trends(history: UnitHistory | None, system: System) -> list[Trend]:
    """Give what can be drawn of the parts that are in; of a part with no reading nothing."""
    parts = [it for it in (history.parts if history else ()) if it.until_s is None]
    return [trend for part in parts for trend in _of_a_part(part, system)]


def _of_a_part(part: PartHistory, system: System) -> Iterator[Trend]:
    by_figure: dict[tuple[str, str, str], list[PartReading]] = {}
    for reading in part.readings:
        if reading.quantity in _DRAWN:
            by_figure.setdefault((reading.check, reading.of, reading.quantity), []).append(reading)
    name = part.part or words.MOTORS.get(part.drives, "") or words.PART_KINDS[part.kind]
    for readings in by_figure.values():
        yield _trend(name.capitalize(), part.label, sorted(readings, key=lambda it: it.time_s)[-_MOST_POINTS:], system)


def _trend(name: str, label: Mapping[str, float], readings: Sequence[PartReading], system: System) -> Trend:
    newest = readings[-1]
    kind = cast("Kind", newest.quantity)
    unit = display_unit(newest.value, kind, system)
    tolerance, on_label = label.get("tolerance"), newest.label_value
    drawn = None if on_label is None else to_display(on_label, kind, system, unit=unit)[0]
    return Trend(
        f"{name}, {newest.label.rpartition(': ')[2]}",
        _says(newest, on_label, system),
        tuple(_point(it, unit, system) for it in readings),
        drawn,
        None if drawn is None or tolerance is None else drawn * (1.0 - tolerance),
        None if drawn is None or tolerance is None else drawn * (1.0 + tolerance),
    )


def _point(reading: PartReading, unit: str, system: System) -> Point:
    kind, off = cast("Kind", reading.quantity), reading.accuracy
    value = to_display(reading.value, kind, system, unit=unit)[0]
    beside = None if off is None else to_display(reading.value + off, kind, system, unit=unit)[0]
    return Point(
        reading.time_s,
        value,
        None if beside is None else abs(beside - value),
        _figure(reading, system),
        reading.outcome != "not_met",
    )


def _says(newest: PartReading, on_label: float | None, system: System) -> str:
    """Tell the newest, and how far it is from the label; within its ± it is not told apart from it."""
    figure = _figure(newest, system)
    if not on_label:
        return (
            say("unit.newest_amps", figure=figure)
            if newest.quantity == "current"
            else say("unit.newest", figure=figure)
        )
    labelled = wording.as_fine_as_known(on_label, None, newest.quantity, system, STANDARD_PRESSURE_PA)
    apart = newest.value - on_label
    if newest.accuracy is not None and abs(apart) <= newest.accuracy:
        return say("unit.as_its_label", figure=figure, label=labelled)
    share = f"{abs(apart) / on_label * 100.0:.0f}"
    if share == "0":
        return say("unit.beside_label", figure=figure, label=labelled)
    side = say("unit.below") if apart < 0.0 else say("unit.above")
    return say("unit.beside_its_label", figure=figure, share=share, side=side, label=labelled)


def _figure(reading: PartReading, system: System) -> str:
    return wording.as_fine_as_known(reading.value, reading.accuracy, reading.quantity, system, STANDARD_PRESSURE_PA)
