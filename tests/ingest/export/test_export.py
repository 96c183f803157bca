"""What goes out, read by other programs, is what the record holds."""

import csv
import errno
import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from shutil import copyfile

import jsonschema
import pyarrow.parquet
import pytest
from hypothesis import given

from dewline import main
from docs.build_visit_schema import FILE as SCHEMA
from ingest.export import senml_lines
from ingest.record.chunks import gather
from ingest.record.columns import block_of
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Added, Note, Pack, decode_pack, encode_pack
from tests.ingest.advice.visits import T0_S as BEGAN_S
from tests.ingest.advice.visits import Visit
from tests.ingest.record.test_chunks import runs_of_packs
from tests.rigs import make_rig

KELVIN = 273.15


@pytest.fixture(scope="module")
def written_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with advices, marks, and packs of which some are a chunk."""
    rig = make_rig(tmp_path_factory.mktemp("written"))
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="v1", time_s=BEGAN_S)
    visit = Visit(rig, record, every_s=20, keeps_all=True)
    visit.watch(range(250), lambda second: 4.0 + second / 100)
    visit.take(Added("m1", BEGAN_S + 250, "Sam", "technician", mass_kg=0.2, phase="liquid"))
    visit.take(Note("n1", BEGAN_S + 251, "Sam", "technician", 'a door; "the" left one'))
    visit.watch(range(251, 260), lambda _: 6.0)
    record.advance("mqtt packs", 260)
    record.compact(newest_packs=0)
    record.close()
    return rig.record


@pytest.fixture
def written(written_once: Path, rig: Rig) -> Path:
    """That visit in a record of the test's own."""
    return Path(copyfile(written_once, rig.record))


def packs(record: Path) -> list[Pack]:
    return list(RecordFile(record).packs_after(0))


def export(record: Path, kind: str, out: Path) -> None:
    assert main(["export", "--record", str(record), "--to", kind, "-o", str(out)]) == 0


def test_csv_has_a_row_a_pack_with_stamp_unit_quality_and_spread(written: Path, tmp_path: Path) -> None:
    export(written, "csv", tmp_path / "v1.csv")
    with (tmp_path / "v1.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(packs(written)) == 259
    for row, pack in zip(rows, packs(written), strict=True):
        assert datetime.fromisoformat(row["time"]).timestamp() == pytest.approx(pack.time_s, abs=1e-6)
        assert row["time"].endswith("Z")
        assert (int(row["sequence"]), int(row["session"])) == (pack.sequence, pack.session)
        line, pressure = pack.readings["suction_line_temperature"], pack.readings["suction_pressure"]
        assert line.value is not None
        assert float(row["suction_line_temperature_degc"]) == round(line.value - KELVIN, 4)
        assert float(row["suction_pressure_pa_absolute"]) == pressure.value
        assert row["suction_pressure_quality"] == pressure.quality
        assert float(row["superheat_k"]) == pack.readings["superheat"].value
        assert float(row["superheat_standard_uncertainty_k"]) == pack.readings["superheat"].standard_uncertainty


def test_parquet_has_the_same_in_columns_of_its_own_types(written: Path, tmp_path: Path) -> None:
    export(written, "parquet", tmp_path / "v1.parquet")
    table = pyarrow.parquet.read_table(tmp_path / "v1.parquet")
    assert table.column("superheat_k").to_pylist() == [pack.readings["superheat"].value for pack in packs(written)]
    assert table.column("superheat_quality").to_pylist() == [it.readings["superheat"].quality for it in packs(written)]
    assert table.column("time")[0].as_py() == datetime.fromtimestamp(packs(written)[0].time_s, UTC)
    assert table.schema.field("superheat_k").metadata == {b"unit": b"k"}


def test_senml_is_to_the_byte_what_was_published(written: Path, tmp_path: Path) -> None:
    export(written, "senml", tmp_path / "v1.senml")
    lines = (tmp_path / "v1.senml").read_bytes().splitlines()
    assert lines == [encode_pack(pack) for pack in packs(written)]
    assert all({"n", "bn", "bt"} <= json.loads(line)[0].keys() for line in lines)  # RFC 8428, section 4


@given(runs_of_packs())
def test_so_it_is_whatever_a_pack_holds(packs: list[Pack]) -> None:
    published = [encode_pack(pack) for pack in packs]
    block = block_of(gather([decode_pack(it) for it in published]))
    assert senml_lines.lines(block) == b"".join(it + b"\n" for it in published)


def test_json_fits_its_schema_and_has_the_unit_the_journal_and_the_advices(written: Path, tmp_path: Path) -> None:
    """Held by an independent validator of JSON Schema 2020-12."""
    export(written, "json", tmp_path / "v1.json")
    found = json.loads((tmp_path / "v1.json").read_text("utf-8"))
    schema = json.loads(SCHEMA.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema, jsonschema.Draft202012Validator)
    assert (found["visit"], found["unit"]["tag"], found["ended_s"]) == ("v1", "RTU-K7Q-4", None)
    assert found["sheet"]["tag"] == "RTU-K7Q-4"
    assert [mark["id"] for mark in found["marks"]] == ["m1", "n1"]
    assert len(found["advices"]) == 13
    assert {it["name"] for it in found["channels"]} >= {"suction_pressure", "liquid_pressure"}
    del found["unit"]["tag"]
    with pytest.raises(jsonschema.ValidationError, match="'tag' is a required property"):
        jsonschema.validate(found, schema, jsonschema.Draft202012Validator)


def test_a_visit_without_advice_is_json_too(rig: Rig, tmp_path: Path) -> None:
    record = Record(rig.record)
    record.begin_session(rig, boot="boot", new_visit="v1", time_s=BEGAN_S)
    record.close()
    for kind in ("json", "csv", "parquet", "senml"):
        export(rig.record, kind, tmp_path / f"v1.{kind}")
    assert json.loads((tmp_path / "v1.json").read_text("utf-8"))["advices"] == []
    assert (tmp_path / "v1.csv").read_text() == "time,sequence,session,epoch,monotonic_s,unsaved_packs\n"


def test_a_visit_is_chosen_by_its_id(rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = Record(rig.record)
    for visit in ("v1", "v2"):
        record.begin_session(rig, boot="boot", new_visit=visit, time_s=BEGAN_S)
        Visit(rig, record).watch(range(3), lambda _: 5.0)
        record._database.execute("UPDATE visits SET ended_s = 1.0")
    record.close()
    for visit, first in (("v1", "1"), ("v2", "4")):
        out = tmp_path / f"{visit}.csv"
        words = ["export", "--record", str(rig.record), "--to", "csv", "-o", str(out), "--visit", visit]
        assert main(words) == 0
        assert out.read_text().splitlines()[1].split(",")[1] == first
    words[-1] = "v9"
    assert main(words) == 2
    assert "there is no visit 'v9'; there are v1, v2" in capsys.readouterr().err


def test_what_cannot_be_written_leaves_what_was_there(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "v1.parquet"
    out.write_text("before")
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    assert main(["export", "--record", str(written), "--to", "parquet", "-o", str(out)]) == 2
    assert ".[parquet]" in capsys.readouterr().err
    assert out.read_text() == "before"
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".writing")] == []
    assert main(["export", "--record", str(written), "--to", "csv", "-o", str(tmp_path / "no" / "v1.csv")]) == 2
    assert "cannot be written: No such file or directory" in capsys.readouterr().err


def test_it_goes_to_standard_output_too(written: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    export(written, "senml", Path("-"))
    assert capfdbinary.readouterr().out.count(b"\n") == 259


def test_the_folder_may_be_named_in_place_of_the_record(written: Path, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    folder.mkdir()
    written.rename(folder / "visit.sqlite")
    assert main(["export", "--data", str(folder), "--to", "csv", "-o", str(tmp_path / "out.csv")]) == 0
    assert (tmp_path / "out.csv").stat().st_size > 1000


@pytest.mark.parametrize("made", ["itself", "-wal", "-shm", ".lock", "a link", "another", "of another", "a folder"])
def test_no_record_is_written_over(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], made: str
) -> None:
    """That every file of SQLite begins so: sqlite.org/fileformat2.html, section 1.3."""
    other = tmp_path / "other.db"
    with closing(sqlite3.connect(other)) as database:
        database.execute("CREATE TABLE kept (it)")
    link, folder = tmp_path / "link.csv", tmp_path / "folder"
    link.symlink_to(written)
    folder.mkdir()
    out = {"itself": written, "a link": link, "another": other, "a folder": folder}.get(made)
    out = out or (other.with_name("other.db-wal") if made == "of another" else written.with_name(written.name + made))
    before = {path: path.read_bytes() for path in (written, other)}
    assert main(["export", "--record", str(written), "--to", "csv", "-o", str(out)]) == 2
    assert "name another file" in capsys.readouterr().err or made == "a folder"
    assert {path: path.read_bytes() for path in (written, other)} == before
    assert not list(tmp_path.glob("*.writing"))


def test_a_full_disk_is_told_with_the_file_and_leaves_none(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: object) -> bytes:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(senml_lines, "lines", full)
    out = tmp_path / "v1.senml"
    assert main(["export", "--record", str(written), "--to", "senml", "-o", str(out)]) == 2
    assert capsys.readouterr().err == f"dewline export: {out} cannot be written: No space left on device\n"
    assert not [path for path in tmp_path.iterdir() if path.name.startswith("v1.senml")]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_standard_output_on_a_full_disk_is_one_line(written: Path) -> None:
    words = ["export", "--record", str(written), "--to", "csv", "-o", "-"]
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "dewline", *words], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert (done.returncode, done.stderr) == (
        2,
        "dewline export: standard output cannot be written: No space left on device\n",
    )
