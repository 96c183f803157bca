"""Cells, one by one and a column at once: what is a number, what stands for none, and how many a line has."""

import math
from collections.abc import Callable, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.frames import Unreadable, Value
from ingest.importing.cells import Cells, parted
from ingest.importing.errors import CellError
from ingest.importing.log_map import LinesMap

POINT, COMMA = Cells(LinesMap(interval="1 s")), Cells(LinesMap(interval="1 s", separator=";", decimal=","))
WORDS = Cells(LinesMap(interval="1 s", missing=["-999"], overload=["9999"]))
ANY = st.text(st.sampled_from(list("0123456789+-.,eE _\n٣x")), max_size=6) | st.floats().map(repr)
LONG = st.sampled_from(["1" * 39, "1" * 40, "1" * 41])


@given(st.sampled_from([POINT, COMMA, WORDS]), st.lists(ANY | LONG, min_size=1, max_size=5))
def test_a_column_at_once_is_what_its_cells_are(cells: Cells, column: list[str]) -> None:
    def read(how: Callable[[], Sequence[Value | None]]) -> str:
        try:
            return repr(how())
        except CellError as error:
            return str(error)

    assert read(lambda: cells.read_all("Suction", column)) == read(lambda: [cells.read("Suction", it) for it in column])


def test_what_the_map_says_stands_for_no_value_is_none_though_it_reads_as_a_number() -> None:
    assert WORDS.read_all("Suction", ["35.5", "-999", "9999", "-99"]) == [35.5, None, Unreadable.OVERLOAD, -99.0]


def test_a_cell_of_two_lines_is_no_number() -> None:
    with pytest.raises(CellError, match="is no number"):
        POINT.read_all("Suction", ["35.5\n36.5", "1"])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1" * 41, "is no number: if it stands for no value"),
        ("5 x", "take the unit out of the cells"),
        ("35 psi", "take the unit out of the cells"),
        ("x5", "if it stands for no value, put it into log.missing"),
        ("3.5.1", "if it stands for no value"),
        ("-3,5", r"log.decimal says '\.'"),
        ("1,234.5", "signs between thousands are to be taken out"),
        ("1,234,567", "signs between thousands are to be taken out"),
    ],
)
def test_what_is_no_number_says_what_to_do(text: str, told: str) -> None:
    with pytest.raises(CellError, match=told):
        POINT.read("Suction", text)


def test_nor_does_a_column_hold_a_number_of_more_signs() -> None:
    with pytest.raises(CellError, match="is no number"):
        POINT.read_all("Suction", ["1" * 41])


def test_forty_signs_are_a_number() -> None:
    assert POINT.read_all("Suction", ["1" * 40]) == [POINT.read("Suction", "1" * 40)]
    value = POINT.read("Suction", "1" * 40)
    assert isinstance(value, float)
    assert math.isclose(value, 1.1111e39, rel_tol=1e-4)


def test_a_line_has_as_many_cells_as_the_header_or_an_empty_one_more() -> None:
    assert parted(["a", "b"], 2) == ["a", "b"]
    assert parted(["a", "b", " "], 2) == ["a", "b", " "]
    for cells in (["a"], ["a", "b", "c"], ["a", "b", "", ""], []):
        with pytest.raises(CellError, match=f"has {len(cells)} cells where the header has 2"):
            parted(cells, 2)
