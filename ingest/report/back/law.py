"""What the law asks to be recorded, field by field and circuit by circuit: filled in, or told as not recorded.

A circuit is an appliance of its own (40 CFR 84.102). Whether a rule covers it stands on the front; where none
does the fields are told all the same, without what asks, for the owner may be asked for them otherwise.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from calc.leak_duty import record_fields as eu_fields
from calc.leakage import RecordField
from calc.leakage import record_fields as us_fields
from calc.wording import mass
from ingest.report.course import Course
from ingest.report.document import Block, Fields, Paragraph, Run, Section, Statement
from ingest.report.front.done import how_known, mended
from ingest.report.front.refrigerant import told_weighed_in
from ingest.report.front.who import technicians
from ingest.report.leaks import PLACES, found_it, leaks_of, looks_at, settled_by
from ingest.report.next_check import every_leak_check, leak_checks_of, next_check_by
from ingest.report.said import NOT_RECORDED, listed, on_one_line, own_words, said
from ingest.visit.leaks import OPENED, PROBES_OFF
from ingest.wire.messages import CircuitAccount, Finding, Signed
from ingest.wire.sheet import Circuit

TITLE = "What the law asks to be recorded"
_ON_THE_FRONT = (
    "owner or operator of the appliance",
    "identity and location of the appliance",
    "date of the service",
    "name of who did it",
    "certification of who did it",
)
"""Fields whose words stand there, and not once more."""
_WHEN_CHECKED = (
    "Article 5 asks for a check from 5 t on every 12 months, from 50 t every 6, from 500 t every 3, twice that with a "
    "leak detection system; of what is in Annex II, such as R-1234yf, also in a blend, from 1 kg (from memory)."
)
_SCRAPPED = (
    "From a unit that is scrapped, with 5 to 50 lb of charge: 40 CFR 82.156(a)(3) asks for more fields (from memory)."
)


def law(course: Course) -> Section:
    """Say it."""
    if not course.circuits:
        return Section(TITLE, [Paragraph([said("No circuit is recorded.", course.visit_id)])])
    accounts = {account.circuit: account for account in course.standing.moved.accounts()}
    in_union = course.may_be_in_union
    scrapped = any(move.purpose == "scrap" for name in course.moved_circuits() for move in course.moves(name))
    more = [
        *(
            [said(_WHEN_CHECKED, course.sheet_id)]
            if in_union and any(it.check_months for it in accounts.values())
            else []
        ),
        *(
            line
            for circuit in (course.circuits if in_union else ())
            for line in _next_check(course, circuit, accounts[circuit.name])
        ),
        *([said(_SCRAPPED, course.visit_id)] if scrapped and course.may_be_in_states else []),
        said(_where(course, accounts), course.visit_id, course.sheet_id),
    ]
    return Section(TITLE, [Paragraph(more), *_fields(course, accounts)])


def _where(course: Course, accounts: Mapping[str, CircuitAccount]) -> str:
    asks = [
        *(["40 CFR"] if _parts_that_cover(course, accounts) else []),
        *(["EU: Regulation (EU) 2024/573, Article 7(1)"] if course.may_be_in_union else []),
    ]
    held = "" if course.is_law_known else ", where it holds"
    told = f"In brackets what asks{held}: {'; '.join(asks)}." if asks else ""
    if course.may_be_in_states and len(asks) < 1 + course.may_be_in_union:
        told = f"{told} No federal rule of the United States asks for these fields of this unit.".strip()
    if not course.may_be_in_states and not course.may_be_in_union:
        told = (
            "What the law there asks to be recorded is not told here: ask there. These are fields that are often asked."
        )
    if course.country:
        return told
    return f"{told} Whose law holds is told by the zone of the times, {course.clock.zone}: no country is recorded."


def _covers_none(account: CircuitAccount) -> bool:
    """Tell whether it is known that no federal rule covers a circuit."""
    return account.says is not None and account.says.kind == "leak_rule.none"


def _parts_that_cover(course: Course, accounts: Mapping[str, CircuitAccount]) -> set[str]:
    """Name the parts of 40 CFR that cover a circuit, or may: what depletes ozone is of part 82, all else of part 84."""
    if not course.may_be_in_states:
        return set()
    open_ones = [it for it in course.circuits if not _covers_none(accounts[it.name])]
    return {"82." if course.refrigerant(it).is_ozone_depleting else "84." for it in open_ones}


def _fields(course: Course, accounts: Mapping[str, CircuitAccount]) -> Iterator[Block]:
    """Tell every field with what it holds; those together that hold what the front has, and those that hold nothing."""
    told = [_of_field(course, name, bases, accounts) for name, bases in _alike(course, accounts).items()]
    missing = [it for it in told if it.text == NOT_RECORDED]
    on_the_front = [it for it in told if it.name in _ON_THE_FRONT and it not in missing]
    filled = [it for it in told if it not in (*missing, *on_the_front)]
    yield Fields([(it.called, said(f"{it.text}{_in_brackets(it.bases)}", it.ids, course.visit_id)) for it in filled])
    for what, of in (("As on the front", on_the_front), ("Not recorded", missing)):
        if of:
            yield Run(what, list(_by_bases(course, of)))


def _by_bases(course: Course, told: Sequence["_Told"]) -> Iterator[Statement]:
    """Name fields, those together for which the same asks."""
    for bases, of in groupby(sorted(told, key=lambda it: it.bases), key=lambda it: it.bases):
        several = list(of)
        names = ", ".join(it.called for it in several)
        yield said(f"{names}{_in_brackets(bases)}", [name for it in several for name in it.ids], course.visit_id)


@dataclass(frozen=True, slots=True)
class _Told:
    """A field, all that ask for it, what it holds, circuit by circuit where they differ, and what that rests on."""

    name: str
    bases: list[str]
    text: str
    ids: Sequence[str]

    @property
    def called(self) -> str:
        """The field as the page calls it."""
        return _SHORT.get(self.name, self.name)


def _of_field(course: Course, name: str, bases: list[str], accounts: Mapping[str, CircuitAccount]) -> _Told:
    cells = {it.name: _FILLED[name](course, it, accounts[it.name]) for it in course.circuits}
    circuits: dict[str, list[str]] = {}
    for circuit, cell in cells.items():
        circuits.setdefault(cell.text, []).append(circuit)
    texts = [
        text if len(circuits) == 1 else f"circuit{'s' if len(of) > 1 else ''} {listed(of)}: {text}"
        for text, of in circuits.items()
    ]
    return _Told(name, bases, ", ".join(texts), [it for cell in cells.values() for it in cell.evidence])


def fields(*, in_union: bool, in_states: bool = True) -> Sequence[RecordField]:
    """Give every field that the United States ask for, and the European Union, where the unit may stand there."""
    return (*(us_fields() if in_states else ()), *(eu_fields() if in_union else ()))


def _alike(course: Course, accounts: Mapping[str, CircuitAccount]) -> dict[str, list[str]]:
    """Put fields together that ask for the same, each under the first one's name, with all that ask for it.

    The fields of the United States stand where no law is known, too: they are what is often asked.
    """
    parts = _parts_that_cover(course, accounts)
    in_union, in_states = course.may_be_in_union, course.may_be_in_states
    names: dict[Filled, str] = {}
    told: dict[str, list[str]] = {}
    for field in fields(in_union=in_union, in_states=in_states or not in_union):
        if field.name.startswith("leak rate") and not in_states:
            continue
        bases = told.setdefault(names.setdefault(_FILLED[field.name], field.name), [])
        if field.basis.startswith("40 CFR "):
            by = [it for it in field.basis.removeprefix("40 CFR ").split(", ") if it.startswith(tuple(parts))]
            bases += [", ".join(by)] if by else []
        else:
            bases.append(field.basis.replace("(EU) 2024/573, Article 7(1)", "EU "))
    return told


def _in_brackets(bases: Sequence[str]) -> str:
    return f" ({', '.join(bases)})" if bases else ""


def _next_check(course: Course, circuit: Circuit, account: CircuitAccount) -> Iterator[Statement]:
    if account.check_months is None:
        return
    of = f"Circuit {circuit.name}: its" if course.several else "Its"
    sought = every_leak_check(course, circuit)
    if not sought:
        yield said(f"{of} last check for leaks by detector or bubbles is not recorded.", course.visit_id)
        return
    by = next_check_by(course, sought, account.check_months)
    text = f"{of} next check for leaks: by {by}, by the rule of (EU) 2024/573, Article 5, from the figures here."
    yield said(text, [it.id for it in sought], course.sheet_id, course.visit_id)


Filled = Callable[[Course, Circuit, CircuitAccount], Statement]


def _not_recorded(course: Course, *ids: str) -> Statement:
    return said(NOT_RECORDED, course.visit_id, *ids)


def _of_the_signature(name: str) -> Filled:
    def filled(course: Course, _: Circuit, __: CircuitAccount) -> Statement:
        signed = course.signed
        text = getattr(signed, name) if isinstance(signed, Signed) else ""
        return said(on_one_line(text), signed.id) if text and signed else _not_recorded(course)

    return filled


def _identity(course: Course, circuit: Circuit, _: CircuitAccount) -> Statement:
    place = course.sheet.place if course.sheet else ""
    told = [course.known.tag, f"circuit {circuit.name}" if course.several else "", place or "place not recorded"]
    return said(", ".join(filter(None, told)), course.visit_id, course.sheet_id)


def _day(course: Course, _: Circuit, __: CircuitAccount) -> Statement:
    first = course.arrived
    return said(course.clock.day(first.time_s), first.id) if first else _not_recorded(course)


def _parts(course: Course, circuit: Circuit, account: CircuitAccount) -> Statement:
    told = [(f"{it.part or 'run capacitor'}: replaced", [it.id]) for it in course.of("replacement")]
    told += [
        ("wire connections: tightened", [it.id])
        for it in course.every("connections")
        if it.choices.get("found") in ("a_turn", "less_than_a_turn")
    ]
    told += [
        (f"circuit: {_repaired(course, it, circuit)}opened; its tests: {_TESTED.get(it.outcome, it.outcome)}", [it.id])
        for it in course.of(OPENED)
        if it.circuit in ("", circuit.name)
    ]
    moves = course.moves(circuit.name)
    ids = [name for move in moves for name in course.move_ids(move)]
    told += [("circuit: refrigerant added", ids)] if account.added_kg else []
    told += [("circuit: refrigerant recovered", ids)] if account.recovered_kg else []
    if not told:
        text = "nothing replaced, nothing moved: looked at and measured"
        if course.came_right():
            text = "what was done is not recorded"
        if any(mended(course)):
            text = "no part replaced; what was put right stands on the front"
        return said(text, course.visit_id)
    return said("; ".join(dict.fromkeys(text for text, _ in told)), [name for _, names in told for name in names])


_TESTED = {"met": "passed", "not_met": "not passed", "cannot_tell": "cannot tell"}


def _repaired(course: Course, opened: Finding, circuit: Circuit) -> str:
    return (
        "leak repaired, "
        if opened in course.standing.moved.leaks.repairs.get(circuit.name, ())
        and any(found_it(look) for look in looks_at(course, circuit.name))
        else ""
    )


def _names(course: Course, _: Circuit, __: CircuitAccount) -> Statement:
    names = technicians(course)
    return said(listed(list(names)), list(names.values())) if names else _not_recorded(course)


def _amount(course: Course, circuit: Circuit, account: CircuitAccount) -> Statement:
    moves = course.moves(circuit.name)
    if not moves and (weighed := told_weighed_in(course, circuit.name)):
        return said(f"{circuit.refrigerant}: {weighed.text.removesuffix('.')}", weighed.evidence, course.sheet_id)
    if not moves:
        return said(f"{circuit.refrigerant}: none added, none removed", course.sheet_id, course.visit_id)
    told = [
        f"{mass(amount, course.system, weighed=True) if amount else 'none'} {verb}"
        for amount, verb in ((account.added_kg, "added"), (account.recovered_kg, "removed"))
    ]
    ids = [name for move in moves for name in course.move_ids(move)]
    return said(f"{circuit.refrigerant}: {listed(told)} ({how_known(course, moves)})", ids, course.sheet_id)


def _charge(course: Course, circuit: Circuit, _: CircuitAccount) -> Statement:
    if circuit.charge_kg is None:
        return _not_recorded(course)
    by = {"nameplate": "nameplate", "weighed_in": "weighed in", "calculated": "calculated"}
    known = by.get(circuit.charge_known_by, "how it was determined is not recorded")
    return said(f"{mass(circuit.charge_kg, course.system)} of {circuit.refrigerant}: {known}", course.sheet_id)


def _leak_rate(course: Course, circuit: Circuit, account: CircuitAccount) -> Statement:
    moves = course.moves(circuit.name)
    ids = [name for move in moves for name in course.move_ids(move)]
    if account.rates:
        earlier = course.earlier_ids(circuit.name)
        text = "; ".join(f"{rate.percent:.1f} % a year, {rate.method} method" for rate in account.rates)
        return said(text, ids, earlier, course.sheet_id)
    if not account.rule:
        text = (
            "not due, as no rule covers it"
            if _covers_none(account)
            else "whether one is due is not known: see the rule above"
        )
        return said(text, course.sheet_id, course.visit_id)
    return said("not due: nothing was added that counts", course.visit_id, ids)


def _leaks(course: Course, circuit: Circuit, _: CircuitAccount) -> Statement:
    told, ids = [], []
    for look in leak_checks_of(course, circuit):
        places = own_words(look.choices.get("places", "")) or leaks_of(look)
        result = f"found: {places}" if found_it(look) else "none found"
        left_out, by = _left_out(course, circuit, look)
        told.append(f"{course.clock.day(look.time_s)}, by {look.choices['by']}: {result}{left_out}")
        ids += [look.id, *by]
    return said("; ".join(told), ids, settled_by(course, circuit.name)) if told else _not_recorded(course)


def _left_out(course: Course, circuit: Circuit, look: Finding) -> tuple[str, list[str]]:
    """Name the places where a look was not made: cores under the probes are looked at as those come off, or never."""
    later = [
        it
        for it in course.of(PROBES_OFF)
        if (it.circuit or course.in_view) == circuit.name and course.seen_s(it) > course.seen_s(look)
    ]
    were = later[-1].choices.get("cores", "") if later else ""
    told = [word for place, word in PLACES.items() if look.choices.get(place) == "not_looked"]
    by: list[str] = []
    if look.choices.get("caps_and_cores") == "as_they_come_off":
        by = [it.id for it in later]
        if were not in ("bubbles", "detector", "leaks"):
            told.insert(0, "caps and ports, which were left for when the probes come off")
    return (f", not looked at: {listed(told)}" if told else ""), by


def _repairs(course: Course, circuit: Circuit, _: CircuitAccount) -> Statement:
    opened = [it for it in course.of(OPENED) if it.circuit in ("", circuit.name)]
    if not opened:
        return said("no repair of the circuit was made", course.visit_id)
    told = []
    for it in opened:
        is_whole = it.choices.get("gas") == "nitrogen" and "vacuum_course" in it.choices
        what = "test by nitrogen and vacuum" if is_whole else "tests of the opened circuit"
        unsaid = "" if _repaired(course, it, circuit) else f", what was repaired: {NOT_RECORDED}"
        told.append(f"{course.clock.day(it.time_s)}: {what} {_TESTED.get(it.outcome, it.outcome)}{unsaid}")
    ids = [*(it.id for it in opened), *settled_by(course, circuit.name)]
    return said(f"{'; '.join(told)}; follow-up test: {NOT_RECORDED}", ids, course.visit_id)


def _reclaimed(course: Course, circuit: Circuit, account: CircuitAccount) -> Statement:
    was_put_in = account.added_kg or told_weighed_in(course, circuit.name)
    return _not_recorded(course) if was_put_in else said("nothing was put in", course.visit_id)


def _undertaking(course: Course, circuit: Circuit, account: CircuitAccount) -> Statement:
    company, certificate = (_of_the_signature(name)(course, circuit, account) for name in ("company", "certificate"))
    if company.text == certificate.text == NOT_RECORDED:
        return company
    text = f"company: {company.text}; certificate: {certificate.text}"
    return said(text, list(company.evidence), list(certificate.evidence))


def _taken_out_of_use(course: Course, circuit: Circuit, _: CircuitAccount) -> Statement:
    moves = [move for move in course.moves(circuit.name) if move.purpose == "scrap"]
    if not moves:
        return said("no", course.visit_id)
    return _not_recorded(course, *(name for move in moves for name in course.move_ids(move)))


_FILLED: Mapping[str, Filled] = {
    "owner or operator of the appliance": _of_the_signature("owner"),
    "identity and location of the appliance": _identity,
    "date of the service": _day,
    "parts serviced, and the type of service of each": _parts,
    "name of who did it": _names,
    "certification of who did it": _of_the_signature("certificate"),
    "amount and type of refrigerant added, or removed": _amount,
    "full charge, and how it was determined": _charge,
    "leak rate, and the method: one method for a whole facility": _leak_rate,
    "leak inspections: date, method, where leaks were found": _leaks,
    "repairs: dates and results of the initial and follow-up verification tests": _repairs,
    "quantity and type of the gas that it holds": _charge,
    "quantity added, at a service or because of a leak": _amount,
    "whether what was put in is recycled or reclaimed, and by whom": _reclaimed,
    "quantity recovered": _amount,
    "who serviced it, with their certificate": _undertaking,
    "days and results of the checks for leaks": _leaks,
    "of one that is taken out of use: how its gas was recovered and disposed of": _taken_out_of_use,
}
"""How each field is filled, by its name."""
_SHORT: Mapping[str, str] = {
    "owner or operator of the appliance": "owner or operator",
    "identity and location of the appliance": "identity and location",
    "parts serviced, and the type of service of each": "parts, type of service",
    "amount and type of refrigerant added, or removed": "added, removed",
    "full charge, and how it was determined": "full charge, how determined",
    "leak rate, and the method: one method for a whole facility": "leak rate, method",
    "leak inspections: date, method, where leaks were found": "leak inspections",
    "repairs: dates and results of the initial and follow-up verification tests": "repairs, verification tests",
    "whether what was put in is recycled or reclaimed, and by whom": "put in: recycled or reclaimed, by whom",
    "who serviced it, with their certificate": "company and its certificate",
    "of one that is taken out of use: how its gas was recovered and disposed of": "taken out of use",
}
"""What the page calls a field of many words."""
