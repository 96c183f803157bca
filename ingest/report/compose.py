"""Composes the report of a visit from the record: `read_known` reads, all else is worked out from that alone."""

from calc.units import System
from ingest.record.reading import History
from ingest.report import amiss
from ingest.report.back import back
from ingest.report.clock import Clock
from ingest.report.code import page_code
from ingest.report.course import Course
from ingest.report.document import Report
from ingest.report.front.appended import appended
from ingest.report.front.before_after import before_after
from ingest.report.front.complaint import complaint
from ingest.report.front.done import done
from ingest.report.front.found import found
from ingest.report.front.not_told import not_told
from ingest.report.front.outcome import outcome
from ingest.report.front.refrigerant import refrigerant
from ingest.report.front.safety import safety
from ingest.report.front.to_do import to_do
from ingest.report.front.who import who
from ingest.report.known import Known, read_known
from ingest.visit.seal import is_broken


def compose(history: History, visit: str, *, system: System, zone: str) -> Report:
    """Compose the report of a visit: as it was signed, with what was appended since; else a draft of it as it stands.

    Args:
        history: the record.
        visit: its id.
        system: of the units, us or si.
        zone: the time zone in which times are told, by its name in the IANA database.

    Raises:
        RecordError: the record cannot be read.
        ReportError: there is no such time zone.
        UnknownVisitError, ErasedVisitError: the record has no such visit, or no longer; each is a ReportError.

    """
    clock = Clock(zone)
    return composed(read_known(history, visit), system=system, clock=clock)


def composed(known: Known, *, system: System, clock: Clock) -> Report:
    """Compose it from what is known."""
    course = Course(known, system, clock)
    code = page_code(known.visit, course.digest)
    front = (outcome, complaint, found, done, before_after, not_told, refrigerant, to_do, safety)
    return Report(
        visit=known.visit,
        tag=known.tag,
        place=course.sheet.place if course.sheet else "",
        system=system,
        zone=clock.zone,
        signed=course.signed is not None,
        seal_broken=is_broken(known.marks),
        origins=known.origins,
        made_s=known.marks[-1].time_s if known.marks else 0.0,
        code=code,
        digest=course.digest,
        marks=len(known.marks),
        front=[*(section(course) for section in front), who(course), *appended(course), *amiss.section(known.amiss)],
        back=back(course),
    )
