"""What the directory tells of a record and its log."""

import os
from pathlib import Path

import pytest

from ingest.record.watch import Look, look


def test_a_file_and_its_log_are_told_apart_and_what_changed_is_seen(tmp_path: Path) -> None:
    path, log = tmp_path / "bench.sqlite", tmp_path / "bench.sqlite-wal"
    assert look(path) == Look(file=None, content=None, log=None, log_bytes=0)
    path.write_bytes(b"12345")
    os.utime(path, ns=(0, 1_700_000_000_000_000_007))
    alone = look(path)
    assert alone.content == (5, 1_700_000_000_000_000_007)
    assert (alone.log, alone.log_bytes) == (None, 0)
    log.write_bytes(b"123")
    both = look(path)
    assert (both.file, both.content, both.log_bytes) == (alone.file, alone.content, 3)
    assert both.log is not None
    assert both.log != both.file
    assert both.file == (path.stat().st_dev, path.stat().st_ino)
    path.unlink()
    assert look(path) == Look(file=None, content=None, log=both.log, log_bytes=3)


def test_another_file_of_the_same_bytes_is_another(tmp_path: Path) -> None:
    path, other = tmp_path / "bench.sqlite", tmp_path / "other"
    for each in (path, other):
        each.write_bytes(b"12345")
        os.utime(each, ns=(0, 0))
    before = look(path)
    other.replace(path)
    after = look(path)
    assert after.content == before.content
    assert after.file != before.file


def test_a_folder_that_is_gone_or_a_file_holds_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for folder in ("away", "file"):
        assert look(tmp_path / folder / "bench.sqlite") == Look(None, None, None, 0)


def test_what_cannot_be_looked_at_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="too long"):
        look(tmp_path / ("x" * 300))
