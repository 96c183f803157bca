"""One writer a record: who holds it, whether they still do, and what is said to the next."""

import fcntl
import os
import socket
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from ingest.record.errors import HeldError, NotSavedError
from ingest.record.lock import Lock


@pytest.fixture
def lock(path: Path) -> Iterator[Lock]:
    before = os.umask(0o000)
    lock = Lock(path)
    os.umask(before)
    yield lock
    lock.close()


def beside(path: Path) -> Path:
    return path.with_name("bench.sqlite.lock")


def test_who_holds_it_is_told_to_the_next(lock: Lock, path: Path) -> None:
    me = f"process {os.getpid()} on {socket.gethostname()}"
    assert beside(path).read_text() == f"{me}\n"
    with pytest.raises(NotSavedError) as refused:
        Lock(path)
    assert refused.value.reason == f"another daemon writes this record ({me})"
    assert refused.value.cure.startswith("Stop that one, or give this one a record of its own.")
    assert lock.holds
    assert beside(path).read_text() == f"{me}\n", "who was refused wrote into it"


def test_who_held_it_before_is_forgotten(path: Path) -> None:
    beside(path).write_text("process 1 on a machine with a long name" * 10)
    Lock(path).close()
    assert beside(path).read_text() == f"process {os.getpid()} on {socket.gethostname()}\n"
    again = Lock(path)
    assert again.holds
    again.close()
    assert beside(path).exists(), "two could each lock one of their own"


@pytest.mark.parametrize(("said", "told"), [("", "unknown"), (" \n", "unknown"), ("x" * 300, "x" * 200)])
def test_a_holder_that_does_not_say_who_it_is_is_unknown(path: Path, said: str, told: str) -> None:
    beside(path).write_text(said)
    with beside(path).open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(NotSavedError) as refused:
            Lock(path)
    assert refused.value.reason == f"another daemon writes this record ({told})"


def test_it_is_held_no_more_where_its_file_is_another_or_gone(lock: Lock, path: Path) -> None:
    beside(path).rename(path)
    assert not lock.holds
    beside(path).touch()
    assert not lock.holds
    path.rename(beside(path))
    assert lock.holds


def test_everybody_may_read_who_holds_it_and_no_child_takes_it_along(lock: Lock, path: Path) -> None:
    assert stat.S_IMODE(beside(path).stat().st_mode) == 0o644
    assert not os.get_inheritable(lock._file)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotSavedError, match=r"the folder .* is missing"):
        Lock(tmp_path / "away" / "bench.sqlite")


def test_a_link_to_a_record_is_that_record(lock: Lock, path: Path, tmp_path: Path) -> None:
    path.touch()
    link = tmp_path / "link.sqlite"
    link.symlink_to(path)
    with pytest.raises(HeldError):
        Lock(link)


def test_a_pipe_in_the_place_of_the_lock_is_no_lock(path: Path) -> None:
    os.mkfifo(beside(path))
    with pytest.raises(NotSavedError, match="is a pipe or a device, not a lock"):
        Lock(path)
