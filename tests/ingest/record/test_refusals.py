"""Why a record refuses: from what SQLite and the system really say, and from what is on the disk."""

import errno
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from ingest.record.errors import DamagedError, NotSavedError
from ingest.record.refusals import refusal
from tests.nobody import as_nobody

CABLE = OSError(errno.EIO, "Input/output error")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "drive"
    folder.mkdir()
    return folder / "bench.sqlite"


def of_reading(path: Path) -> NotSavedError:
    """Why a file is refused when SQLite reads it."""
    with closing(sqlite3.connect(path)) as database, pytest.raises(sqlite3.Error) as caught:
        database.execute("SELECT * FROM sqlite_schema").fetchall()
    return refusal(caught.value, path)


def test_a_reason_stands_before_its_cure_and_alone_where_there_is_none() -> None:
    assert str(NotSavedError("the disk is full", "Make room.")) == "the disk is full. Make room."
    assert str(NotSavedError("the disk is full")) == "the disk is full"


@pytest.mark.parametrize(
    "text",
    [
        "Readings of last week, by hand. " * 100,
        "x" + "ü" * 1000,  # two bytes a letter: any cut at an even number of bytes is within one
        "ü" * 1000,
        "\u6e29\u5ea6" * 500,  # three bytes a letter
        "x",
    ],
)
def test_somebodys_text_is_no_damaged_record(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    refused = of_reading(path) if len(text) > 100 else refusal(not_a_database(), path)
    assert not isinstance(refused, DamagedError)
    assert refused.reason == "it is a text, not a record"
    assert "Name another file" in refused.cure


def not_a_database() -> sqlite3.Error:
    error = sqlite3.DatabaseError("file is not a database")
    error.sqlite_errorcode = sqlite3.SQLITE_NOTADB
    return error


@pytest.mark.parametrize(
    "content", [bytes(2000), b"Readings" + bytes(2000), b"\xff\xfe" * 1000, b"text" * 100 + b"\xff" * 2000]
)
def test_what_is_neither_text_nor_record_is_damaged(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    refused = of_reading(path)
    assert isinstance(refused, DamagedError)
    assert refused.reason.startswith("the file is damaged (")
    assert "set aside" in refused.cure


@pytest.mark.parametrize("content", [b"", None])
def test_nothing_is_no_text(path: Path, content: bytes | None) -> None:
    if content is not None:
        path.write_bytes(content)
    assert isinstance(refusal(not_a_database(), path), DamagedError)


def test_a_record_with_a_torn_page_is_damaged(path: Path) -> None:
    with closing(sqlite3.connect(path)) as database:
        database.execute("CREATE TABLE packs (payload BLOB)")
    content = bytearray(path.read_bytes())
    content[100:200] = bytes([0xFF]) * 100  # the first page's header, sqlite.org/fileformat2.html 1.6
    path.write_bytes(content)
    assert isinstance(of_reading(path), DamagedError)


def test_a_lock_a_constraint_and_a_full_file_are_told_apart(path: Path) -> None:
    with closing(sqlite3.connect(path, 0, isolation_level=None)) as database:
        database.execute("PRAGMA journal_mode = WAL")
        database.execute("CREATE TABLE marks (id TEXT PRIMARY KEY)")
        database.execute("INSERT INTO marks VALUES ('a')")
        with pytest.raises(sqlite3.IntegrityError) as twice:
            database.execute("INSERT INTO marks VALUES ('a')")
        with closing(sqlite3.connect(path, 0, isolation_level=None)) as other:
            other.execute("BEGIN")
            other.execute("SELECT * FROM marks").fetchall()
            database.execute("BEGIN IMMEDIATE")
            with pytest.raises(sqlite3.OperationalError) as busy:
                other.execute("INSERT INTO marks VALUES ('b')")
            database.execute("INSERT INTO marks VALUES ('c')")
            database.execute("COMMIT")
            with pytest.raises(sqlite3.OperationalError) as overtaken:
                other.execute("INSERT INTO marks VALUES ('b')")
        database.execute("PRAGMA max_page_count = 1")
        with pytest.raises(sqlite3.OperationalError) as full:
            database.execute("INSERT INTO marks VALUES (?)", ("x" * 100_000,))
    assert overtaken.value.sqlite_errorcode == 517  # SQLITE_BUSY_SNAPSHOT, sqlite.org/rescode.html
    for error in (busy.value, overtaken.value):
        assert refusal(error, path).reason == "another program keeps the file locked"
    assert refusal(twice.value, path).reason.startswith("it does not fit what is in the record (UNIQUE")
    assert refusal(full.value, path).reason == "the disk is full"
    assert refusal(full.value, path).cure == f"Make room on the disk that holds {path.parent}."


def test_what_nothing_explains_is_the_disks(path: Path) -> None:
    refused = refusal(CABLE, path)
    assert refused.reason == f"the disk refuses ({CABLE})"
    assert refused.cure.startswith(f"Look at the disk that holds {path.parent} and its cable, or name another file")


def test_a_folder_that_is_missing_or_a_file_or_in_the_place_of_the_record(path: Path) -> None:
    away = path.parent / "away" / "bench.sqlite"
    assert refusal(CABLE, away).reason == f"the folder {away.parent} is missing"
    path.touch()
    within = path / "bench.sqlite"
    assert refusal(CABLE, within).reason == f"it is in {path}, which is no folder"
    path.unlink()
    path.mkdir()
    assert refusal(CABLE, path).reason == "it is a folder, not a file"


@pytest.mark.parametrize("suffix", ["", "-wal", "-shm", ".lock"])
@pytest.mark.parametrize("mode", [0o444, 0o222])
def test_each_file_of_the_record_must_be_read_and_written(path: Path, suffix: str, mode: int) -> None:
    names = [f"bench.sqlite{each}" for each in ("", "-wal", "-shm", ".lock")]
    for name in names:
        (path.parent / name).touch()
    closed = path.with_name(path.name + suffix)
    with as_nobody(path.parent):
        closed.chmod(mode)
        refused = refusal(CABLE, path)
    assert refused.reason == f"{closed.name} is read-only for whoever runs the daemon"
    assert refused.cure.startswith(f"Let them write to {closed}, ")


def test_a_folder_must_be_written_to(path: Path) -> None:
    with as_nobody(path.parent):
        path.parent.chmod(0o555)
        refused = refusal(CABLE, path)
    assert refused.reason == f"the folder {path.parent} is read-only for whoever runs the daemon"
    assert refused.cure.startswith("Let them write to it, ")


@pytest.mark.parametrize("below", ["bench.sqlite", "away/bench.sqlite", "deep/down/bench.sqlite"])
def test_a_folder_that_may_not_be_entered_is_told_whatever_lies_in_it(path: Path, below: str) -> None:
    (path.parent / "deep" / "down").mkdir(parents=True)
    with as_nobody(path.parent):
        path.parent.chmod(0o666)
        refused = refusal(CABLE, path.parent / below)
        path.parent.chmod(0o755)
    assert refused.reason == f"the folder {path.parent} may not be entered by whoever runs the daemon"
    assert refused.cure.startswith("Let them enter it, ")


@contextmanager
def small_disk(folder: Path, options: str) -> Iterator[None]:
    """A disk of its own; only root can make one."""
    command = ["mount", "-t", "tmpfs", "-o", options, "none", str(folder)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("needs the right to mount a small disk")
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def test_a_disk_is_full_where_less_than_64_kib_are_free(path: Path) -> None:
    with small_disk(path.parent, "size=256k"):
        filler = path.with_name("filler")
        filler.write_bytes(bytes(192 * 1024))
        assert shutil.disk_usage(path.parent).free == 65_536
        assert refusal(CABLE, path).reason.startswith("the disk refuses")
        filler.write_bytes(bytes(196 * 1024))
        assert refusal(CABLE, path).reason == "the disk is full"


def test_a_disk_that_is_read_only_is_told(path: Path) -> None:
    with small_disk(path.parent, "ro,size=256k"):
        refused = refusal(CABLE, path)
    assert refused.reason == f"the disk that holds {path.parent} is read-only"
    assert refused.cure.startswith("Mount it writable, ")
