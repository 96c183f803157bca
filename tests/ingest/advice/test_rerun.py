"""Advices come out of the record again as they were given, on a unit that runs sixty times as fast as life.

A second is a minute of the unit then, and the twenty minutes that a course is made of are twenty packs.
"""

import math
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import msgspec
import pytest

from ingest.advice.rerun import Rerun, rerun
from ingest.record.errors import RecordError
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Added
from tests.ingest.advice.visits import T0_S, Visit

SPEED = 60.0


def uneasy(second: int) -> float:
    """A figure of which no two readings are alike: a course that lacks one of them is another one."""
    return 4.0 + 0.3 * math.sin(second / 3.0) + 0.02 * second


def watch(
    rig: Rig, seconds: range, *, boot: str = "boot", every_s: int = 1, reads: Callable[[int], float] = uneasy
) -> None:
    record = Record(rig.record)
    record.begin_session(rig, boot=boot, new_visit="visit-1", time_s=T0_S)
    Visit(rig, record, speed=SPEED, every_s=every_s, keeps_all=True).watch(seconds, reads)
    record.close()


def again(rig: Rig) -> list[Rerun]:
    return list(rerun(rig.record))


def test_of_a_long_visit_every_advice_comes_out_again(rig: Rig) -> None:
    watch(rig, range(100, 190), every_s=15)
    found = again(rig)
    assert len(found) == 6
    assert all(it.same for it in found)


def test_an_advice_is_made_of_all_of_the_twenty_minutes_before_it(rig: Rig) -> None:
    """No advice is kept before them, so that the course is not followed but made at once."""
    watch(rig, range(101, 141), every_s=70)  # on the last pack alone: 140
    (found,) = again(rig)
    assert found.same
    assert found.again is not None
    assert found.given.steadiness["subcooling"].state != "unknown"


def test_packs_of_before_a_machine_was_started_anew_are_no_part_of_it(rig: Rig) -> None:
    """Its monotonic clock began anew, and is among the times of before."""
    watch(rig, range(100, 160), every_s=15)
    watch(rig, range(110, 150), boot="another", every_s=15, reads=lambda second: 9.0 - uneasy(second))
    found = again(rig)
    assert len(found) == 6
    assert all(it.same for it in found)


def test_packs_of_before_a_move_are_no_part_of_what_comes_after_it(rig: Rig) -> None:
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="visit-1", time_s=T0_S)
    visit = Visit(rig, record, speed=SPEED, every_s=3, keeps_all=True)
    visit.watch(range(100, 115), uneasy)
    visit.take(Added("m1", T0_S + 114.5, mass_kg=0.2, phase="liquid"))
    visit.watch(range(115, 130), lambda second: 3.0 + uneasy(second))
    record.close()
    found = again(rig)
    assert len(found) == 10
    assert all(it.same for it in found)


def test_since_when_the_charge_was_left_alone_outlasts_an_interruption(rig: Rig) -> None:
    """Ten minutes of the unit in which nobody read anything."""
    watch(rig, range(100, 130), every_s=15)
    watch(rig, range(140, 170), every_s=15)
    found = again(rig)
    assert [it.given.verification is not None for it in found] == [True] * len(found)
    assert all(it.same for it in found)


def test_what_differs_is_named_and_what_is_not_in_the_record_has_nothing_to_differ_from(rig: Rig) -> None:
    watch(rig, range(100, 112))
    with closing(sqlite3.connect(rig.record)) as database, database:
        database.execute("DELETE FROM packs WHERE sequence = 10")
    found = again(rig)
    missing = found[-1]
    assert [it.again for it in found].count(None) == 1
    assert (missing.again, missing.same, missing.differing) == (None, False, [])
    given = found[0].given
    other = Rerun(given, msgspec.structs.replace(given, state="move"))
    assert (other.same, other.differing) == (False, ["state"])


def test_a_record_without_advice_has_none(rig: Rig) -> None:
    watch(rig, range(100, 110), every_s=1000)
    assert again(rig) == []


def test_what_is_no_file_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="is no record, but a folder, a device or a pipe"):
        list(rerun(tmp_path))
    with pytest.raises(RecordError, match="there is no such file"):
        list(rerun(tmp_path / "nothing.sqlite"))
