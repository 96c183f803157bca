"""Writes letters.json: from which letter to which the font of the page has them. Needs fonttools.

python -m ingest.report.drawn.build_letters
"""

from collections.abc import Sequence
from pathlib import Path

import msgspec
from fontTools.ttLib import TTFont

_FONTS = Path(__file__).parent / "fonts"


def spans() -> Sequence[tuple[int, int]]:
    """Give the spans of letters that the font has a sign for, both ends included."""
    found: list[tuple[int, int]] = []
    for letter in sorted(TTFont(_FONTS / "source-sans-3.ttf").getBestCmap()):
        if found and found[-1][1] == letter - 1:
            found[-1] = (found[-1][0], letter)
        else:
            found.append((letter, letter))
    return found


if __name__ == "__main__":
    (_FONTS / "letters.json").write_bytes(msgspec.json.encode(spans()) + b"\n")
