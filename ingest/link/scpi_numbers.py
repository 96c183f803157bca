"""Which query an answer of a SCPI meter belongs to, told by how many numbers stand before its value.

Each query for a value goes out behind none, one or two `*ESE?` in one message, in turn: `*ESE?;MEAS:VOLT:AC?` is
answered with `0;+2.41E+02` on one line. What is asked in one message is answered in one (IEEE 488.2, 6.4 and 8.4, from
memory), and `*ESE?`, which every such meter has, reads a register and changes nothing (10.11, likewise). After a common
command a query is still read from the root (SCPI-99 volume 1, 6.2.4, from memory). So an answer that comes twice moves
no value, though another one stays away; only one that comes three queries late could. Of more than FEW values none or
one is put before each, in turn, so that a round takes hardly longer: there it is one that comes two queries late.

A meter that takes one query a message only is not asked so. Nor is a write used, such as a count that is set and read
back: some meters keep such registers in a memory that wears out.
"""

import re
from collections.abc import Iterable, Sequence

MARK = "*ESE?"
FEW = 4
"""At 9600 baud three numbers make a round of so many values no tenth longer: the bytes of it, counted."""
MOST_NUMBERS = 3

_MARKED = re.compile(rb"\s*\+?\d{1,3}\s*")
"""A register of eight bits, as a whole number (NR1)."""


def numbers_in_turn(queries: int) -> int:
    """Tell how many numbers there are for so many queries: an answer is told from as many less one before it."""
    return MOST_NUMBERS if queries <= FEW else 2


def can_be_numbered(queries: Iterable[str]) -> bool:
    """Tell whether each of these queries asks for one value: of others nobody knows how many come."""
    return all(query.count("?") == 1 and ";" not in query for query in queries)


def takes_several(answers: Sequence[bytes]) -> bool:
    """Tell by what a query behind one number is answered with whether the meter answered both in one line.

    >>> takes_several([b"0;+2.41E+02"]), takes_several([b"0", b"+2.41E+02"]), takes_several([])
    (True, False, False)
    """
    return len(answers) == 1 and value_of(answers[0], 1) is not None


def numbered(query: str, number: int) -> str:
    """Put its number before a query.

    >>> numbered("MEAS:VOLT:AC?", 0), numbered("MEAS:VOLT:AC?", 2)
    ('MEAS:VOLT:AC?', '*ESE?;*ESE?;MEAS:VOLT:AC?')
    """
    return ";".join([*[MARK] * number, query])


def is_refused(answer: bytes, number: int) -> bool:
    """Tell whether only the numbers were answered: the meter refused the query behind them."""
    parts = answer.split(b";")
    return len(parts) == number and _are_marks(parts)


def value_of(answer: bytes, number: int) -> bytes | None:
    """Give the value of an answer that has this number; None of one that has another.

    >>> value_of(b"0;0;+2.41E+02", 2), value_of(b"0;+2.41E+02", 2), value_of(b"+2.41E+02", 0)
    (b'+2.41E+02', None, b'+2.41E+02')
    """
    *marks, value = answer.split(b";")
    return value.strip() if len(marks) == number and _are_marks(marks) else None


def _are_marks(parts: Sequence[bytes]) -> bool:
    return all(_MARKED.fullmatch(part) for part in parts)
