"""Makes the file of a report: composed from the record, drawn in the form asked for, closed with its digest."""

from collections.abc import Callable
from importlib.metadata import version
from typing import Literal, cast, get_args

import msgspec
from msgspec.structs import replace

from ingest.record.reading import History
from ingest.report.amiss import as_taken
from ingest.report.as_it_was import as_it_was
from ingest.report.compose import compose
from ingest.report.document import Report, System
from ingest.report.drawn.kept import file_of_all
from ingest.report.drawn.own_digest import Form, Made, Paper, closed, opened
from ingest.report.drawn.paper import Drawn, Photograph, as_pdf
from ingest.report.drawn.screen import as_html, policy, zoom_script
from ingest.report.errors import ReportError
from ingest.visit.seal import digest

Step = Literal["reading the record", "drawing", "closing"]


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """Which report is asked for. zone: in which times are told (IANA). paper: of a PDF."""

    visit: str
    form: Form = "pdf"
    system: System = "us"
    zone: str = "UTC"
    paper: Paper = "a4"


def form_of_name(name: str) -> Form:
    """Tell by the name of a file in which form it is to be.

    >>> form_of_name("visit.PDF")
    'pdf'

    Raises:
        ReportError: it ends otherwise.

    """
    ending = name.lower().rpartition(".")[2]
    for form in get_args(Form):
        if ending == form:
            return cast("Form", form)
    raise ReportError(f"the name of a report ends in .pdf, .html or .json, not as {name!r} does")


def make(
    history: History,
    asked: Asked,
    *,
    charts: str,
    marks: int | None = None,
    tell: Callable[[Step], None] = lambda _: None,
) -> bytes:
    """Make the file of a report. It takes seconds: run it in a thread.

    charts: the script with which the traces of the HTML form are zoomed. marks: of how many of the visit, as it was
    then; None for all. tell: hears each step as it begins.

    Raises:
        RecordError: the record cannot be read.
        ReportError: it has no such visit, or there is no such time zone.
        PaperError: the page could not be drawn.

    """
    tell("reading the record")
    then = as_it_was(history, asked.visit, marks)
    report = compose(then, asked.visit, system=asked.system, zone=asked.zone)
    tell("drawing")
    marks_then = then.marks_of([asked.visit])[asked.visit]
    drawn = _drawn(report, asked, as_taken(marks_then, history.photograph), charts)
    tell("closing")
    journal = digest(marks_then)
    return closed(drawn.data, asked.form, _made(report, journal, asked.paper, drawn.left))


def _drawn(report: Report, asked: Asked, photograph: Photograph, charts: str) -> Drawn:
    if asked.form == "pdf":
        return as_pdf(report, photograph, paper=asked.paper)
    if asked.form == "html":
        return Drawn(as_html(report, photograph, charts=charts).encode())
    return Drawn(b'{"report": ' + msgspec.json.format(msgspec.json.encode(report), indent=1) + b",\n")


def rest_of(made: bytes, asked: Asked) -> tuple[str, Asked] | None:
    """Give the file that holds all of a report of which a sheet has not all: its name, and what is to be asked for it.

    made: the sheet. None where the sheet has all.
    """
    if not opened(made)[1].left:
        return None
    return file_of_all(asked.visit), replace(asked, form="html")


def _made(report: Report, journal: str, paper: Paper, left: int) -> Made:
    return Made(
        visit=report.visit,
        code=report.code,
        digest=report.digest,
        marks=report.marks,
        journal=journal,
        signed=report.signed,
        system=report.system,
        zone=report.zone,
        paper=paper,
        program=program(),
        left=left,
    )


def program() -> str:
    """Name what draws, with its versions: another may draw the same report otherwise."""
    return f"Dewline {version('dewline')}, typst {version('typst')}"


def policy_of(form: Form, charts: str) -> str:
    """Write the policy of content with which a report is served: nothing is fetched, its own scripts alone run."""
    return policy([charts, zoom_script()] if form == "html" else [])
