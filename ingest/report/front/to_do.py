"""What to do, and by when: what each concern of the headline asks for, and what has a day; what was decided.

At most three things, and at least what the headline asks for and two more.
"""

from collections.abc import Iterator, Sequence
from datetime import date

from ingest.report.clock import day_as_written
from ingest.report.concerns import HAVE_DONE
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.front.found import likely_at_last
from ingest.report.front.outcome import LOCK, headline
from ingest.report.leaks import is_open, open_leaks, settled_by
from ingest.report.next_check import every_leak_check, next_check_by
from ingest.report.opened import NOT_PASSED, not_passed
from ingest.report.said import listed, own_words, quoted, said, sentence
from ingest.visit.leaks import LEAKS, OPENED

MOST = 3
_LEAST = 2
"""So many tasks stand whatever the headline asks for: a bypassed safety and a leak are the first of them."""
_TOLD = "Told what was found and done."
"""What the page offers there for a touch: it says nothing of a decision."""
_AGAIN = "have the refrigerant level read again"


def to_do(course: Course) -> Section:
    """Say it."""
    of_the_headline = list(_of_the_headline(course))
    tasks = list(_tasks(course))[: max(_LEAST, MOST - len(of_the_headline))]
    told = sorted([*of_the_headline, *tasks], key=lambda it: not it.text.startswith("At once"))
    return Section("What to do, and by when", [Items([*(told or [_nothing(course)]), *_decided(course)])])


def _of_the_headline(course: Course) -> Iterator[Statement]:
    """Tell what to have done about each danger and concern that the headline names, where no task of its own does."""
    _, reasons, _, known = headline(course)
    yield from _of_opened(course)
    for reason in reasons:
        if reason in AT_ONCE:
            yield said(f"At once: {AT_ONCE[reason]}.", known)
        elif reason in HAVE_DONE:
            yield said(f"Now: {HAVE_DONE[reason]}.", known)


def _of_opened(course: Course) -> Iterator[Statement]:
    """Tell what to have done about each test that an opened circuit did not pass, whatever the headline names."""
    for found in course.of(OPENED):
        if found.outcome != "not_met":
            continue
        tests = [NOT_PASSED[it][1] for it in not_passed(course, found)] or ["have its tests made again"]
        text = f"Now, as {course.named(found.circuit)} was opened and did not pass: {'; '.join(tests)}."
        yield said(text, found.id, course.sheet_id, course.visit_id)


AT_ONCE = {
    "a wire that bypasses a part of it is still in": "have the wire taken out that bypasses a part of it",
    "its leak detector is bypassed": "have its leak detector put back to work",
    "its leak detector is in alarm": "have it found out why its leak detector is in alarm",
    LOCK: "ask us whose lock is on it; take no lock off yourself, and switch nothing on",
}
"""About dangers, by their words; the bypassed safety and the leak have tasks of their own."""


def _nothing(course: Course) -> Statement:
    if course.one("handover") is None:
        return said("What there is to do is not recorded.", course.visit_id)
    return said("Nothing is asked of you.", course.visit_id)


def _tasks(course: Course) -> Iterator[Statement]:
    for found in course.of("look_first"):
        if found.choices.get("bypassed") in ("found", "reported"):
            yield said(
                "At once: have the bypassed safety restored. Until then nothing stops the unit if it fails.", found.id
            )
    leaks = open_leaks(course)
    if leaks:
        yield said(
            "Before any refrigerant is added again: have the leak repaired. What is added leaks out again.",
            [it for name, leak in leaks.items() for it in (leak.id, *settled_by(course, name))],
        )
    yield from _readings(course)
    yield from _unsolved(course)
    yield from _leak_checks(course)


def _readings(course: Course) -> Iterator[Statement]:
    """Tell when to read again: by the first of the technician's days, or a month after an addition."""
    if written := _first_asked(course):
        day = day_as_written(written)
        by = f"By {day}" if day else f"When: {quoted(written)}"
        both = course.ids("handover", LEAKS)
        added = [name for name in course.moved_circuits() if any(move.sign > 0 for move in course.moves(name))]
        why = _by_then(course, added) if added else "only then we know whether it stays as it is"
        ids = [it for name in course.moved_circuits() for move in course.moves(name) for it in course.move_ids(move)]
        if not course.of("readings_before", "readings_after"):
            what = "have the unit looked at again; what is to be read then is not recorded"
            yield said(f"{by}: {what}.", both, course.visit_id)
            return
        known = [it for name in added for it in settled_by(course, name)]
        yield said(f"{by}: {_AGAIN}; {why}.", both, ids, known, course.visit_id)
        return
    by_day: dict[str, list[str]] = {}
    for account in course.standing.moved.accounts():
        if account.recheck_by and (day := day_as_written(account.recheck_by)):
            by_day.setdefault(day, []).append(account.circuit)
    for day, circuits in by_day.items():
        ids = [it for name in circuits for move in course.moves(name) for it in course.move_ids(move)]
        known = [it for name in circuits for it in settled_by(course, name)]
        yield said(f"By {day}: {_AGAIN}; {_by_then(course, circuits)}.", ids, known)


def _first_asked(course: Course) -> str:
    """Give the first day on which the technician wants it read again, at the handover or a look for leaks.

    What is no day is given as it was written at the handover, where neither has one; empty where nothing is written.
    """
    handed = course.chosen("handover", "next_reading")
    every = [handed, *(it.choices.get("read_again", "").strip() for it in course.of(LEAKS))]
    return min((it for it in every if day_as_written(it)), key=date.fromisoformat, default=handed)


def _by_then(course: Course, circuits: Sequence[str]) -> str:
    """Tell what the level of what was added to shows: of what is known to leak, how much."""
    unknown = [name for name in circuits if not is_open(course, name)]
    if not unknown:
        return "until its leak is repaired it loses more"
    if len(unknown) == len(circuits):
        return "only then we know whether it leaks"
    which = f"circuit {unknown[0]} leaks" if len(unknown) == 1 else f"circuits {listed(unknown)} leak"
    return f"only then we know whether {which}"


def _leak_checks(course: Course) -> Iterator[Statement]:
    """Tell of the European Union's check for leaks: where it holds, else where it may and units of the SI are read."""
    if not course.may_be_in_union or (not course.is_law_known and course.system != "si"):
        return
    accounts = {account.circuit: account for account in course.standing.moved.accounts()}
    for circuit in course.circuits:
        months = accounts[circuit.name].check_months
        if months is None:
            continue
        made = every_leak_check(course, circuit)
        by = f"By {next_check_by(course, made, months)}" if made else "Now, as no such check is recorded"
        what = f"have {course.named(circuit.name)} checked for leaks"
        yield said(
            f"{by}: {what}, every {months} months{'' if course.is_law_known else ' where the law of the EU holds'}.",
            [it.id for it in made],
            course.visit_id,
            course.sheet_id,
        )


def _unsolved(course: Course) -> Iterator[Statement]:
    cause = course.one("cause")
    if cause is not None and cause.choices.get("cause") == "unknown":
        yield said(
            "At the next visit: have it found out why the part failed, or it may fail again. No day is set.", cause.id
        )
    for found in course.of("capacitor_measured"):
        if found.says is not None and found.says.kind in ("finding.goes_next", "finding.may_go_next"):
            yield said("At the next visit: have the run capacitor renewed before it fails. No day is set.", found.id)
    for word, number in likely_at_last(course):
        yield said(f"{_SEEN_TO[word]} No day is set.", f"advice {number}", course.visit_id)


_SEEN_TO = {
    "condenser fouling or low outdoor airflow": "Have the outdoor coil looked at, and cleaned if it is dirty.",
    "low evaporator airflow": "Have the filter, the indoor coil and its fan looked at: too little air goes over it.",
}
"""What an owner is to have done about what is likely by the figures: common practice, no source."""


def _decided(course: Course) -> list[Statement]:
    asked = course.one("handover")
    words = own_words(asked.choices.get("owner", "")) if asked else ""
    if asked is None or not words:
        return [said("What you were told and what you decided is not recorded.", course.visit_id)]
    if words == _TOLD:
        return [said("You were told what was found and done. Your decision is not recorded.", asked.id)]
    return [said(sentence(f"what you were told and what you decided: {quoted(words)}"), asked.id)]
