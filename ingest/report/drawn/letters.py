"""A text as the font of the page can show it: for a letter that it does not have stands a sign that says so."""

import re
from bisect import bisect_right
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import msgspec

MISSING = "□"
_MAY_BREAK = "\u200b"
_LONG_WORD = re.compile(r"\S{25,}")
"""Which no line of a narrow column may hold: it may be broken between pieces of it."""
_PIECES = re.compile(r".{1,8}")
_SPANS = Path(__file__).parent / "fonts" / "letters.json"


def has_letter(letter: str) -> bool:
    r"""Tell whether the font of the page has a letter; a line may be broken everywhere.

    >>> has_letter("±"), has_letter("\n"), has_letter("\u4e2d")
    (True, True, False)
    """
    firsts, lasts = _spans()
    place = bisect_right(firsts, ord(letter)) - 1
    return letter == "\n" or (place >= 0 and ord(letter) <= lasts[place])


def in_letters(text: str) -> str:
    """Give a text in letters that the font has, a long word so that it may be broken."""
    shown = "".join(letter if has_letter(letter) else MISSING for letter in text)
    return _LONG_WORD.sub(lambda word: _MAY_BREAK.join(_PIECES.findall(word.group())), shown)


@cache
def _spans() -> tuple[Sequence[int], Sequence[int]]:
    """Read the first and the last letter of each span, as `ingest.report.drawn.build_letters` wrote them."""
    spans = msgspec.json.decode(_SPANS.read_bytes(), type=list[tuple[int, int]])
    return [first for first, _ in spans], [last for _, last in spans]
