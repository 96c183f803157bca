"""The plate of each circuit and part, and by whom it is known: read at this visit, or from the record."""

from collections.abc import Iterator, Sequence

from calc.quantities import STANDARD_PRESSURE_PA, Quantity
from calc.wording import as_fine_as_known, difference, mass
from ingest.report.course import Course
from ingest.report.document import Block, Fields, Section, Statement
from ingest.report.said import NOT_RECORDED, listed, missing_last, said
from ingest.wire.messages import Described
from ingest.wire.sheet import Capacitor, Circuit, Contactor, Motor

_DEVICES = {"fixed_orifice": "fixed orifice", "txv": "TXV", "eev": "EEV"}
_KNOWN_BY = {"nameplate": "nameplate", "weighed_in": "weighed in", "calculated": "calculated", "": NOT_RECORDED}


def plate(course: Course) -> Section:
    """Say it."""
    if course.sheet is None:
        return Section("Plate", [Fields([("Sheet of the unit", said(NOT_RECORDED, course.visit_id))])])
    blocks: list[Block] = [Fields(missing_last(_unit(course)))]
    circuits: dict[str, list[str]] = {}
    for circuit in course.circuits:
        circuits.setdefault(_circuit(course, circuit), []).append(circuit.name)
    blocks.append(Fields([_of_circuits(course, names, text) for text, names in circuits.items()]))
    parts: dict[str, list[str]] = {}
    for part in course.sheet.parts:
        parts.setdefault(_part(course, part), []).append(part.name)
    if parts:
        told = [(", ".join(names), said(text, course.sheet_id, course.visit_id)) for text, names in parts.items()]
        blocks.append(Fields(missing_last(told)))
    return Section("Plate", blocks)


def _of_circuits(course: Course, names: Sequence[str], text: str) -> tuple[str, Statement]:
    named = f"Circuit {names[0]}" if len(names) == 1 else f"Circuits {listed(names)}, each"
    return named, said(text, course.sheet_id, course.site_ids)


def _unit(course: Course) -> Iterator[tuple[str, Statement]]:
    sheet = course.sheet
    assert sheet is not None  # noqa: S101 - the caller saw to it
    read_today = [it.id for it in course.marks if isinstance(it, Described) and it.sheet.tag == sheet.tag]
    yield "Known by", said("read at this visit" if read_today else "the record", read_today, course.sheet_id)
    model = ", ".join(filter(None, [sheet.model, sheet.serial and f"serial {sheet.serial}"]))
    yield "Model and serial number", _known(course, model)
    yield "Runs as", _known(course, {"cooling": "cooling", "heat_pump": "heat pump"}[sheet.mode])
    supply = [_amount(course, sheet.volts, "voltage"), f"{sheet.phases} phase" if sheet.phases else ""]
    yield (
        "Volts and phase",
        _known(course, ", ".join(filter(None, [*supply, _amount(course, sheet.hertz, "frequency")]))),
    )
    yield "MCA, MOCP", _known(course, _each(course, [("MCA", sheet.mca_a), ("MOCP", sheet.mocp_a)], "current"))
    for label, name in (("Filters", "filters"), ("Belt", "belt")):
        written = course.last_written("look_first", name)
        yield label, said(*written, course.visit_id) if written else _known(course, "")


def _circuit(course: Course, circuit: Circuit) -> str:
    charge = mass(circuit.charge_kg, course.system) if circuit.charge_kg is not None else ""
    targets = [
        f"{name} {difference(value, course.system)}"
        for name, value in (("superheat", circuit.target_superheat_dk), ("subcooling", circuit.target_subcooling_dk))
        if value is not None
    ]
    targets += ["superheat by the maker's charging chart"] if circuit.superheat_chart_k else []
    told = {
        "charge": f"full charge {charge} (by: {_KNOWN_BY[circuit.charge_known_by]})" if charge else "",
        "target": f"target {', '.join(targets)}" if targets else "",
        "design pressure": _named("high side", _amount(course, circuit.high_side_design_pressure_pa, "pressure")),
        "line set": _each(course, [("lines included", circuit.included_line_m), ("lines", circuit.line_m)], "length"),
    }
    known = [
        f"{circuit.refrigerant}, safety class {course.refrigerant(circuit).safety_class}",
        _DEVICES[circuit.metering_device],
        *filter(None, told.values()),
    ]
    missing = [name for name, text in told.items() if not text]
    known += [f"{NOT_RECORDED}: {', '.join(missing)}"] if missing else []
    return "; ".join(known)


def _named(name: str, amount: str) -> str:
    return f"{name} {amount}" if amount else ""


def _part(course: Course, part: Motor | Capacitor | Contactor) -> str:
    match part:
        case Motor():
            rated = "RLA" if part.drives == "compressor" else "FLA"
            told = _each(course, [(rated, part.rated_current_a), ("LRA", part.locked_rotor_a)], "current")
            told = ", ".join(filter(None, [told, _amount(course, part.volts, "voltage")]))
        case Capacitor():
            sections = _each(course, [("herm", part.herm_f), ("fan", part.fan_f)], "capacitance")
            within = "" if part.tolerance_share is None else f"±{100 * part.tolerance_share:g} %"
            more = [_amount(course, part.volts, "voltage"), _amount(course, part.hertz, "frequency"), part.date_code]
            told = ", ".join(filter(None, [sections, within, *more]))
        case Contactor():
            poles = f"{part.poles} poles" if part.poles else ""
            told = ", ".join(filter(None, [_each(course, [("coil", part.coil_volts)], "voltage"), poles]))
    return told or NOT_RECORDED


def _known(course: Course, text: str) -> Statement:
    return said(text, course.sheet_id) if text else said(NOT_RECORDED, course.visit_id)


def _amount(course: Course, value: float | None, kind: str) -> str:
    site_pa = course.site_pa if kind == Quantity.PRESSURE.name.lower() else STANDARD_PRESSURE_PA
    return "" if value is None else as_fine_as_known(value, None, kind, course.system, site_pa)


def _each(course: Course, amounts: list[tuple[str, float | None]], kind: str) -> str:
    return ", ".join(f"{name} {_amount(course, value, kind)}" for name, value in amounts if value is not None)
