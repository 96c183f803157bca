"""Cells of a log to values, in the unit that the logger wrote."""

import re
from collections.abc import Sequence

from ingest.frames import Unreadable, Value
from ingest.importing.errors import CellError
from ingest.importing.log_map import LinesMap

_NUMBERS = {
    ".": re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?"),
    ",": re.compile(r"[-+]?(\d+,?\d*|,\d+)([eE][-+]?\d+)?"),
}
_LONGEST_NUMBER = 40


class Cells:
    """Reads cells as one map has them."""

    def __init__(self, log: LinesMap) -> None:
        self._decimal = log.decimal
        self._number = _NUMBERS[log.decimal]
        self._missing = frozenset(log.missing)
        self._overload = frozenset(log.overload)

    def read(self, column: str, cell: str) -> Value | None:
        """Give the value of a cell; None where it holds none.

        Raises:
            CellError: it is no number.

        """
        text = cell.strip().replace("−", "-")
        if text in self._missing:
            return None
        if text in self._overload:
            return Unreadable.OVERLOAD
        if len(text) <= _LONGEST_NUMBER and self._number.fullmatch(text):
            return float(text.replace(",", "."))
        raise CellError(f"{column}: {text[:_LONGEST_NUMBER]!r} is no number{self._hint(text)}")

    def _hint(self, text: str) -> str:
        other = "." if self._decimal == "," else ","
        if other in text and text.replace(",", "").replace(".", "").lstrip("+-").isdigit():
            return f": log.decimal says {self._decimal!r}"
        if text[:1].isdigit() and text[-1:].isalpha():
            return ": take the unit out of the cells, into the map"
        return ": if it stands for no value, put it into log.missing"


def parted(cells: Sequence[str], columns: int) -> Sequence[str]:
    """Refuse a line that has not as many cells as the header; an empty one at the end is common.

    Raises:
        CellError: it has not.

    """
    if len(cells) == columns or (len(cells) == columns + 1 and not cells[-1].strip()):
        return cells
    raise CellError(
        f"has {len(cells)} cells where the header has {columns}; mend or delete it, "
        'or leave such lines out by broken_lines = "leave_out" under [log]'
    )
