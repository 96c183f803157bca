"""A disk whose power is cut: a virtual file system that knows what was written and what was made sure of.

SQLite, as apsw brings it, writes real files in a folder through it. Beside each stands its image: what is on the
platter. A write reaches the image only with the next sync of its file; a cut leaves any part of the writes since then,
whole or torn at a sector, in any order. That is what SQLite itself expects of a disk (sqlite.org/atomiccommit.html,
section 2).
"""

import random
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

import apsw

from ingest.record import store
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from tests.rigs import make_pack, make_rig

SECTOR_BYTES = 512
NAME = "power-cut"


class PowerCutError(Exception):
    """Nothing goes on from here."""


@dataclass
class Image:
    """What is on the platter of one file, and what was written to it since its last sync."""

    content: bytearray = field(default_factory=bytearray)
    since: list[tuple[int, bytes | None]] = field(default_factory=list)

    def write(self, offset: int, data: bytes | None) -> None:
        self.since.append((offset, data))

    def sync(self) -> None:
        for offset, data in self.since:
            self._apply(offset, data)
        self.since.clear()

    def cut(self, chance: random.Random, *, torn: bool) -> None:
        """Let any part of what was not made sure of arrive, in any order."""
        arrived = [write for write in self.since if chance.random() < 0.5]
        chance.shuffle(arrived)
        for offset, data in arrived:
            if data and torn and len(data) > SECTOR_BYTES:
                sectors = chance.randrange(1, len(data) // SECTOR_BYTES + 1)
                data = data[: sectors * SECTOR_BYTES]  # noqa: PLW2901 - the rest never arrives
            self._apply(offset, data)
        self.since.clear()

    def _apply(self, offset: int, data: bytes | None) -> None:
        if data is None:
            del self.content[offset:]
            return
        self.content.extend(bytes(max(0, offset - len(self.content))))
        self.content[offset : offset + len(data)] = data


class Disk(apsw.VFS):
    """The file system. After `cut_after` writes and syncs the power is gone."""

    def __init__(self, cut_after: int) -> None:
        self.images: dict[str, Image] = {}
        self.left = cut_after
        super().__init__(NAME, base="")

    def spend(self) -> None:
        """Let one thing happen, unless the power is gone."""
        if self.left <= 0:
            raise PowerCutError
        self.left -= 1

    def xOpen(self, name: "str | apsw.URIFilename | None", flags: list[int]) -> "DiskFile":  # noqa: N802 - SQLite's
        """Open a file."""
        return DiskFile(self, name, flags)

    def xDelete(self, filename: str, syncdir: bool) -> None:  # noqa: N802
        """Delete a file, from the platter too."""
        self.spend()
        self.images.pop(filename, None)
        super().xDelete(filename, syncdir)


class DiskFile(apsw.VFSFile):
    """An open file."""

    def __init__(self, disk: Disk, name: "str | apsw.URIFilename | None", flags: list[int]) -> None:
        self._disk = disk
        path = name.filename() if isinstance(name, apsw.URIFilename) else name or ""
        self._image = disk.images.setdefault(path, Image())
        super().__init__("", name, flags)

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802
        """Write into the file, not yet onto the platter."""
        self._disk.spend()
        self._image.write(offset, bytes(data))
        super().xWrite(data, offset)

    def xTruncate(self, newsize: int) -> None:  # noqa: N802
        """Shorten the file, not yet on the platter."""
        self._disk.spend()
        self._image.write(newsize, None)
        super().xTruncate(newsize)

    def xSync(self, flags: int) -> None:  # noqa: N802
        """Make sure that what was written is on the platter."""
        self._disk.spend()
        self._image.sync()
        super().xSync(flags)


class _Database(apsw.Connection):
    """apsw's connection under the names by which the record calls sqlite3's."""

    def close(self, *_: Any) -> None:
        super().close(True)


@contextmanager
def recording_on(disk: Disk, *, synchronous: str) -> Iterator[None]:
    """Let every record that is opened now be written on this disk. synchronous: what it is opened with instead."""

    def connect(path: Path, *_: object, **__: object) -> _Database:
        return _Database(str(path), vfs=NAME)

    prepare = Record._prepare

    def prepared(record: Record) -> None:
        prepare(record)
        record._database.execute(f"PRAGMA synchronous = {synchronous}")
        record._database.execute("PRAGMA wal_autocheckpoint = 20")  # so that cuts fall into checkpoints too

    with patch.object(store.sqlite3, "connect", connect), patch.object(Record, "_prepare", prepared):
        yield


@dataclass(frozen=True)
class Outcome:
    """What was confirmed before the cut, and what was found after it."""

    confirmed: int
    found: list[int]
    whole: bool

    @property
    def lost(self) -> int:
        """How many confirmed packs are not there."""
        return max(0, self.confirmed - len(self.found))


def cut_power(directory: Path, seed: int, *, synchronous: str = "FULL", torn: bool = False) -> Outcome:
    """Record until the power is cut at a moment that the seed chooses, then look at what is on the platter."""
    chance = random.Random(seed)
    rig = make_rig(directory)
    disk = Disk(cut_after=10**9)
    confirmed = 0
    with recording_on(disk, synchronous=synchronous):
        record = Record(rig.record)
        record.begin_session(rig, boot="boot", new_visit="visit", time_s=1.7e9)
        disk.left = chance.randrange(1, 400)
        with suppress(PowerCutError, apsw.Error):
            while True:
                packs = [make_pack(1.7e9 + confirmed) for _ in range(chance.randrange(1, 4))]
                record.commit(packs)
                confirmed += len(packs)
                record.advance("mqtt packs", confirmed)
                record.compact(newest_packs=10)
        disk.left = 0
        with suppress(PowerCutError, apsw.Error):
            record.close()
    after = directory / "after"
    after.mkdir()
    for name, image in disk.images.items():
        image.cut(chance, torn=torn)
        (after / Path(name).name).write_bytes(image.content)
    disk.unregister()
    path = after / rig.record.name
    with sqlite3.connect(path) as database:
        whole = database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    database.close()
    return Outcome(confirmed, [pack.sequence or 0 for pack in RecordFile(path).packs_after(0)], whole)
