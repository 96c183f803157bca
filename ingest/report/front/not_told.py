"""What we could not tell, or did not check: always there, even as nothing."""

from collections.abc import Iterator

from calc.quantities import Quantity
from ingest.report.before_after import pair_of
from ingest.report.course import Course
from ingest.report.document import Items, Section, Statement
from ingest.report.front.found import parts_that_failed
from ingest.report.leaks import is_known, looks_at
from ingest.report.level import level_of
from ingest.report.said import listed, own_words, rounded, said, sentence
from ingest.report.words import CHECKS, SKIPPED
from ingest.visit.cover import CLOSE, COVER, INTO_THE_PANEL, NEVER_OFF
from ingest.visit.part_readings import REPLACED
from ingest.wire.messages import Finding

_MOST_NAMED = 5
_LEAST_OUTDOOR_K = 285.93
"""55 °F, as the check of the air has it."""


def not_told(course: Course) -> Section:
    """Say it."""
    told = list(_told(course))
    return Section("What we could not tell, or did not check", [Items(told or [said("Nothing.", course.visit_id)])])


def _told(course: Course) -> Iterator[Statement]:
    cannot = [
        it
        for it in course.found
        if it.outcome == "cannot_tell"
        and it.check in CHECKS
        and not _is_out(course, it)
        and not (it.check == "supply" and _lacks_of_supply(course, it))
    ]
    if cannot:
        yield _together(course, "we could not tell", cannot)
    skipped = [
        it for it in course.found if it.outcome == "skipped" and it.check in CHECKS and it.reason != "not_fitted"
    ]
    for reason in dict.fromkeys(it.reason for it in skipped):
        of = [it for it in skipped if it.reason == reason]
        yield _together(course, "we did not check", of, _because(of, reason))
    unjudged = [it for it in course.found if it.outcome == "unjudged" and it.check in CHECKS]
    if unjudged:
        yield _together(course, "not judged yet", unjudged)
    yield from _dead(course)
    yield from _not_made(course)
    yield from _supply(course)
    yield from _behind_the_panel(course)
    yield from _level(course)
    yield from _by_feel(course)
    yield from _weak_under_load(course)
    yield from _renewed(course)
    yield from _not_judged(course)
    yield from _of_leaks(course)
    if not any("air_flow" in it.values for it in course.of("air")):
        yield said("How much air the ducts carry was not measured.", course.visit_id)


def _together(course: Course, what: str, findings: list[Finding], because: str = "") -> Statement:
    names = list(dict.fromkeys(CHECKS[it.check] for it in findings))
    named, more = names[:_MOST_NAMED], len(names) - _MOST_NAMED
    text = f"{what}: {listed(named) if more <= 0 else ', '.join(named)}"
    text += f", and {more} more that the back names" if more > 0 else ""
    return said(sentence(f"{text}{because}"), [it.id for it in findings], course.visit_id)


def _because(findings: list[Finding], reason: str) -> str:
    told = list(dict.fromkeys(own_words(it.text) for it in findings if it.text.strip()))
    words = SKIPPED.get(reason, "")
    return f" ({'; '.join(filter(None, [words, *told]))})" if words or told else ""


def _is_out(course: Course, found: Finding) -> bool:
    """Tell whether it is of a part that is out since, or was told otherwise of the same part since."""
    return course.standing.findings.is_of_old_part(found)


def _not_made(course: Course) -> Iterator[Statement]:
    """Name what the visit asked for and nobody answered."""
    known = {it.check for it in course.found}
    told_elsewhere = {"supply"} if _volts_read(course) else set()
    told_elsewhere |= set() if parts_that_failed(course) else {"cause"}
    names = [
        CHECKS[word]
        for word in course.standing.findings.left_open(course.in_view)
        if word in CHECKS and word not in known | told_elsewhere
    ]
    if names:
        named, more = names[:_MOST_NAMED], len(names) - _MOST_NAMED
        rest = f", and {more} more" if more > 0 else ""
        yield said(sentence(f"not done: {listed(named) if not rest else ', '.join(named)}{rest}"), course.visit_id)


def _renewed(course: Course) -> Iterator[Statement]:
    """Tell of what failed and was right later, where nobody recorded what was done in between."""
    for failed, right in course.came_right():
        if right.check == "capacitor_measured" and not course.of(REPLACED):
            what = "The run capacitor measured right at the end; that it was renewed is not recorded."
        elif right.check == "start" and failed.choices.get("course") == "backwards":
            motor = course.motor_of(right)
            what = f"The {motor} turned the right way at the end; what was done for that is not recorded."
        else:
            continue
        yield said(what, course.seen_ids(failed), course.seen_ids(right), course.visit_id)


def _weak_under_load(course: Course) -> Iterator[Statement]:
    """Tell that what failed under load was right with its leads off: neither takes the other back."""
    for found in course.of("capacitor_under_load"):
        of_it = [it for it in course.every("capacitor_measured") if it.part == found.part and it.outcome == "met"]
        if found.outcome != "not_met" or not of_it or _is_out(course, found):
            continue
        at_s = course.seen_s(found)
        before, after = (any(course.seen_s(it) < at_s for it in of_it), any(course.seen_s(it) > at_s for it in of_it))
        when = listed([word for word, is_so in (("before", before), ("after", after)) if is_so])
        yield said(
            f"With its leads off the run capacitor was within its limits {when}; what was weak under load was not "
            "measured again under load.",
            found.id,
            course.visit_id,
        )


def _dead(course: Course) -> Iterator[Statement]:
    """Tell what of working dead is not recorded, where somebody worked inside the electrical side."""
    closed = [it for it in course.of(CLOSE) if it.choices.get(COVER) != NEVER_OFF]
    if not closed:
        return
    is_off = any(it.choices.get(COVER) == "off" for it in closed)
    how = "The electrical cover was off" if is_off else "The electrical side was closed again"
    made = {it.check for it in course.marks if isinstance(it, Finding) and it.outcome == "met"}
    open_ones = course.standing.findings.left_open(course.in_view)
    lacking = [
        word
        for check, word in _DEAD.items()
        if check not in made and (check in open_ones or any(it.check == check for it in course.found))
    ]
    live = was_live(course)
    if live and "locked off" in lacking:
        rest = listed([word for word in lacking if word != "locked off"])
        more = f"; that it was {rest} before is not recorded" if rest else ""
        yield said(
            f"When the power was to be off, {read_live(course, live)}{more}. {how}.",
            course.ids(CLOSE),
            course.seen_ids(live),
            course.visit_id,
        )
    elif lacking:
        yield said(
            f"{how}; that it was {listed(lacking)} before is not recorded.",
            course.ids(CLOSE),
            course.visit_id,
        )


def _behind_the_panel(course: Course) -> Iterator[Statement]:
    """Tell that nobody looked for a bypassed safety where only an open panel shows one."""
    if course.chosen("look_first", "bypassed") == "outside" and (opened := course.ids(*INTO_THE_PANEL)):
        yield said(
            "Whether a safety is bypassed by a wire was looked at from outside alone.", course.ids("look_first"), opened
        )


def was_live(course: Course) -> Finding | None:
    """Give the newest finding that power was there as it was to be off; None where there is none."""
    live = [it for it in course.of("isolate") if it.says is not None and it.says.kind == "finding.rig_live"]
    return live[-1] if live else None


def read_live(course: Course, found: Finding) -> str:
    """Tell what our own voltmeter read there."""
    parts = {part.place: part for part in found.says.parts} if found.says else {}
    volts = rounded(parts["found"].value, Quantity.VOLTAGE, course.system)
    return f"our own voltmeter read {volts} on {listed(parts['what'].terms)}: it was live"


_DEAD = {"isolate": "locked off", "prove_dead": "proved dead", "discharge": "discharged"}


def _supply(course: Course) -> Iterator[Statement]:
    """Tell why volts that stand in the table above were not judged."""
    made = course.of("supply")
    for found in made:
        if found.outcome == "cannot_tell" and (lacks := _lacks_of_supply(course, found)):
            yield said(f"The supply voltage was read, not judged: {lacks}.", found.id, course.visit_id, course.sheet_id)
    is_asked = "supply" in course.standing.findings.left_open(course.in_view)
    if not made and is_asked and _volts_read(course):
        yield said("The supply voltage was read, not judged: not at the load side, under load.", course.visit_id)


def _lacks_of_supply(course: Course, found: Finding) -> str:
    """Tell what was missing to judge the volts; empty where nothing of these was, or none were read."""
    known = {**found.recalled, **found.plated, **found.values}
    read = [name for name in known if name.startswith("running.")]
    if not read:
        return ""
    if "nameplate.low" not in known:
        return "the plate's volts are not recorded"
    three = course.sheet is not None and course.sheet.phases == _THREE
    return "one of three pairs of wires was read" if three and len(read) == 1 else ""


_THREE = 3


def _volts_read(course: Course) -> bool:
    pair = pair_of(course)
    return any(moment is not None and moment.get("line_voltage_ab") for moment in (pair.before, pair.after))


def _by_feel(course: Course) -> Iterator[Statement]:
    for found in course.of("connections"):
        if found.outcome == "not_met" and found.choices.get("torque_by") == "feel":
            yield said("The wire connection that was loose was not tightened to a torque.", found.id)


def _level(course: Course) -> Iterator[Statement]:
    """Tell of a level that was read and is too near to its limits to tell, the newest of each circuit."""
    for circuit in course.circuits:
        after, before = (level_of(course, circuit, check) for check in ("readings_after", "readings_before"))
        newest = after or before
        if newest is None or newest.state != "cannot tell":
            continue
        it = course.named(circuit.name) if course.several else "it"
        now = "now has" if after else "has"
        yield said(f"Whether {it} {now} enough refrigerant: too near to tell.", newest.evidence, course.visit_id)


def _not_judged(course: Course) -> Iterator[Statement]:
    """Tell why the level of the refrigerant was not judged by its figures, where something stood against that."""
    for air in course.of("air"):
        if air.choices.get("mode") in ("heating", "defrost"):
            yield said("The refrigerant level: the unit heats, and it is judged while it cools, or by weight.", air.id)
        elif air.outcome == "not_met" and air.values.get("outdoor", _LEAST_OUTDOOR_K) < _LEAST_OUTDOOR_K:
            yield said("The refrigerant level: outdoors it was too cold to judge it by its figures.", air.id)


def _of_leaks(course: Course) -> Iterator[Statement]:
    for name in course.moved_circuits():
        if any(move.sign > 0 for move in course.moves(name)) and not is_known(course, name):
            looked = looks_at(course, name)
            why = "what was looked at cannot tell" if looked else "nobody looked for a leak"
            it = f"circuit {name}" if course.several else "it"
            there = " there" if course.several and not looked else ""
            yield said(f"We do not know whether {it} leaks: {why}{there}.", [it.id for it in looked], course.visit_id)
