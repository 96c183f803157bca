"""A label for a unit: its tag as a QR code, and in large print beside it, for whoever has no camera at hand."""

from xml.sax.saxutils import escape

import segno

_HEIGHT_MM = 30.0
_MARGIN_MM = 2.0
_LETTER_SHARE = 0.62
"""How wide a letter of the print is, as a share of its height; the text is fitted to that."""
_LARGEST_PRINT_MM = 14.0


def as_svg(tag: str) -> str:
    """Draw the label of a tag, 30 mm high and as wide as the tag needs. Print it without scaling."""
    code = segno.make(tag, error="q", micro=False)
    side_mm = _HEIGHT_MM - 2 * _MARGIN_MM
    print_mm = max(_LARGEST_PRINT_MM * min(1.0, 10 / len(tag)), 3.5)
    text_mm = _LETTER_SHARE * print_mm * len(tag)
    left_mm = side_mm + 2 * _MARGIN_MM
    width_mm = left_mm + text_mm + 2 * _MARGIN_MM
    modules, _ = code.symbol_size()  # with its quiet zone
    symbol = code.svg_inline(omitsize=True, svgclass=None, lineclass=None)
    inner = symbol.replace(
        "<svg", f'<svg x="{_MARGIN_MM:g}" y="{_MARGIN_MM:g}" width="{side_mm:g}" height="{side_mm:g}"', 1
    )
    if f'viewBox="0 0 {modules} {modules}"' not in inner:
        raise ValueError("the library draws its symbol otherwise than expected")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.2f}mm" height="{_HEIGHT_MM:g}mm" '
        f'viewBox="0 0 {width_mm:.2f} {_HEIGHT_MM:g}">\n'
        f'<rect width="100%" height="100%" fill="#fff"/>\n{inner}\n'
        f'<text x="{left_mm:g}" y="{_HEIGHT_MM / 2:g}" dominant-baseline="central" font-family="monospace" '
        f'font-weight="bold" font-size="{print_mm:.2f}" textLength="{text_mm:.2f}" lengthAdjust="spacingAndGlyphs" '
        f'xml:space="preserve">{escape(tag)}</text>\n</svg>\n'
    )
