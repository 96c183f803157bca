"""The page on paper: a PDF for long keeping (PDF/A-2a, tagged as PDF/UA-1 has it), in black and white.

A report goes into the one template as data, photographs as files beside it; nothing that a person wrote can be markup.
The same report gives the same bytes. Each side has one page: the trace and the photographs give way, the letters down
to 9 pt, and the back has two columns. What has no room even so is left to the file that holds all, and the sheet says
so.
"""

import json
from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from functools import cache, partial
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

import msgspec
import typst
from msgspec.structs import replace

from ingest.report.document import Report
from ingest.report.drawn.kept import Kept, Side, alone, file_of_all, most_left, without
from ingest.report.drawn.laid_out import laid_out
from ingest.report.drawn.letters import has_letter, in_letters
from ingest.report.drawn.own_digest import Paper
from ingest.report.errors import PaperError

_HERE = Path(__file__).parent
_PAPERS: Mapping[Paper, str] = {"a4": "a4", "letter": "us-letter"}

Photograph = Callable[[str], bytes | None]
"""Gives the JPEG of a photograph by the id of its mark; None where the record has none."""


class Drawn(msgspec.Struct, frozen=True):
    """A report as a file. left: so many of its lines stand in the file that holds all of them, and not in this one."""

    data: bytes
    left: int = 0


class _Density(msgspec.Struct, frozen=True):
    """How tightly a side is set: letters and headline [pt]; a trace's panel, a photograph, margins, titles [mm].

    columns: of the back. leading: between lines [em]. signature: the height that one has [mm].
    """

    letters: float
    headline: float
    panel: float
    picture: float
    margin: float
    titles: float
    columns: Literal[1, 2] = 1
    leading: float = 0.42
    signature: float = 20.0


_FRONT = (
    _Density(11.0, 24.0, 28.0, 58.0, 16.0, 31.0, leading=0.5),
    _Density(10.5, 23.0, 24.0, 50.0, 15.0, 29.0, leading=0.5),
    _Density(10.0, 21.0, 18.0, 42.0, 14.0, 27.0, leading=0.5),
    _Density(9.5, 20.0, 14.0, 34.0, 13.0, 26.0, leading=0.48),
    _Density(9.0, 18.0, 10.0, 26.0, 12.0, 25.0, leading=0.45, signature=16.0),
    _Density(9.0, 16.0, 10.0, 22.0, 11.0, 25.0, leading=0.4, signature=12.0),
)
"""From comfortable to as tight as it may be."""
_BACK = (
    _Density(9.5, 18.0, 30.0, 45.0, 15.0, 27.0),
    _Density(9.5, 18.0, 22.0, 38.0, 14.0, 26.0),
    _Density(9.0, 16.0, 18.0, 30.0, 14.0, 25.0),
    _Density(9.0, 16.0, 14.0, 24.0, 12.0, 24.0),
    _Density(10.0, 16.0, 16.0, 24.0, 12.0, 24.0, columns=2, leading=0.46),
    _Density(9.5, 16.0, 14.0, 22.0, 12.0, 24.0, columns=2, leading=0.44),
    _Density(9.0, 16.0, 12.0, 20.0, 12.0, 24.0, columns=2),
    _Density(9.0, 16.0, 10.0, 18.0, 12.0, 24.0, columns=2),
    _Density(9.0, 16.0, 8.0, 16.0, 11.0, 24.0, columns=2, leading=0.39),
    _Density(9.0, 16.0, 6.5, 13.0, 9.5, 24.0, columns=2, leading=0.36),
)


def as_pdf(report: Report, photograph: Photograph, *, paper: Paper) -> Drawn:
    """Draw a report as a PDF, without a digest of its own: on one sheet.

    Raises:
        PaperError: the library refused it.

    """
    with TemporaryDirectory(prefix="dewline-report-") as place:
        folder = Path(place)
        (folder / "page.typ").write_bytes((_HERE / "page.typ").read_bytes())
        has_missing = not all(map(has_letter, set(msgspec.json.encode(report).decode())))

        def put(kept: Kept) -> None:
            page = laid_out(kept.report, put_beside=partial(_put_beside, folder, photograph), text=in_letters)
            page |= {
                "paper": _PAPERS[paper],
                "has_missing": has_missing,
                "left": kept.left,
                "all": file_of_all(report.visit),
            }
            (folder / "page.json").write_text(json.dumps(page), encoding="utf-8")

        try:
            return _drawn(folder, report, put)
        except RuntimeError as error:  # TypstError is one, and what is evaluated gives a plain one
            raise PaperError(f"the page of visit {report.visit} could not be drawn: {error}") from error


def _drawn(folder: Path, report: Report, put: Callable[[Kept], None]) -> Drawn:
    """Draw it, each side by itself, on as few pages as there may be, and on these as comfortably as fits.

    What has no room on a page of its own even as tightly as may be is left to the file that holds all, as little as
    will do. A side that is too long all the same goes on on a further page, with all of it.
    """
    kept = Kept(report)
    chosen: dict[Side, _Density] = {"front": _FRONT[-1], "back": _BACK[-1]}
    sides: Mapping[Side, Sequence[_Density]] = {"front": _FRONT, "back": _BACK}
    for side, densities in sides.items():

        def pages(it: Kept, density: _Density, side: Side = side) -> int:
            put(replace(it, report=alone(it.report, side)))
            front, back = _ends(folder, {**chosen, side: density})
            return front if side == "front" else back - front

        less = _on_one_page(kept, side, partial(pages, density=densities[-1]))
        if less.left == kept.left:
            chosen[side] = _loosest(densities, partial(pages, kept))
        kept = less
    put(kept)
    made = _set(folder, chosen).compile(format="pdf", pdf_standards=["a-2a", "ua-1"], timestamp=int(report.made_s))
    if not isinstance(made, bytes):
        raise TypeError("the library gives a PDF otherwise than expected")
    return Drawn(made, kept.left)


def _on_one_page(kept: Kept, side: Side, pages: Callable[[Kept], int]) -> Kept:
    """Leave out of a side what one page has no room for; nothing, where it has none even then."""
    most = most_left(kept.report, side)

    def is_enough(count: int) -> bool:
        return pages(without(kept, side, count)) <= 1

    lines = bisect_left(range(most + 1), 1, key=is_enough)
    return without(kept, side, lines) if lines <= most else kept


def _loosest(densities: Sequence[_Density], pages: Callable[[_Density], int]) -> _Density:
    """Give the first with which a side ends on no later page than with the last, as it does with all between."""
    fewest = pages(densities[-1])
    place = bisect_left(densities, True, hi=len(densities) - 1, key=lambda each: pages(each) <= fewest)  # noqa: FBT003
    return densities[place]


def _ends(folder: Path, chosen: Mapping[Side, _Density]) -> tuple[int, int]:
    """Tell on which page the front ends, and the back."""
    ends = "(<front-end>, <back-end>).map(end => query(end).first().location().page())"
    found = json.loads(_set(folder, chosen).eval(ends))
    return int(found[0]), int(found[1])


def _set(folder: Path, chosen: Mapping[Side, _Density]) -> typst.Compiler:
    (folder / "density.json").write_bytes(msgspec.json.encode(chosen))
    return typst.Compiler(folder / "page.typ", root=folder, font_paths=_fonts())


@cache
def _fonts() -> typst.Fonts:
    """Give the font of the page and no other: a page must not look otherwise on another machine."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[_HERE / "fonts"])


def _put_beside(folder: Path, photograph: Photograph, mark: str) -> str | None:
    """Put a photograph beside the template; gives the name of its file, None where the record has none."""
    jpeg = photograph(mark)
    if jpeg is None:
        return None
    name = f"{sha256(mark.encode()).hexdigest()[:16]}.jpg"
    (folder / name).write_bytes(jpeg)
    return name
