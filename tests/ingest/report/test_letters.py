"""Which letters the font has: as fontTools reads it, and as typst draws them."""

from ingest.report.drawn.build_letters import spans
from ingest.report.drawn.letters import has_letter


def test_the_spans_are_those_of_the_font() -> None:
    told = {letter for first, last in spans() for letter in range(first, last + 1)}
    assert all(has_letter(chr(letter)) == (letter in told) for letter in range(0x30000) if letter != ord("\n"))


def test_it_has_what_the_trade_writes() -> None:
    assert all(map(has_letter, "±°µΩΔ≤≥≈×÷½¼⅛→–—“”‘’€²³₂□"))
