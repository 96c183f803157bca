"""The moment before anything was changed and the one after, with what was read at each and what that rests on."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from calc.judge.alike import LIKE_WITHIN_DK
from calc.quantities import Quantity
from ingest.report.course import Course, Reading
from ingest.report.document import Statement
from ingest.report.running import runs_by
from ingest.report.said import quoted, rounded, said
from ingest.visit.looked import put_right
from ingest.wire.messages import Added, Finding, Mark, Recovered

OF_THE_CHARGE = frozenset({"superheat", "subcooling", "suction_pressure", "liquid_pressure"})
BEFORE, AFTER = "readings_before", "readings_after"
_NAMES = {
    "superheat": "superheat",
    "subcooling": "subcooling",
    "outdoor": "outdoor_air_temperature",
    "return_air": "return_air_temperature",
    "supply_air": "supply_air_temperature",
    "wet_bulb": "return_air_wet_bulb",
}
"""The channel or figure of a value of a check."""


@dataclass(frozen=True, slots=True)
class Moment:
    """What was read then, by channel or figure. mark: the id of that by which it was kept. time_s: [s since 1970].

    elsewhere: what the clamp meter read then on another lead than the compressor's, each with what tells so. at_rest:
    likewise figures that a unit has none of while its compressor rests.
    """

    mark: str
    time_s: float
    read: Mapping[str, Reading]
    elsewhere: Mapping[str, Sequence[str]] = field(default_factory=dict)
    at_rest: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def get(self, name: str) -> Reading | None:
        """Give a reading; None where there is none."""
        return self.read.get(name)


@dataclass(frozen=True, slots=True)
class Pair:
    """Before and after; each None where nothing was read."""

    before: Moment | None
    after: Moment | None


def pair_of(course: Course, circuit: str = "") -> Pair:
    """Give the moments of a circuit; of none: of the unit as a whole.

    The readings before and after that somebody kept come first. Without them: the first that was read before anything
    was changed, and the last that was read after the last change.
    """
    kept: list[Mark | None] = [_kept(course, check, circuit) for check in (BEFORE, AFTER)]
    before, after = kept
    work = work_of(course)
    others = [
        mark for mark in course.marks if mark.id in course.known.moments and not _is_of_another(course, mark, circuit)
    ]
    if before is None:
        first_s = course.seen_s(work[0]) if work else float("inf")
        before = next((mark for mark in others if course.seen_s(mark) < first_s), None)
    if after is None:
        last_s = course.seen_s(work[-1]) if work else float("-inf")
        left = [mark for mark in others if mark is not before and course.seen_s(mark) > last_s]
        on_it = [mark for mark in left if circuit and not OF_THE_CHARGE.isdisjoint(course.at(mark))]
        after = (on_it or left)[-1] if left else None
    of_the_work = work_ids(course)
    return Pair(
        *(
            None if mark is None else _moment(course, mark, () if mark in kept else of_the_work)
            for mark in (before, after)
        )
    )


def _kept(course: Course, check: str, circuit: str) -> Finding | None:
    made = [it for it in course.of(check) if not circuit or (it.circuit or course.in_view) == circuit]
    return made[-1] if made else None


def _is_of_another(course: Course, mark: Mark, circuit: str) -> bool:
    """Tell whether what was read then may be of another circuit than this one."""
    if not circuit or not course.several:
        return False
    return not isinstance(mark, Finding) or mark.circuit != circuit


def middle_s(pair: Pair) -> float:
    """Tell the moment halfway [s since 1970]: where nothing was changed, what was read by then is as we came."""
    if pair.before is None or pair.after is None:
        return float("inf")
    return (pair.before.time_s + pair.after.time_s) / 2


def work_of(course: Course) -> list[Mark]:
    """Give the marks that say, or show, that something of the unit was changed, in the order of when it was."""
    work = [mark for mark in course.marks if _changes(mark)]
    return sorted([*work, *(right for _, right in course.came_right() if right not in work)], key=course.seen_s)


def work_ids(course: Course) -> list[str]:
    """Name what tells when anything was changed."""
    told = [*(mark for mark in course.marks if _changes(mark)), *course.of_what_failed()]
    return [name for mark in told for name in course.seen_ids(mark)]


def _changes(mark: Mark) -> bool:
    """Tell whether a mark says that something of the unit was changed."""
    if isinstance(mark, Added | Recovered):
        return True
    if not isinstance(mark, Finding) or mark.outcome == "skipped":
        return False
    if mark.check == "connections":
        return mark.choices.get("found") in ("a_turn", "less_than_a_turn")
    return mark.check in ("replacement", "opened") or put_right(mark)


def _moment(course: Course, mark: Mark, work: Sequence[str]) -> Moment:
    """Give what was read at a mark: what a person kept of it before what the instruments had then.

    work: by which it was chosen.
    """
    read = {name: replace(it, evidence=(*it.evidence, *work)) for name, it in course.at(mark).items()}
    rests = [name for it in read.values() for name in it.evidence] if runs_by(read) is False else []
    if isinstance(mark, Finding):
        for name, value in mark.values.items():
            if name in _NAMES:
                spread = mark.standard_uncertainties.get(name, mark.accuracies.get(name, 0.0) / 2 or None)
                grade = mark.grades.get(name, mark.grade)
                read[_NAMES[name]] = Reading(value, spread, (*course.seen_ids(mark), *work), grade)
    moved = _clamp_moved(course, course.seen_s(mark))
    elsewhere = {name: [*it.evidence, *moved] for name, it in read.items() if moved and name in _OF_THE_CLAMP}
    at_rest = {name: [*it.evidence, *rests] for name, it in read.items() if rests and name in _OF_A_RUN}
    left = {name: it for name, it in read.items() if name not in (*elsewhere, *at_rest)}
    return Moment(mark.id, course.seen_s(mark), left, elsewhere, at_rest)


_OF_THE_CLAMP = ("compressor_current", "compressor_current_a")
ON_ANOTHER_LEAD = "not recorded (the clamp was on another lead)"
_OF_A_RUN = ("superheat", "subcooling", "condensing_over_ambient")
AT_REST = "none at rest"


def _clamp_moved(course: Course, at_s: float) -> list[str]:
    """Name what took the clamp to a lead of the run capacitor before a moment, unless the compressor was read since."""
    on_a_lead: list[str] = []
    findings = [it for it in course.marks if isinstance(it, Finding) and it.outcome != "skipped"]
    for found in sorted(findings, key=course.seen_s):
        if course.seen_s(found) > at_s:
            break
        if found.check == "capacitor_under_load" and "amps" in found.values:
            on_a_lead = course.seen_ids(found)
        elif (found.check == "motor_amps" and found.choices.get("motor") == "compressor") or (
            found.check == "power_back" and "compressor" in found.values
        ):
            on_a_lead = []
    return [*on_a_lead, course.visit_id] if on_a_lead else []


_ONE_MOMENT_S = 60.0
"""Nothing that was done shows any sooner: common practice, no source."""


def conditions(course: Course, pair: Pair) -> Iterator[Statement]:
    """Say whether both were read under like conditions, by the outdoor air; nothing where there is no pair."""
    if pair.before is None or pair.after is None:
        return
    if abs(pair.after.time_s - pair.before.time_s) < _ONE_MOMENT_S:
        both = [pair.before.mark, pair.after.mark]
        yield said("Both were read within one minute: they tell of one moment, not of a change.", both, course.visit_id)
        return
    before, after = (moment.get("outdoor_air_temperature") for moment in (pair.before, pair.after))
    if before is None or after is None:
        missing = [name for it in (before, after) if it is not None for name in it.evidence]
        yield said(
            "Whether both were read under like conditions is not recorded: the outdoor air is missing.",
            course.visit_id,
            missing,
        )
        return
    was, now = (rounded(it.value, Quantity.TEMPERATURE, course.system) for it in (before, after))
    alike = abs(before.value - after.value) <= LIKE_WITHIN_DK["outdoor"]
    told = "like conditions" if alike else "the conditions differ, so compare with care"
    yield said(f"Outdoors it was {was} before and {now} after: {told}.", before.evidence, after.evidence)
    for found in course.of(AFTER):
        if difference := found.choices.get("difference", "").strip():
            yield said(f"What differs from before: {quoted(difference)}", found.id)
