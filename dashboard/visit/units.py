"""The unit and its register, as cards: what is known of this one, another one to go to, and a new one."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import msgspec

from calc import saturation
from calc.countries import countries
from calc.quantities import Quantity
from calc.units import System
from dashboard import words
from dashboard.display import Json
from dashboard.sentences import say
from dashboard.visit import chart, parts, roof
from dashboard.visit.cards import Card, Field, Form, Key, Repeat, unit_of
from ingest.wire.messages import Finding, Mark, Sheet, UnitBrief, Units, Visit
from ingest.wire.sheet import Motor, Roof, revision

SHOWN = 12
"""So many units stand as cards, who was visited or described last first: what fits a thumb (common practice)."""

_SHEET = "fields.sheet"
_CIRCUITS = f"{_SHEET}.circuits"
_FANS = (("condenser fan", "condenser_fan"), ("blower", "blower"))
"""What a new unit is asked for beside the compressor of each circuit: a motor's name, and what it drives."""
_USUAL = ("R-410A", "R-454B", "R-32", "R-22", "R-407C", "R-134a")
"""Refrigerants of air conditioners that stand first, the others behind a key (common practice, no source)."""


def form(
    units: Units | None,
    sheet: Sheet | None,
    tag: str,
    system: System,
    *,
    which: Sequence[Card] = (),
    remembered: Sequence[Card] = (),
    sheets: Mapping[str, Sheet] = MappingProxyType({}),
) -> Form:
    """Make the form of units. sheet: of the one at hand, whose tag this is; None where none is known.

    which: cards by which it is told which unit it is. remembered: what was before. sheets: of the register, by tag.
    """
    others = [brief for brief in (units.units if units else ()) if brief.tag != tag]
    here = [_here(sheet, sheets, system), parts.card(sheet, system)] if sheet else []
    drawn = roof.card(sheet, sheets, _goes_to) if sheet else None
    to_go_to = (*([drawn] if drawn else []), *map(_other, others[:SHOWN]))
    known = (*here[1:], *remembered, *which)
    return Form("units", say("units.title"), (*here[:1], *to_go_to, *known, _new(sheet, sheets, system)))


def miscounted(visit: Visit, marks: Mapping[str, Mark], there: int) -> list[Card]:
    """Tell that more or fewer circuits were counted at the unit than its sheet has, and where to put that right.

    there: how many the sheet has.
    """
    found = [marks.get(it.id) for it in visit.findings if it.check == "which_unit"]
    counts = [round(it.values["circuits"]) for it in found if isinstance(it, Finding) and "circuits" in it.values]
    if not counts or counts[-1] == there:
        return []
    says = say("units.miscounted_says", counted=str(counts[-1]), there=str(there))
    key = Key(say("units.title"), shows="units", only_for="technician")
    return [Card("miscounted", say("units.miscounted"), (says,), sign=("warning", "care"), keys=(key,))]


def circuits(sheet: Sheet | None) -> list[str]:
    """Name the circuits of a unit."""
    return [circuit.name for circuit in sheet.circuits] if sheet else []


def motors(sheet: Sheet | None) -> list[str]:
    """Name the motors of a unit."""
    return [part.name for part in sheet.parts if isinstance(part, Motor)] if sheet else []


def _here(sheet: Sheet, sheets: Mapping[str, Sheet], system: System) -> Card:
    """Show what is known, and offer to correct it: a field that is left empty leaves it as it is."""
    of_circuits = [say("units.circuit", name=it.name, refrigerant=it.refrigerant) for it in sheet.circuits]
    told = [sheet.place, sheet.access, " · ".join(filter(None, [sheet.model, sheet.serial])), *of_circuits]
    fields = (_photographs(sheet), *_texts(sheet), _country(sheet.country), *_plates(sheet, system), *_names(sheet))
    correct = Card(
        "sheet",
        say("units.correct_it", tag=sheet.tag),
        (say("units.empty_stays"),),
        fields=(*fields, *_on_roof(sheet, sheets, system)),
        repeats=Repeat(
            _of_a_circuit(len(sheet.parts) - len(sheet.circuits), system),
            at=len(fields),
            sets=_compressor(len(sheet.parts) - len(sheet.circuits)),
            first=len(sheet.circuits),
            least=0,
        ),
        keys=(
            Key(say("units.one_less"), adds=-1),
            Key(say("units.another"), adds=1),
            Key(say("units.keep"), "describe", main=True),
        ),
    )
    made_from = {"builds_on": revision(sheet), "circuits_were": [circuit.name for circuit in sheet.circuits]}
    to_chart = [chart.key()] if any(it.metering_device == "fixed_orifice" for it in sheet.circuits) else []
    body = {"fields": {"sheet": {"parts": [], **msgspec.to_builtins(sheet)}, **made_from}}
    return Card(
        "unit-here",
        sheet.tag,
        tuple(filter(None, told)),
        keys=(Key(say("units.correct"), body=body, opens=correct), *to_chart),
    )


def _other(brief: UnitBrief) -> Card:
    return Card(
        f"unit-{brief.tag}",
        brief.tag,
        tuple(filter(None, [brief.place, ", ".join(brief.refrigerants)])),
        keys=(_open(brief.tag),),
    )


def _open(tag: str) -> Key:
    return Key(say("units.open"), "open", {"fields": {"unit": tag, "grade": "said"}})


def _goes_to(sheet: Sheet) -> Key:
    """Open what is known of a unit of the same roof: going there is the second touch."""
    told = [sheet.place, sheet.access, *(f"{it.name} {it.refrigerant}" for it in sheet.circuits)]
    return Key(sheet.tag, opens=Card("roof-unit", sheet.tag, tuple(filter(None, told)), keys=(_open(sheet.tag),)))


def _new(here: Sheet | None, sheets: Mapping[str, Sheet], system: System) -> Card:
    """Ask of a new unit what its plate says; what the plate is silent about stays empty.

    here: the unit at work: a new one is likely on the same roof.
    """
    fans = [{"kind": "motor", "name": name, "drives": drives} for name, drives in _FANS]
    base: Json = {"circuits": [], "parts": fans}
    neighbour = Sheet("", (), place=here.place, roof=here.roof) if here else Sheet("", ())
    first = (
        _photographs(None),
        Field("tag", say("units.tag"), into=_SHEET, needed=True),
        *_texts(Sheet("", (), place=neighbour.place), folded=("access", "model", "serial")),
        _country(here.country if here else ""),
    )
    return Card(
        "unit-new",
        say("units.new"),
        fields=(*first, *_amps(system), *_on_roof(neighbour, sheets, system)),
        repeats=Repeat(_of_a_circuit(len(fans), system), at=len(first), sets=_compressor(len(fans))),
        keys=(
            Key(say("units.one_less"), adds=-1),
            Key(say("units.another"), adds=1),
            Key(say("units.keep"), "describe", {"fields": {"sheet": base}}, main=True),
        ),
    )


def _of_a_circuit(parts: int, system: System) -> tuple[Field, ...]:
    """Ask for a circuit: its name, what is in it, its charge, its compressor's amps, and ports.

    parts: how many stand before the first compressor of these circuits, less the circuits that there are already.
    """
    circuit = f"{_CIRCUITS}.*"
    usual = [name for name in _USUAL if name in saturation.names()]
    names = [*usual, *(name for name in saturation.names() if name not in usual)]
    compressor = _compressor_path(parts)
    rated = _rated("compressor", "RLA", "rla", compressor, system)
    return (
        Field("name", say("units.name"), into=circuit, value="*", needed=True, also=(f"{compressor}.circuit",)),
        Field(
            "refrigerant",
            _of_number(say("units.refrigerant")),
            "choice",
            circuit,
            tuple((name, name) for name in names),
            needed=True,
            like="refrigerant",
            shown=len(usual),
        ),
        Field(
            "metering_device",
            _of_number(say("units.metering_device")),
            "choice",
            circuit,
            tuple(words.METERING_DEVICES.items()),
            needed=True,
            like="metering_device",
        ),
        *(replace(each, label=_of_number(each.label)) for each in _plate(system, circuit)),
        replace(rated, label=_of_number(rated.label)),
        Field(
            "ports", _of_number(say("units.ports")), "choice", circuit, tuple(words.PORTS.items()), several=True,
            optional=True,
        ),
    )  # fmt: skip


def _of_number(label: str) -> str:
    """Name of which circuit it is: the browser puts its number in."""
    return say("units.of_number", label=label)


def _compressor_path(parts: int) -> str:
    return f"{_SHEET}.parts.*{parts:+d}" if parts else f"{_SHEET}.parts.*"


def _compressor(parts: int) -> dict[str, str]:
    """Say of each circuit's compressor what nobody types."""
    path = _compressor_path(parts)
    return {f"{path}.kind": "motor", f"{path}.name": "compressor*", f"{path}.drives": "compressor"}


def _photographs(sheet: Sheet | None) -> Field:
    """Show the nameplate beside what is read from it."""
    had = tuple(sheet.photographs) if sheet else ()
    return Field("photographs", say("units.plate"), "photographs", _SHEET, several=True, had=had)


def _on_roof(sheet: Sheet, sheets: Mapping[str, Sheet], system: System) -> tuple[Field, ...]:
    """Ask where it stands on its roof, by touching it, and what the roof is like; all of it folded."""
    known = sheet.roof or Roof()
    into, metres = f"{_SHEET}.roof", "ft" if system == "us" else "m"
    spot = say("units.here")
    at = Field(
        "at",
        say("units.on_roof"),
        "spot",
        _SHEET,
        value=_spot(sheet.at),
        optional=True,
        drawing=roof.drawing_of(sheet, sheets, spot=spot),
    )
    hatch = Field(
        "hatch",
        say("units.hatch"),
        "spot",
        into,
        value=_spot(known.hatch),
        optional=True,
        drawing=replace(roof.drawing_of(sheet, sheets, spot=say("units.way_up")), hatch=None),
    )
    return (
        at,
        Field("roof_name", say("units.roof_name"), into=into, value=known.name, optional=True, to="name"),
        hatch,
        Field(
            "north", say("units.north"), "choice", into, tuple(words.NORTHS.items()), quantity="number",
            optional=True, to="north_deg",
        ),
        Field("width", say("units.width"), "number", into, unit=metres, quantity="length", optional=True, to="width_m"),
        Field("depth", say("units.depth"), "number", into, unit=metres, quantity="length", optional=True, to="depth_m"),
    )  # fmt: skip


def _spot(at: tuple[float, float] | None) -> str:
    return "" if at is None else f"{at[0]:g} {at[1]:g}"


def _country(code: str) -> Field:
    """Ask in which country it stands: whose law on leaks is told follows from it."""
    first = code or "US"
    by_name = sorted(countries().items(), key=lambda it: (it[0] != first, it[1]))
    return Field("country", say("units.country"), "choice", _SHEET, tuple(by_name), value=code, optional=True, shown=1)


def _texts(sheet: Sheet, folded: Sequence[str] = ()) -> Sequence[Field]:
    """Ask for what a sheet says in words. folded: what most often waits, as a photograph of the plate has it."""
    labels = {
        "place": say("units.place"),
        "access": say("units.access"),
        "model": say("units.model"),
        "serial": say("units.serial"),
    }
    return [
        Field(name, label, into=_SHEET, value=getattr(sheet, name), optional=name in folded)
        for name, label in labels.items()
    ]


def _plates(sheet: Sheet, system: System) -> Sequence[Field]:
    """Ask for the charge and the targets of every circuit."""
    return [
        replace(
            each,
            name=f"{each.name}_{index}" if index else each.name,
            label=say("units.of_circuit", label=each.label, name=circuit.name),
            to=each.name,
        )
        if len(sheet.circuits) > 1
        else each
        for index, circuit in enumerate(sheet.circuits)
        for each in _plate(system, f"{_CIRCUITS}.{index}")
    ]


def _names(sheet: Sheet) -> Sequence[Field]:
    """Ask how each circuit is marked, where that is otherwise than known; its compressor is of the same one then."""
    return [
        Field(
            f"name_{index}",
            say("units.marked", name=circuit.name),
            into=f"{_CIRCUITS}.{index}",
            value=circuit.name,
            optional=True,
            to="name",
            also=tuple(
                f"{_SHEET}.parts.{number}.circuit"
                for number, part in enumerate(sheet.parts)
                if isinstance(part, Motor) and part.circuit == circuit.name
            ),
        )
        for index, circuit in enumerate(sheet.circuits)
    ]


def _plate(system: System, circuit: str) -> Sequence[Field]:
    """Ask for the charge and the targets of a circuit."""
    asked = (
        ("charge_kg", say("units.charge"), Quantity.MASS),
        ("target_subcooling_dk", say("units.subcooling"), Quantity.TEMPERATURE_DIFFERENCE),
        ("target_superheat_dk", say("units.superheat"), Quantity.TEMPERATURE_DIFFERENCE),
    )
    return [
        Field(name, label, "number", circuit, unit=unit_of(kind, system), quantity=kind.name.lower())
        for name, label, kind in asked
    ]


def _amps(system: System) -> Sequence[Field]:
    """Ask for what the plate says of the fans."""
    return [
        _rated(name, "FLA", f"{drives}_a", f"{_SHEET}.parts.{index}", system)
        for index, (name, drives) in enumerate(_FANS)
    ]


def _rated(motor: str, word: str, name: str, into: str, system: System) -> Field:
    return Field(
        name,
        say("units.amps", motor=motor.capitalize(), word=word),
        "number",
        into,
        unit=unit_of(Quantity.CURRENT, system),
        quantity="current",
        to="rated_current_a",
    )
