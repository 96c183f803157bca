"""A copy is whole while the record is written to; a record from a copy goes on with numbers that none had."""

import os
import shutil
import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from dewline import main
from ingest.record import keeping
from ingest.record.errors import RecordError
from ingest.record.keeping import Held, copy, look, restore
from ingest.record.lock import Lock
from ingest.record.migrations import STEPS, migrate
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Note, Photograph, decode_pack, encode_pack
from tests.recording import T0_S
from tests.rigs import make_pack


def begin(rig: Rig, visit: str = "first") -> Record:
    record = Record(rig.record)
    record.begin_session(rig, boot="b", new_visit=visit, time_s=T0_S)
    return record


def packs(rig: Rig) -> list[bytes]:
    return [encode_pack(pack) for pack in RecordFile(rig.record).packs_after(0)]


def test_a_copy_is_made_while_a_daemon_writes(rig, tmp_path):
    record = begin(rig)
    record.commit([make_pack(T0_S + number) for number in range(300)])
    record.advance("mqtt packs", 300)
    record.compact(newest_packs=0)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    held = copy(rig.record, tmp_path / "copy.sqlite")
    record.add_mark(Note(id="n2", time_s=T0_S, text="after"))
    record.close()
    assert (held.visits, held.marks, held.last_pack, held.last_session) == (1, 1, 300, 1)
    assert look(tmp_path / "copy.sqlite") == held
    assert [path.name for path in tmp_path.glob("copy*")] == ["copy.sqlite"]  # nothing beside it is needed


def test_restored_it_is_what_it_was_and_its_numbers_go_on_behind_those_given_since(rig, tmp_path):
    record = begin(rig)
    record.commit([make_pack(T0_S + number) for number in range(3)])
    record.close()
    as_copied = packs(rig)
    copy(rig.record, tmp_path / "copy.sqlite")
    record = begin(rig)
    record.commit([make_pack(T0_S + number) for number in range(10, 15)])
    record.close()
    _, aside = restore(tmp_path / "copy.sqlite", rig.record, now_s=T0_S + 99)
    assert packs(rig) == as_copied
    assert aside is not None
    with closing(sqlite3.connect(aside)) as old:
        assert old.execute("SELECT count(*) FROM packs").fetchone() == (8,)
    record = begin(rig)
    (payload,) = record.commit([make_pack(T0_S + 100)])
    assert (record.session.number, decode_pack(payload).sequence) == (3, 9)
    record.close()


@pytest.mark.parametrize("step", ["link", "replace"])
def test_killed_in_the_middle_a_restore_leaves_the_record_whole(rig, tmp_path, monkeypatch, step):
    """Its newest marks are in its log still, as a writer that was killed leaves them."""
    record = begin(rig)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    copy(rig.record, tmp_path / "copy.sqlite")
    record.add_mark(Note(id="n2", time_s=T0_S, text="after"))
    killed = tmp_path / "killed" / rig.record.name
    killed.parent.mkdir()
    for suffix in ("", "-wal"):
        part = rig.record.with_name(rig.record.name + suffix)
        shutil.copy(part, killed.with_name(part.name))
    record.close()

    def kill(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(*((os, "link") if step == "link" else (Path, "replace")), kill)
    with pytest.raises(KeyboardInterrupt):
        restore(tmp_path / "copy.sqlite", killed, now_s=T0_S)
    assert look(killed).marks == 2


def test_two_restores_in_one_second_keep_both_that_were_there(rig, tmp_path):
    record = begin(rig)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    copy(rig.record, tmp_path / "copy.sqlite")
    record.add_mark(Note(id="n2", time_s=T0_S, text="after"))
    record.close()
    asides = [restore(tmp_path / "copy.sqlite", rig.record, now_s=T0_S)[1] for _ in range(2)]
    assert [look(aside).marks for aside in asides if aside] == [2, 1]
    assert [aside.name for aside in asides if aside] == [
        "bench.before-restore-2023-11-14T221320Z.sqlite",
        "bench.before-restore-2023-11-14T221320Z-2.sqlite",
    ]


def test_on_a_fresh_machine_numbers_that_may_have_been_given_are_left_out(rig, tmp_path):
    record = begin(rig)
    record.commit([make_pack(T0_S)])
    record.close()
    copy(rig.record, tmp_path / "copy.sqlite")
    for path in rig.record.parent.glob(rig.record.name + "*"):
        path.unlink()
    assert restore(tmp_path / "copy.sqlite", rig.record, now_s=T0_S)[1] is None
    record = begin(rig)
    (payload,) = record.commit([make_pack(T0_S + 100)])
    assert record.session.number > 100
    assert (decode_pack(payload).sequence or 0) > 7 * 24 * 3600 * 4  # a week at four a second
    unacknowledged = record.outbox("mqtt packs", 9)
    assert next(decode_pack(entry.payload).sequence for entry in unacknowledged) == 1  # what no sink had still goes out
    record.close()


def test_restored_twice_on_a_fresh_machine_they_are_still_left_out(rig, tmp_path):
    """The first copy was the wrong one, and nothing ran in between."""
    record = begin(rig)
    record.commit([make_pack(T0_S)])
    record.close()
    copy(rig.record, tmp_path / "copy.sqlite")
    for path in rig.record.parent.glob(rig.record.name + "*"):
        path.unlink()
    for _ in range(2):
        restore(tmp_path / "copy.sqlite", rig.record, now_s=T0_S)
    record = begin(rig)
    (payload,) = record.commit([make_pack(T0_S + 100)])
    assert 100 < record.session.number < 10_000  # and not one more for each pack that may be missing
    assert (decode_pack(payload).sequence or 0) > 7 * 24 * 3600 * 4
    record.close()


def test_a_damaged_copy_is_refused_and_the_record_stays(rig, tmp_path):
    record = begin(rig)
    record.commit([make_pack(T0_S + number) for number in range(50)])
    record.close()
    copy(rig.record, tmp_path / "copy.sqlite")
    damaged = bytearray((tmp_path / "copy.sqlite").read_bytes())
    damaged[4096 * 3 : 4096 * 5] = b"\xff" * 8192
    (tmp_path / "copy.sqlite").write_bytes(damaged)
    before = packs(rig)
    with pytest.raises(RecordError, match=r"is damaged|is no record"):
        restore(tmp_path / "copy.sqlite", rig.record, now_s=T0_S)
    assert packs(rig) == before


def test_what_is_refused(rig, tmp_path):
    begin(rig).close()
    copied = tmp_path / "copy.sqlite"
    copy(rig.record, copied)
    with pytest.raises(RecordError, match="is there already"):
        copy(rig.record, copied)
    with pytest.raises(RecordError, match="there is no record"):
        copy(tmp_path / "none.sqlite", tmp_path / "other.sqlite")
    (tmp_path / "text.sqlite").write_text("a shopping list")
    with pytest.raises(RecordError, match="is no record"):
        restore(tmp_path / "text.sqlite", rig.record, now_s=T0_S)
    lock = Lock(rig.record)
    try:
        with pytest.raises(RecordError, match="stop it"):
            restore(copied, rig.record, now_s=T0_S)
    finally:
        lock.close()
    with closing(sqlite3.connect(copied)) as database:
        database.execute("PRAGMA user_version = 999")
    with pytest.raises(RecordError, match="of version 999"):
        look(copied)


def test_what_cannot_be_read_in_a_copy_is_named_and_the_copy_is_made(rig, tmp_path, capsys):
    record = begin(rig)
    record.commit([make_pack(T0_S + number) for number in range(300)])
    record.advance("mqtt packs", 300)
    record.compact(newest_packs=2)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    record.close()
    with closing(sqlite3.connect(rig.record)) as database:
        database.execute("UPDATE marks SET payload = ? WHERE id = 'n1'", (b"{spoilt",))
        database.execute("UPDATE packs SET payload = ? WHERE sequence = 300", (b"[spoilt",))
        database.execute("UPDATE chunks SET data = ? WHERE first_sequence = 1", (b"spoilt",))
        database.commit()
    copied = tmp_path / "copy.sqlite"
    assert main(["backup", str(rig.record), str(copied)]) == 1
    told = capsys.readouterr()
    for row in ("mark n1", "pack 300", "the minute of packs from 1"):
        assert f"dewline backup: {row} cannot be read" in told.err
    assert "it is whole" not in told.out
    assert main(["restore", str(copied), str(rig.record)]) == 1
    assert "dewline restore: mark n1 cannot be read" in capsys.readouterr().err


def test_neither_a_folder_nor_the_copy_itself_is_restored_over(rig, tmp_path):
    begin(rig).close()
    copied = tmp_path / "copy.sqlite"
    copy(rig.record, copied)
    (tmp_path / "data").mkdir()
    with pytest.raises(RecordError, match="is a folder: name the file"):
        restore(copied, tmp_path / "data", now_s=T0_S)
    with pytest.raises(RecordError, match="is the copy itself"):
        restore(copied, copied, now_s=T0_S)
    assert look(copied).visits == 1
    assert (tmp_path / "data").is_dir()


def test_where_a_copy_cannot_be_written_its_own_disk_is_named(rig, tmp_path):
    begin(rig).close()
    with pytest.raises(RecordError, match=r"nowhere/copy\.sqlite\.\d+\.unfinished cannot be written"):
        copy(rig.record, tmp_path / "nowhere" / "copy.sqlite")


def test_two_copies_to_one_name_are_two_files_and_what_fails_leaves_nothing(rig, tmp_path, monkeypatch):
    begin(rig).close()
    to = tmp_path / "copies" / "copy.sqlite"
    to.parent.mkdir()
    looked = keeping.look

    def look_while_another_ends(copied):
        held = looked(copied)
        to.write_bytes(b"of another")
        return held

    monkeypatch.setattr(keeping, "look", look_while_another_ends)
    with pytest.raises(RecordError, match="came to be there meanwhile"):
        copy(rig.record, to)
    assert to.read_bytes() == b"of another"
    to.unlink()
    monkeypatch.setattr(keeping, "look", lambda _: pytest.fail("not whole"))
    with pytest.raises(pytest.fail.Exception):
        copy(rig.record, to)
    assert list(to.parent.iterdir()) == []


def test_copies_made_of_a_record_at_work_are_each_whole_up_to_a_moment(rig, tmp_path):
    """A rig commits as fast as it can, and compacts, while copy after copy is made; none may take its place."""
    stop, committed = threading.Event(), []

    def work():
        with closing(Lock(rig.record)), closing(Record(rig.record)) as record:
            record.begin_session(rig, boot="b", new_visit="v", time_s=T0_S)
            while not stop.is_set():
                number = len(committed)
                record.commit([make_pack(T0_S + number / 4)])
                record.add_mark(Note(id=f"n{number}", time_s=T0_S + number / 4, text="at work"))
                committed.append(number)
                if number % 50 == 0:
                    record.advance("mqtt packs", number)
                    record.compact(newest_packs=0)

    at_work = threading.Thread(target=work)
    at_work.start()
    try:
        copies = []
        for number in range(6):
            while len(committed) < 60 * (number + 1):
                time.sleep(0.01)
            before = len(committed)
            held = copy(rig.record, tmp_path / f"{number}.sqlite")
            copies.append((before, held))
        with pytest.raises(RecordError, match=r"^process \d+ on .* writes .*: stop it, restore, and start it again"):
            restore(tmp_path / "0.sqlite", rig.record, now_s=T0_S)
    finally:
        stop.set()
        at_work.join()
    for number, (before, held) in enumerate(copies):
        found = RecordFile(tmp_path / f"{number}.sqlite")
        assert [pack.sequence for pack in found.packs_after(0)] == list(range(1, held.last_pack + 1))
        assert before <= held.last_pack <= len(committed)
        assert held.last_pack - held.marks in (0, 1)
        assert held.unreadable == ()
    restore(tmp_path / "3.sqlite", rig.record, now_s=T0_S)
    with closing(Record(rig.record)) as record:
        record.begin_session(rig, boot="b2", new_visit="v2", time_s=T0_S + 9)
        record.commit([make_pack(T0_S + 10_000)])
    newest = list(RecordFile(rig.record).packs_after(0))[-1]
    assert newest.sequence == len(committed) + 1  # none that was given since the copy comes twice


def test_a_copy_of_another_program_or_with_a_row_that_points_nowhere_is_refused(rig, tmp_path):
    with closing(sqlite3.connect(tmp_path / "empty.sqlite")) as database, database:
        database.execute("CREATE TABLE somebodys (it)")
    with pytest.raises(RecordError, match=r"empty\.sqlite is of version 0; this program knows 1 to \d+"):
        look(tmp_path / "empty.sqlite")
    record = begin(rig)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    record.close()
    copy(rig.record, tmp_path / "copy.sqlite")
    with closing(sqlite3.connect(tmp_path / "copy.sqlite")) as database, database:
        database.execute("PRAGMA foreign_keys = OFF")
        database.execute("DELETE FROM visits")
    with pytest.raises(RecordError, match=r"copy\.sqlite is damaged: a row of \w+ points nowhere"):
        look(tmp_path / "copy.sqlite")


def test_a_copy_is_not_restored_over_itself_by_another_name(rig, tmp_path):
    begin(rig).close()
    copy(rig.record, tmp_path / "copy.sqlite")
    (tmp_path / "record.sqlite").symlink_to(tmp_path / "copy.sqlite")
    with pytest.raises(RecordError, match="is the copy itself"):
        restore(tmp_path / "copy.sqlite", tmp_path / "record.sqlite", now_s=T0_S)


@pytest.mark.parametrize("version", range(1, len(STEPS) + 1))
def test_a_copy_of_each_version_is_looked_over(tmp_path, version):
    copied = tmp_path / "copy.sqlite"
    with closing(sqlite3.connect(copied, isolation_level=None)) as database:
        migrate(database, STEPS[:version])
        database.execute("INSERT INTO cursors VALUES ('mqtt packs', 7)")
    assert look(copied) == Held(visits=0, marks=0, photographs=0, last_session=0, last_pack=7)


def test_what_a_copy_holds_is_counted_with_its_photographs(rig, tmp_path):
    record = begin(rig)
    record.add_photograph(
        Photograph("p1", T0_S, digest="0" * 64, sent_digest="1" * 64, width=4, height=3, check="panels"), b"a picture"
    )
    record.close()
    assert copy(rig.record, tmp_path / "copy.sqlite").photographs == 1


def test_of_what_points_nowhere_in_a_copy_the_first_is_named(rig, tmp_path):
    record = begin(rig)
    record.add_mark(Note(id="n1", time_s=T0_S, text="before"))
    record.close()
    copied = tmp_path / "copy.sqlite"
    copy(rig.record, copied)
    with closing(sqlite3.connect(copied)) as database, database:
        database.execute("DELETE FROM visits")
        tables = [row[0] for row in database.execute("PRAGMA foreign_key_check")]
    assert len(set(tables)) > 1
    with pytest.raises(RecordError, match=f"is damaged: a row of {tables[0]} points nowhere"):
        look(copied)
