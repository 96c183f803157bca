"""Keys beside what the readings point at: what somebody saw who looked there, kept by the check of it.

A look is of one circuit. What was touched stands with who touched it, and is taken back by a touch.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from calc.looks import LOOKED_FOR
from dashboard.sentences import say
from ingest.wire.messages import Finding, Mark, Sheet, Visit

Json = dict[str, Any]

_CHECK = "looked_for"
_SEEN = ("nothing", "mended", "found")


@dataclass(frozen=True, slots=True)
class Looks:
    """What may be looked at. circuits: to be named, one of which was looked at; empty: the only one.

    said: the newest look at each circuit for each cause, as the check has it.
    """

    circuits: Sequence[str] = ("",)
    said: Mapping[tuple[str, str], Finding] = field(default_factory=dict)


def looks_at(sheet: Sheet | None, visit: Visit | None, marks: Iterable[Mark]) -> Looks:
    """Tell what may be looked at: the circuit in view, or each where none is; nothing at a visit that is signed."""
    if visit is None or visit.progress.state == "signed":
        return Looks(())
    names = [it.name for it in sheet.circuits] if sheet else []
    several = [visit.circuit] if visit.circuit in names else names
    found = [it for it in marks if isinstance(it, Finding) and it.check == _CHECK]
    said = {(it.circuit, it.choices.get("cause", "")): it for it in found}
    return Looks(several if len(names) > 1 else (visit.circuit,), said)


def looked_for(faults: Iterable[str], looks: Looks) -> list[Json]:
    """Lay out a key for each thing that may be seen of each of these causes; none of what no look tells."""
    causes = [word for fault in dict.fromkeys(faults) for word, of in LOOKED_FOR.items() if of == fault]
    named = _names() if len(causes) > 1 else dict.fromkeys(causes, "")
    places = [(cause, circuit) for cause in causes for circuit in looks.circuits]
    return [key for cause, circuit in places for key in _keys(cause, circuit, looks, named[cause])]


def _seen() -> dict[str, str]:
    """Say what may have been seen."""
    return {
        "nothing": say("looked_for.nothing"),
        "mended": say("looked_for.mended"),
        "found": say("looked_for.found"),
    }


def _names() -> dict[str, str]:
    """Name, in a word or two, where each is looked for."""
    return {
        "airflow": say("looked_for.of_airflow"),
        "rejection": say("looked_for.of_rejection"),
        "restriction": say("looked_for.of_restriction"),
        "valves": say("looked_for.of_valves"),
        "feed": say("looked_for.of_feed"),
    }


def _keys(cause: str, circuit: str, looks: Looks, named: str) -> list[Json]:
    where = say("visit.circuit", name=circuit) if len(looks.circuits) > 1 else ""
    head = " · ".join(filter(None, [where, named]))
    said = looks.said.get((circuit, cause))
    stands = said if said is not None and said.outcome != "skipped" else None
    keys = [_key(head, cause, circuit, seen, stands) for seen in _SEEN]
    return keys if stands is None else [*keys, _back(head, cause, circuit)]


def _key(head: str, cause: str, circuit: str, seen: str, stands: Finding | None) -> Json:
    is_said = stands is not None and stands.choices.get("seen") == seen
    return {
        "says": ": ".join(filter(None, [head, _seen()[seen]])),
        "body": {"fields": _fields(circuit) | {"choices": {"cause": cause, "seen": seen}}},
        "said": {"by": stands.by, "time": stands.time_s} if stands is not None and is_said else None,
    }


def _back(head: str, cause: str, circuit: str) -> Json:
    """Take back what was said: whoever looked anew says it anew."""
    fields = {"outcome": "skipped", "reason": "other", "text": say("looked_for.mistake"), "choices": {"cause": cause}}
    says = ": ".join(filter(None, [head, say("looked_for.back")]))
    return {"says": says, "body": {"fields": _fields(circuit) | fields}, "said": None}


def _fields(circuit: str) -> Json:
    return {"check": _CHECK, "grade": "said", **({"circuit": circuit} if circuit else {})}
