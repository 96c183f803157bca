"""The visit's marks as a person reads them: what was done, by whom, and with which figures."""

from collections.abc import Sequence

from calc import wording
from calc.units import System
from dashboard import words
from dashboard.display import Json, worded
from ingest.wire.messages import About, Mark

_READ = ("superheat", "subcooling", "suction_pressure", "liquid_pressure")
"""What the log tells of a reading; the record has all of it."""


MOST_OTHERS = 300
"""Besides moves of refrigerant, of which none is left out, a page gets the newest of the marks."""

_MOVES = ("added", "recovered")


def marks(events: Sequence[Mark], rig: About | None, system: System) -> Json:
    """Lay out the visit's marks, oldest first, with the notes that nobody has acknowledged yet."""
    shown = {event.id for event in [event for event in events if event.kind not in _MOVES][-MOST_OTHERS:]}
    notes = {event.id: event.text for event in events if event.kind == "note"}
    return {
        "marks": [
            {
                "id": event.id,
                "kind": event.kind,
                "time": event.time_s,
                "by": event.by,
                "role": event.role,
                "text": _figures(event, rig, system) or notes.get(event.of, event.text),
                "label": words.mark(event, system),
            }
            for event in events
            if event.kind in _MOVES or event.id in shown
        ],
        "pending": pending_notes(events),
        "totals": _totals(events, system),
    }


def _figures(event: Mark, rig: About | None, system: System) -> str:
    """Word the figures that a reading was taken for."""
    known = [(name, event.figures.get(name)) for name in _READ]
    return ", ".join(
        f"{words.channel(name)} {worded(name, value, rig, system)}" for name, value in known if value is not None
    )


def pending_notes(events: Sequence[Mark]) -> list[Json]:
    """Find the notes of leads that no technician has acknowledged, the oldest first."""
    acknowledged = {event.of for event in events if event.kind == "acknowledge"}
    return [
        {"id": event.id, "by": event.by, "text": event.text, "time": event.time_s}
        for event in events
        if event.kind == "note" and event.role == "lead" and event.id not in acknowledged
    ]


def _totals(events: Sequence[Mark], system: System) -> str:
    sums = {kind: sum(event.mass_kg or 0.0 for event in events if event.kind == kind) for kind in _MOVES}
    return " · ".join(f"{kind} {wording.mass(mass_kg, system)}" for kind, mass_kg in sums.items() if mass_kg)
