"""Plays a record's newest visit again, and holds what comes of it to what it was."""

import re
from collections.abc import Callable
from pathlib import Path

import msgspec
from msgspec.structs import replace

from calc.units import System
from ingest.record.reading import RecordFile, open_record
from ingest.replay.play import Played, play
from ingest.report.compose import compose
from ingest.report.document import Report
from ingest.visit.plates import circuits_of, unnamed_is
from ingest.visit.standing import Standing
from ingest.wire.messages import Mark, encode
from tests.brokers import mosquitto


async def played_again(path: Path, free_port: Callable[[], int]) -> tuple[Path, Played]:
    """Play it into a record of its own, as fast as may be."""
    into, visit = path.with_name("again.sqlite"), open_record(path).visit_named(None)
    async with mosquitto(free_port(), path.parent) as broker:
        return into, await play(path, visit, into, broker.address, rig="replay", speed=1000.0)


def marks_of(path: Path) -> list[Mark]:
    return [it.mark for it in RecordFile(path).marks_after(open_record(path).visit_named(None).id, 0)]


def fold(path: Path) -> bytes:
    """Give how the visit stands at its end, as it travels."""
    visit = open_record(path).visit_named(None)
    sheet = RecordFile(path).sheet(visit.unit.tag)
    circuits = sheet.sheet.circuits if sheet else ()
    standing = Standing(visit.id)
    standing.moved.know(circuits_of(visit.unit, circuits, ""), unnamed_is(visit.unit, circuits))
    for mark in marks_of(path):
        standing.take(mark)
    return standing.encoded()


def advices_of(path: Path) -> list[tuple[bytes, bytes]]:
    """Give every advice to the last digit, and what it rests on."""
    return [(it.payload, it.grounds) for it in RecordFile(path).advices()]


def report_of(path: Path, system: System = "us") -> Report:
    """Give the report without when it was read, why it is not live, and which version of the sheet it rests on.

    A record that is played into has one version more: the unit as configured, which is there before what is played.
    """
    visit = open_record(path).visit_named(None).id
    told = replace(compose(RecordFile(path), visit, system=system, zone="UTC"), made_s=0.0, origins=[])
    return msgspec.json.decode(re.sub(rb"(sheet \S+ version )\d+", rb"\1", msgspec.json.encode(told)), type=Report)


def assert_same(into: Path, played: Played, path: Path) -> None:
    """Hold a record that was played into to the one it is of."""
    assert [encode(mark) for mark in marks_of(into)] == [encode(mark) for mark in marks_of(path)] != []
    assert fold(into) == fold(path)
    assert (played.came_out.same, played.came_out.others) == (len(advices_of(path)), 0)
    assert advices_of(into) == advices_of(path) != []
    assert report_of(into, "us") == report_of(path, "us")
    assert report_of(into, "si") == report_of(path, "si")
