"""Whole visits that today's judge gave advice on, played again: the same journal, advices and report."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from msgspec.structs import replace

from ingest.record.reading import RecordFile, open_record
from ingest.record.store import Record
from ingest.replay.source import sheet_then
from ingest.wire.messages import Signed
from tests.ingest.replay.again import assert_same, marks_of, played_again, report_of
from tests.ingest.replay.recorded_visit import record_visit
from tests.ingest.report.reading import words
from tests.judge.voice import LONGEST_S, scenarios

A2L_BY_A_SCALE = ("long_lines", 840.0, "settling", 1)
A_BLEND_LOW_THEN_SETTLED = ("low_charge", LONGEST_S, "done", 2)
NOT_TO_BE_CHARGED = ("dirty_condenser", LONGEST_S, "look", 0)


@pytest.mark.parametrize("kind", [A2L_BY_A_SCALE, A_BLEND_LOW_THEN_SETTLED, NOT_TO_BE_CHARGED], ids=lambda it: it[0])
async def test_a_visit_of_each_kind_comes_out_as_it_was(
    kind: tuple[str, float, str, int], tmp_path: Path, free_port: Callable[[], int]
) -> None:
    scenario, ends_after_s, state, moves = kind
    recorded = record_visit(tmp_path / "visit.sqlite", scenario, ends_after_s=ends_after_s)
    assert (recorded.end[0], recorded.moves) == (state, moves)
    into, played = await played_again(recorded.path, free_port)
    assert_same(into, played, recorded.path)
    assert ("by a scale" in words(report_of(into))) is (moves > 0)
    assert report_of(into).signed


@pytest.mark.hours
@pytest.mark.parametrize("scenario", scenarios())
async def test_so_does_one_at_each_unit_that_comes_along(
    scenario: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    recorded = record_visit(tmp_path / "visit.sqlite", scenario, ends_after_s=LONGEST_S)
    into, played = await played_again(recorded.path, free_port)
    assert_same(into, played, recorded.path)


async def test_what_was_corrected_on_the_sheet_after_the_signature_is_not_in_it(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    recorded = record_visit(tmp_path / "visit.sqlite", "dirty_condenser", ends_after_s=120.0)
    with closing(Record(recorded.path)) as record:
        record.add_sheets([replace(recorded.sheet, place="Behind the mill")], recorded.marks[-1].time_s + 3600.0)
    into, _ = await played_again(recorded.path, free_port)
    assert report_of(into) == report_of(recorded.path)
    assert "Behind the mill" not in words(report_of(into))
    found = sheet_then(RecordFile(recorded.path), open_record(recorded.path).visit_named(None))
    assert found == recorded.sheet


async def test_a_seal_that_was_broken_is_not_mended_by_playing_it(tmp_path: Path, free_port: Callable[[], int]) -> None:
    recorded = record_visit(tmp_path / "visit.sqlite", "dirty_condenser", ends_after_s=120.0)
    with closing(sqlite3.connect(recorded.path)) as database, database:
        database.execute("DELETE FROM marks WHERE kind = 'finding' AND number < 3")
    assert report_of(recorded.path).seal_broken
    into, _ = await played_again(recorded.path, free_port)
    (signed,) = (it for it in recorded.marks if isinstance(it, Signed))
    assert signed in marks_of(into)
    assert report_of(into) == report_of(recorded.path)
