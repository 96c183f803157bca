"""A visit that a rig watches, as the tests of advice share it."""

from collections.abc import Iterator

import pytest

from ingest.record.store import Record
from ingest.rig import Rig
from tests.ingest.advice.visits import T0_S, Visit


@pytest.fixture
def visit(rig: Rig) -> Iterator[Visit]:
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S)
    yield Visit(rig, record)
    record.close()
