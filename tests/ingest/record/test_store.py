"""The record: numbers without gaps, bytes as published, visits that survive a restart."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from ingest.record.errors import DamagedError, NotSavedError, RecordError
from ingest.record.migrations import STEPS, MigrationError, migrate
from ingest.record.reading import RecordFile
from ingest.record.sheets import VisitOfUnit
from ingest.record.store import Carried, Record, Session, is_whole
from ingest.rig import Rig
from ingest.wire.messages import (
    Added,
    Calibration,
    Corrected,
    Line,
    Note,
    Signed,
    VisitOpened,
    decode_pack,
    encode,
    encode_pack,
)
from tests.recording import T0_S
from tests.rigs import make_pack, with_unit


def begin(
    record: Record, rig: Rig, time_s: float = T0_S, visit: str = "visit-1", opened_by: VisitOpened | None = None
) -> Session:
    return record.begin_session(rig, boot="boot", new_visit=visit, time_s=time_s, opened_by=opened_by)


def kept(rig: Rig) -> list[bytes]:
    """Every pack there is, whether kept as a pack or in a chunk."""
    return [encode_pack(pack) for pack in RecordFile(rig.record).packs_after(0)]


def test_packs_are_numbered_and_stored_as_published(record: Record, rig: Rig) -> None:
    begin(record, rig)
    packs = [make_pack(T0_S + number) for number in range(5)]
    published = record.commit(packs[:2]) + record.commit(packs[2:])
    assert [decode_pack(payload).sequence for payload in published] == [1, 2, 3, 4, 5]
    assert published[0] == encode_pack(msgspec.structs.replace(packs[0], sequence=1))
    assert [entry.payload for entry in record.outbox("mqtt packs", 32)] == published


def test_numbers_go_on_over_restarts(rig: Rig) -> None:
    for run in range(1, 4):
        record = Record(rig.record)
        session = begin(record, rig, T0_S + run)
        payloads = record.commit([make_pack(T0_S + run)])
        record.close()
        assert (session.number, decode_pack(payloads[0]).sequence) == (run, run)


def test_the_disk_is_asked_to_make_sure(record: Record) -> None:
    database = record._database
    assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert database.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL, sqlite.org/pragma.html
    assert database.execute("PRAGMA foreign_keys").fetchone() == (1,)


@pytest.mark.parametrize("clock_s", [0.25, 13 * 3600.0, -13 * 3600.0])
def test_an_open_visit_goes_on_whatever_the_clock_shows(rig: Rig, clock_s: float) -> None:
    record = Record(rig.record)
    first = begin(record, rig)
    record.commit([make_pack(T0_S + 3600)])
    record.close()  # without an end, as after a crash
    record = Record(rig.record)
    second = begin(record, rig, T0_S + 3600 + clock_s, visit="visit-2")
    record.close()
    assert (first.resumed, second.resumed) == (False, True)
    assert second == Session(2, "visit-1", T0_S, resumed=True)
    assert RecordFile(rig.record).visits_of(rig.unit.tag) == [VisitOfUnit("visit-1", T0_S, None)]


def test_who_opens_the_unit_at_work_ends_its_visit_with_its_last_pack_and_begins_another(rig: Rig) -> None:
    record = Record(rig.record)
    begin(record, rig)
    record.commit([make_pack(T0_S + 3600)])
    opened = VisitOpened("o1", T0_S + 7200, "Sam", "technician", unit=rig.unit.tag, circuit="1")
    session = begin(record, rig, T0_S + 7200, visit="visit-2", opened_by=opened)
    rows = record._database.execute("SELECT id, ended_s FROM visits ORDER BY id").fetchall()
    assert session == Session(2, "visit-2", T0_S + 7200, resumed=False)
    assert rows == [("visit-1", T0_S + 3600), ("visit-2", None)]
    assert record.marks() == [opened]
    record.close()


def test_a_visit_of_the_configuration_to_which_somebody_came_back_is_at_work_at_the_next_start(
    record: Record, rig: Rig
) -> None:
    """Whoever went there last says where the rig is, and not who opened that visit first."""
    begin(record, rig)
    record.add_mark(VisitOpened("o0", T0_S, unit=rig.unit.tag, circuit="1"))
    assert record.unit_at_work() is None
    begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    back = VisitOpened("o1", T0_S + 120, "Sam", "technician", unit=rig.unit.tag, circuit="1")
    begin(record, rig, T0_S + 120, visit="visit-3", opened_by=back)
    assert record.unit_at_work() == rig.unit


def test_who_comes_back_to_a_unit_finds_its_visit_open_and_goes_on_with_it(record: Record, rig: Rig) -> None:
    begin(record, rig)
    begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    opened = VisitOpened("o1", T0_S + 120, "Sam", "technician", unit=rig.unit.tag, circuit="1")
    assert begin(record, rig, T0_S + 120, visit="visit-3", opened_by=opened).visit == "visit-1"


def test_a_restart_on_the_roof_does_not_tear_a_visit_in_two(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.end_session(T0_S + 60)
    assert begin(record, rig, T0_S + 120, visit="visit-2").visit == "visit-1"


def test_another_unit_is_another_visit(record: Record, rig: Rig) -> None:
    begin(record, rig)
    elsewhere = begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    back = begin(record, rig, T0_S + 120, visit="visit-3")
    assert (elsewhere.visit, back.visit) == ("visit-2", "visit-1")


def test_instruments_and_calibrations_are_kept_with_the_session(record: Record, rig: Rig) -> None:
    begin(record, rig)
    database = record._database
    assert database.execute("SELECT name, link FROM instruments").fetchall() == [
        ("low side probe", "serial_lines"),
        ("high side probe", "serial_lines"),
    ]
    row = database.execute("SELECT * FROM calibrations WHERE channel = 'liquid_pressure'").fetchone()
    assert row[1:] == (
        *(1, "liquid_pressure", "high side probe", "kPa", "gauge", 7000.0, 3500.0, 1.0, 0.0, "", T0_S, ""),
    )


def test_marks_are_found_by_id_and_listed_by_visit(record: Record, rig: Rig) -> None:
    begin(record, rig)
    added = Added(id="a", time_s=T0_S, by="Sam", role="technician", mass_kg=0.1, phase="liquid")
    note = Note(id="b", time_s=T0_S + 1, by="Robin", role="lead", text="Mind the filter.")
    record.add_mark(added)
    record.add_mark(note)
    assert record.find_mark("a") == added
    assert record.find_mark("c") is None
    assert record.marks() == [added, note]
    assert [entry.payload for entry in record.outbox("mqtt marks", 32)] == [encode(added), encode(note)]
    begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    assert record.marks() == []
    assert record.find_mark("a") == added


def test_a_cursor_moves_with_the_next_commit(rig: Rig) -> None:
    record = Record(rig.record)
    begin(record, rig)
    record.commit([make_pack(T0_S + number) for number in range(10)])
    assert [entry.position for entry in record.outbox("mqtt packs", 4)] == [1, 2, 3, 4]
    record.advance("mqtt packs", 4)
    assert [entry.position for entry in record.outbox("mqtt packs", 4)] == [5, 6, 7, 8]
    record.close()

    record = Record(rig.record)  # crashed before the next commit: what was acknowledged comes again
    begin(record, rig, T0_S + 20)
    assert record.outbox("mqtt packs", 1)[0].position == 1
    record.advance("mqtt packs", 4)
    record.commit([make_pack(T0_S + 20)])
    record.close()

    record = Record(rig.record)
    assert record.outbox("mqtt packs", 1)[0].position == 5
    record.close()


def test_two_sinks_do_not_disturb_each_other(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.commit([make_pack()])
    record.add_mark(Note(id="a", time_s=T0_S))
    record.advance("mqtt packs", 1)
    assert record.outbox("mqtt packs", 1) == []
    assert len(record.outbox("mqtt marks", 1)) == 1


def test_what_is_no_record_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("Readings of last week, by hand. " * 100)
    with pytest.raises(RecordError, match="it is a text, not a record"):
        Record(path)
    assert path.read_text().startswith("Readings of last week")
    with pytest.raises(RecordError, match="no folder"):
        Record(tmp_path / "notes.txt" / "bench.sqlite")


def test_a_record_of_a_newer_version_is_refused(rig: Rig) -> None:
    record = Record(rig.record)
    record._database.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    record.close()
    with pytest.raises(RecordError, match="use a newer one"):
        Record(rig.record)


def test_old_packs_become_chunks_and_come_back_to_the_byte(rig: Rig) -> None:
    record = Record(rig.record)
    begin(record, rig)
    published = record.commit([make_pack(T0_S + number / 4) for number in range(300)])
    published += record.commit([make_pack(T0_S + 75, liquid_pressure=2.5e6) for _ in range(5)])
    assert record.compact(newest_packs=0) == 0  # the broker has not acknowledged them
    record.advance("mqtt packs", 303)
    counts = [record.compact(newest_packs=0) for _ in range(4)]
    assert counts == [240, 60, 3, 0]  # a minute; up to where the columns change; up to the cursor
    assert kept(rig) == published
    assert [entry.position for entry in record.outbox("mqtt packs", 32)] == [304, 305]
    record.advance("mqtt packs", 305)
    assert record.compact(newest_packs=2) == 0
    assert record.compact(newest_packs=0) == 2
    record.close()

    record = Record(rig.record)  # with chunks only, numbers go on all the same
    assert begin(record, rig, T0_S + 80).resumed
    assert decode_pack(record.commit([make_pack(T0_S + 80)])[0]).sequence == 306
    record.close()


def test_four_hours_of_packs_stay_as_they_are(record: Record, rig: Rig) -> None:
    """At four a second: 57,600."""
    begin(record, rig)
    record.commit([make_pack(T0_S)])
    record.begin_session(rig, boot="b", new_visit="v", time_s=T0_S, carried=Carried(1, last_sequence=57_599))
    record.advance("mqtt packs", 60_000)
    assert decode_pack(record.commit([make_pack(T0_S + 1)])[0]).sequence == 57_600
    assert record.compact() == 0
    record.commit([make_pack(T0_S + 2)])
    assert [record.compact() for _ in range(2)] == [1, 0]


def test_what_a_record_takes_over_goes_on_with_its_numbers_and_is_not_sent_again(record: Record, rig: Rig) -> None:
    marks = [Note(id=f"m{number}", time_s=T0_S, text="looked") for number in range(3)]
    carried = Carried(4, 100, visit=("visit-0", T0_S - 60), marks=marks)
    session = record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S, carried=carried)
    assert session == Session(5, "visit-0", T0_S - 60, resumed=True)
    assert record.marks() == marks
    assert record.outbox("mqtt marks", 32) == record.outbox("mqtt packs", 32) == []
    late = Note(id="m3", time_s=T0_S + 1, text="looked again")
    record.add_mark(late)
    assert [decode_pack(payload).sequence for payload in record.commit([make_pack()])] == [101]
    assert [entry.payload for entry in record.outbox("mqtt marks", 32)] == [encode(late)]
    assert [entry.position for entry in record.outbox("mqtt packs", 32)] == [101]


def test_of_what_is_not_known_only_the_numbers_go_on(record: Record, rig: Rig) -> None:
    session = record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S, carried=Carried(4, 100))
    assert session == Session(5, "visit-1", T0_S, resumed=False)
    assert record.last_sequence == 100


def test_a_cursor_never_goes_back_and_begins_before_the_first(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.commit([make_pack(T0_S + number) for number in range(3)])
    assert record.outbox("mqtt packs", 9)[0].position == 1
    for position in (2, 1):
        record.advance("mqtt packs", position)
        assert [entry.position for entry in record.outbox("mqtt packs", 9)] == [3]


def test_a_cursor_ahead_of_the_packs_keeps_their_numbers_apart(rig: Rig) -> None:
    """A copy from before the last packs, put back: what was published under those numbers is not given out again."""
    record = Record(rig.record)
    begin(record, rig)
    record.commit([make_pack()])
    record.advance("mqtt packs", 9)
    record.end_session(T0_S + 1)
    record.close()
    record = Record(rig.record)
    assert record.last_sequence == 9
    record.close()


def test_a_session_is_gone_on_with_only_where_it_is_the_same_and_open(record: Record, rig: Rig) -> None:
    session = begin(record, rig)
    assert record.resume_session(session, "boot")
    for other, boot in (
        (session, "another boot"),
        (replace(session, number=2), "boot"),
        (replace(session, visit="visit-2"), "boot"),
    ):
        assert not record.resume_session(other, boot)
    assert record.session == session
    record.end_session(T0_S + 60)
    assert not record.resume_session(session, "boot")


def test_a_file_is_whole_where_it_is_the_record_of_the_session(record: Record, rig: Rig, tmp_path: Path) -> None:
    session = begin(record, rig)
    assert is_whole(rig.record, session)
    assert not is_whole(rig.record, replace(session, number=2))
    assert not is_whole(rig.record, replace(session, visit="visit-2"))
    empty, text = tmp_path / "empty.sqlite", tmp_path / "text.sqlite"
    empty.touch()
    text.write_text("nothing to see here" * 100)
    assert not is_whole(empty, session)
    assert not is_whole(text, session)


def test_a_file_that_another_program_locks_is_not_called_damaged(record: Record, rig: Rig) -> None:
    session = begin(record, rig)
    record.close()
    with closing(sqlite3.connect(rig.record, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = DELETE")
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(NotSavedError, match="another program keeps the file locked"):
            is_whole(rig.record, session)


def test_a_lock_is_waited_for_for_a_second(record: Record) -> None:
    assert record._database.execute("PRAGMA busy_timeout").fetchone() == (1000,)  # [ms], sqlite.org/pragma.html


def test_an_empty_file_beside_a_log_is_damaged_and_an_empty_one_alone_is_a_new_record(rig: Rig) -> None:
    log = rig.record.with_name("bench.sqlite-wal")
    rig.record.touch()
    log.write_bytes(b"committed")
    with pytest.raises(DamagedError, match="the file is empty, though its write-ahead log is not"):
        Record(rig.record)
    assert log.read_bytes() == b"committed"
    log.write_bytes(b"")
    Record(rig.record).close()


def test_the_grounds_of_an_advice_are_those_of_this_visit(record: Record, rig: Rig) -> None:
    begin(record, rig)
    assert record.newest_grounds() is None
    for number in range(2):
        record.add_advice(T0_S + number, b"grounds %d" % number, b"advice %d" % number)
    assert record.newest_grounds() == b"grounds 1"
    assert [(it.session, it.grounds, it.payload) for it in RecordFile(rig.record).advices()] == [
        (1, b"grounds 0", b"advice 0"),
        (1, b"grounds 1", b"advice 1"),
    ]
    begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    assert record.newest_grounds() is None


def test_a_chunk_holds_one_visit(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.commit([make_pack(T0_S)])
    begin(record, with_unit(rig, tag="RTU-M2D-1"), T0_S + 60, visit="visit-2")
    record.commit([make_pack(T0_S + 60)])
    record.advance("mqtt packs", 2)
    assert [record.compact(newest_packs=0) for _ in range(3)] == [1, 1, 0]
    visits = record._database.execute("SELECT visit FROM chunks ORDER BY first_sequence").fetchall()
    assert visits == [("visit-1",), ("visit-2",)]


def test_packs_that_would_not_come_back_are_named_by_the_first(record: Record, rig: Rig) -> None:
    begin(record, rig)
    record.commit([make_pack(T0_S), make_pack(T0_S + 1), make_pack(T0_S + 2)])
    record._database.execute("UPDATE packs SET payload = CAST(payload || ' ' AS BLOB) WHERE sequence = 3")
    record.advance("mqtt packs", 3)
    with pytest.raises(RecordError, match="the packs from 1 on would not come back"):
        record.compact(newest_packs=0)


def test_what_does_not_fit_is_taken_back_and_the_next_is_written(record: Record, rig: Rig) -> None:
    begin(record, rig)
    first, second = (Note(id=name, time_s=T0_S, text="looked") for name in ("a", "b"))
    record.add_mark(first)
    with pytest.raises(NotSavedError, match="it does not fit what is in the record"):
        record.add_mark(first)
    record.add_mark(second)
    assert record.marks() == [first, second]


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "recipes.sqlite"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE recipes (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(NotSavedError, match="it is a database of another program"):
        Record(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(("checks", "calibrated"), [(["c1"], ""), (["c1", "c2"], "2023-11-14")])  # the day of T0_S
def test_a_correction_is_kept_with_the_session_and_of_two_points_it_is_a_calibration(
    record: Record, rig: Rig, checks: list[str], calibrated: str
) -> None:
    begin(record, rig)
    calibration = Calibration("liquid_pressure", Line(1.0, 0.0, 3500.0), Line(1.01, -2.0, 900.0), checks)
    record.add_mark(Corrected("k1", T0_S + 5, by="Sam", role="technician", calibration=calibration))
    rows = record._database.execute(
        """SELECT instrument, unit, accuracy, standard_uncertainty, slope, offset, calibrated, since_s, mark
           FROM calibrations WHERE channel = 'liquid_pressure' ORDER BY number"""
    ).fetchall()
    probe = ("high side probe", "kPa", 7000.0)
    assert rows == [(*probe, 3500.0, 1.0, 0.0, "", T0_S, ""), (*probe, 900.0, 1.01, -2.0, calibrated, T0_S + 5, "k1")]


def test_a_session_of_the_visit_after_a_correction_is_recorded_as_it_reads_then(record: Record, rig: Rig) -> None:
    begin(record, rig)
    calibration = Calibration("liquid_pressure", Line(1.0, 0.0, 3500.0), Line(1.01, -2.0, 900.0), ["c1"])
    record.add_mark(Corrected("k1", T0_S + 5, by="Sam", role="technician", calibration=calibration))
    second = begin(record, rig, T0_S + 60)
    row = "SELECT slope, offset, standard_uncertainty FROM calibrations WHERE session = ? AND channel = ?"
    assert record._database.execute(row, (second.number, "liquid_pressure")).fetchall() == [(1.01, -2.0, 900.0)]


def test_of_an_old_correction_the_record_tells_the_instrument(record: Record, rig: Rig) -> None:
    begin(record, rig)
    calibration = Calibration("liquid_pressure", Line(1.0, 0.0, 3500.0), Line(1.01, -2.0, 900.0), ["c1"])
    record.add_mark(Corrected("k1", T0_S + 5, by="Sam", role="technician", calibration=calibration))
    begin(record, rig, T0_S + 60)
    assert record.instruments_corrected() == {"k1": "high side probe"}


def test_a_visit_that_was_signed_in_a_record_that_was_lost_has_ended(record: Record, rig: Rig) -> None:
    signed = Signed("s1", T0_S - 30, "Sam", "technician", name="Sam", digest="0" * 64)
    carried = Carried(4, 100, visit=("visit-0", T0_S - 60), marks=[signed])
    record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S, carried=carried)
    assert begin(record, rig, T0_S + 60, visit="visit-2").visit == "visit-2"


@pytest.mark.parametrize("payload", [b"not a pack", encode_pack(make_pack()) + b" "])
def test_packs_that_would_not_come_back_stay(record: Record, rig: Rig, payload: bytes) -> None:
    begin(record, rig)
    record.commit([make_pack()])
    record._database.execute("UPDATE packs SET payload = ?", (payload,))
    record.advance("mqtt packs", 1)
    with pytest.raises(RecordError, match=r"cannot be read|would not come back"):
        record.compact(newest_packs=0)
    assert record._database.execute("SELECT payload FROM packs").fetchall() == [(payload,)]


def test_a_record_that_cannot_be_read_any_more_says_so(record: Record, rig: Rig) -> None:
    begin(record, rig)
    for table in ("packs", "marks"):
        record._database.execute(f"DROP TABLE {table}")
    with pytest.raises(NotSavedError, match="packs"):
        record.outbox("mqtt packs", 1)
    with pytest.raises(NotSavedError, match="packs"):
        record.compact()
    with pytest.raises(NotSavedError, match="marks"):
        record.find_mark("a")


def test_nothing_is_recorded_before_a_session(record: Record) -> None:
    with pytest.raises(RuntimeError, match="no session"):
        record.commit([make_pack()])


FAILING = [(step, statement) for step in range(len(STEPS)) for statement in range(len(STEPS[step]) + 1)]


def dump(database: sqlite3.Connection) -> list[str]:
    return [*database.iterdump(), str(database.execute("PRAGMA user_version").fetchone())]


@pytest.mark.parametrize(("step", "statement"), FAILING)
def test_a_migration_that_fails_leaves_the_record_as_it_was(tmp_path: Path, step: int, statement: int) -> None:
    database = sqlite3.connect(tmp_path / "bench.sqlite", isolation_level=None)
    migrate(database, STEPS[:step])
    before = dump(database)
    broken = list(STEPS[step])
    broken.insert(statement, "INSERT INTO nowhere VALUES (1)")
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        migrate(database, [*STEPS[:step], broken])
    assert dump(database) == before
    migrate(database)
    assert database.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
    database.close()


def test_migrating_twice_changes_nothing(tmp_path: Path) -> None:
    database = sqlite3.connect(tmp_path / "bench.sqlite", isolation_level=None)
    migrate(database)
    before = dump(database)
    migrate(database)
    assert dump(database) == before
    with pytest.raises(MigrationError):
        migrate(database, [])
    database.close()


def test_a_changed_rig_is_described_anew(record: Record, rig: Rig) -> None:
    begin(record, rig)
    begin(record, replace(rig, instruments=rig.instruments[:1]), T0_S + 1)
    counts = record._database.execute("SELECT session, count(*) FROM calibrations GROUP BY session").fetchall()
    assert counts == [(1, 4), (2, 2)]


def test_calibrations_of_an_older_record_stay_and_get_their_uncertainty(rig: Rig) -> None:
    """As version 2 had them: one for each channel and session; the maker's limit is k = 2."""
    database = sqlite3.connect(rig.record, isolation_level=None)
    migrate(database, STEPS[:2])
    database.execute("INSERT INTO units VALUES ('RTU-K7Q-4', '{}')")
    database.execute("INSERT INTO visits VALUES ('visit-0', 'RTU-K7Q-4', ?, NULL)", (T0_S,))
    database.execute("INSERT INTO sessions VALUES (1, 'visit-0', 'bench', 'boot', ?, NULL)", (T0_S,))
    database.execute("INSERT INTO instruments VALUES (1, 'low side probe', 'serial_lines', 0.5)")
    was = (1, "suction_pressure", "low side probe", "psi", "gauge", 6894.8, 1.0, -0.4, "")
    database.execute("INSERT INTO calibrations VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", was)
    database.close()
    record = Record(rig.record)
    rows = record._database.execute(
        "SELECT session, channel, standard_uncertainty, offset, since_s, mark FROM calibrations"
    ).fetchall()
    record.close()
    assert rows == [(1, "suction_pressure", 3447.4, -0.4, T0_S, "")]
