"""Guided checks in tests: asked and decided as the daemon does, at an invented unit."""

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from ingest.visit.deciding import Facts, Head
from ingest.visit.finding import finding
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, FindingAsk, Mark, Photograph, Reading, Sheet, UnitAbout
from tests import wire_rig

TIME_S = 1.7e9
HEAD: Head = ("f1", TIME_S, "Sam", "technician")


def facts(
    *channels: str, spread: float | None = 0.05, in_doubt: Sequence[str] = (), sheet: Sheet | None = None, **unit: Any
) -> Facts:
    """What the rig knows: channels that read, and the unit with what its plate says otherwise."""
    known: UnitAbout = replace(wire_rig.about(started_s=TIME_S).unit, **unit)
    readings = {name: Reading(1.0, TIME_S, standard_uncertainty=spread) for name in channels}
    sheets = {} if sheet is None else {known.tag: sheet}
    return Facts(known, readings, frozenset(in_doubt), frozenset(), sheets=sheets)


THREE_PHASES = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")


def find(
    check: str,
    values: Mapping[str, float] = {},
    choices: Mapping[str, str] = {},
    *,
    known: Facts | None = None,
    standing: Standing | None = None,
    head: Head = HEAD,
    **asked: Any,
) -> Finding:
    """Ask for a finding and give what is kept. Values are typed, and all else is said, unless asked otherwise.

    Photographs that it names are taken first.
    """
    asked = {"grade": "typed" if values else "said", "confirmed": True} | asked
    ask = FindingAsk(head[0], head[2], check=check, values=values, choices=choices, **asked)
    standing = standing or Standing("v1")
    for name in ask.photographs:
        standing.take(taken(name, check=check))
    return finding(ask, head, standing, facts() if known is None else known)


def taken(name: str, **fields: Any) -> Photograph:
    """A photograph as the record tells of it."""
    about = {"digest": hashlib.sha256(name.encode()).hexdigest(), "sent_digest": "1" * 64, "width": 4, "height": 3}
    return Photograph(name, TIME_S, "Sam", "technician", **about | fields)


def exact(values: Mapping[str, float], share: float = 1e-6) -> dict[str, float]:
    """± limits so small that they decide nothing."""
    return {name: abs(value) * share for name, value in values.items()}


def course(*marks: Mark) -> Standing:
    """A visit in which these marks stand."""
    return Standing("v1", marks)
