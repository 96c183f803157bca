"""How the visit stands, laid out for its page: who and where, what waits for a person, and what may be done.

Everything comes from the messages that the rig retains. Nothing is summed or judged here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from calc.units import System
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.shared.stop import stop_that_stands
from dashboard.visit import (
    chart,
    checks,
    leaving,
    moves,
    places,
    progress,
    proposals,
    remembered,
    sealed,
    talk,
    units,
    which,
)
from dashboard.visit.beginning import beginning, offered, whose_name
from dashboard.visit.cards import Card, Form, InIt, laid_out
from dashboard.visit.held import on_label
from ingest.wire.messages import About, Checklist, Mark, Sheet, UnitAbout, UnitHistory, Units, Visit

SHOWN_AT_A_CHECK = 2
"""Visits before this one that stand in the check that asks for them; the unit's form has all."""


@dataclass(frozen=True, slots=True)
class Known:
    """What the rig retains of a visit. sheets: of the register, by tag. past: of whichever unit it was told last.

    judged: what the judge says that a check asks for too. marks: of the visit, as far as they are known, by id.
    """

    about: About
    visit: Visit | None
    checklists: Sequence[Checklist]
    units: Units | None = None
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    past: UnitHistory | None = None
    judged: Mapping[str, str] = field(default_factory=dict)
    marks: Mapping[str, Mark] = field(default_factory=dict)

    @property
    def sheet(self) -> Sheet | None:
        """The sheet of the unit at hand, where the register has it."""
        return self.sheets.get(self.about.unit.tag)

    @property
    def found(self) -> str:
        """The safety class that the visit found in the unit; empty where nobody looked."""
        return self.visit.safety_class if self.visit else ""

    @property
    def titles(self) -> Mapping[str, str]:
        """The titles of the guided checks, by their words."""
        return {check.word: check.title for group in self.checklists for check in group.checks}

    @property
    def history(self) -> UnitHistory | None:
        """What is remembered of the unit at hand: of another one nothing is shown beside it."""
        return self.past if self.past and self.past.tag == self.about.unit.tag else None


def checks_told(known: Known, system: System) -> Json:
    """Lay out the guided checks, with their figures in one system of units."""
    tables = {
        "complaint": remembered.visits_before(known.history, known.titles, system)[:SHOWN_AT_A_CHECK],
        "capacitor_measured": remembered.last_readings(known.history, "capacitor_measured", system),
    }
    all_checks = [check for group in known.checklists for check in group.checks]
    tables |= {it.word: last for it in all_checks if (last := remembered.as_last_time(known.history, it))}
    offers = {it.word: remembered.offered_again(known.history, it.word) for it in all_checks}
    parts = known.sheet.parts if known.sheet else ()
    on = units.circuits(known.sheet)
    return checks.cards(known.checklists, known.about, parts, system, tables, offers, known.found, on)


def told(known: Known, system: System) -> Json:
    """Lay out the visit, with its figures in one system of units."""
    about, visit = known.about, known.visit
    in_it = InIt(about.unit.refrigerant, known.found)

    def all_of(cards: Sequence[Card]) -> list[Json]:
        return [laid_out(card, in_it) for card in cards]

    forms = _forms(known, visit, system) if visit else []
    is_signed = visit is not None and visit.progress.state == "signed"
    if is_signed:
        forms = [replace(form, cards=tuple(sealed.appending(form.cards))) for form in forms]
    return {
        "signed": is_signed,
        "visit": about.visit,
        "circuit": _circuit(about.unit, visit),
        "who": visit.progress.technician if visit else "",
        "since": about.visit_started_s,
        "stop": talk.stop(visit) if visit else None,
        "stands": stop_that_stands(visit),
        "proposals": all_of(proposals.waiting(visit, about.unit, system) if visit and not is_signed else []),
        "talk": all_of(_waiting(known, visit) if visit else []),
        "closing": all_of(progress.closing(known.checklists, visit, whose_name(visit, known.marks)) if visit else []),
        "leaving": all_of(leaving.leaving(visit, known.checklists, system) if visit else []),
        "rows": _rows(known, visit) if visit else [],
        "groups": [[it.group, it.title] for it in known.checklists],
        "facts": list(visit.facts) if visit else [],
        "forms": [
            {"id": form.id, "title": form.title, "in_bar": form.in_bar, "cards": all_of(form.cards)} for form in forms
        ],
    }


def _waiting(known: Known, visit: Visit) -> list[Card]:
    """Make the cards of what waits for a person; of a visit that is signed with the keys that are left."""
    tag, on = known.about.unit.tag, _circuits(known, visit)
    waiting = [*which.runs(visit), *talk.waiting(visit)]
    is_signed = visit.progress.state == "signed"
    came_along = [] if is_signed else places.came_along(visit, tag, on)
    came_along += [] if is_signed else units.miscounted(visit, known.marks, len(on) or 1)
    return [*progress.standing(visit, tag), *came_along, *(sealed.appending(waiting) if is_signed else waiting)]


def _rows(known: Known, visit: Visit) -> list[Json]:
    parts = known.sheet.parts if known.sheet else ()
    begins = beginning(known.checklists, known.about, visit, known.judged, parts, known.marks)
    if visit.circuit:
        begins["looked_for"] = {**begins.get("looked_for", {}), "circuit": visit.circuit}

    def label(check: str, part: str) -> dict[str, float]:
        return on_label(check, part, known.sheet, known.history, known.about.visit_started_s)

    rows = checks.rows(known.checklists, visit, begins, known.marks, offered(visit), label)
    if visit.progress.state != "signed":
        return rows
    return [{**row, "next": False, "asked": False} for row in rows]


def _forms(known: Known, visit: Visit, system: System) -> list[Form]:
    """Make the forms of the bottom edge, what is used most first."""
    about, sheet = known.about, known.sheet
    on = _circuits(known, visit)
    ask, *rest = talk.forms()
    charts = chart.form(sheet, visit.circuit, system)
    return [
        ask,
        places.form(about, visit, on, units.motors(sheet)),
        moves.form(visit, about.unit, system, sheet.country if sheet else ""),
        *rest,
        units.form(
            known.units,
            sheet,
            about.unit.tag,
            system,
            which=which.cards(visit, about.unit.tag),
            remembered=remembered.cards(known.history, known.titles, system),
            sheets=known.sheets,
        ),
        progress.form(whose_name(visit, known.marks)),
        *([charts] if charts else []),
    ]


def _circuits(known: Known, visit: Visit) -> list[str]:
    """Name the circuits that a probe may be on."""
    return units.circuits(known.sheet) or [it for it in (visit.circuit,) if it]


def _circuit(unit: UnitAbout, visit: Visit | None) -> str:
    """Say which circuit is in view, and what is in it."""
    named = [say("visit.circuit", name=visit.circuit)] if visit and visit.circuit else []
    return " · ".join([*named, unit.refrigerant, unit.safety_class, words.METERING_DEVICES[unit.metering_device]])
