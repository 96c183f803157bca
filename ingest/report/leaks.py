"""Whether a circuit leaks, by all that was looked at: each place of a report asks here, so that all of them agree."""

from collections.abc import Mapping, Sequence

from ingest.report.course import Course
from ingest.report.said import listed
from ingest.visit.leaks import LEAK, LEAKS
from ingest.wire.messages import Finding

PLACES = {"caps_and_cores": "caps and ports", "joints": "joints", "coil_ends": "the ends of the coils"}


def looks_at(course: Course, circuit: str) -> Sequence[Finding]:
    """Give what was looked at for a leak of a circuit at this visit, oldest first."""
    return course.standing.moved.leaks.looks.get(circuit, ())


def found_it(look: Finding) -> bool:
    """Tell whether a look found a leak."""
    return LEAK in look.choices.values()


def leaks_of(look: Finding) -> str:
    """Name the places where a look found a leak."""
    return listed([word for place, word in PLACES.items() if look.choices.get(place) == LEAK])


def is_open(course: Course, circuit: str) -> bool:
    """Tell whether a leak of a circuit stands open, found at this visit or one before."""
    return circuit in course.standing.moved.leaks.open


def open_leaks(course: Course) -> Mapping[str, Finding]:
    """Give what found each leak that stands open, at this visit or one before, by its circuit."""
    stand = course.standing.moved.leaks.open
    every = [mark for _, marks in (*course.earlier, ("", course.marks)) for mark in marks if isinstance(mark, Finding)]
    found = [it for it in every if it.check == LEAKS and LEAK in it.choices.values()]
    return {
        name: next(it for it in found if it.time_s == at_s and it.circuit in ("", name)) for name, at_s in stand.items()
    }


def is_known(course: Course, circuit: str) -> bool:
    """Tell whether it is known that a circuit leaks, or that a look which can tell found none."""
    return is_open(course, circuit) or any(_can_tell(look) for look in looks_at(course, circuit))


def _can_tell(look: Finding) -> bool:
    return found_it(look) or (look.outcome in ("met", "not_met") and look.choices.get("by") != "seen")


def settled_by(course: Course, circuit: str) -> Sequence[str]:
    """Name what tells whether the leak that a circuit had is open.

    What found it, which may be of an earlier visit, every look at it since, what repaired it, and its view.
    """
    leaks, found = course.standing.moved.leaks, open_leaks(course).get(circuit)
    of = [*([found] if found else []), *leaks.looks.get(circuit, ()), *leaks.repairs.get(circuit, ())]
    return [*dict.fromkeys(it.id for it in of), *course.leak_view_ids]
