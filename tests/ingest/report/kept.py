"""A whole visit in a real record, as the bench's technician made it."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from ingest.record.store import Record
from ingest.wire.messages import Mark, Note, Photograph, decode_mark
from tests.ingest.report.recorded import picture, read, with_pictures
from tests.rigs import make_rig

VISIT = "v1"


def marks() -> Sequence[Mark]:
    return with_pictures([decode_mark(mark.encode()) for mark in read("weak_capacitor").marks])


def kept(
    directory: Path, count: int | None = None, *, noted: bool = False, simulated: bool = False, boot: str = "b"
) -> Path:
    """Put a visit into a record, its first marks at least; gives its path. noted: with a note after all of them."""
    directory.mkdir(exist_ok=True)
    rig = replace(make_rig(directory), simulated=simulated)
    record = Record(rig.record)
    record.begin_session(rig, boot=boot, new_visit=VISIT, time_s=marks()[0].time_s)
    add(record, marks()[:count])
    if noted:
        record.add_mark(Note("later", marks()[-1].time_s + 60.0, "Sam", "technician", text="The owner called."))
    record.close()
    return rig.record


def goes_on(path: Path, begins: int) -> None:
    """Add the marks of the visit from a number on, as after the daemon was started anew."""
    record = Record(path)
    record.begin_session(make_rig(path.parent), boot="c", new_visit="never", time_s=marks()[begins].time_s)
    add(record, marks()[begins:])
    record.close()


def with_notes(path: Path, count: int) -> None:
    """Add long notes: more than a sheet has room for."""
    record = Record(path)
    last_s = marks()[-1].time_s
    record.begin_session(make_rig(path.parent), boot="c", new_visit="never", time_s=last_s)
    for number in range(count):
        words = f"Note {number}: the gasket beneath the north panel has come off, and water stands in the pan. " * 3
        record.add_mark(Note(f"n{number}", last_s + number, "Sam", "technician", text=words))
    record.close()


def add(record: Record, all_marks: Sequence[Mark]) -> None:
    for mark in all_marks:
        if isinstance(mark, Photograph):
            record.add_photograph(mark, picture())
        else:
            record.add_mark(mark)
