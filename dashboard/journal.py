"""The visit's marks as a person reads them: what was done, by whom, and with which figures."""

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from calc import wording
from calc.units import System
from dashboard import words
from dashboard.display import Json, plus_minus, worded
from dashboard.sentences import say
from dashboard.shared.stop import stop_that_stands
from ingest.wire.messages import (
    About,
    Acknowledged,
    Added,
    Checked,
    Chosen,
    Correction,
    Finding,
    Mark,
    Note,
    Proposed,
    Question,
    ReadingTaken,
    Recovered,
    Visit,
    Warned,
)

_READ = ("superheat", "subcooling", "suction_pressure", "liquid_pressure")
"""What the log tells of a reading; the record has all of it."""


MOST_OTHERS = 300
"""Besides moves of refrigerant, of which none is left out, a page gets the newest of the marks."""


def marks(events: Sequence[Mark], visit: Visit | None, rig: About | None, system: System) -> Json:
    """Lay out the visit's marks, oldest first, with the notes that nobody has acknowledged yet."""
    shown = {event.id for event in [event for event in events if not isinstance(event, MOVES)][-MOST_OTHERS:]}
    of = {event.id: event for event in events if isinstance(event, (Note, *MOVES))}
    corrected = {event.of: event for event in events if isinstance(event, Correction)}
    return {
        "marks": [
            {
                "id": event.id,
                "kind": event.kind,
                "time": event.time_s,
                "at": _moment(event),
                "by": event.by,
                "role": event.role,
                "text": _said(event, of, rig, system),
                "label": words.mark(event, system),
                "corrected": event.id in corrected,
                "holds": _holds(event, corrected.get(event.id), system),
            }
            for event in events
            if isinstance(event, MOVES) or event.id in shown
        ],
        "pending": _pending(visit),
        "stands": stop_that_stands(visit),
        "left": _left(visit),
        "totals": _totals(visit, system),
    }


MOVES = (Added, Recovered, Correction)


def _moment(event: Mark) -> float:
    """Tell where a mark hangs on the trace [s since 1970]: a note at the moment that it is about."""
    return event.at_s if isinstance(event, Note) and event.at_s is not None else event.time_s


def _holds(event: Mark, correction: Correction | None, system: System) -> str:
    """Word what a mark comes to with its newest correction; empty where nothing was moved after all."""
    if correction is None or not isinstance(event, Added | Recovered):
        return words.mark(event, system)
    return words.mark(replace(event, mass_kg=correction.mass_kg), system) if correction.mass_kg else ""


def _said(event: Mark, of: Mapping[str, Mark], rig: About | None, system: System) -> str:
    """Word what a mark tells beside its label."""
    match event:
        case ReadingTaken():
            return _figures(event, rig, system)
        case Question():
            left_out = "; ".join(_left_out(event.left_out))
            return f"{event.text} ({left_out})" if left_out else event.text
        case Checked():
            return " ".join(words.check_found(event.check, system)[:2])
        case Acknowledged() if event.of in of:
            return of[event.of].text
        case Proposed() | Warned():
            return event.says.us if system == "us" else event.says.si
        case Finding() if event.says is not None:
            says = event.says.us if system == "us" else event.says.si
            return " ".join(filter(None, [says, words.grades(event)]))
        case Chosen() if event.says is not None:
            return event.says.us if system == "us" else event.says.si
        case Correction() if event.of in of:
            return say("mark.instead", mark=words.mark(of[event.of], system))
    return event.text


def _figures(event: ReadingTaken, rig: About | None, system: System) -> str:
    """Word the figures that a reading was taken for."""
    known = {name: value for name in _READ if (value := event.figures.get(name)) is not None}
    told = [
        f"{words.channel(name)} {worded(name, value, rig, system)}{_sureness(event, name, system)}"
        for name, value in known.items()
    ]
    return "; ".join(filter(None, [", ".join(told), *_left_out(event.left_out)]))


def _left_out(why: Mapping[str, str]) -> list[str]:
    """Word what was not of that moment and place, each reason once."""
    channels = {reason: [words.channel(name) for name in why if why[name] == reason] for reason in why.values()}
    return [say("mark.left_out", what=", ".join(names), why=reason) for reason, names in channels.items()]


def _sureness(event: ReadingTaken, name: str, system: System) -> str:
    """Word how sure a figure is: its ±, and that it was in doubt or had not settled."""
    spread = plus_minus(name, event.standard_uncertainties.get(name), system)
    told = [f"±\u00a0{spread:g}"] if spread is not None else []
    told += ["in doubt"] * (name in event.in_doubt) + ["not settled"] * (name in event.unsettled)
    return f" ({', '.join(told)})" if told else ""


def _pending(visit: Visit | None) -> list[Json]:
    """Lay out what leads said that no technician has acknowledged: a stop before all, then notes, the oldest first."""
    if visit is None:
        return []
    notes = [
        {"id": note.id, "by": note.by, "text": note.text, "time": note.time_s, "about": note.at_s}
        for note in visit.notes
    ]
    it = visit.stop
    if it is None or it.acknowledged_s is not None:
        return notes
    said = say("talk.stop_at_once", why=words.stop(it))
    return [{"id": it.id, "by": it.by, "text": said, "stops": words.stop(it), "time": it.delivered_s}, *notes]


def _left(visit: Visit | None) -> Json | None:
    """Lay out that the charge is left as it is, against what the judge asks for, by whom and since when; else None."""
    it = visit.charge_left if visit else None
    if it is None:
        return None
    why = words.left_for(it.reason, it.text).removesuffix(".")
    return {"says": say("advice.left", why=why), "by": it.by, "time": it.time_s}


def _totals(visit: Visit | None, system: System) -> str:
    """Word what the visit's moves come to, as the rig tells it: a page may not hold them all."""
    sums = {"added": visit.added_kg, "recovered": visit.recovered_kg} if visit else {}
    return " · ".join(f"{kind} {wording.mass(mass_kg, system)}" for kind, mass_kg in sums.items() if mass_kg)
