"""A label: a QR code that says the tag and nothing else, and the tag beside it, large, within the label."""

import re
from xml.etree import ElementTree as ET

import pytest
import segno

from ingest.register.label import as_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("tag", ["KX7-7PM", "RTU 4/b <&>", "Ü" * 64, "4"])
def test_a_label_says_the_tag_twice(tag: str) -> None:
    label = ET.fromstring(as_svg(tag))
    symbol, text = label.find(f"{SVG}svg"), label.find(f"{SVG}text")
    assert symbol is not None
    assert text is not None
    assert text.text == tag
    assert dark_modules(symbol) == dark(segno.make(tag, error="q", micro=False))
    assert segno.make(tag, error="q", micro=False).error in "QH"  # a quarter of it may be dirt


def dark_modules(symbol: ET.Element) -> set[tuple[int, int]]:
    """Follow the strokes of a symbol: each is a run of modules of one row, one high."""
    path = symbol.find(f"{SVG}path")
    assert path is not None
    found, x, y = set(), 0, 0.0
    for step, numbers in re.findall(r"([Mmh])([-0-9. ]+)", path.attrib["d"]):
        values = [float(number) for number in re.findall(r"-?[0-9.]+", numbers)]
        match step:
            case "M":
                x, y = int(values[0]), values[1]
            case "m":
                x, y = x + int(values[0]), y + values[1]
            case "h":
                found |= {(column, int(y)) for column in range(x, x + int(values[0]))}
                x += int(values[0])
    return found


def dark(code: segno.QRCode) -> set[tuple[int, int]]:
    """The modules of the library's own matrix, with its quiet zone of 4 (ISO/IEC 18004)."""
    return {(x + 4, y + 4) for y, row in enumerate(code.matrix) for x, module in enumerate(row) if module & 1}


def test_what_is_printed_stays_on_the_label_and_is_large_enough_to_read() -> None:
    for tag in ("KX7-7PM", "R" * 64):
        label = ET.fromstring(as_svg(tag))
        text = label.find(f"{SVG}text")
        assert text is not None
        width, height = (float(label.attrib[name].removesuffix("mm")) for name in ("width", "height"))
        x, y, size, length = (float(text.attrib[name]) for name in ("x", "y", "font-size", "textLength"))
        assert x + length <= width
        assert size / 2 <= y <= height - size / 2
        assert size >= 3.5  # common practice, no source: read at arm's length
    assert size < float(ET.fromstring(as_svg("KX7-7PM")).find(f"{SVG}text").attrib["font-size"])  # type: ignore[union-attr]
