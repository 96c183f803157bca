"""Whatever a file holds, it is read into sound sheets or refused with reasons: nothing else comes of it."""

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ingest.register.bringing_in import read_sheets
from ingest.register.columns import known_names
from ingest.register.csv_out import as_csv
from ingest.register.faults import UnitsFileError
from ingest.register.json_file import as_json
from ingest.visit.sheets import faults
from tests.units import CORRECT

HERE = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None, max_examples=20
)
ODD = ["", "1", "yes", "R-22", "txv", "nan", "-1", "1e999", "=A1", '"', "motor", "none", "٣"]
CELLS = st.sampled_from(ODD) | st.text(max_size=5)
TABLES = st.lists(st.lists(CELLS, max_size=6), max_size=4)
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.floats()
    | st.integers()
    | st.text(max_size=5)
    | st.sampled_from(["R-22", "txv", "motor"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["tag", "circuits", "name", "refrigerant", "parts", "kind", "at", "x"]), inner
        )
    ),
    max_leaves=8,
)


def reads(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    try:
        sheets = read_sheets(path)
    except UnitsFileError as error:
        told = error
    else:
        assert [fault for sheet in sheets for fault in faults(sheet)] == []
        return
    assert told.faults
    assert all(fault.said for fault in told.faults)


@HERE
@given(st.binary(max_size=60))
@pytest.mark.parametrize("name", ["units.csv", "units.json"])
def test_any_bytes(tmp_path: Path, name: str, content: bytes) -> None:
    reads(tmp_path / name, content)


@HERE
@given(st.lists(st.sampled_from(known_names()), max_size=6), TABLES, st.sampled_from(",;\t"))
def test_any_table(tmp_path: Path, names: list[str], rows: list[list[str]], delimiter: str) -> None:
    names = ["tag", "refrigerant", "metering_device", *names]
    lines = [delimiter.join(names), *(delimiter.join(["AHU-9", "R-22", "txv", *row]) for row in rows)]
    reads(tmp_path / "units.csv", "\n".join(lines).encode(errors="replace"))


@HERE
@given(st.lists(VALUES, max_size=3))
def test_any_json(tmp_path: Path, values: list[object]) -> None:
    reads(tmp_path / "units.json", json.dumps(values).encode())


@HERE
@given(st.data())
@pytest.mark.parametrize(("name", "text"), [("units.csv", as_csv([CORRECT])), ("units.json", as_json([CORRECT]))])
def test_a_sound_file_of_which_a_piece_was_changed(tmp_path: Path, name: str, text: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 20)))
    reads(tmp_path / name, (text[:start] + data.draw(st.text(max_size=5)) + text[end:]).encode(errors="replace"))
