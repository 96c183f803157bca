"""The page for a screen: one HTML file that fetches nothing, with traces that can be zoomed, which prints as well.

It is laid out from the same data as the page on paper. What a person wrote is escaped by the library that fills the
template. A policy in it lets a browser run its own scripts and no other.
"""

import base64
import hashlib
import json
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import segno
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from ingest.report.document import Report, Trace
from ingest.report.drawn.laid_out import laid_out, seal_of
from ingest.report.drawn.paper import Photograph
from ingest.report.drawn.traces import arrays, in_order, is_drawn, panels_of, scale, thinned
from ingest.wire.texts import unturned

_HERE = Path(__file__).parent
_COLUMNS = 2000
"""Of a trace that can be zoomed: each keeps its extremes."""
_DASHES = (("——", ""), ("– –", "7 5"), ("·····", "1 4"), ("– ·", "7 4 1 4"))
"""How the courses of a panel are told apart without colour: in its key, and as they are drawn."""


def as_html(report: Report, photograph: Photograph, *, charts: str) -> str:
    """Write a report as HTML, without a digest of its own.

    charts: the script by which a trace can be zoomed (plotly.js), put in only where there is a trace.
    """
    traces = [_zoomable(block, report.zone) for side in (report.front, report.back) for section in side
              for block in section.blocks if isinstance(block, Trace) and is_drawn(block)]  # fmt: skip
    page = laid_out(report, put_beside=lambda mark: _as_address(photograph(mark)), text=unturned)
    square = segno.make(seal_of(report), error="m", micro=False)
    scripts = [charts, zoom_script()] if traces else []
    drawn = [block for side in ("front", "back") for section in page[side] for block in section["blocks"]
             if block["kind"] == "trace"]  # fmt: skip
    for number, block in enumerate(drawn):
        block["number"] = number
    html: str = _template().render(
        page,
        policy=policy(scripts),
        square=Markup(square.svg_inline(omitsize=True, svgclass=None, lineclass=None)),  # noqa: S704 - the library's
        traces=traces,
        dashes=_DASHES,
        plotly=Markup(charts),  # noqa: S704 - a file of ours
        zoom=Markup(zoom_script()),  # noqa: S704 - likewise
    )
    return html


def policy(scripts: Sequence[str]) -> str:
    """Write the policy of content (CSP level 3) of a page with these scripts: nothing is fetched, no other runs."""
    hashes = [base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() for script in scripts]
    may_run = " ".join(f"'sha256-{each}'" for each in hashes) or "'none'"
    return (
        f"default-src 'none'; script-src {may_run}; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )


def _zoomable(trace: Trace, zone: str) -> dict[str, Any]:
    """Give a trace as its script takes it, times by the clock of the zone."""
    local = ZoneInfo(zone)
    panels = panels_of(trace)
    lines = []
    for number, panel in enumerate(panels):
        for dash, line in enumerate(panel):
            times_s, values = thinned(*arrays(line), columns=_COLUMNS)
            lines.append(
                {
                    "name": line.name,
                    "unit": line.unit,
                    "panel": number,
                    "dash": dash,
                    "x": [_clock(time_s, local) for time_s in times_s.tolist()],
                    "y": [None if np.isnan(value) else value for value in values.tolist()],
                }
            )
    return {
        "panels": [panel[0].unit for panel in panels],
        "scales": [scale(panel) for panel in panels],
        "lines": lines,
        "moments": [_clock(it.time_s, local) for it in in_order(trace)],
    }


def _clock(time_s: float, zone: ZoneInfo) -> str:
    return datetime.fromtimestamp(time_s, zone).replace(tzinfo=None).isoformat(" ", "milliseconds")


def _as_address(jpeg: bytes | None) -> str | None:
    return None if jpeg is None else f"data:image/jpeg;base64,{base64.b64encode(jpeg).decode()}"


@cache
def zoom_script() -> str:
    """Give the script that puts a chart in the place of each drawn trace."""
    return (_HERE / "zoom.js").read_text(encoding="utf-8")


@cache
def _template() -> Any:
    made = Environment(loader=FileSystemLoader(_HERE), autoescape=True, undefined=StrictUndefined)
    made.policies["json.dumps_function"] = json.dumps
    return made.get_template("page.html")
