"""The back of a report: for the next technician, with figures and their ±.

Invariant: what the front leaves to the trade stands here, with its source.
"""

from collections.abc import Sequence

from msgspec.structs import replace

from ingest.report.back.advice import advice
from ingest.report.back.cause import cause
from ingest.report.back.checks import checks
from ingest.report.back.cylinders import cylinders
from ingest.report.back.figures import figures
from ingest.report.back.files import files
from ingest.report.back.finding_it import finding_it
from ingest.report.back.instruments import instruments
from ingest.report.back.law import law
from ingest.report.back.plate import plate
from ingest.report.back.start_here import start_here
from ingest.report.back.time_line import time_line
from ingest.report.back.trend import trend
from ingest.report.course import Course
from ingest.report.document import Section

_YIELD = {files: 1, instruments: 4, advice: 7, time_line: 8, checks: 9}
"""Which of them a sheet that is full leaves to the file that holds all, the first before the last."""
_TREND_YIELDS = 5


def back(course: Course) -> Sequence[Section]:
    """Say it, in this order."""
    before = (start_here, finding_it, plate, figures)
    after = (time_line, checks, advice, instruments, cylinders, cause, law, files)
    return [
        *(section(course) for section in before),
        *(replace(section, yields=_TREND_YIELDS) for section in trend(course)),
        *(replace(section(course), yields=_YIELD.get(section, 0)) for section in after),
    ]
