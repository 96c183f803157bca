"""Cells of a log to values, in the unit that the logger wrote."""

import re
from collections.abc import Sequence
from contextlib import suppress

from ingest.frames import Unreadable, Value
from ingest.importing.errors import CellError
from ingest.importing.log_map import LinesMap

_NUMBERS = {
    ".": re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?"),
    ",": re.compile(r"[-+]?(\d+,?\d*|,\d+)([eE][-+]?\d+)?"),
}
_LONGEST_NUMBER = 40
_NOT_PLAIN = {".": re.compile(r"[^-+0-9.eE\n]"), ",": re.compile(r"[^-+0-9,eE\n]")}
"""What is in no number. Where none of it is, Python reads a number just where the patterns above do."""


class Cells:
    """Reads cells as one map has them."""

    def __init__(self, log: LinesMap) -> None:
        self._decimal = log.decimal
        self._number = _NUMBERS[log.decimal]
        self._missing = frozenset(log.missing)
        self._overload = frozenset(log.overload)
        self._words = self._missing | self._overload

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

    def read_all(self, column: str, cells: Sequence[str]) -> Sequence[Value | None]:
        """Give the values of the cells of a column, as `read` does, and where all are numbers several times as fast.

        Raises:
            CellError: one is no number.

        """
        together = "\n".join(cells)
        is_plain = not _NOT_PLAIN[self._decimal].search(together) and max(map(len, cells)) <= _LONGEST_NUMBER
        if is_plain and self._words.isdisjoint(cells):
            with suppress(ValueError):  # one is empty, or no number
                values = list(map(float, together.replace(",", ".").split("\n")))
                if len(values) == len(cells):  # no cell has lines of its own
                    return values
        return [self.read(column, cell) for cell in cells]

    def _hint(self, text: str) -> str:
        other = "." if self._decimal == "," else ","
        if {",", "."} < {*text} or text.count(other) > 1:
            return ": signs between thousands are to be taken out of the log"
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
