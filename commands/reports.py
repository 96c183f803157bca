"""What makes reports, for a command and for the page."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calc.units import System
    from dashboard.reports import Form, Paper, ReportMaker


def report_maker(record: Path) -> "ReportMaker":
    """Give the page what makes reports from a record: it may not know itself how they are drawn.

    Each is made in a process of its own: what draws keeps hundreds of megabytes for the next one, which the page's
    server, that runs for weeks, has no use for.
    """
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    from dashboard.errors import ReportRefusedError
    from dashboard.reports import MadeReport
    from ingest.record.errors import RecordError
    from ingest.record.reading import RecordFile
    from ingest.report.errors import ErasedVisitError, PaperError, ReportError, UnknownVisitError
    from ingest.report.making import Asked, make, policy_of

    charts = script_of_charts()

    def made(visit: str, form: "Form", *, system: "System", zone: str, paper: "Paper") -> MadeReport:
        asked = Asked(visit=visit, form=form, system=system, zone=zone, paper=paper)
        try:
            with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as alone:
                data = alone.submit(make, RecordFile(record), asked, charts=charts).result()
        except (UnknownVisitError, ErasedVisitError) as error:
            raise ReportRefusedError(404, f"There is no report: {error}.") from error
        except ReportError as error:
            raise ReportRefusedError(400, f"There is no report: {error}.") from error
        except (RecordError, PaperError) as error:
            raise ReportRefusedError(503, f"The report could not be made: {error}.") from error
        except BrokenProcessPool as error:
            raise ReportRefusedError(503, "What makes the report ended before it was done. Try once more.") from error
        return MadeReport(data, policy_of(form, charts))

    return made


def script_of_charts() -> str:
    """Give the script of the charts that the page serves."""
    import dashboard

    folder = Path(dashboard.__file__).parent
    return (folder / "shared" / "browser" / "plotly-basic.min.js").read_text(encoding="utf-8")
