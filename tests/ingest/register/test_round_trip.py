"""What was given out comes back the same, whatever the sheets hold."""

import csv
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ingest.register.bringing_in import read_sheets, write_sheets
from ingest.register.csv_out import as_csv
from ingest.register.faults import UnitsFileError
from ingest.visit.sheets import compared
from ingest.wire.messages import Sheet
from tests.units import CORRECT, sheets

REGISTERS = st.lists(sheets(), min_size=1, max_size=3, unique_by=lambda sheet: sheet.tag)
HERE = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None, max_examples=15
)


@HERE
@given(REGISTERS)
def test_nothing_is_lost_in_a_table(tmp_path: Path, known: list[Sheet]) -> None:
    write_sheets(tmp_path / "units.csv", known)
    assert list(map(compared, read_sheets(tmp_path / "units.csv"))) == list(map(compared, known))


@HERE
@given(REGISTERS)
def test_nothing_is_lost_in_json(tmp_path: Path, known: list[Sheet]) -> None:
    write_sheets(tmp_path / "units.json", known)
    assert list(map(compared, read_sheets(tmp_path / "units.json"))) == list(map(compared, known))


@HERE
@given(REGISTERS, st.sampled_from([";", "\t"]))
def test_another_delimiter_and_a_byte_order_mark_change_nothing(
    tmp_path: Path, known: list[Sheet], delimiter: str
) -> None:
    """As spreadsheets write them where the comma parts decimals."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(csv.reader(io.StringIO(as_csv(known), newline="")))
    (tmp_path / "units.csv").write_text("\ufeff" + text.getvalue(), encoding="utf-8", newline="")
    assert list(map(compared, read_sheets(tmp_path / "units.csv"))) == list(map(compared, known))


@HERE
@given(REGISTERS)
def test_no_cell_of_a_table_is_a_formula(tmp_path: Path, known: list[Sheet]) -> None:
    """CWE-1236: what begins with = + - @ is run by a spreadsheet."""
    cells = [cell for row in csv.reader(io.StringIO(as_csv(known), newline="")) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]


def test_one_row_is_one_circuit_and_a_figure_has_its_unit_in_the_name() -> None:
    first, second = csv.DictReader(io.StringIO(as_csv([CORRECT]), newline=""))
    assert (first["tag"], first["circuit"], first["charge_kg"]) == ("RTU-M2D-1", "1", "3.40194")
    assert (second["tag"], second["circuit"], second["charge_kg"]) == ("RTU-M2D-1", "2", "2.5")
    assert (first["part_4_kind"], first["part_4_herm_f"], second["part_4_kind"]) == ("capacitor", "4e-05", "")


def test_a_charging_chart_is_brought_in_as_it_is_printed(tmp_path: Path) -> None:
    """63 °F is 290.372 K and 85 °F 302.594 K, by the definition of the scale; a made-up chart."""
    for column, printed in (
        ("superheat_chart_degf", "63/85 14 | 67/85 19|63/95 8 | 67/95 13.5"),
        (
            "superheat_chart_degc",
            "17.2222/29.4444 7.7778 | 19.4444/29.4444 10.5556 | 17.2222/35 4.4444 | 19.4444/35 7.5",
        ),
    ):
        text = f"tag,refrigerant,metering_device,{column}\nRTU-M2D-1,R-410A,fixed_orifice,{printed}\n"
        (tmp_path / "units.csv").write_text(text, encoding="utf-8")
        (sheet,) = read_sheets(tmp_path / "units.csv")
        first, *_, last = sheet.circuits[0].superheat_chart_k
        assert first == pytest.approx((290.372, 302.594, 14 / 1.8), abs=1e-3)
        assert last == pytest.approx((292.594, 308.15, 7.5), abs=1e-3)


@pytest.mark.parametrize("printed", ["63/85", "63/85 14; 67/85 19", "63 85 14", "63/85 14 |", "-3/85 14"])
def test_a_chart_that_cannot_be_read_says_how_it_is_written(tmp_path: Path, printed: str) -> None:
    text = f"tag,refrigerant,metering_device,superheat_chart_degf\nRTU-M2D-1,R-410A,fixed_orifice,{printed}\n"
    (tmp_path / "units.csv").write_text(text, encoding="utf-8")
    with pytest.raises(UnitsFileError, match=r"superheat_chart_degf.*such as 63/85 14"):
        read_sheets(tmp_path / "units.csv")
