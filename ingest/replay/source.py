"""What a recorded visit is made of, in the order in which it came, and the rig that measured it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby, islice
from pathlib import Path

import msgspec

from calc.quantities import CHANNELS, STANDARD_PRESSURE_PA, Quantity
from calc.units import Kind, conversion
from ingest.advice.rerun import Following, Grounds, Rerun
from ingest.record.reading import RecordedChannel, RecordedVisit, RecordFile, RegisteredSheet
from ingest.rig import ChannelSetup, InstrumentSetup, Rig
from ingest.wire.messages import Mark, Pack, Sheet

_ABSOLUTE_BY_NATURE = {"barometric_pressure", "vacuum_pressure"}

_AT_ONCE = 1200


@dataclass(frozen=True, slots=True)
class Step:
    """One pack, the marks that came before it, and the advices that were given on it."""

    pack: Pack
    marks: Sequence[Mark]
    advices: Sequence[Rerun]


def steps(record: RecordFile, visit: RecordedVisit) -> Iterator[Step]:
    """Give a visit pack by pack; the marks of after its last pack gives `marks_left`."""
    following = Following(record, visit.id)
    marks = [recorded.mark for recorded in record.marks_after(visit.id, 0)]
    for pack in _packs(record, visit.id):
        due = 0
        while due < len(marks) and marks[due].time_s <= pack.time_s:
            due += 1
        yield Step(pack, marks[:due], list(following.take(pack)))
        marks = marks[due:]


def _packs(record: RecordFile, visit: str) -> Iterator[Pack]:
    """Read the packs of a visit, some at a time: a record that is read for hours cannot be tidied up meanwhile."""
    newest = 0
    while some := list(islice(record.visit_packs(visit, after=newest), _AT_ONCE)):
        newest = some[-1].sequence or 0
        yield from some


def marks_left(record: RecordFile, visit: RecordedVisit, taken: int) -> list[Mark]:
    """Give the marks that no pack follows. taken: how many came with the packs."""
    return [recorded.mark for recorded in record.marks_after(visit.id, 0)][taken:]


def sheets_before(record: RecordFile, visit: RecordedVisit) -> list[RegisteredSheet]:
    """Give the sheets that were kept of the unit, oldest first, but for those that the marks of the visit bring."""
    ids = {recorded.mark.id for recorded in record.marks_after(visit.id, 0)}
    return [kept for kept in record.sheets_of(visit.unit.tag)[::-1] if kept.mark not in ids]


def sheet_then(record: RecordFile, visit: RecordedVisit) -> Sheet | None:
    """Give the sheet of the unit as it was when a visit ended; None where there was none."""
    kept = record.sheets_of(visit.unit.tag)
    return next((it.sheet for it in kept if visit.ended_s is None or it.since_s <= visit.ended_s), None)


def rig_of(record: RecordFile, visit: RecordedVisit, name: str, into: Path) -> Rig:
    """Give the rig that measured a visit, as far as the record has it, under another name and with another record.

    What the air outside was is in the grounds of its advices; of a visit without any, that of the sea level counts,
    by which only gauge pressures are shown, and nothing is judged.
    """
    grounds = _first_grounds(record, visit)
    air_pa = grounds.known.situation.barometric_pressure_pa if grounds else None
    measured = groupby(record.channels(visit.id), key=lambda channel: (channel.instrument, channel.link))
    return Rig(
        name,
        into,
        STANDARD_PRESSURE_PA if air_pa is None else air_pa,
        0.0,
        visit.unit,
        tuple(_instrument(instrument, link, list(channels)) for (instrument, link), channels in measured),
        speed=grounds.speed if grounds else 1.0,
        played=True,
    )


def _first_grounds(record: RecordFile, visit: RecordedVisit) -> Grounds | None:
    for advice in record.advices():
        if advice.visit == visit.id:
            return msgspec.json.decode(advice.grounds, type=Grounds)
    return None


def _instrument(name: str, link: str, channels: Sequence[RecordedChannel]) -> InstrumentSetup:
    setups = tuple(_setup(channel) for channel in channels if channel.name in CHANNELS)
    return InstrumentSetup(name, link, channels[0].interval_s, setups)


def _setup(it: RecordedChannel) -> ChannelSetup:
    quantity: Kind = CHANNELS[it.name]
    kind = it.name if it.name in _ABSOLUTE_BY_NATURE else quantity
    reference = (it.reference or None) if quantity is Quantity.PRESSURE else None
    return ChannelSetup(
        name=it.name,
        instrument=it.instrument,
        field=it.name,
        unit=it.unit,
        reference=it.reference,
        conversion=conversion(it.unit, kind, reference=reference, barometric_pressure_pa=0.0),
        accuracy=it.accuracy,
        interval_s=it.interval_s,
        slope=it.slope,
        offset=it.offset,
        calibrated_on=date.fromisoformat(it.calibrated) if it.calibrated else None,
        checked_standard_uncertainty=it.standard_uncertainty,
    )
