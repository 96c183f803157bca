"""Why a record refuses, and what to do about it, from what SQLite or the system says and from what is on the disk."""

import codecs
import os
import shutil
import sqlite3
from pathlib import Path

from ingest.record.errors import DamagedError, NotSavedError

LEAST_ROOM_BYTES = 64 * 1024
"""Where less is free the disk counts as full, whatever it calls that."""

_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_HELD = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_ELSEWHERE = "or name another file under [rig] record and start anew"


def refusal(error: sqlite3.Error | OSError, path: Path) -> NotSavedError:
    """Tell why the record at a path refuses, and what to do about it."""
    path = Path(os.path.realpath(path))  # a reader elsewhere does not know from where a relative one counts
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_NOTADB and _is_text(path):
        return NotSavedError("it is a text, not a record", "Name another file under [rig] record and start anew.")
    if code in _DAMAGED:
        return DamagedError(
            f"the file is damaged ({error})", "It is set aside as soon as its folder can be written to."
        )
    if code in _HELD:
        return NotSavedError(
            "another program keeps the file locked", "Close the program that has it open. Recording then goes on."
        )
    if code == sqlite3.SQLITE_CONSTRAINT:
        return NotSavedError(f"it does not fit what is in the record ({error})")
    if code == sqlite3.SQLITE_FULL or _room_bytes(path) < LEAST_ROOM_BYTES:
        return NotSavedError("the disk is full", f"Make room on the disk that holds {path.parent}.")
    return _of_the_place(path) or NotSavedError(
        f"the disk refuses ({error})", f"Look at the disk that holds {path.parent} and its cable, {_ELSEWHERE}."
    )


def _is_text(path: Path) -> bool:
    """Whether somebody's own text stands there, which is not to be renamed as a damaged record would be."""
    try:
        with path.open("rb") as file:
            head = file.read(512)  # which may end within a letter
        return b"\0" not in head and bool(codecs.getincrementaldecoder("utf-8")().decode(head))
    except (OSError, UnicodeDecodeError):
        return False


def _room_bytes(path: Path) -> int:
    try:
        return shutil.disk_usage(path.parent).free
    except OSError:
        return LEAST_ROOM_BYTES  # there is no such folder, which is another reason


def _of_the_place(path: Path) -> NotSavedError | None:
    """Find what stands in the way where the record is to be."""
    folder = path.parent
    for each in reversed(path.parents):  # of what lies in a folder that may not be entered, nothing can be told
        if each.is_dir() and not _may(each, os.X_OK):
            return NotSavedError(
                f"the folder {each} may not be entered by whoever runs the daemon", f"Let them enter it, {_ELSEWHERE}."
            )
    if not folder.exists():
        return NotSavedError(
            f"the folder {folder} is missing", f"Connect the drive that it is on, make the folder, {_ELSEWHERE}."
        )
    if wrong := _no_file(path):
        return NotSavedError(f"it is {wrong}", "Name another file under [rig] record and start anew.")
    if _is_read_only(folder):
        return NotSavedError(f"the disk that holds {folder} is read-only", f"Mount it writable, {_ELSEWHERE}.")
    for each in (path, *(path.with_name(path.name + suffix) for suffix in ("-wal", "-shm", ".lock"))):
        if each.exists() and not _may(each, os.R_OK | os.W_OK):
            return NotSavedError(
                f"{each.name} is read-only for whoever runs the daemon", f"Let them write to {each}, {_ELSEWHERE}."
            )
    if not _may(folder, os.W_OK):
        return NotSavedError(
            f"the folder {folder} is read-only for whoever runs the daemon", f"Let them write to it, {_ELSEWHERE}."
        )
    return None


def _no_file(path: Path) -> str:
    if not path.parent.is_dir():
        return f"in {path.parent}, which is no folder"
    if path.is_dir():
        return "a folder, not a file"
    return "a pipe or a device, not a file" if path.exists() and not path.is_file() else ""


def _is_read_only(folder: Path) -> bool:
    return hasattr(os, "statvfs") and bool(os.statvfs(folder).f_flag & os.ST_RDONLY)


def _may(path: Path, mode: int) -> bool:
    return os.access(path, mode, effective_ids=os.access in os.supports_effective_ids)
