"""What went out as CSV comes in again without a question, each reading as it was recorded."""

import csv
import json
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from unicodedata import category

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from ingest.export.write import write_visit
from ingest.importing.bring_in import bring_in_recorded
from ingest.importing.errors import LogError
from ingest.importing.recorded import is_exported
from ingest.record.errors import RecordError
from ingest.record.exported import beside
from ingest.record.reading import RecordFile
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Pack, Reading, SessionBegan, decode_pack, encode_pack
from tests.ingest.record.test_chunks import runs_of_packs
from tests.lies import LIES, put
from tests.recording import T0_S
from tests.rigs import make_pack, make_rig


def kept(rig: Rig, sessions: Sequence[Sequence[Pack]]) -> list[Pack]:
    """Keep packs in a record, the first half of each session as chunks; gives them as they stand in it."""
    record = Record(rig.record)
    for packs in sessions:
        session = record.begin_session(rig, boot="boot", new_visit="v1", time_s=T0_S)
        record.add_mark(SessionBegan(f"began-{session.number}", T0_S))  # which ties its instruments to the visit
        record.commit(packs)
        record.advance("mqtt packs", record._last_sequence - len(packs) // 2)
        while record.compact(newest_packs=0):
            pass
    record.close()
    return list(RecordFile(rig.record).visit_packs("v1"))


def again(record: Path, folder: Path) -> list[Pack]:
    """Take a visit out, and into a record of its own."""
    write_visit(record, None, "csv", folder / "v1.csv")
    taken = bring_in_recorded(folder / "v1.csv", folder / "again" / "visit.sqlite")
    return list(RecordFile(folder / "again" / "visit.sqlite").visit_packs(taken.visit))


def alike(pack: Pack) -> Pack:
    """Give a pack without its numbers, which are those of a record."""
    return replace(pack, rig="", sequence=0, session=0)


def is_refused(letter: str) -> bool:
    """Whether no reason may hold it: control characters, and those of Unicode Standard Annex 9 that turn a line."""
    return category(letter) == "Cc" or letter in "\ufeff\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def packs_of_a_visit() -> list[list[Pack]]:
    """Two sessions: with a clock that is set back, a channel that comes late, and what is unknown."""
    sessions = []
    for began_s in (T0_S, T0_S + 100.0):
        packs = []
        for number in range(300):
            set_back = number >= 200
            pack = make_pack(began_s + number / 4 - (3.0 if set_back else 0.0))
            readings = dict(pack.readings)
            name = next(iter(readings))
            if number % 7 == 0:
                readings[name] = Reading(None, pack.time_s - 1.25, "stale", 'silent, said "the lead"')
            if number >= 270:
                readings["outdoor_air_temperature"] = Reading(
                    308.15 + number / 1e3, pack.time_s, "uncalibrated", "", 0.1
                )
            epoch = int(set_back)
            packs.append(
                replace(pack, readings=readings, epoch=epoch, monotonic_s=number / 4, unsaved_packs=number // 99)
            )
        sessions.append(packs)
    return sessions


def test_each_reading_is_as_it_was(rig: Rig, tmp_path: Path) -> None:
    packs = kept(rig, packs_of_a_visit())
    found = again(rig.record, tmp_path)
    assert [alike(pack) for pack in found] == [alike(pack) for pack in packs]
    assert [pack.session for pack in found] == [1] * 300 + [2] * 300
    assert [pack.sequence for pack in found] == list(range(1, 601))


@settings(max_examples=25)
@given(runs_of_packs(), st.integers(0, 8))
def test_so_it_is_whatever_a_pack_holds(tmp_path_factory: pytest.TempPathFactory, packs: list[Pack], at: int) -> None:
    every = [(pack.time_s - it.time_s, it.reason) for pack in packs for it in pack.readings.values()]
    assume(all(age_s > -8e8 and not any(map(is_refused, reason)) for age_s, reason in every))
    folder = tmp_path_factory.mktemp("visit")
    recorded = [decode_pack(encode_pack(pack)) for pack in packs]
    sessions = [part for part in (recorded[:at], recorded[at:]) if part]
    rig = make_rig(folder)
    was = kept(rig, sessions)
    assert [alike(pack) for pack in again(rig.record, folder)] == [alike(pack) for pack in was]


@pytest.mark.parametrize("reason", ["=1+1", "+1", "-1", "@A1", "'=1+1", "'said"])
def test_no_reason_is_a_formula_and_each_comes_in_as_it_was(rig: Rig, tmp_path: Path, reason: str) -> None:
    """CWE-1236: a cell that begins with = + - @ is run by a spreadsheet."""
    pack = make_pack(T0_S)
    name = next(iter(pack.readings))
    silent = Reading(None, pack.time_s, "malformed", reason)
    packs = kept(rig, [[replace(pack, readings={**pack.readings, name: silent})]])
    [found] = again(rig.record, tmp_path)
    assert found.readings[name].reason == packs[0].readings[name].reason == reason
    with (tmp_path / "v1.csv").open(newline="") as file:
        [row] = csv.DictReader(file)
    assert not row[f"{name}_reason"].startswith(("=", "+", "-", "@"))


def test_the_unit_and_how_each_channel_was_measured_come_too(rig: Rig, tmp_path: Path) -> None:
    kept(rig, packs_of_a_visit()[:1])
    again(rig.record, tmp_path)
    was, found = RecordFile(rig.record), RecordFile(tmp_path / "again" / "visit.sqlite")
    [before], [after] = was.visits(), found.visits()
    assert after.unit == before.unit
    assert found.channels(after.id) == was.channels(before.id) != []


FAULTS = {
    "a number": ("time", "yesterday", "line 2: time: 'yesterday' is not written as an export writes it"),
    "a quality": ("suction_pressure_quality", "fine", "line 2: suction_pressure_quality: 'fine' is none of"),
    "a spread": (
        "suction_pressure_standard_uncertainty_pa",
        "x",
        "line 2: suction_pressure_standard_uncertainty_pa: 'x' is no number",
    ),
    "no number that is": (
        "suction_pressure_pa_absolute",
        "nan",
        "line 2: suction_pressure_pa_absolute: 'nan' is beyond any reading",
    ),
    "an epoch": ("epoch", "-1", "line 2: epoch: '-1' is no whole number"),
    "a session": ("session", "1" + "0" * 17, "line 2: session: .* is more than any record counts"),
    "packs not saved": ("unsaved_packs", "1" + "0" * 17, "line 2: unsaved_packs: .* is more than any record counts"),
    "a vacuum": ("suction_pressure_pa_absolute", "-3e4", "line 2: suction_pressure_pa_absolute: '-3e4' cannot be"),
    "a spread below nothing": ("suction_pressure_standard_uncertainty_pa", "-1", "line 2: .*: '-1' cannot be"),
    "an age": ("suction_pressure_age_s", "-1e9", "line 2: suction_pressure_age_s: '-1e9' is beyond any age"),
    "a year": ("time", "0001-01-01T00:00:00Z", "line 2: time: .* is of no year"),
    "letters that turn": ("suction_pressure_reason", "a\u202eb", r"line 2: suction_pressure_reason: .*U\+202E"),
    "an order": ("sequence", "9", "line 3: pack 2 follows pack 9: the rows are not in the order"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_was_changed_by_hand_and_cannot_be_is_told_with_its_line(rig: Rig, tmp_path: Path, name: str) -> None:
    column, text, told = FAULTS[name]
    kept(rig, packs_of_a_visit()[:1])
    out = tmp_path / "v1.csv"
    write_visit(rig.record, None, "csv", out)
    lines = out.read_text().splitlines()
    cells = lines[1].split(",")
    cells[lines[0].split(",").index(column)] = text
    out.write_text("\n".join([lines[0], ",".join(cells), *lines[2:]]))
    with pytest.raises(LogError, match=told):
        bring_in_recorded(out, tmp_path / "again" / "visit.sqlite")
    assert not (tmp_path / "again" / "visit.sqlite").exists()


def test_without_what_stood_beside_it_it_says_what_to_do(rig: Rig, tmp_path: Path) -> None:
    kept(rig, packs_of_a_visit()[:1])
    out = tmp_path / "v1.csv"
    write_visit(rig.record, None, "csv", out)
    assert is_exported(out)
    beside(out).write_text("something of somebody")
    with pytest.raises(RecordError, match="is not what an export writes beside"):
        bring_in_recorded(out, tmp_path / "again.sqlite")
    with pytest.raises(RecordError, match="is not what an export writes beside"):
        write_visit(rig.record, None, "csv", out)
    assert beside(out).read_text() == "something of somebody"
    beside(out).unlink()
    with pytest.raises(LogError, match=r"v1.csv.json, which went out with it, is not beside it: .* or give a map"):
        bring_in_recorded(out, tmp_path / "again.sqlite")


def test_the_file_of_another_visit_beside_it_is_found_out(rig: Rig, tmp_path: Path) -> None:
    kept(rig, packs_of_a_visit()[:1])
    write_visit(rig.record, None, "csv", tmp_path / "one.csv")
    (tmp_path / "other").mkdir()
    other = make_rig(tmp_path / "other")
    kept(other, packs_of_a_visit()[1:])
    write_visit(other.record, None, "csv", tmp_path / "two.csv")
    beside(tmp_path / "one.csv").replace(beside(tmp_path / "two.csv"))
    with pytest.raises(LogError, match=r"line \d+: is of another time than the visit v1, of which two.csv.json tells"):
        bring_in_recorded(tmp_path / "two.csv", tmp_path / "again" / "visit.sqlite")


def test_the_record_of_a_rig_takes_none(rig: Rig, tmp_path: Path) -> None:
    kept(rig, packs_of_a_visit()[:1])
    again(rig.record, tmp_path)
    with pytest.raises(RecordError, match="a rig writes this record"):
        bring_in_recorded(tmp_path / "v1.csv", rig.record)
    with closing(sqlite3.connect(tmp_path / "again" / "visit.sqlite")) as database:
        assert database.execute("SELECT boot FROM sessions").fetchall() == [("imported",)]


@pytest.mark.timeout(20)
@pytest.mark.parametrize("lie", LIES)
def test_whatever_stands_beside_it_is_refused_at_once_and_nothing_of_it_is_taken(
    rig: Rig, tmp_path: Path, lie: str
) -> None:
    kept(rig, packs_of_a_visit()[:1])
    out, again = tmp_path / "v1.csv", tmp_path / "again" / "visit.sqlite"
    write_visit(rig.record, None, "csv", out)
    put(lie, beside(out))
    for act in (lambda: bring_in_recorded(out, again), lambda: write_visit(rig.record, None, "csv", out)):
        with pytest.raises(
            RecordError, match=r"v1.csv.json is not what an export writes beside v1.csv: .*\. Export"
        ) as told:
            act()
        assert len(str(told.value)) < 600
    assert not again.exists()


ABSURD = {
    "a visit of no name": (("visit",), "", "visit: is empty"),
    "a tag that turns letters": (("unit", "tag"), "RTU\u202e", "unit.tag: holds the control character U.202E"),
    "a place without end": (("unit", "place"), "x" * 70_000, "unit.place: has 70000 letters"),
    "a circuit of two lines": (("unit", "circuit"), "1\n2", "unit.circuit: holds the control character"),
    "no refrigerant": (("unit", "refrigerant"), "R-0", "unit.refrigerant: "),
    "a class that is milder": (("unit", "safety_class"), "B1", "unit.safety_class: B1 is not that of R-410A, A1"),
    "a phase that is another": (("unit", "charge_as_liquid"), False, "unit.charge_as_liquid: False is not that of"),
    "a charge below nothing": (("unit", "nameplate_charge_kg"), -1.0, "unit.nameplate_charge_kg: -1 cannot be"),
    "a charge beyond all": (("unit", "nameplate_charge_kg"), 1e308, r"unit.nameplate_charge_kg: 1e\+308 cannot be"),
    "amps of no motor": (("unit", "compressor_rla_a"), 1e308, "unit.compressor_rla_a: "),
    "a pressure of no plate": (("unit", "high_side_design_pressure_pa"), 0.0, "unit.high_side_design_pressure_pa: 0 "),
    "a target of none": (("unit", "target_superheat_dk"), 1e308, "unit.target_superheat_dk: "),
    "a channel of none": (("channels", 0, "name"), "../suction", r"channels\[0\].name: there is no channel"),
    "an instrument of no name": (("channels", 0, "instrument"), " ", r"channels\[0\].instrument: is empty"),
    "a unit of none": (("channels", 0, "unit"), "furlong", r"channels\[0\].unit: "),
    "an interval of nothing": (("channels", 0, "interval_s"), 0.0, r"channels\[0\].interval_s: 0 cannot be"),
    "an interval of ages": (("channels", 0, "interval_s"), 1e308, r"channels\[0\].interval_s: "),
    "an accuracy below nothing": (("channels", 0, "accuracy"), -1.0, r"channels\[0\].accuracy: -1 cannot be"),
    "a spread beyond all": (("channels", 0, "standard_uncertainty"), 1e308, r"channels\[0\].standard_uncertainty: "),
    "a slope of nothing": (("channels", 0, "slope"), 0.0, r"channels\[0\].slope: 0 cannot be"),
    "an offset beyond all": (("channels", 0, "offset"), -1e308, r"channels\[0\].offset: -1e\+308 cannot be"),
    "calibrated in no year": (("channels", 0, "calibrated"), "0001-01-01", r"channels\[0\].calibrated: '0001-01-01'"),
    "calibrated in the last": (("channels", 0, "calibrated"), "9999-12-31", r"channels\[0\].calibrated: '9999-12-31'"),
    "calibrated before all": (("channels", 0, "calibrated"), "1969-12-31", r"channels\[0\].calibrated: '1969-12-31'"),
    "calibrated after all": (("channels", 0, "calibrated"), "2200-01-01", r"channels\[0\].calibrated: '2200-01-01'"),
    "a slope too steep": (("channels", 0, "slope"), 10.5, r"channels\[0\].slope: 10.5 cannot be"),
    "a spread just beyond": (("channels", 0, "standard_uncertainty"), 10_000_000.5, r"\.standard_uncertainty: 1e.07 "),
    "an offset just beyond": (("channels", 0, "offset"), 10_000_000.5, r"channels\[0\].offset: 1e.07 cannot be"),
    "calibrated on no day": (("channels", 0, "calibrated"), "soon", r"channels\[0\].calibrated: 'soon'"),
    "begun in the year 1": (("first_s",), -62_135_596_800.0, r"first_s: -6.21356e\+10 cannot be"),
    "ended in the year 9999": (("last_s",), 253_402_300_799.0, r"last_s: 2.53402e\+11 cannot be"),
    "never begun": (("first_s",), None, "first_s and last_s: "),
    "no number": (("first_s",), float("nan"), "first_s"),
    "ended before it began": (("last_s",), 1.0, "first_s and last_s: "),
}


def edited(rig: Rig, folder: Path, keys: Sequence[str | int], value: object) -> Path:
    """Take a visit out, and change one thing in what stands beside it."""
    kept(rig, packs_of_a_visit()[:1])
    out = folder / "v1.csv"
    write_visit(rig.record, None, "csv", out)
    said = json.loads(beside(out).read_text())
    *way, key = keys
    at = said
    for step in way:
        at = at[step]
    at[key] = value
    beside(out).write_text(json.dumps(said))
    return out


@pytest.mark.parametrize(
    ("key", "value"),
    [("calibrated", "1970-01-01"), ("calibrated", "2199-12-31"), ("slope", 0.1), ("slope", 10.0), ("offset", 1e7)],
)
def test_what_an_instrument_can_just_be_is_taken(rig: Rig, tmp_path: Path, key: str, value: object) -> None:
    out = edited(rig, tmp_path, ("channels", 0, key), value)
    bring_in_recorded(out, tmp_path / "again" / "visit.sqlite")
    [visit] = (found := RecordFile(tmp_path / "again" / "visit.sqlite")).visits()
    assert getattr(found.channels(visit.id)[0], key) == value


@pytest.mark.parametrize("name", ABSURD)
def test_what_no_unit_and_no_instrument_can_be_is_told_by_its_name(rig: Rig, tmp_path: Path, name: str) -> None:
    out = edited(rig, tmp_path, *ABSURD[name][:2])
    match = ABSURD[name][2] if name != "no number" else "JSON is malformed"
    with pytest.raises(RecordError, match=match):
        bring_in_recorded(out, tmp_path / "again" / "visit.sqlite")
    assert not (tmp_path / "again").exists()
