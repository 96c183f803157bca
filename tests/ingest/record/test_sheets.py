"""The register within the record: every sheet stays, the newest counts, and none is lost with a damaged file."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace

from ingest.record.errors import NotSavedError
from ingest.record.migrations import STEPS, migrate
from ingest.record.reading import RecordFile
from ingest.record.sheets import RegisteredSheet, VisitOfUnit
from ingest.record.store import Carried, Record
from ingest.rig import Rig
from ingest.visit.sheets import from_about
from ingest.wire.messages import Described, Note, Sheet, Signed, encode
from tests.recording import T0_S
from tests.rigs import with_unit
from tests.units import CORRECT


def begin(record: Record, rig: Rig, time_s: float = T0_S, visit: str = "v1", carried: Carried | None = None) -> None:
    record.begin_session(rig, boot="boot", new_visit=visit, time_s=time_s, carried=carried)


def described(mark_id: str, sheet: Sheet, time_s: float) -> Described:
    return Described(mark_id, time_s, by="Sam", role="technician", sheet=as_read(sheet))


def as_read(sheet: Sheet) -> Sheet:
    """As the wire gives it: every sequence a list."""
    return replace(sheet, circuits=list(sheet.circuits), parts=list(sheet.parts))


def test_the_unit_of_the_configuration_is_the_first_of_the_register(record: Record, rig: Rig) -> None:
    begin(record, rig)
    assert record.sheets() == [RegisteredSheet(from_about(rig.unit), T0_S)]
    assert record.sheet("RTU-K7Q-4") == RegisteredSheet(from_about(rig.unit), T0_S)
    assert record.sheet("RTU-K7Q-5") is None


def test_what_was_described_is_not_undone_by_the_configuration(record: Record, rig: Rig) -> None:
    begin(record, rig)
    better = as_read(replace(from_about(rig.unit), serial="K-0042"))
    record.add_mark(described("m1", better, T0_S + 60))
    begin(record, rig, T0_S + 3600)
    assert record.sheet("RTU-K7Q-4") == RegisteredSheet(better, T0_S + 60, "m1")


def test_of_a_unit_the_newest_sheet_counts_and_the_others_stay(record: Record, rig: Rig) -> None:
    begin(record, rig)
    versions = [as_read(replace(CORRECT, serial=f"S-{number}")) for number in range(3)]
    for number, sheet in enumerate(versions):
        record.add_mark(described(f"m{number}", sheet, T0_S + number))
    kept = [RegisteredSheet(sheet, T0_S + number, f"m{number}") for number, sheet in enumerate(versions)]
    history = RecordFile(rig.record)
    assert record.sheet(CORRECT.tag) == history.sheet(CORRECT.tag) == kept[-1]
    assert history.sheets_of(CORRECT.tag) == kept[::-1]
    assert record.sheets() == history.sheets() == [RegisteredSheet(from_about(rig.unit), T0_S), kept[-1]]


def test_a_mark_that_is_refused_leaves_no_sheet(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.add_mark(Note(id="m1", time_s=T0_S, text="looked"))
    with pytest.raises(NotSavedError):
        record.add_mark(described("m1", CORRECT, T0_S))
    assert record.sheet(CORRECT.tag) is None


def test_sheets_are_imported_all_or_none(record: Record, rig: Rig) -> None:
    """Before any session, too: a shop brings its units in before its first visit."""
    sheets = [as_read(replace(CORRECT, tag=f"AHU-{number}")) for number in range(3)]
    record.add_sheets(sheets, T0_S)
    assert record.sheets() == [RegisteredSheet(sheet, T0_S) for sheet in sheets]
    record._database.execute("CREATE TRIGGER refuse BEFORE INSERT ON sheets WHEN NEW.tag = 'AHU-5' "
                             "BEGIN SELECT RAISE(ABORT, 'no'); END")  # fmt: skip
    with pytest.raises(NotSavedError):
        record.add_sheets([replace(CORRECT, tag="AHU-4"), replace(CORRECT, tag="AHU-5")], T0_S)
    assert len(record.sheets()) == 3
    begin(record, with_unit(rig, tag="AHU-1"))
    assert record.sheet("AHU-1") == RegisteredSheet(sheets[1], T0_S)


def test_visits_are_told_by_unit_the_newest_first(record: Record, rig: Rig) -> None:
    begin(record, rig, T0_S, "v1")
    record.add_mark(Signed("s1", T0_S, "Sam", "technician", name="Sam", digest="00"))
    begin(record, with_unit(rig, tag="AHU-1"), T0_S + 60, "v2")
    begin(record, rig, T0_S + 13 * 3600, "v3")
    told = [VisitOfUnit("v3", T0_S + 13 * 3600, None), VisitOfUnit("v1", T0_S, T0_S)]
    assert record.visits_of("RTU-K7Q-4") == RecordFile(rig.record).visits_of("RTU-K7Q-4") == told
    assert record.visits_of("AHU-2") == []
    assert record.visited() == RecordFile(rig.record).visited() == {"RTU-K7Q-4": T0_S + 13 * 3600, "AHU-1": T0_S + 60}


def test_a_record_that_takes_the_place_of_another_has_its_register(record: Record, rig: Rig) -> None:
    kept = [RegisteredSheet(as_read(CORRECT), T0_S - 60, "m1"), RegisteredSheet(from_about(rig.unit), T0_S - 50)]
    begin(record, rig, carried=Carried(4, 100, visit=("v0", T0_S - 60), sheets=kept))
    assert record.sheets() == kept
    begin(record, rig, T0_S + 1, carried=Carried(4, 100, visit=("v0", T0_S - 60), sheets=kept))
    assert len(RecordFile(rig.record).sheets_of(CORRECT.tag)) == 1


def test_a_sheet_that_cannot_be_read_any_more_leaves_the_one_before_it(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.add_mark(described("m1", CORRECT, T0_S))
    record.add_mark(described("m2", replace(CORRECT, serial="S-2"), T0_S + 1))
    record._database.execute("UPDATE sheets SET sheet = substr(sheet, 9) WHERE mark = 'm2'")
    found = record.sheet(CORRECT.tag)
    assert found is not None
    assert found.mark == "m1"
    assert [kept.mark for kept in record.sheets()] == ["", "m1"]


def test_units_of_a_record_from_before_the_register_are_in_it(rig: Rig) -> None:
    """As version 4 had them."""
    old = with_unit(rig, tag="AHU-1").unit
    with closing(sqlite3.connect(rig.record, isolation_level=None)) as database:
        migrate(database, STEPS[:4])
        database.execute("INSERT INTO units VALUES ('AHU-1', ?)", (encode(old).decode(),))
        database.execute("INSERT INTO units VALUES ('AHU-2', '{')")  # damaged: left out and told
    history = RecordFile(rig.record)
    assert (history.sheets(), history.sheet("AHU-1"), history.sheets_of("AHU-1")) == ([], None, [])
    record = Record(rig.record)
    begin(record, rig)
    assert [kept.sheet for kept in record.sheets()] == [from_about(old), from_about(rig.unit)]
    record.close()


def test_a_record_that_is_not_there_yet_has_no_units(tmp_path: Path) -> None:
    history = RecordFile(tmp_path / "none.sqlite")
    assert history.visited() == {}
    assert (history.sheets(), history.sheet("x"), history.sheets_of("x"), history.visits_of("x")) == ([], None, [], [])
