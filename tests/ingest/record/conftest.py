"""What several tests of the record need: where it is, an empty one, and one of which a part has become a chunk."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from ingest.record.store import Record
from ingest.rig import Rig
from tests.recording import T0_S
from tests.rigs import make_pack, make_rig


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bench.sqlite"


@pytest.fixture
def record(rig: Rig) -> Iterator[Record]:
    record = Record(rig.record)
    yield record
    record.close()


@pytest.fixture
def writer(path: Path) -> Iterator[Record]:
    """A record of 300 packs, a second apart, of which the first 240 have become a chunk."""
    record = Record(path)
    record.begin_session(make_rig(path.parent), boot="boot", new_visit="v1", time_s=T0_S)
    record.commit([make_pack(T0_S + number) for number in range(300)])
    record.advance("mqtt packs", 300)
    assert record.compact(newest_packs=0) == 240
    yield record
    record.close()
