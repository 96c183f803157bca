"""The report on paper, read back by libraries that know nothing of how it was drawn."""

import io
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

import pypdf
import pypdfium2
import pypdfium2.raw
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from ingest.report.document import (
    Block,
    Fields,
    Headline,
    Items,
    Paragraph,
    Picture,
    Report,
    Run,
    Section,
    Signature,
    Statement,
    Table,
    Trace,
)
from ingest.report.drawn.own_digest import Paper
from ingest.report.drawn.paper import as_pdf
from tests.ingest.report.made import photograph, report, said, table

POINTS_PER_MM = 72 / 25.4
SMALLEST_PT = 9.0  # what is asked of the page: readable as a photograph of a print
SHEETS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216; ANSI/ASME Y14.1, 8.5 by 11 inches."""


def drawn(it: Report, paper: Paper = "a4") -> bytes:
    return as_pdf(it, photograph, paper=paper).data


def text_of(data: bytes) -> str:
    """All that can be read of it, as one line; a word may be broken where it stands in a narrow column."""
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return one_line(" ".join(page.extract_text() for page in pages))


def one_line(text: str) -> str:
    return re.sub(r"\s+", "", text.replace("\u200b", ""))


def statements(it: Report) -> Iterator[str]:
    for side in (it.front, it.back):
        for section in side:
            yield from (text for block in section.blocks for text in texts_of(block))


def texts_of(block: Block) -> Sequence[str]:
    match block:
        case Headline() | Picture() | Signature():
            return [block.says.text]
        case Paragraph() | Items():
            return [each.text for each in block.says]
        case Run():
            return [block.name, *(each.text.removesuffix(".") for each in block.says)]
        case Fields():
            return [text for name, each in block.rows for text in (name, each.text)]
        case Table():
            return [*block.columns, *(cell.text for row in block.rows for cell in row)]
        case Trace():
            return [*(line.name for line in block.lines), *(it.says.text for it in block.moments)]
    raise TypeError(block)


def letters(data: bytes) -> Iterator[tuple[str, float, tuple[float, float, float, float], tuple[float, float]]]:
    """Each letter, its size [pt], its box (left, bottom, right, top) [pt], and the width and height of its page."""
    document = pypdfium2.PdfDocument(data)
    for page in document:
        text = page.get_textpage()
        for index in range(text.count_chars()):
            letter = chr(pypdfium2.raw.FPDFText_GetUnicode(text, index))
            if not letter.isspace():
                size_pt = pypdfium2.raw.FPDFText_GetFontSize(text, index)
                yield letter, size_pt, text.get_charbox(index), page.get_size()


@pytest.fixture(scope="module")
def signed() -> bytes:
    return drawn(report())


def test_it_says_all_that_the_report_says(signed: bytes) -> None:
    read = text_of(signed)
    missing = [text for text in statements(report()) if one_line(text) not in read]
    assert missing == []


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_is_one_sheet_of_its_paper(paper: Paper, system: str) -> None:
    pages = pypdf.PdfReader(io.BytesIO(drawn(report(system=system), paper))).pages
    assert len(pages) == 2
    for page in pages:
        size_mm = (float(page.mediabox.width) / POINTS_PER_MM, float(page.mediabox.height) / POINTS_PER_MM)
        assert size_mm == pytest.approx(SHEETS_MM[paper], abs=0.1)


@pytest.mark.parametrize("longer", [0, 24, 60, 150])
def test_no_letter_is_small_or_near_an_edge(longer: int) -> None:
    for letter, size_pt, (left, bottom, right, top), (width, height) in letters(drawn(report(longer=longer))):
        assert size_pt >= SMALLEST_PT - 0.01, letter
        edge_pt = 6 * POINTS_PER_MM  # what common printers leave white: common practice, no source
        assert edge_pt <= left <= right <= width - edge_pt, letter
        assert edge_pt <= bottom <= top <= height - edge_pt, letter


def test_a_back_that_does_not_fit_goes_on_and_says_so() -> None:
    long = report(longer=150)
    data = drawn(long)
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    assert len(pages) > 2
    told = ["More on a further page" in page for page in pages]
    assert told == [False, *[True] * (len(pages) - 2), False]
    assert one_line("".join(pages)).count(one_line("Check of the work card")) == 158


def test_the_trace_gives_way_before_a_further_page_does() -> None:
    counts = [len(pypdf.PdfReader(io.BytesIO(drawn(report(longer=longer)))).pages) for longer in (0, 20, 60)]
    assert counts == [2, 2, 2]


def overlaps(boxes: Sequence[tuple[str, tuple[float, float, float, float]]]) -> Iterator[tuple[str, str]]:
    """Letters of a page that lie over each other by more than a third of either's width and height."""
    rows = sorted(boxes, key=lambda it: (round(it[1][1] / 4), it[1][0]))
    for (one, (left, bottom, right, top)), (other, (left2, bottom2, right2, top2)) in pairwise(rows):
        across, up = min(right, right2) - max(left, left2), min(top, top2) - max(bottom, bottom2)
        if (left, right) == (left2, right2):  # both are of one ligature, such as ff
            continue
        if across > min(right - left, right2 - left2) / 3 and up > min(top - bottom, top2 - bottom2) / 3:
            yield one, other


def test_no_letter_lies_over_another() -> None:
    """Long words in narrow columns above all: each column has room for its longest word."""
    cells = ["Photographed thermostatically", "seen, photographed", "wherever instrumentation permitted it " * 3, "met"]
    section = Section("Checks", [table([*"abcd", "Found by whomever"], [[*cells, "measured"]] * 12)])
    for it in (report(), report(longer=150), replace(report(), back=[section] * 4, front=[*report().front, section])):
        by_page: dict[int, list[tuple[str, tuple[float, float, float, float]]]] = {}
        for page, letter, box in placed(drawn(it)):
            by_page.setdefault(page, []).append((letter, box))
        assert [pair for boxes in by_page.values() for pair in overlaps(boxes)] == []


def placed(data: bytes) -> Iterator[tuple[int, str, tuple[float, float, float, float]]]:
    for number, page in enumerate(pypdfium2.PdfDocument(data)):
        text = page.get_textpage()
        for index in range(text.count_chars()):
            letter = chr(pypdfium2.raw.FPDFText_GetUnicode(text, index))
            if letter.isalnum():
                yield number, letter, text.get_charbox(index)


def test_every_font_is_embedded(signed: bytes) -> None:
    fonts = [
        font.get_object()
        for page in pypdf.PdfReader(io.BytesIO(signed)).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile2", "/FontFile3"} & set(descriptor), font["/BaseFont"]
        assert "/ToUnicode" in font


def test_it_says_that_it_is_for_long_keeping_and_for_screen_readers(signed: bytes) -> None:
    """ISO 19005-2, 6.6.4 (identification), 6.2.3 (output intent); ISO 14289-1, 5: from memory."""
    reader = pypdf.PdfReader(io.BytesIO(signed))
    catalogue = reader.trailer["/Root"]
    described = catalogue["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part>2<", described)
    assert re.search(r"pdfaid:conformance>A<", described)
    assert re.search(r"pdfuaid:part>1<", described)
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"].startswith("en")
    assert [intent["/S"] for intent in catalogue["/OutputIntents"]] == ["/GTS_PDFA1"]
    assert "/JavaScript" not in catalogue.get("/Names", {})
    assert "/Encrypt" not in reader.trailer


@pytest.mark.parametrize(("is_signed", "draft_pages"), [(False, 3), (True, 0)])
def test_a_draft_says_so_on_each_page(is_signed: bool, draft_pages: int) -> None:
    pages = pypdf.PdfReader(io.BytesIO(drawn(report(signed=is_signed, longer=150)))).pages
    assert sum("DRAFT" in page.extract_text() for page in pages) == draft_pages


def test_the_same_report_gives_the_same_bytes(signed: bytes) -> None:
    assert drawn(report()) == signed
    assert drawn(replace(report(), code="K7Q4-9XN")) != signed


def test_a_scanner_reads_its_square(signed: bytes) -> None:
    picture = pypdfium2.PdfDocument(signed)[0].render(scale=150 / 72).to_pil()
    (found,) = zxingcpp.read_barcodes(picture)
    it = report()
    assert found.text == f"{it.code} {it.visit} {it.digest}"


def test_a_photograph_that_the_record_lacks_is_told() -> None:
    picture = Section("Photograph", [Picture("gone", said("The plate."))])
    read = text_of(drawn(replace(report(), front=[*report().front, picture])))
    assert one_line("The photograph is not in this record as it was taken.") in read


def test_letters_that_the_font_lacks_are_told() -> None:
    read = text_of(drawn(report(extra="机 said so")))
    assert "□saidso" in read
    assert one_line("□ stands for a letter that this print does not have") in read
    assert "□" not in text_of(drawn(report()))


PLAIN = st.characters(min_codepoint=0x20, max_codepoint=0x17F, exclude_categories=["Cc", "Cf", "Zs"])
MARKUP = st.sampled_from(
    ["*bold*", "#panic()", "= Title", "$x$", "`raw`", "\\", "//", "/*", "<a>", "@b", "#let x = 1", "]"]
)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(MARKUP, st.text(PLAIN, min_size=1, max_size=30)), min_size=1, max_size=8).map(" ".join))
def test_what_a_person_wrote_is_text_and_never_markup(text: str) -> None:
    it = replace(
        report(), front=[Section("", [Headline(said("It runs."))]), Section(text, [Paragraph([said(text)])])], back=[]
    )
    read = text_of(drawn(it))
    assert read.count(one_line(text)) >= 2


def test_a_word_without_end_stays_on_the_page() -> None:
    long = "W" * 400
    it = replace(report(), front=[Section("Note", [Items([Statement(long, ["m1"])])])])
    data = drawn(it)
    assert one_line(long) in text_of(data)
    assert all(right <= width for _, _, (_, _, right, _), (width, _) in letters(data))
