"""The small files of the daemon and the command line: whatever stands in their place is told at once, by its name."""

import os
from pathlib import Path

import pytest

from ingest.added_refrigerants import AddedFileError, put_on_shelf
from ingest.password import PasswordError, read_password
from ingest.record.errors import NotSavedError, RecordError
from ingest.record.keeping import look
from ingest.record.lock import Lock
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.whole_file import NotSmallFileError, read_whole
from tests.lies import LIES, put

pytestmark = pytest.mark.timeout(20)

NO_FILE = ("a pipe", "a device without end", "a directory")


def test_what_is_there_is_given_up_to_the_last_byte_that_may_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"1234")
    assert read_whole(tmp_path / "file", 4) == b"1234"
    with pytest.raises(NotSmallFileError, match="it is too large; at most 3 bytes are read"):
        read_whole(tmp_path / "file", 3)
    with pytest.raises(FileNotFoundError):
        read_whole(tmp_path / "none", 3)


@pytest.mark.parametrize("lie", NO_FILE)
def test_what_is_no_file_is_not_waited_for(tmp_path: Path, lie: str) -> None:
    put(lie, tmp_path / "file")
    with pytest.raises(NotSmallFileError, match=r"it is a (pipe or a device|directory); a file was expected"):
        read_whole(tmp_path / "file", 4)


@pytest.mark.parametrize("lie", LIES)
def test_a_refrigerant_is_refused_with_its_file_and_a_way_out(tmp_path: Path, lie: str) -> None:
    put(lie, tmp_path / "R-450A.json")
    with pytest.raises(AddedFileError, match=r"R-450A.json is no refrigerant: .*\. Remove it \(dewline refrigerant"):
        put_on_shelf(tmp_path)


@pytest.mark.parametrize("lie", [*NO_FILE, "a gigabyte", "nothing", "no text"])
def test_a_password_is_refused_with_its_file(tmp_path: Path, lie: str) -> None:
    put(lie, tmp_path / "password")
    with pytest.raises(PasswordError, match=r"the password file .*password (cannot be read|is empty)"):
        read_password(tmp_path / "password")


@pytest.mark.parametrize("lie", ["a pipe", "a device without end"])
def test_what_stands_in_the_place_of_a_lock_is_no_lock_though_somebody_holds_it(tmp_path: Path, lie: str) -> None:
    put(lie, tmp_path / "visit.sqlite.lock")
    with pytest.raises(NotSavedError, match=r"visit.sqlite.lock is a pipe or a device, not a lock\. Remove it"):
        Lock(tmp_path / "visit.sqlite")


def test_what_a_holder_wrote_into_a_lock_moves_no_cursor_of_who_reads_it(tmp_path: Path) -> None:
    import fcntl

    (tmp_path / "visit.sqlite.lock").write_text("\x1b[2Jprocess 1\r\n\u202e")
    with (tmp_path / "visit.sqlite.lock").open() as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(NotSavedError, match=r"another daemon writes this record \(\[2Jprocess 1\)"):
            Lock(tmp_path / "visit.sqlite")


@pytest.mark.parametrize("lie", NO_FILE)
def test_no_record_is_waited_for_or_written_into_what_is_no_file(tmp_path: Path, lie: str) -> None:
    path = tmp_path / "visit.sqlite"
    put(lie, path)
    with pytest.raises(NotSavedError, match=r"it is a (folder|pipe or a device), not a file\. Name another file"):
        Record(path)
    with pytest.raises(RecordError, match=r"visit\.sqlite is no record"):
        look(path)
    assert not path.is_file()


def test_a_record_that_leads_to_itself_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "visit.sqlite"
    path.symlink_to(path)
    Lock(path).close()
    with pytest.raises(NotSavedError, match="the disk refuses"):
        Record(path)
    with pytest.raises(RecordError, match="is no record"):
        look(path)
    with pytest.raises(RecordError, match="cannot be read"):
        RecordFile(path).newest_visit()
    assert os.path.lexists(path)
