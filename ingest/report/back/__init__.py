"""The back of a report: for the next technician, with figures and their ±.

Invariant: what the front leaves to the trade stands here, with its source.
"""

from collections.abc import Sequence

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


def back(course: Course) -> Sequence[Section]:
    """Say it, in this order."""
    return [
        *(section(course) for section in (start_here, finding_it, plate, figures)),
        *trend(course),
        *(section(course) for section in (time_line, checks, advice, instruments, cylinders, cause, law, files)),
    ]
