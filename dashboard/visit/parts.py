"""The parts of the unit at work, as a card: what their plates say, to be corrected, and one more of each kind."""

from collections.abc import Mapping, Sequence
from typing import cast

import msgspec

from calc.units import Kind, System, to_display
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.visit.cards import Card, Field, Key, unit_of
from ingest.wire.messages import Sheet
from ingest.wire.sheet import revision

_SHEET = "fields.sheet"
_FIGURES: Mapping[str, Sequence[tuple[str, str]]] = {
    "motor": (("rated_current_a", "current"), ("locked_rotor_a", "current")),
    "capacitor": (
        ("herm_f", "capacitance"), ("fan_f", "capacitance"), ("tolerance_share", "ratio"), ("volts", "voltage"),
        ("hertz", "frequency"),
    ),
    "contactor": (("coil_volts", "voltage"),),
}  # fmt: skip
"""What the plate of each kind of part says, by its name in the sheet, and what that is."""


def card(sheet: Sheet, system: System) -> Card:
    """Show the parts; each key keeps the sheet whole, built on the one that is shown. A name stays: its readings do."""
    plain = msgspec.to_builtins(sheet)
    parts = plain.get("parts", [])
    names = ", ".join(part.name for part in sheet.parts)
    corrected = Card(
        "parts",
        say("parts.correct_them", tag=sheet.tag),
        (say("units.empty_stays"),),
        fields=tuple(it for index, part in enumerate(parts) for it in _known(part, index, system)),
        keys=(Key(say("units.keep"), "describe", main=True),),
    )
    correct = Key(say("parts.correct"), body=_body(sheet, plain), opens=corrected)
    return Card(
        "unit-parts",
        say("parts.title"),
        (names,) if names else (),
        keys=(
            *([correct] if parts else []),
            *(
                Key(
                    say("parts.another", kind=words.PART_KINDS[kind]),
                    body=_body(sheet, {**plain, "parts": [*parts, {"kind": kind}]}),
                    opens=_new(kind, sheet, system),
                )
                for kind in _FIGURES
            ),
        ),
    )


def _body(sheet: Sheet, plain: Json) -> Json:
    return {"fields": {"sheet": plain, "builds_on": revision(sheet)}}


def _known(part: Json, index: int, system: System) -> list[Field]:
    """Ask for what the plate of a part says; what is known stands below each."""
    return [
        _figure(name, quantity, part["name"], index, system, value=part.get(name))
        for name, quantity in _FIGURES[part["kind"]]
    ]


def _new(kind: str, sheet: Sheet, system: System) -> Card:
    """Ask for one more part, by the name under which its readings will stand."""
    index = len(sheet.parts)
    into = f"{_SHEET}.parts.{index}"
    circuits = [circuit.name for circuit in sheet.circuits]
    of_a_motor = (
        Field("drives", say("parts.drives"), "choice", into, tuple(words.MOTORS.items()), needed=True),
        *(
            [Field("of_circuit", say("parts.circuit"), "choice", into, tuple((it, it) for it in circuits), to="circuit",
                   optional=True)]
            if len(circuits) > 1
            else []
        ),
    )  # fmt: skip
    return Card(
        f"part-{kind}",
        say("parts.another", kind=words.PART_KINDS[kind]),
        fields=(
            Field("name", say("parts.name"), into=into, needed=True),
            *(of_a_motor if kind == "motor" else ()),
            *(_figure(name, quantity, "", index, system) for name, quantity in _FIGURES[kind]),
        ),
        keys=(Key(say("units.keep"), "describe", main=True),),
    )


def _figure(name: str, quantity: str, part: str, index: int, system: System, *, value: float | None = None) -> Field:
    kind, said = cast("Kind", quantity), words.ON_A_PLATE[name]
    known = "" if value is None else say("parts.known", value=_shown(value, kind, system))
    return Field(
        f"{name}_{index}",
        say("parts.of", part=part.capitalize(), what=said) if part else said,
        "number",
        f"{_SHEET}.parts.{index}",
        unit=unit_of(kind, system),
        quantity=quantity,
        to=name,
        hint=known,
    )


def _shown(value: float, kind: Kind, system: System) -> str:
    shown, unit = (100.0 * value, "%") if kind == "ratio" else to_display(value, kind, system)
    return f"{shown:.4g} {unit}".strip()
