"""What the owner told us, and how that is now."""

from calc.quantities import Quantity
from ingest.report.before_after import pair_of
from ingest.report.course import Course, Reading
from ingest.report.document import Fields, Section, Statement
from ingest.report.front.outcome import Air, air_now
from ingest.report.said import quoted, rounded, said, told_by

_NOW = {"gone": "Said to be gone.", "better": "Better, not gone.", "not": "Not solved."}
_ALIKE_DK = 2.0
"""So far apart two splits of the air count as the same: common practice, no source."""


def complaint(course: Course) -> Section:
    """Say it."""
    return Section("You told us, and now", [Fields([("You told us", _told(course)), ("Now", _now(course))])])


def _told(course: Course) -> Statement:
    words, since = course.chosen("complaint", "complaint"), course.chosen("complaint", "since")
    if not words:
        return said("What you told us is not recorded.", course.visit_id)
    when = " At some hours only." if course.chosen("complaint", "when") == "some_hours" else ""
    text = f"{quoted(words)}{f' Since when: {quoted(since)}.' if since else ''}{when}"
    return said(text, course.ids("complaint"))


def _now(course: Course) -> Statement:
    answered = course.chosen("handover", "complaint")
    if not answered:
        return said("Whether that is solved is not recorded.", course.visit_id)
    air = air_now(course)
    told, by = (" We did not measure it.", []) if air is None else _by_air(course, air, is_gone=answered == "gone")
    evidence = [] if air is None else air.evidence
    return said(f"{_NOW[answered]}{told}", course.ids("handover"), evidence, by, course.visit_id)


def _by_air(course: Course, air: Air, *, is_gone: bool) -> tuple[str, list[str]]:
    """Tell what the air shows of it: a unit that heats shows nothing of cooling."""
    into, out = (rounded(it, Quantity.TEMPERATURE, course.system) for it in (air.into_k, air.out_k))
    if air.is_heated:
        outdoor = (
            ""
            if air.outdoor_k is None
            else f" ({rounded(air.outdoor_k, Quantity.TEMPERATURE, course.system)} outdoors)"
        )
        return f" It was heating{outdoor}; cooling could not be tried.", []
    if is_gone and (cooled := _cooled_as_we_came(course, air)):
        was = " to ".join(rounded(it.value, Quantity.TEMPERATURE, course.system) for it in cooled)
        how = told_by(*(it.grade for it in cooled))
        told = f", {was}{how}" if how else f" ({was}, measured)"
        text = f" It cooled the same when we came{told}; we did not see it fail."
        return text, [name for it in cooled for name in it.evidence]
    return f" Air goes in at {into} and comes out at {out}{told_by(air.grade) or ' (we measured)'}.", []


def _cooled_as_we_came(course: Course, air: Air) -> tuple[Reading, Reading] | None:
    """Give the air in and out as we came, where it was cooled then as it is now; None where not, or not known."""
    before = pair_of(course).before
    was_into, was_out = (before.get(f"{name}_air_temperature") if before else None for name in ("return", "supply"))
    if not air.is_cooled or was_into is None or was_out is None:
        return None
    is_alike = was_into.value - was_out.value > air.into_k - air.out_k - _ALIKE_DK
    return (was_into, was_out) if is_alike else None


def said_to_be_gone(course: Course) -> Statement:
    """Tell of a complaint that is said to be gone how far that was seen, in few words."""
    air = air_now(course)
    cooled = None if air is None else _cooled_as_we_came(course, air)
    text = "the complaint is said to be gone"
    if air is not None and air.is_heated:
        text = f"{text}, not tried: it was heating"
    elif cooled:
        text = f"{text}, we did not see it fail"
    by = [name for it in cooled or () for name in it.evidence]
    return said(text, course.ids("handover"), air.evidence if air else [], by, course.visit_id)
