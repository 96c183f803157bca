"""A unit's sheet: what is wrong with one, and how it and what the rig tells of a circuit follow from each other."""

import re
from collections.abc import Iterable, Mapping, Sequence

from msgspec import to_builtins
from msgspec.structs import replace

from calc import refrigerants
from calc.charging_chart import ChartPoint, check_chart
from calc.countries import countries
from calc.errors import CalcError
from ingest.checking import plate
from ingest.checking.check import Check
from ingest.checking.plate import Span
from ingest.checking.structure import Problem, suggestion
from ingest.wire.messages import LARGEST_SHEET_BYTES, UnitAbout, encode
from ingest.wire.sheet import Capacitor, Circuit, Contactor, Motor, Roof, Sheet, Spot
from ingest.wire.texts import LONGEST_NAME, LONGEST_TEXT, as_seen, is_empty

MOST_CIRCUITS = 12
MOST_PARTS = 60
MOST_PHOTOGRAPHS = 20
MOST_POINTS = 120
"""Of a unit, a part, or a circuit's charging chart. All four: more than any unit has; common practice, no source."""

FIRST_CIRCUIT = "1"
"""What the only circuit is called where nobody named it."""

_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")


def faults(sheet: Sheet) -> list[Problem]:
    """Find everything that is wrong with a sheet, each by its key in it, such as `circuits[0].charge_kg`."""
    check = Check([])
    _name(check, "tag", sheet.tag, "what is engraved on the unit was expected")
    for key in ("place", "access"):
        _text(check, key, getattr(sheet, key), LONGEST_TEXT)
    for key in ("model", "serial"):
        _text(check, key, getattr(sheet, key), LONGEST_NAME)
    if sheet.country and sheet.country not in countries():
        check.wrong("country", sheet.country, "is no code of a country, such as US or DE: two capitals, ISO 3166-1")
    _spot(check, "at", sheet.at)
    if sheet.roof is not None:
        _roof(check, sheet.roof)
    _ids(check, "sketch", [sheet.sketch] if sheet.sketch else [])
    _ids(check, "photographs", sheet.photographs)
    _within(check, "volts", sheet.volts, plate.SUPPLY_V)
    _within(check, "hertz", sheet.hertz, plate.HERTZ)
    _within(check, "mca_a", sheet.mca_a, plate.CIRCUIT_A)
    _within(check, "mocp_a", sheet.mocp_a, plate.CIRCUIT_A)
    _circuits(check, sheet.circuits)
    _parts(check, sheet)
    if not check.problems and (size := len(encode(sheet))) > LARGEST_SHEET_BYTES:
        check.wrong("the sheet", None, f"has {size} bytes; at most {LARGEST_SHEET_BYTES} are kept: shorten its texts")
    return check.problems


def about(sheet: Sheet, circuit: str) -> UnitAbout:
    """Tell of one circuit of a sound sheet what the rig works with. KeyError where it has none of that name.

    Rated amps are given where the plates of all motors that they could be of agree.
    """
    known = next((each for each in sheet.circuits if each.name == circuit), None)
    if known is None:
        raise KeyError(circuit)
    refrigerant = refrigerants.get(known.refrigerant)
    motors = [part for part in sheet.parts if isinstance(part, Motor)]
    is_only = len(sheet.circuits) == 1
    ours = [motor for motor in motors if motor.circuit == circuit or (is_only and not motor.circuit)]
    return UnitAbout(
        tag=sheet.tag,
        place=sheet.place,
        refrigerant=refrigerant.designation,
        safety_class=refrigerant.safety_class,
        metering_device=known.metering_device,
        charge_as_liquid=refrigerant.charge_as_liquid,
        target_superheat_dk=known.target_superheat_dk,
        target_subcooling_dk=known.target_subcooling_dk,
        nameplate_charge_kg=known.charge_kg,
        compressor_rla_a=_rated_a(motor for motor in ours if motor.drives == "compressor"),
        condenser_fan_fla_a=_rated_a(motor for motor in motors if motor.drives == "condenser_fan"),
        blower_fla_a=_rated_a(motor for motor in motors if motor.drives == "blower"),
        high_side_design_pressure_pa=known.high_side_design_pressure_pa,
        circuit=known.name,
        superheat_chart_k=tuple((out, wet, figure) for out, wet, figure in known.superheat_chart_k),
    )


def has_circuit(sheet: Sheet, circuit: str) -> bool:
    """Tell whether a sheet has a circuit of this name."""
    return any(each.name == circuit for each in sheet.circuits)


def from_about(unit: UnitAbout) -> Sheet:
    """Make the sheet of a unit that is known by its configuration only."""
    circuit = unit.circuit or FIRST_CIRCUIT
    rated = (
        Motor("compressor", drives="compressor", circuit=circuit, rated_current_a=unit.compressor_rla_a),
        Motor("condenser fan", drives="condenser_fan", rated_current_a=unit.condenser_fan_fla_a),
        Motor("blower", drives="blower", rated_current_a=unit.blower_fla_a),
    )
    return Sheet(
        tag=unit.tag,
        place=unit.place,
        circuits=[
            Circuit(
                name=circuit,
                refrigerant=unit.refrigerant,
                metering_device=unit.metering_device,
                charge_kg=unit.nameplate_charge_kg,
                charge_known_by="" if unit.nameplate_charge_kg is None else "nameplate",
                target_superheat_dk=unit.target_superheat_dk,
                target_subcooling_dk=unit.target_subcooling_dk,
                high_side_design_pressure_pa=unit.high_side_design_pressure_pa,
                superheat_chart_k=unit.superheat_chart_k,
            )
        ],
        parts=[motor for motor in rated if motor.rated_current_a is not None],
    )


def compared(sheet: Sheet) -> Sheet:
    """Give a sheet as one with the same contents compares equal, whatever its sequences were made of.

    A roof of which nothing is said is none.
    """
    return replace(
        sheet,
        circuits=tuple(
            replace(circuit, ports=tuple(circuit.ports), superheat_chart_k=tuple(map(tuple, circuit.superheat_chart_k)))
            for circuit in sheet.circuits
        ),
        parts=tuple(replace(part, photographs=tuple(part.photographs)) for part in sheet.parts),
        photographs=tuple(sheet.photographs),
        roof=None if sheet.roof == Roof() else sheet.roof,
    )


def changed_circuits(before: Sheet, after: Sheet) -> list[tuple[Circuit, Circuit | None]]:
    """Find the circuits of which refrigerant or charge would change, each with what it would be; None where it goes."""
    later = {circuit.name: circuit for circuit in after.circuits}
    return [
        (circuit, later.get(circuit.name))
        for circuit in before.circuits
        if not _alike(circuit, later.get(circuit.name))
    ]


def differences(before: Sheet, after: Sheet) -> list[str]:
    """Name what two sheets say differently: by its key, in a circuit or a part with the name of that."""
    one, other = compared(before), compared(after)
    found = _unlike(to_builtins(one), to_builtins(other), ("circuits", "parts"))
    for what in ("circuits", "parts"):
        was, would_be = ({each.name: to_builtins(each) for each in getattr(it, what)} for it in (one, other))
        for name in dict.fromkeys([*was, *would_be]):
            if name not in was or name not in would_be:
                found.append(f"{what[:-1]} {name}")
                continue
            found += [f"{what[:-1]} {name}: {key}" for key in _unlike(was[name], would_be[name])]
    return found


def _unlike(before: Mapping[str, object], after: Mapping[str, object], besides: Sequence[str] = ()) -> list[str]:
    keys = dict.fromkeys([*before, *after])
    return [key for key in keys if key not in besides and before.get(key) != after.get(key)]


def _alike(before: Circuit, after: Circuit | None) -> bool:
    return (
        after is not None
        and before.charge_kg == after.charge_kg
        and refrigerants.get(before.refrigerant).designation == refrigerants.get(after.refrigerant).designation
    )


def _rated_a(motors: Iterable[Motor]) -> float | None:
    rated = {motor.rated_current_a for motor in motors}
    return rated.pop() if len(rated) == 1 else None


def _roof(check: Check, roof: Roof) -> None:
    _text(check, "roof.name", roof.name, LONGEST_NAME)
    _within(check, "roof.north_deg", roof.north_deg, plate.NORTH_DEG)
    _spot(check, "roof.hatch", roof.hatch)
    _within(check, "roof.width_m", roof.width_m, plate.ROOF_M)
    _within(check, "roof.depth_m", roof.depth_m, plate.ROOF_M)


def _spot(check: Check, key: str, spot: Spot | None) -> None:
    for index, share in enumerate(spot or ()):
        _within(check, f"{key}[{index}]", share, plate.SHARE)


def _circuits(check: Check, circuits: Sequence[Circuit]) -> None:
    if not 1 <= len(circuits) <= MOST_CIRCUITS:
        check.wrong("circuits", None, f"there are {len(circuits)}; 1 to {MOST_CIRCUITS} were expected")
    seen: dict[str, str] = {}
    for index, circuit in enumerate(circuits):
        key = f"circuits[{index}]"
        _name(check, f"{key}.name", circuit.name, 'as marked on the unit was expected, or "1" where there is only one')
        check.first(seen, f"{key}.name", as_seen(circuit.name))
        try:
            refrigerants.get(circuit.refrigerant)
        except CalcError as error:
            check.wrong(f"{key}.refrigerant", circuit.refrigerant, str(error))
        for field, span in _CIRCUIT_SPANS.items():
            _within(check, f"{key}.{field}", getattr(circuit, field), span)
        if circuit.charge_known_by and circuit.charge_kg is None:
            check.wrong(f"{key}.charge_kg", None, f"is missing, though it is known by: {circuit.charge_known_by}")
        if len(set(circuit.ports)) != len(circuit.ports):
            check.wrong(f"{key}.ports", None, "one is named twice")
        if circuit.superheat_chart_k:
            _chart(check, f"{key}.superheat_chart_k", circuit)


def _chart(check: Check, key: str, circuit: Circuit) -> None:
    """Check a charging chart: it is of a fixed orifice, and the only target of its superheat."""
    if circuit.metering_device != "fixed_orifice":
        check.wrong(key, None, "is there, but an expansion valve is charged by subcooling: leave it out")
    if circuit.target_superheat_dk is not None:
        check.wrong(key, None, "is there beside target_superheat_dk: keep the one that the maker prints")
    if len(circuit.superheat_chart_k) > MOST_POINTS:
        check.wrong(key, None, f"has {len(circuit.superheat_chart_k)} values; at most {MOST_POINTS} are kept")
    for index, (_, _, superheat_dk) in enumerate(circuit.superheat_chart_k):
        _within(check, f"{key}[{index}][2]", superheat_dk, plate.TARGET_DK)
    try:
        check_chart([ChartPoint(*point) for point in circuit.superheat_chart_k])
    except CalcError as error:
        check.wrong(key, None, str(error))


_CIRCUIT_SPANS = {
    "charge_kg": plate.CHARGE_KG,
    "target_superheat_dk": plate.TARGET_DK,
    "target_subcooling_dk": plate.TARGET_DK,
    "high_side_design_pressure_pa": plate.HIGH_SIDE_DESIGN_PA,
    "low_side_design_pressure_pa": plate.LOW_SIDE_DESIGN_PA,
    "included_line_m": plate.LINE_M,
    "line_m": plate.LINE_M,
    "liquid_line_m": plate.LIQUID_LINE_M,
}


def _parts(check: Check, sheet: Sheet) -> None:
    if len(sheet.parts) > MOST_PARTS:
        check.wrong("parts", None, f"there are {len(sheet.parts)}; at most {MOST_PARTS} are kept")
    circuits = [circuit.name for circuit in sheet.circuits]
    seen: dict[str, str] = {}
    for index, part in enumerate(sheet.parts):
        key = f"parts[{index}]"
        _name(check, f"{key}.name", part.name, 'such as "compressor" or "run capacitor" was expected')
        check.first(seen, f"{key}.name", as_seen(part.name))
        if as_seen(part.name) in map(as_seen, circuits):
            check.wrong(f"{key}.name", part.name, "is a circuit's name too, and a probe is put on either: add a word")
        _ids(check, f"{key}.photographs", part.photographs)
        match part:
            case Motor():
                _motor(check, key, part, circuits)
            case Capacitor():
                _within(check, f"{key}.herm_f", part.herm_f, plate.CAPACITOR_F)
                _within(check, f"{key}.fan_f", part.fan_f, plate.CAPACITOR_F)
                _within(check, f"{key}.tolerance_share", part.tolerance_share, plate.TOLERANCE_SHARE)
                _within(check, f"{key}.volts", part.volts, plate.CAPACITOR_V)
                _within(check, f"{key}.hertz", part.hertz, plate.HERTZ)
                _text(check, f"{key}.date_code", part.date_code, LONGEST_NAME)
            case Contactor():
                _within(check, f"{key}.coil_volts", part.coil_volts, plate.COIL_V)
                _within(check, f"{key}.poles", part.poles, plate.POLES)


def _motor(check: Check, key: str, motor: Motor, circuits: Sequence[str]) -> None:
    rated = plate.COMPRESSOR_RATED_A if motor.drives == "compressor" else plate.FAN_RATED_A
    _within(check, f"{key}.rated_current_a", motor.rated_current_a, rated)
    _within(check, f"{key}.locked_rotor_a", motor.locked_rotor_a, plate.LOCKED_ROTOR_A)
    _within(check, f"{key}.volts", motor.volts, plate.SUPPLY_V)
    if motor.rated_current_a and motor.locked_rotor_a and motor.locked_rotor_a <= motor.rated_current_a:
        expected = f"more than its rated {motor.rated_current_a:g} A was expected: are the two exchanged?"
        check.wrong(f"{key}.locked_rotor_a", motor.locked_rotor_a, expected)
    if motor.circuit and motor.circuit not in circuits:
        hint = suggestion(motor.circuit, circuits)
        check.wrong(f"{key}.circuit", motor.circuit, f"the unit has no circuit of that name{hint}")


def _within(check: Check, key: str, value: float | None, span: Span) -> None:
    check.within(key, value, span.least, span.most)


def _name(check: Check, key: str, text: str, expected: str) -> None:
    if is_empty(text):
        check.wrong(key, text, expected)
    _text(check, key, text, LONGEST_NAME)


def _text(check: Check, key: str, text: str, longest: int) -> None:
    check.seen(key, text, longest)
    if text != text.strip():
        check.wrong(key, text, "has a space at an end; leave it out, or it is another name")


def _ids(check: Check, key: str, photographs: Sequence[str]) -> None:
    if len(photographs) > MOST_PHOTOGRAPHS:
        check.wrong(key, None, f"there are {len(photographs)}; at most {MOST_PHOTOGRAPHS} are kept")
    for photograph in photographs:
        if not _ID.fullmatch(photograph):
            check.wrong(key, photograph, "the id of a photograph was expected: 1 to 64 letters, digits, - and _")
