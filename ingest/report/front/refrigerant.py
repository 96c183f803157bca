"""Refrigerant: which, how it burns, what went in and out, whether a leak was looked for, and what the law says."""

from collections.abc import Iterator, Mapping, Sequence

from calc.leak_duty import elsewhere
from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Block, Paragraph, Section, Statement
from ingest.report.front.done import how_known
from ingest.report.leaks import PLACES, found_it, is_open, leaks_of, looks_at, open_leaks, settled_by
from ingest.report.left import told_left
from ingest.report.opened import WEIGHED_IN
from ingest.report.said import listed, own_words, quoted, said, sentence
from ingest.report.words import BURNS, POISONS
from ingest.visit.leaks import LEAK, OPENED
from ingest.visit.tally import Entry
from ingest.wire.messages import CircuitAccount, Finding
from ingest.wire.sheet import Circuit
from ingest.wire.texts import shown
from ingest.wire.wording import Wording, worded


def refrigerant(course: Course) -> Section:
    """Say it, circuit by circuit."""
    accounts = {account.circuit: account for account in course.standing.moved.accounts()}
    blocks: list[Block] = [Paragraph(list(_of(course, circuit, accounts[circuit.name]))) for circuit in course.circuits]
    told_of = [accounts[circuit.name] for circuit in course.circuits]
    law = list(of_the_front(course, told_of)) if told_of else []
    blocks += [Paragraph(law)] if law else []
    unknown = [name for name in accounts if name not in {circuit.name for circuit in course.circuits}]
    blocks += [Paragraph(list(_moved(course, name))) for name in unknown]
    return Section(
        "Refrigerant", blocks or [Paragraph([said("Which refrigerant is in it is not recorded.", course.visit_id)])]
    )


def _of(course: Course, circuit: Circuit, account: CircuitAccount) -> Iterator[Statement]:
    safety_class = course.refrigerant(circuit).safety_class
    burns = BURNS[safety_class[1:]]
    poison = f" and {POISONS}" if safety_class.startswith("B") else ""
    yield said(
        sentence(f"{course.named(circuit.name)} holds {circuit.refrigerant}, which {burns}{poison}"), course.sheet_id
    )
    yield from _moved(course, circuit.name)
    yield from _left(course, circuit.name)
    if account.visits_before:
        before = course.standing.moved.added_before_s(circuit.name)
        days = [course.clock.day(time_s) for time_s in before] + (["at this visit"] if account.added_kg else [])
        total = mass(account.added_before_kg + account.added_kg, course.system, weighed=True)
        ids = course.earlier_ids(circuit.name)
        now = [it for move in course.moves(circuit.name) for it in course.move_ids(move)]
        yield said(sentence(f"since the record of it begins {total} was added in all: {listed(days)}"), ids, now)
    yield from _leaks(course, circuit.name)
    yield from _rates(course, account)


def _moved(course: Course, name: str) -> Iterator[Statement]:
    moves = course.moves(name)
    told = [
        _amount(course, [it for it in moves if it.sign == sign], verb)
        for sign, verb in ((1, "added"), (-1, "recovered"))
    ]
    ids = [it for move in moves for it in course.move_ids(move)]
    if weighed := told_weighed_in(course, name):
        yield weighed
    if not ids and not weighed:
        yield said("None added, none removed.", course.visit_id)
    elif ids:
        yield said(sentence(listed([it for it in told if it])), ids)


def told_weighed_in(course: Course, name: str) -> Statement | None:
    """Tell what the tests of an opened circuit say was weighed in, where no move of it is recorded."""
    if any(move.sign > 0 for move in course.moves(name)):
        return None
    of_it = [it for it in course.of(OPENED) if (it.circuit or course.in_view) == name and WEIGHED_IN in it.values]
    for found in of_it[-1:]:
        how = "by a scale" if found.grades.get(WEIGHED_IN, found.grade) == "measured" else "as said"
        weighed = mass(found.values[WEIGHED_IN], course.system, weighed=True)
        due = {**found.plated, **found.values}.get("charge_due")
        of_due = "" if due is None else f" of {mass(due, course.system, weighed=True)} that was due"
        text = f"{weighed}{of_due} was weighed in, {how}, once it had been opened; no move of it is recorded"
        return said(sentence(text), found.id, course.visit_id)
    return None


def _left(course: Course, name: str) -> Iterator[Statement]:
    left = course.standing.charges_left.of(name)
    if left is not None:
        ids = [it for move in course.moves(name) for it in course.move_ids(move)]  # none of them came after it
        yield said(sentence(told_left(course, left)), left.id, ids)


def _amount(course: Course, moves: list[Entry], verb: str) -> str:
    if not moves:
        return f"none {verb}"
    return f"{mass(sum(it.mass_kg for it in moves), course.system, weighed=True)} {verb} ({how_known(course, moves)})"


def _leaks(course: Course, name: str) -> Iterator[Statement]:
    looks = looks_at(course, name)
    if looks:
        yield said(sentence(_sought(course, name, looks[-1])), settled_by(course, name))
    else:
        yield said("Nobody looked for a leak.", course.visit_id)
    leak = open_leaks(course).get(name)
    if leak is not None and leak not in looks[-1:]:
        is_now = leak.id in {mark.id for mark in course.marks}
        when = f"at {course.clock.time(leak.time_s)}" if is_now else f"on {course.clock.day(leak.time_s)}"
        yield said(f"A leak was found {when}, and no repair is recorded since.", leak.id, settled_by(course, name))


def _sought(course: Course, name: str, look: Finding) -> str:
    by = {"detector": "by a detector", "bubbles": "by bubbles", "seen": "by eye alone, which cannot tell"}
    at = [word for place, word in PLACES.items() if look.choices.get(place) in ("tight", LEAK)]
    how = by.get(look.choices.get("by", ""), "")
    where = " ".join(["", *filter(None, [f"at {listed(at)}" if at else "", how])])
    places = own_words(look.choices.get("places", ""))
    if found_it(look):
        since = "" if is_open(course, name) else "; it was repaired and tested since"
        return f"a leak was looked for{where}, and found: {quoted(places) if places else leaks_of(look)}{since}"
    return f"a leak was looked for{where}: none found"


def of_the_front(course: Course, accounts: Sequence[CircuitAccount]) -> Iterator[Statement]:
    """Give a sentence of law of each circuit, alike ones once.

    The country on the unit's sheet settles whose law that is, else the countries of the zone of the times where they
    agree; where they do not, each law stands with the place where it holds.
    """
    if course.unknown_country:
        which = own_words(shown(course.unknown_country))
        yield said(f"Country {which} is not known here: its law is taken by the zone of the times.", course.sheet_id)
    if not course.may_be_in_union and not course.may_be_in_states:
        yield said(_ask_there(course), course.sheet_id, course.visit_id)
        return
    us = {it.circuit: it.says if course.may_be_in_states else None for it in accounts}
    eu = {it.circuit: it.checks_say if course.may_be_in_union else None for it in accounts}
    if not course.is_law_known:
        yield from told_once(course, {name: _either(us[name], eu[name]) for name in us})
        yield said("Anywhere else: ask there.", course.sheet_id, course.visit_id)
        return
    yield from told_once(course, {name: us[name] or eu[name] for name in us})


def _ask_there(course: Course) -> str:
    if course.country:
        return str(getattr(worded(elsewhere(course.country)), course.system))
    return (
        "What the law asks for about leaks where this unit stands is not told here: ask there. (No country is "
        f"recorded; by the zone of the times, {course.clock.zone}.)"
    )


def _either(us: Wording | None, eu: Wording | None) -> Wording | None:
    """Put the laws beside each other that may hold, each with the place where it does."""
    of = [(place, it) for place, it in ((_STATES, us), (_UNION, eu)) if it is not None]
    if not of:
        return None
    return Wording(
        us=" ".join(f"{place}: {it.us}" for place, it in of), si=" ".join(f"{place}: {it.si}" for place, it in of)
    )


_STATES, _UNION = "If it stands in the United States", "If it stands in the European Union"


def told_once(course: Course, says: Mapping[str, Wording | None]) -> Iterator[Statement]:
    """Tell what is said of each circuit, by its name; of several of which the same is said, once.

    The sentence speaks of "this circuit": that of the first, and the others are named behind it. How the one before
    ended is not said again.
    """
    of: dict[str, list[str]] = {}
    for circuit, wording in says.items():
        if wording is not None:
            of.setdefault(getattr(wording, course.system), []).append(circuit)
    ended = ""
    for whole, circuits in of.items():
        body, _, end = whole.rpartition(". ")
        text, ended = f"{body}." if body and end == ended else whole, end
        first, others = circuits[0], circuits[1:]
        also = f" The same holds for circuit{'s' if len(others) > 1 else ''} {listed(others)}." if others else ""
        yield said(f"{f'Circuit {first}: ' if course.several else ''}{text}{also}", course.sheet_id)


def _rates(course: Course, account: CircuitAccount) -> Iterator[Statement]:
    moves = [it for move in course.moves(account.circuit) for it in course.move_ids(move)]
    earlier = course.earlier_ids(account.circuit)
    for rate in account.rates if course.may_be_in_states else ():
        limit = f", the limit is {rate.limit_percent:.0f} %" if rate.limit_percent is not None else ""
        must = f"; it must be repaired in the time that {account.rule} sets" if rate.is_over else ""
        text = f"leak rate by the {rate.method} method: {rate.percent:.1f} % of its charge a year{limit}{must}"
        yield said(sentence(text), course.sheet_id, moves, earlier)
