"""A report as the data of a template, for paper or a screen: texts in letters that there are, traces as geometry."""

import re
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

import segno

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
from ingest.report.drawn.traces import course, in_order

_COLUMNS = 300
"""Of a trace on paper: at 160 mm one in half a millimetre, little more than a line is wide."""
_NOT_LIVE = {"simulated": "SIMULATED UNIT", "played": "PLAYED AGAIN"}
_SHORT = 36
"""Letters with which two texts stand beside each other."""
_BESIDE = 90
"""Letters of a row with which a table still stands beside its title."""
_RARE = 0.25
"""Of a table's rows: a column that fewer of them fill has no place of its own where room is scarce."""

PutBeside = Callable[[str], str | None]
"""Puts a photograph, by the id of its mark, where the template finds it; gives its name there."""


def laid_out(report: Report, *, put_beside: PutBeside, text: Callable[[str], str]) -> dict[str, Any]:
    """Give what a template draws. text: gives each text as it can be drawn."""
    return _Laying(report, put_beside, text).page()


def in_words(day: datetime) -> str:
    """Tell a day so that nobody takes its month for its day.

    >>> in_words(datetime(2026, 5, 30))
    '30 May 2026'
    """
    return f"{day.day} {day:%B %Y}"


def seal_of(report: Report) -> str:
    """Give what the square of a page holds: its code, the visit and the digest of the journal."""
    return f"{report.code} {report.visit} {report.digest}"


def _stands(report: Report) -> str:
    """Say whether a report is signed. What is no plain signature is in capitals, and is drawn so that it is seen."""
    if report.seal_broken:
        return "NOT AS IT WAS SIGNED"
    return "Signed" if report.signed else "DRAFT: NOT SIGNED"


def digest_in_groups(digest: str) -> str:
    """Part a digest so that it can be read out.

    >>> digest_in_groups("0123456789abcdef")
    '01234567 89abcdef'
    """
    return " ".join(digest[place : place + 8] for place in range(0, len(digest), 8))


class _Laying:
    """Lays one report out."""

    def __init__(self, report: Report, put_beside: PutBeside, text: Callable[[str], str]) -> None:
        self._report = report
        self._put_beside = put_beside
        self._text = text

    def page(self) -> dict[str, Any]:
        report = self._report
        read = datetime.fromtimestamp(report.made_s, ZoneInfo(report.zone))
        universal = datetime.fromtimestamp(report.made_s, UTC)
        return {
            "region": "us" if report.system == "us" else "gb",
            "title": self._text(f"{report.tag or 'Unit not opened'}, {in_words(read)}"),
            "description": self._text(f"Visit {report.visit}, code {report.code}, journal {report.digest}"),
            "made": {part: getattr(universal, part) for part in ("year", "month", "day", "hour", "minute", "second")},
            "tag": self._text(report.tag),
            "place": self._text(report.place),
            "visit": self._text(report.visit),
            "code": self._text(report.code),
            "digest": digest_in_groups(report.digest),
            "read_up_to": f"{in_words(read)}, {read:%H:%M}",
            "zone": self._text(report.zone),
            "stands": _stands(report),
            "warnings": [_NOT_LIVE[each] for each in report.origins],
            "qr": _square(seal_of(report)),
            "front": [self._section(each) for each in report.front],
            "back": [self._section(each) for each in report.back],
        }

    def _texts(self, says: Sequence[Statement]) -> list[str]:
        return [self._text(each.text) for each in says]

    def _section(self, section: Section) -> dict[str, Any]:
        blocks = list(self._blocks(section.blocks))
        is_wide = any(
            block["kind"] == "trace" or (block["kind"] == "table" and sum(map(len, block["longest"])) > _BESIDE)
            for block in blocks
        )
        begins_large = blocks[:1] and blocks[0]["kind"] == "headline"
        is_bare = not section.title or bool(begins_large)  # the large line is title enough
        return {"title": self._text(section.title), "blocks": blocks, "wide": is_wide, "bare": is_bare}

    def _blocks(self, blocks: Sequence[Block]) -> Iterator[dict[str, Any]]:
        """Lay blocks out; pictures that follow each other stand beside each other, and signatures too."""
        for kind, run in groupby(blocks, key=type):
            if kind is Picture:
                pictures = [self._picture(each) for each in run if isinstance(each, Picture)]
                yield {"kind": "pictures", "pictures": pictures}
            elif kind is Signature:
                signatures = [self._signature(each) for each in run if isinstance(each, Signature)]
                yield {"kind": "signatures", "signatures": signatures}
            else:
                yield from map(self._block, run)

    def _block(self, block: Block) -> dict[str, Any]:
        match block:
            case Headline():
                return {"kind": "headline", "text": self._text(block.says.text)}
            case Paragraph():
                return {"kind": "paragraph", "texts": self._texts(block.says)}
            case Items():
                texts = self._texts(block.says)
                return {"kind": "items", "texts": texts, "short": all(len(each) <= _SHORT for each in texts)}
            case Fields():
                rows = [(self._text(name), self._text(says.text)) for name, says in block.rows]
                fields = [(name, says, len(name) + len(says) <= _SHORT) for name, says in rows]
                return {"kind": "fields", "rows": fields}
            case Run():
                texts = [self._text(says.text.removesuffix(".")) for says in block.says]
                return {"kind": "run", "name": self._text(block.name), "texts": texts}
            case Table():
                return self._table(block)
            case Trace():
                return self._trace(block)
        raise TypeError(f"a report has no block of the kind {type(block).__name__}")

    def _table(self, table: Table) -> dict[str, Any]:
        """Lay a table out, without a column of which no cell says anything. letters: how many there are in each."""
        all_columns = [(name, [row[number].text for row in table.rows]) for number, name in enumerate(table.columns)]
        said = [(self._text(name), list(map(self._text, cells))) for name, cells in all_columns if any(cells)]
        names, cells = [name for name, _ in said], [cells for _, cells in said]
        whole = [[name, *column] for name, column in said]
        return {
            "kind": "table",
            "columns": names,
            "rows": list(zip(*cells, strict=True)),
            "longest": [max(column, key=len) for column in whole],
            "words": [max((word for text in column for word in _words(text)), key=len, default="") for column in whole],
            "letters": [sum(map(len, column)) for column in whole],
            "rare": [at for at, column in enumerate(cells) if at and sum(map(bool, column)) <= len(column) * _RARE],
        }

    def _trace(self, trace: Trace) -> dict[str, Any]:
        drawn = course(trace, self._report.zone, columns=_COLUMNS)
        if drawn is None:
            return {"kind": "paragraph", "texts": self._texts([it.says for it in in_order(trace)])}
        return {
            "kind": "trace",
            "says": self._text(drawn.says),
            "panels": [
                {
                    "unit": self._text(panel.unit),
                    "ticks": [(tick.at, tick.says) for tick in panel.ticks],
                    "lines": [{"name": self._text(line.name), "pieces": line.pieces} for line in panel.lines],
                }
                for panel in drawn.panels
            ],
            "times": [(tick.at, tick.says) for tick in drawn.times],
            "places": drawn.moments,
            "moments": self._texts([it.says for it in in_order(trace)]),
        }

    def _picture(self, picture: Picture) -> dict[str, Any]:
        return {"file": self._put_beside(picture.mark), "text": self._text(picture.says.text)}

    def _signature(self, signature: Signature) -> dict[str, Any]:
        return {
            "role": self._text(signature.role),
            "text": self._text(signature.says.text),
            "strokes": [stroke for stroke in signature.strokes if stroke],
        }


def _words(text: str) -> list[str]:
    """Part a text where a line may end; a figure stays with what stands beside it: "12.9 ± 1.5 °F" is one."""
    return re.split(r"\s+(?![±°%]|[^\W\d]{1,4}\b(?<=\d))|\u200b", text)


def _square(says: str) -> dict[str, Any]:
    """Make a QR code (ISO/IEC 18004) as runs of dark modules: column, row, and how many."""
    code = segno.make(says, error="m", micro=False)
    rows = [list(row) for row in code.matrix]
    runs = [
        (column, number, len(run))
        for number, row in enumerate(rows)
        for is_dark, group in groupby(enumerate(row), key=lambda module: bool(module[1]))
        if is_dark
        for run in [list(group)]
        for column in [run[0][0]]
    ]
    return {"says": says, "size": len(rows), "runs": runs}
