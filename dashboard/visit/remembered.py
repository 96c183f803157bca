"""What is remembered of the unit at work, as cards: its visits before this one, and the readings of its parts."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from calc import wording
from calc.quantities import STANDARD_PRESSURE_PA
from calc.units import System
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.cards import Card, Cell, Field, Key, Table
from ingest.wire.messages import (
    Baseline,
    Check,
    CircuitMoved,
    FindingStands,
    PartHistory,
    PartReading,
    UnitHistory,
    VisitBefore,
)

SHOWN = 12
"""Visits that stand on the page: a year of months. The message has more, and the record all (common practice)."""

_LABEL = (
    ("herm", "Herm", "capacitance"),
    ("fan", "Fan", "capacitance"),
    ("tolerance", "Tolerance ±", "percentage"),
    ("volts", "Volts", "voltage"),
    ("hertz", "Hertz", "frequency"),
)
"""What stands on a can, as it is read."""


def cards(history: UnitHistory | None, titles: Mapping[str, str], system: System) -> list[Card]:
    """Make the cards. titles: of the guided checks, by their words."""
    if history is None:
        return []
    visits = visits_before(history, titles, system)[:SHOWN]
    left_out = len(history.visits) - len(visits) + history.more_visits
    more = (say("memory.more_visits", count=left_out),) if left_out else ()
    parts = all_readings(history, system)
    return [
        *([Card("visits-before", say("memory.visits"), more, tables=visits)] if visits else []),
        *([Card("part-readings", say("memory.parts"), tables=parts)] if parts else []),
        *([_baselines(history.baselines)] if history.baselines else []),
    ]


def _baselines(kept: Sequence[Baseline]) -> Card:
    """Lay out what the unit read whenever it was right; what still counts can be withdrawn, for a reason."""
    rows = tuple(map(_row, kept))
    standing = [(it.id, _named(it)) for it in kept if not it.ended]
    which = Field(
        "of",
        say("memory.which_baseline"),
        "choice",
        options=tuple(standing),
        value=standing[0][0] if len(standing) == 1 else "",
        needed=True,
    )
    why = Field("text", say("memory.why_withdrawn"), "words", needed=True)
    return Card(
        "baselines",
        say("memory.baselines"),
        (say("memory.baselines_are"),),
        tables=(Table(say("memory.baseline"), rows, is_open=True),),
        fields=(which, why) if standing else (),
        keys=(Key(say("memory.withdraw"), "withdraw_baseline"),) if standing else (),
    )


def _named(it: Baseline) -> str:
    return say("memory.of_circuit", day=_day(it.time_s), circuit=it.circuit) if it.circuit else _day(it.time_s)


def _row(it: Baseline) -> tuple[Cell, ...]:
    return (it.time_s, it.circuit, _counts(it)) if it.circuit else (it.time_s, _counts(it))


def _counts(it: Baseline) -> str:
    if it.ended == "withdrawn" and it.ended_s is not None:
        return say("memory.withdrawn", by=it.by, day=_day(it.ended_s), why=it.text)
    return say("memory.counts_no_more", why=words.BASELINE_ENDED[it.ended]) if it.ended else say("memory.counts")


def _day(time_s: float) -> str:
    try:
        return datetime.fromtimestamp(time_s, UTC).astimezone().date().isoformat()
    except (ValueError, OverflowError, OSError):  # what travels may say anything
        return say("memory.no_day")


def visits_before(history: UnitHistory | None, titles: Mapping[str, str], system: System) -> tuple[Table, ...]:
    """Lay each visit out, newest first; of several the newest stands open."""
    visits = history.visits if history else ()
    return tuple(_visit(it, titles, system, is_open=index == 0) for index, it in enumerate(visits))


def last_readings(history: UnitHistory | None, check: str, system: System) -> tuple[Table, ...]:
    """Lay out what was measured in a check at earlier visits and now, of the parts that are in."""
    return tuple(
        _part(it, system)
        for it in (history.parts if history else ())
        if it.until_s is None and any(reading.check == check for reading in it.readings)
    )


def all_readings(history: UnitHistory | None, system: System) -> tuple[Table, ...]:
    """Lay out all that was measured of each part, of one that was taken out too."""
    return tuple(_part(it, system) for it in (history.parts if history else ()))


def as_last_time(history: UnitHistory | None, check: Check) -> tuple[Table, ...]:
    """Lay out what a check found of the unit at the newest visit that has it: with its day, as of then."""
    before = _newest_of(history, check.word)
    if before is None:
        return ()
    labels = {text.name: text.label for text in check.texts} | {it.name: it.label for it in check.choices}
    words_of = {it.name: it.options for it in check.choices}
    said = _said(before, check.word)
    rows = [(labels[name], words_of.get(name, {}).get(answer, answer)) for name, answer in said.items()]
    if check.word in before.screws:
        rows.append((say("memory.screws"), f"{before.screws[check.word]:g}"))
    title = say("memory.last_time", by=before.technician or say("memory.somebody"))
    return (Table(title, tuple(rows), time_s=before.began_s, is_open=True),)


def offered_again(history: UnitHistory | None, check: str) -> dict[str, str]:
    """Give what was found then, to be taken by a touch instead of typing: by the name of its figure or text."""
    before = _newest_of(history, check)
    if before is None:
        return {}
    if check in before.screws:
        return {"screws.out": f"{before.screws[check]:g}"}
    return {name: said for name, said in _said(before, check).items() if name == _DISCONNECT}


_ISOLATE, _DISCONNECT = "isolate", "disconnect"


def _said(visit: VisitBefore, check: str) -> Mapping[str, str]:
    return visit.isolated if check == _ISOLATE else {}


def _newest_of(history: UnitHistory | None, check: str) -> VisitBefore | None:
    """Find the newest visit that tells of a check."""
    visits = history.visits if history else ()
    return next((it for it in visits if check in it.screws or _said(it, check)), None)


def _visit(it: VisitBefore, titles: Mapping[str, str], system: System, *, is_open: bool) -> Table:
    signed = (say("memory.signed"), it.signed_by) if it.signed_by else (say("memory.signed"), say("memory.nobody"))
    answered = ", ".join(filter(None, [words.ANSWERED.get(it.was_answered, ""), words.LEFT.get(it.left, "")]))
    rows = [
        (say("memory.complaint"), it.complaint),
        (say("memory.left"), answered),
        *((say("memory.found"), _found(found, titles, system)) for found in it.found),
        *((say("memory.moved"), _moved(moved, system)) for moved in it.moved),
        (say("memory.next_person"), it.next_person),
        (say("memory.next_reading"), it.next_reading),
        (say("memory.owner"), it.owner),
        *((say("memory.question"), question) for question in it.open_questions),
        (say("memory.more"), str(it.more) if it.more else ""),
        signed,
    ]
    return Table(it.technician, tuple(row for row in rows if row[1]), time_s=it.began_s, is_open=is_open)


def _found(it: FindingStands, titles: Mapping[str, str], system: System) -> str:
    what = " · ".join(filter(None, [titles.get(it.check, it.check), it.part or it.circuit]))
    says = getattr(it.says, system) if it.says else ""
    return " ".join(filter(None, [f"{what}: {words.OUTCOMES[it.outcome]}.", says]))


def _moved(it: CircuitMoved, system: System) -> str:
    added, recovered = (wording.mass(mass_kg, system) for mass_kg in (it.added_kg, it.recovered_kg))
    account = say("memory.account", added=added, recovered=recovered)
    return f"{say('visit.circuit', name=it.circuit)}: {account}" if it.circuit else account


def _part(it: PartHistory, system: System) -> Table:
    name = it.part or words.MOTORS.get(it.drives, "") or words.PART_KINDS[it.kind]
    title = say("memory.taken_out", part=name.capitalize()) if it.until_s is not None else name.capitalize()
    head = (say("memory.day"), say("memory.reading"), say("memory.how"))
    # Where a part was replaced the day of that stands at the end of its history, as it began with it.
    fitted: Sequence[tuple[Cell, ...]] = () if it.since_s is None else [(it.since_s, say("memory.fitted"), "")]
    label = " · ".join(
        f"{word}: {wording.as_fine_as_known(_on_label(it, name), None, kind, system, STANDARD_PRESSURE_PA)}"
        for name, word, kind in _LABEL
        if name in it.label
    )
    read: Sequence[tuple[Cell, ...]] = [(say("memory.label"), label, "")] if label else []
    rows = [*read, *(_reading(reading, system) for reading in it.readings), *fitted]
    return Table(title, tuple(rows), head, is_open=it.until_s is None)


def _on_label(it: PartHistory, name: str) -> float:
    return it.label[name] * (100.0 if name == "tolerance" else 1.0)


def _reading(it: PartReading, system: System) -> tuple[Cell, ...]:
    figure = wording.as_fine_as_known(it.value, it.accuracy, it.quantity, system, STANDARD_PRESSURE_PA)
    place = it.label.rpartition(": ")[2]
    told = "" if it.outcome == "met" else words.OUTCOMES[it.outcome]
    return it.time_s, f"{place}: {figure}", ", ".join(filter(None, [words.GRADES[it.grade], told]))
