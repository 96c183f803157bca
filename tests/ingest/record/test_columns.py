"""A record by arrays holds to the last digit what its packs hold, whether they are chunks already or not."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from ingest.record.errors import RecordError
from ingest.record.reading import RecordFile, open_record
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Reading
from tests.recording import T0_S
from tests.rigs import make_pack


@pytest.fixture
def written(rig: Rig) -> Path:
    """Packs as chunks and not, with what is unknown, and a channel that comes only later."""
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="v1", time_s=T0_S)
    packs = []
    for number in range(300):
        pack = make_pack(T0_S + number / 4)
        readings = dict(pack.readings)
        name = next(iter(readings))
        if number % 7 == 0:
            readings[name] = Reading(None, T0_S + number / 4, "stale", "silent")
        if number >= 270:
            readings["outdoor_air_temperature"] = Reading(308.15 + number / 1000, T0_S + number / 4, "ok", "", 0.1)
        packs.append(replace(pack, readings=readings))
    record.commit(packs)
    record.advance("mqtt packs", 300)
    record.compact(newest_packs=0)
    record.close()
    return rig.record


def test_each_value_stamp_quality_and_spread_is_that_of_its_pack(written: Path) -> None:
    packs = list(RecordFile(written).packs_after(0))
    visit = open_record(written).visit()
    assert visit.sequences.tolist() == [pack.sequence for pack in packs]
    assert visit.times_s.tolist() == [pack.time_s for pack in packs]
    assert "outdoor_air_temperature" in visit.names
    for name in visit.names:
        found = visit[name]
        for index, pack in enumerate(packs):
            reading = pack.readings.get(name) or Reading(None, pack.time_s, "stale", "not measured")
            value, spread = found.values[index], found.standard_uncertainties[index]
            assert (None if value is np.ma.masked else float(value)) == reading.value
            assert (None if spread is np.ma.masked else float(spread)) == reading.standard_uncertainty
            assert (found.times_s[index], found.qualities[index], found.reasons[index]) == (
                reading.time_s, reading.quality, reading.reason,
            )  # fmt: skip


def test_what_is_unknown_is_in_no_sum(written: Path) -> None:
    visit = open_record(written).visit("v1")
    found = visit[visit.names[0]]
    assert found.values.count() == 300 - 43  # every seventh of 300 is 43
    assert found.values.mean() == pytest.approx(np.mean([it for it in found.values.tolist() if it is not None]))


def test_what_is_not_there_is_named(written: Path, tmp_path: Path) -> None:
    with pytest.raises(KeyError, match="blower_current was not read at the visit v1; there are"):
        open_record(written).visit()["blower_current"]
    with pytest.raises(RecordError, match="there is no visit 'v9'; there are v1"):
        open_record(written).visit("v9")
    with pytest.raises(RecordError, match="there is no such file"):
        open_record(tmp_path / "none.sqlite")


def test_the_table_for_data_frames_has_the_same(written: Path) -> None:
    visit = open_record(written).visit()
    frame = visit.table().to_pandas()
    name = visit.names[0]
    values = frame[next(column for column in frame if column.startswith(f"{name}_"))]
    assert values.isna().sum() == 43
    assert len(frame) == 300
    assert frame["time"].astype("int64").tolist()[:2] == [int(T0_S * 1000), int(T0_S * 1000) + 250]


def test_without_pyarrow_the_extra_is_named(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    with pytest.raises(RecordError, match=r'pip install "\.\[parquet\]"'):
        open_record(written).visit().table()
