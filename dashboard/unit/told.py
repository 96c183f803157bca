"""The unit at work, laid out for its page: what it is, what the next one must know, and how it has gone."""

from dataclasses import asdict, replace

from calc import wording
from calc.refrigerants import get, names
from calc.units import System
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.unit.trends import trends
from dashboard.visit import remembered
from dashboard.visit.cards import Cell, Table, table_laid_out
from dashboard.visit.told import Known
from dashboard.words import METERING_DEVICES
from ingest.wire.messages import UnitHistory, VisitBefore
from ingest.wire.sheet import Circuit


def told(known: Known, system: System) -> Json:
    """Lay it out, with its figures in one system of units."""
    history = known.history
    older = len(history.visits) - remembered.SHOWN if history else 0
    older = max(older, 0) + (history.more_visits if history else 0)
    newest = history.visits[0] if history and history.visits else None
    tables = [
        *remembered.visits_before(history, known.titles, system)[: remembered.SHOWN],
        *_refrigerant(history, system),
    ]
    return {
        "tag": known.about.unit.tag,
        "must_know": _must_know(newest) if newest else [],
        "sheet": _sheet(known, system),
        "photographs": list(known.sheet.photographs) if known.sheet else [],
        "trends": [asdict(it) for it in trends(history, system)],
        "visits": [table_laid_out(it) for it in tables],
        "parts": [table_laid_out(replace(it, is_open=False)) for it in remembered.all_readings(history, system)],
        "more": say("memory.more_visits", count=older) if older else "",
    }


def _must_know(newest: VisitBefore) -> list[str]:
    again = say("unit.read_again", day=newest.next_reading) if newest.next_reading else ""
    return [it for it in (newest.next_person, *newest.open_questions, again) if it]


def _sheet(known: Known, system: System) -> list[tuple[str, str]]:
    """Give what stands on its sheet, line by line; what nobody recorded is left out."""
    sheet, unit = known.sheet, known.about.unit
    if sheet is None:
        return [(say("unit.refrigerant"), _named(unit.refrigerant))]
    plate = [
        "" if sheet.volts is None else f"{sheet.volts:.0f} V",
        "" if sheet.phases is None else say("unit.phases", count=sheet.phases),
        "" if sheet.hertz is None else f"{sheet.hertz:.0f} Hz",
    ]
    rows = [
        (say("unit.place"), sheet.place),
        (say("unit.access"), sheet.access),
        (say("unit.model"), " · ".join(filter(None, [sheet.model, sheet.serial]))),
        (say("unit.supply"), ", ".join(filter(None, plate))),
        *((say("unit.circuit", name=it.name), _circuit(it, system)) for it in sheet.circuits),
        (say("unit.parts"), ", ".join(part.name for part in sheet.parts)),
    ]
    return [row for row in rows if row[1]]


def _circuit(circuit: Circuit, system: System) -> str:
    charge = "" if circuit.charge_kg is None else wording.mass(circuit.charge_kg, system)
    by = say("unit.full_charge", mass=charge) if charge else ""
    chart = say("unit.by_chart", count=len(circuit.superheat_chart_k)) if circuit.superheat_chart_k else ""
    return ", ".join(filter(None, [_named(circuit.refrigerant), METERING_DEVICES[circuit.metering_device], by, chart]))


def _named(refrigerant: str) -> str:
    """Name a refrigerant with its safety class, and say that it burns where it does; one not known here by its name."""
    facts = next((get(name) for name in names() if name == refrigerant), None)
    if facts is None:
        return refrigerant
    of_class = f"{refrigerant}, {facts.safety_class}"
    return say("unit.burns", named=of_class) if facts.is_flammable else of_class


def _refrigerant(history: UnitHistory | None, system: System) -> list[Table]:
    """Lay out what went in and out at each visit that moved any, newest first."""
    rows: list[tuple[Cell, ...]] = [
        (visit.began_s, moved.circuit, wording.mass(moved.added_kg, system), wording.mass(moved.recovered_kg, system))
        for visit in (history.visits if history else ())
        for moved in visit.moved
    ]
    head = (say("memory.day"), say("unit.of_circuit"), say("unit.added"), say("unit.recovered"))
    return [Table(say("unit.moved"), tuple(rows), head, is_open=True)] if rows else []
