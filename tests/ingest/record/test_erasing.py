"""What is erased is gone from every byte, what the law wants kept stays without a name, and no number comes twice."""

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from dewline import main
from ingest.record.erasing import erase, find
from ingest.record.errors import RecordError
from ingest.record.lock import Lock
from ingest.record.migrations import STEPS, migrate
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.register.remembered import as_lines
from ingest.rig import Rig
from ingest.visit.seal import digest
from ingest.wire.messages import (
    Added,
    BaselineWithdrawn,
    Capacitor,
    Circuit,
    Correction,
    Note,
    Photograph,
    Sheet,
    Signed,
    decode_mark,
    decode_pack,
    encode,
)
from tests.recording import T0_S
from tests.rigs import make_pack

WHO, SAID = "Noor of Quarry Hill", "the neighbour Wim has the key"
YEAR_S = 366 * 86_400.0
BECAUSE = "asked for by the owner"


def mark(kind, number: int, **fields):
    return kind(id=f"m{number}", time_s=T0_S + number, by=WHO, role="technician", **fields)


@pytest.fixture
def rigged(rig: Rig) -> Rig:
    """A record of two visits at one unit: the first signed, with a move, a photograph and packs; the second open."""
    record = Record(rig.record)
    record.begin_session(rig, boot="b", new_visit="first", time_s=T0_S)
    record.add_mark(mark(Note, 1, text=SAID))
    record.add_mark(mark(Added, 2, mass_kg=0.17, phase="liquid", circuit="1", text=SAID))
    record.add_photograph(
        mark(Photograph, 3, digest="0" * 64, sent_digest="0" * 64, width=1, height=1), b"JPEG" + SAID.encode()
    )
    record.commit([make_pack(T0_S + number) for number in range(8)])
    record.advance("mqtt packs", 8)
    record.add_mark(mark(Signed, 4, name=WHO, digest="0" * 64))
    record.advance("mqtt marks", 4)
    record.close()
    with closing(sqlite3.connect(rig.record)) as database:
        database.execute("UPDATE visits SET ended_s = ? WHERE id = 'first'", (T0_S + 5,))
        database.commit()
    return rig


def bytes_of(record: Path) -> bytes:
    return b"".join(path.read_bytes() for path in record.parent.glob(record.name + "*"))


def test_no_byte_of_what_was_said_is_left(rigged):
    assert SAID.encode() in bytes_of(rigged.record)
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    left = bytes_of(rigged.record)
    assert SAID.encode() not in left
    assert WHO.encode() not in left
    record = RecordFile(rigged.record)
    assert record.photograph("m3") is None
    assert list(record.packs_after(0)) == []


def test_what_was_moved_stays_without_a_name_as_long_as_the_law_wants_it(rigged):
    """40 CFR 82.157(l): 3 years; (EU) 2024/573, Art. 7: 5 years (from memory)."""
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 4.9 * YEAR_S)
    (left,) = RecordFile(rigged.record).marks_after("first", 0)
    assert isinstance(left.mark, Added)
    assert (left.mark.mass_kg, left.mark.circuit, left.mark.by, left.mark.role, left.mark.text) == (
        0.17,
        "1",
        "",
        "",
        "",
    )


def test_that_a_baseline_was_withdrawn_stays_without_who_said_so(rigged):
    """Else the baseline of an earlier visit would count again."""
    with closing(sqlite3.connect(rigged.record)) as database:
        withdrawn = mark(BaselineWithdrawn, 8, of="sound-1", text=SAID)
        database.execute(
            "INSERT INTO marks (id, visit, session, kind, time_s, payload) VALUES (?, 'first', 1, ?, ?, ?)",
            (withdrawn.id, withdrawn.kind, withdrawn.time_s, encode(withdrawn)),
        )
        database.commit()
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 6 * YEAR_S)
    (left,) = RecordFile(rigged.record).marks_after("first", 0)
    assert isinstance(left.mark, BaselineWithdrawn)
    assert (left.mark.of, left.mark.by, left.mark.text) == ("sound-1", "", "")


def test_what_was_moved_longer_ago_goes_too(rigged):
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 5.1 * YEAR_S)
    assert list(RecordFile(rigged.record).marks_after("first", 0)) == []


def test_a_correction_of_what_was_moved_stays_with_it(rigged):
    with closing(sqlite3.connect(rigged.record)) as database:
        fix = mark(Correction, 9, of="m2", mass_kg=0.2)
        database.execute(
            "INSERT INTO marks VALUES (NULL, ?, 'first', 1, 'correction', ?, ?)", (fix.id, fix.time_s, encode(fix))
        )
        database.commit()
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    left = [it.mark for it in RecordFile(rigged.record).marks_after("first", 0)]
    assert [type(it) for it in left] == [Added, Correction]
    assert (left[1].mass_kg, left[1].by) == (0.2, "")


def test_a_tombstone_tells_what_the_journal_was(rigged):
    record = RecordFile(rigged.record)
    was = digest(recorded.mark for recorded in record.marks_after("first", 0))
    (stone,) = erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    assert (stone.digest, stone.marks, stone.because) == (was, 4, BECAUSE)
    assert record.erasures() == [stone]
    assert record.visits_of(rigged.unit.tag)[0].id == "first"
    assert any(BECAUSE in line and was in line for line in as_lines(record, rigged.unit.tag, "us"))


def test_a_tombstone_keeps_the_digest_that_a_signed_page_prints(rigged):
    record = RecordFile(rigged.record)
    (printed,) = (it.mark.digest for it in record.marks_after("first", 0) if isinstance(it.mark, Signed))
    (stone,) = erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    assert stone.signed_digest == printed != stone.digest
    assert record.erasures() == [stone]
    assert any(printed in line for line in as_lines(record, rigged.unit.tag, "us"))


def test_no_number_comes_twice_and_what_follows_is_published(rigged):
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 6 * YEAR_S)
    record = Record(rigged.record)
    session = record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 6 * YEAR_S)
    (payload,) = record.commit([make_pack(T0_S + 6 * YEAR_S)])
    assert (session.number, decode_pack(payload).sequence) == (2, 9)
    record.add_mark(mark(Note, 9, text="a later visit"))
    assert [entry.payload for entry in record.outbox("mqtt packs", 9)] == [payload]
    assert len(record.outbox("mqtt marks", 9)) == 1
    record.close()


def test_after_all_marks_are_gone_the_next_ones_are_published_though_the_last_were(rigged):
    """Marks count anew behind the last that is left: a cursor beyond them would keep them from the lead for ever."""
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 10)
    record.commit([make_pack(T0_S + 10)])
    record.advance("mqtt marks", 4)
    record.commit([make_pack(T0_S + 11)])  # which writes the cursor down
    record.close()
    with closing(sqlite3.connect(rigged.record)) as database:
        assert database.execute("SELECT position FROM cursors WHERE sink = 'mqtt marks'").fetchone() == (4,)
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 6 * YEAR_S)
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b3", new_visit="third", time_s=T0_S + 6 * YEAR_S)
    record.add_mark(mark(Note, 9, text="a later visit"))
    assert [decode_mark(entry.payload).id for entry in record.outbox("mqtt marks", 9)] == ["m9"]
    record.close()


def test_what_was_not_published_yet_still_is_after_another_visit_was_erased(rigged):
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 10)
    record.add_mark(mark(Note, 9, text="nobody has heard of it"))
    record.close()
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 20)
    record = Record(rigged.record)
    assert decode_mark(record.outbox("mqtt marks", 9)[-1].payload).id == "m9"
    record.close()


def test_another_visit_is_left_as_it_was(rigged):
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 100)
    record.add_mark(mark(Note, 9, text="a later visit"))
    record.commit([make_pack(T0_S + 100)])
    record.close()
    before = list(RecordFile(rigged.record).marks_after("second", 0))
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 200)
    assert list(RecordFile(rigged.record).marks_after("second", 0)) == before
    assert len(list(RecordFile(rigged.record).packs_after(0))) == 1


def test_where_a_unit_stands_is_forgotten_and_what_its_plates_say_is_not(rigged):
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 100)
    sheet = Sheet(
        rigged.unit.tag,
        [Circuit("1", "R-410A", "txv")],
        place="Quarry Hill 3, north roof",
        access=SAID,
        sketch="picture-of-the-roof",
        photographs=["picture-of-the-house"],
        parts=[Capacitor("run capacitor", photographs=["picture-of-a-can"])],
    )
    record.add_sheets([sheet], T0_S + 101)
    record.close()
    assert erase(rigged.record, [], because=BECAUSE, now_s=T0_S + 200, unit=rigged.unit.tag) == []
    left = RecordFile(rigged.record).sheet(rigged.unit.tag)
    assert left is not None
    assert (left.sheet.place, left.sheet.access, left.sheet.circuits) == ("", "", sheet.circuits)
    assert left.sheet.parts[0].name == "run capacitor"
    for gone in ("Quarry Hill 3", "picture-of", rigged.unit.place):
        assert gone
        assert gone.encode() not in bytes_of(rigged.record), gone


def test_an_open_visit_and_one_that_is_not_there_are_refused(rigged):
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 100)
    record.close()
    with pytest.raises(RecordError, match="still open: second at"):
        find(rigged.record, unit=rigged.unit.tag)
    with pytest.raises(RecordError, match="has no such visit"):
        find(rigged.record, visit="third")
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + 200)
    assert find(rigged.record, visit="first") == []
    with pytest.raises(RecordError, match="there is no record"):
        find(rigged.record.with_name("none.sqlite"), visit="first")


def test_while_a_daemon_has_the_record_nothing_is_erased(rigged):
    lock = Lock(rigged.record)
    try:
        with pytest.raises(RecordError, match="stop it, look"):
            find(rigged.record, visit="first")
    finally:
        lock.close()


def test_a_failure_in_between_erases_nothing(rigged):
    before = list(RecordFile(rigged.record).marks_after("first", 0))
    with pytest.raises(RecordError):
        erase(rigged.record, ["first", "first"], because=BECAUSE, now_s=T0_S + 200)  # a second tombstone does not fit
    assert list(RecordFile(rigged.record).marks_after("first", 0)) == before
    assert RecordFile(rigged.record).erasures() == []


def test_a_mark_that_cannot_be_read_is_named_and_nothing_is_erased(rigged):
    """It may be a move, which the law wants kept."""
    with closing(sqlite3.connect(rigged.record)) as database:
        database.execute("UPDATE marks SET payload = ? WHERE id = 'm2'", (b"{spoilt",))
        database.commit()
    before = rigged.record.read_bytes()
    with pytest.raises(RecordError, match=r"mark m2 of visit first cannot be read .* nothing is erased"):
        erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    with pytest.raises(RecordError, match="mark m2"):
        find(rigged.record, visit="first")
    assert rigged.record.read_bytes() == before


def test_what_would_go_is_told_without_a_change_whatever_version_wrote_it(tmp_path, capsys):
    """By the tables of the first versions; a record that is only looked at is not brought forward."""
    for version in range(1, len(STEPS) + 1):
        record = tmp_path / f"{version}.sqlite"
        with closing(sqlite3.connect(record, isolation_level=None)) as database:
            migrate(database, STEPS[:version])
            database.execute("INSERT INTO units VALUES ('RTU-9', '{}')")
            database.execute("INSERT INTO visits VALUES ('first', 'RTU-9', 1.0, 2.0)")
        before = record.read_bytes()
        assert main(["erase", str(record), "--visit", "first", "--because", BECAUSE]) == 0
        assert "Nothing was erased" in capsys.readouterr().out
        assert record.read_bytes() == before


def test_a_record_of_a_newer_program_is_left_alone(rigged):
    with closing(sqlite3.connect(rigged.record)) as database:
        database.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    with pytest.raises(RecordError, match="newer"):
        find(rigged.record, visit="first")


def test_while_somebody_reads_it_is_told_and_the_second_time_clears_the_log(rigged, capsys):
    words = ["erase", str(rigged.record), "--visit", "first", "--because", BECAUSE, "--confirmed"]
    with closing(sqlite3.connect(rigged.record)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM marks").fetchone()
        assert main(words) == 2
        told = capsys.readouterr().err
        assert "it is erased" in told
        assert "give the same command again" in told
        assert SAID.encode() in bytes_of(rigged.record)
    assert main(words) == 0
    assert "erased already" in capsys.readouterr().out
    assert SAID.encode() not in bytes_of(rigged.record)


def test_with_a_visit_goes_where_the_unit_stands_by_what_was_typed_there(rigged):
    tag = rigged.unit.tag
    sheet = Sheet(tag, [Circuit("1", "R-410A", "txv")], place="Quarry Hill 3, north roof", access="the key is with Wim")
    other = Sheet(tag, [Circuit("1", "R-410A", "txv")], place="the roof of Mill 5")
    with closing(sqlite3.connect(rigged.record)) as database:
        for kept, by in ((other, ""), (sheet, "m1")):
            database.execute("INSERT INTO sheets VALUES (NULL, ?, ?, ?, ?)", (tag, encode(kept).decode(), T0_S, by))
        database.commit()
    erase(rigged.record, ["first"], because=BECAUSE, now_s=T0_S + YEAR_S)
    newest, earlier = RecordFile(rigged.record).sheets_of(tag)[:2]
    assert (newest.sheet.place, newest.sheet.access, newest.sheet.circuits) == ("", "", sheet.circuits)
    assert earlier.sheet == other
    assert b"Quarry Hill 3" not in bytes_of(rigged.record)


@pytest.mark.parametrize("because", ["", " \u200b", "two\nlines", "a\x1b[2J"])
def test_the_reason_is_one_line_that_is_seen(rigged, capsys, because):
    with pytest.raises(SystemExit):
        main(["erase", str(rigged.record), "--visit", "first", "--because", because])
    assert "one line of words was expected" in capsys.readouterr().err


KILLED = """
import os, signal, sqlite3, sys
from pathlib import Path
import ingest.record.erasing as erasing
left, connect = int(sys.argv[2]), sqlite3.connect
def counted(*args, **kwargs):
    database, seen = connect(*args, **kwargs), []
    def trace(statement):
        if seen or statement == "BEGIN IMMEDIATE":
            seen.append(statement)
        if len(seen) > left:
            os.kill(os.getpid(), signal.SIGKILL)
    database.set_trace_callback(trace)
    return database
erasing.sqlite3.connect = counted
visits = sys.argv[4].split()
erasing.erase(Path(sys.argv[1]), visits, because="they asked for it", now_s=2e9, unit=sys.argv[3])
"""


@pytest.mark.parametrize("statements", [1, 4, 9, 14, 19, 24, 27, 29, 1000])
def test_killed_anywhere_all_of_a_unit_is_erased_or_nothing(rigged, statements):
    """SIGKILL before a statement of the transaction, or of what clears the file behind it."""
    record = Record(rigged.record)
    record.begin_session(rigged, boot="b2", new_visit="second", time_s=T0_S + 100)
    sheet = Sheet(rigged.unit.tag, [Circuit("1", "R-410A", "txv")], place="Quarry Hill 3, north roof", access=SAID)
    record.add_sheets([sheet], T0_S + 101)
    record._database.execute("UPDATE visits SET ended_s = 1.0")
    record.close()
    words = [str(rigged.record), str(statements), rigged.unit.tag, "first second"]
    code = subprocess.run([sys.executable, "-c", KILLED, *words], check=False).returncode
    assert code == (0 if statements == 1000 else -signal.SIGKILL)
    left = find(rigged.record, unit=rigged.unit.tag)
    kept = RecordFile(rigged.record).sheet(rigged.unit.tag)
    assert kept is not None
    assert (len(left), kept.sheet.place) in ((2, "Quarry Hill 3, north roof"), (0, ""))
    visits = [each.visit for each in left]
    erase(rigged.record, visits, because=BECAUSE, now_s=2e9, unit=rigged.unit.tag)
    assert find(rigged.record, unit=rigged.unit.tag) == []
    assert b"Quarry Hill 3" not in bytes_of(rigged.record)


@pytest.mark.parametrize(
    "day", ["0001-01-01", "1969-12-31", "1970-01-01", "2200-01-01", "9999-12-31", "10000-01-01", "soon", ""]
)
def test_a_day_that_no_record_has_is_refused_in_words(rigged, capsys, day):
    with pytest.raises(SystemExit) as refused:
        main(["erase", str(rigged.record), f"--before={day}", "--because", BECAUSE])
    assert refused.value.code == 2
    assert f"{day!r} is no day such as 2024-01-31, from 1970-01-02 to 2199-12-31" in capsys.readouterr().err


@pytest.mark.parametrize(("day", "code", "told"), [("1970-01-02", 2, "no such visit"), ("2199-12-31", 0, "4 marks")])
def test_the_first_and_the_last_day_are_days(rigged, capsys, day, code, told):
    assert main(["erase", str(rigged.record), "--before", day, "--because", BECAUSE]) == code
    said = capsys.readouterr()
    assert told in said.err + said.out


@pytest.mark.parametrize("time_s", [1e308, -62_135_596_800.0, 253_402_300_799.0, -1e11, 1e15])
def test_a_record_that_tells_of_no_moment_is_shown_and_erased_in_words(rigged, capsys, time_s):
    """A visit of the years 1 and 9999, and of none: every command that tells a day of it ends by itself."""
    with closing(sqlite3.connect(rigged.record)) as database, database:
        database.execute("UPDATE visits SET started_s = ?, ended_s = ?", (time_s, time_s))
        database.execute("UPDATE erasures SET erased_s = ?", (time_s,))
    record = str(rigged.record)
    assert main(["erase", record, "--visit", "first", "--because", BECAUSE]) == 0
    for words in (["units", "list", "--record", record], ["rerun", record]):
        assert main(words) == 0
    assert main(["units", "history", "--record", record, rigged.unit.tag]) == 0
    assert main(["report", "--record", record, "first", "-o", str(rigged.record.with_name("r.json"))]) in (0, 2)
    assert main(["export", "--record", record, "--to", "csv", "-o", str(rigged.record.with_name("v.csv"))]) in (0, 2)
    told = capsys.readouterr()
    assert "no moment" in told.out or "0001-" in told.out or "9999-" in told.out or "10000-" in told.out
