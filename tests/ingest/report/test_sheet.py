"""Every report on one sheet, front and back: all recorded visits and a hard one, on both papers, in both systems.

One sheet, 9 pt or more, and nothing cut is what is asked of the page: common practice, no source.
"""

import io
import re
from collections.abc import Iterator
from functools import cache

import pypdf
import pytest
from msgspec.structs import replace

from ingest.report.compose import compose
from ingest.report.document import Report, Statement, Trace
from ingest.report.drawn.letters import in_letters
from ingest.report.drawn.own_digest import Paper
from ingest.report.drawn.paper import Drawn, as_pdf
from ingest.report.drawn.screen import as_html
from tests.cases import case
from tests.ingest.report import hard
from tests.ingest.report.made import fields, photograph, report
from tests.ingest.report.reading import statements
from tests.ingest.report.recorded import Shelf, names, picture, read
from tests.ingest.report.test_paper import SMALLEST_PT, letters, one_line, overlaps, placed, text_of

PAPERS: tuple[Paper, ...] = ("a4", "letter")
EDGE_PT = 6 / 25.4 * 72
"""What common printers leave white: common practice, no source."""
HARD = "hard"


@cache
def of(name: str, system: str) -> Report:
    if name == HARD:
        return compose(hard.shelf(), hard.ID, system=system, zone="America/Chicago")  # type: ignore[arg-type]
    visit = read(name)
    return compose(Shelf(visit), visit.id, system=system, zone="America/Chicago")  # type: ignore[arg-type]


def sheets(name: str) -> Iterator[tuple[str, str, Drawn]]:
    for system in ("us", "si"):
        for paper in PAPERS:
            yield system, paper, as_pdf(of(name, system), lambda _: picture(), paper=paper)


def missing(it: Report, data: bytes) -> list[Statement]:
    """What a sheet does not say, though a text may go on in the next column, behind what stands between."""
    on_it = text_of(data)

    def is_there(text: str) -> bool:
        return text in on_it or any(text[:at] in on_it and text[at:] in on_it for at in range(1, len(text)))

    return [each for each in statements(it) if not is_there(one_line(in_letters(each.text)).removesuffix("."))]


def _lines(it: Report, gone: list[Statement]) -> list[Statement]:
    """What of it a sheet counts as lines: a trace is one, with all that it marks, and the time line tells that too."""
    traces = [block for part in it.back for block in part.blocks if isinstance(block, Trace)]
    marked = {moment.says.text for trace in traces for moment in trace.moments}
    return [each for each in gone if each.text not in marked]


@pytest.mark.parametrize("name", [*names(), HARD])
def test_a_report_is_one_sheet_that_can_be_read_and_says_all_or_what_is_left(name: str) -> None:
    for system, paper, sheet in sheets(name):
        with case(system, paper):
            assert len(pypdf.PdfReader(io.BytesIO(sheet.data)).pages) == 2
            for letter, size_pt, (left, bottom, right, top), (width, height) in letters(sheet.data):
                assert size_pt >= SMALLEST_PT - 0.01, letter
                assert EDGE_PT <= left <= right <= width - EDGE_PT, letter
                assert EDGE_PT <= bottom <= top <= height - EDGE_PT, letter
            for page in (0, 1):
                boxes = [(letter, box) for number, letter, box in placed(sheet.data) if number == page]
                assert list(overlaps(boxes)) == []
            gone = missing(of(name, system), sheet.data)
            if name == HARD:
                assert 0 < len(_lines(of(name, system), gone)) <= sheet.left
            else:
                assert sheet.left == 0
                assert gone == []


def test_what_has_no_room_is_told_at_its_place_and_stands_in_the_file_that_is_named() -> None:
    it = of(HARD, "us")
    sheet = as_pdf(it, lambda _: picture(), paper="letter")
    front, back = (page.extract_text() for page in pypdf.PdfReader(io.BytesIO(sheet.data)).pages)
    told = one_line(front + back)
    at_their_places = re.findall(r"(\d+)(?:lines?|photographs?)moreinthefilereport-v1\.html", told)
    assert sum(map(int, at_their_places)) == sheet.left > 0
    assert f"Notonthissheet:{sheet.left}lines.Thewholereport:thefilereport-v1.html" in one_line(back)
    html = one_line(re.sub(r"&#\d+;|&\w+;", "", as_html(it, lambda _: picture(), charts="")))
    for statement in missing(it, sheet.data):
        with case(statement):
            assert re.sub(r"[&'\"<>]", "", one_line(statement.text)).removesuffix(".") in html


def test_what_is_open_and_what_the_law_asks_stays_on_the_sheet_of_a_hard_visit() -> None:
    """Which of it the next one needs most: common practice, no source."""
    it = of(HARD, "us")
    gone = {each.text for each in missing(it, as_pdf(it, lambda _: picture(), paper="letter").data)}
    for section in (*it.front, *it.back):
        if section.title in ("Start here", "Finding it", "Plate", "Figures", "What the law asks to be recorded"):
            with case(section.title):
                stays = statements(replace(it, front=[section], back=[]))
                assert not gone & {each.text for each in stays if each.text != "The tag."}


def test_no_more_is_left_than_must_be() -> None:
    """Rows of a section that may yield: with fewer all stand there, with many the first do."""

    def with_rows(count: int) -> Drawn:
        rows = fields(*((f"Row {number}", "as it was found, and as it was left " * 2) for number in range(count)))
        it = report()
        last = replace(it.back[-1], blocks=[rows], yields=1)
        return as_pdf(replace(it, back=[*it.back[:-1], last]), photograph, paper="a4")

    assert with_rows(20).left == 0
    many = with_rows(300)
    assert 0 < many.left < 300
    assert with_rows(300 - many.left).left <= 2  # the line that tells of the others has room then
