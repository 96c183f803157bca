"""A table of units, one row a circuit, read into sheets. Everything that is wrong with it is found in one go."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from calc.errors import CalcError
from ingest.checking.structure import Problem, find_problems, suggestion
from ingest.register.columns import CellError, Header, Value, header, known_names
from ingest.register.faults import FileFault, UnitsFileError, read_text
from ingest.visit.sheets import FIRST_CIRCUIT, faults
from ingest.wire.messages import Sheet
from ingest.wire.texts import shown

_AT = ("at_x_share", "at_y_share")
_HATCH = ("hatch_x_share", "hatch_y_share")
_ROOF = ("roof_name", "roof_north_deg", "roof_width_m", "roof_depth_m")


@dataclass(frozen=True, slots=True)
class _Place:
    line: int
    column: str


@dataclass(slots=True)
class _Row:
    """One row: its line, and its cells as they were read, by what they are of."""

    line: int
    tag: str
    cells: list[tuple[Header, str, Value]]


@dataclass(slots=True)
class _Unit:
    """What the rows of one tag say, and where each key of the sheet stands."""

    line: int
    unit: dict[str, Value] = field(default_factory=dict)
    circuits: list[dict[str, Value]] = field(default_factory=list)
    parts: dict[int, dict[str, Value]] = field(default_factory=dict)
    places: dict[str, _Place] = field(default_factory=dict)


def read_csv(path: Path) -> list[Sheet]:
    """Read the sheets of a table.

    Raises:
        UnitsFileError: with everything that is wrong with it.

    """
    text = read_text(path)
    wrong: list[FileFault] = []
    units = _units(_rows(text, wrong), wrong)
    sheets = [sheet for tag, unit in units.items() if (sheet := _sheet(tag, unit, wrong))]
    if not sheets and not wrong:
        wrong.append(
            FileFault(1, "", "it has no rows; a first row with the names of the columns, then units, were expected")
        )
    if wrong:
        raise UnitsFileError(path, wrong)
    return sheets


def _rows(text: str, wrong: list[FileFault]) -> Iterator[_Row]:
    first_line = text.partition("\n")[0]
    delimiter = max(",;\t", key=first_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    headers: dict[str, Header] | None = None
    names: list[str] = []
    line = 1
    try:
        for cells in reader:
            if headers is None:
                names = [name.strip().lower() for name in cells]
                headers = _headers(names, wrong)
            elif any(text.strip() for text in cells):
                yield _row(line, names, headers, cells, wrong)
            line = reader.line_num + 1
    except csv.Error as error:
        wrong.append(FileFault(line, "", f"it is no CSV from here on: {error}"))


def _headers(names: Sequence[str], wrong: list[FileFault]) -> dict[str, Header]:
    known: dict[str, Header] = {}
    first: dict[tuple[str, int, str], str] = {}
    for name in names:
        found = header(name)
        if found is None:
            if name:
                wrong.append(FileFault(1, shown(name), f"there is no such column{suggestion(name, known_names())}"))
            continue
        key = (found.of, found.part, found.column.field)
        if key in first:
            wrong.append(FileFault(1, name, f"{first[key]} says the same; keep one of them"))
        first.setdefault(key, name)
        known[name] = found
    fields = {column for _, _, column in first}
    wrong += [
        FileFault(1, needed, "this column is missing")
        for needed, of in (("tag", "tag"), ("refrigerant", "refrigerant"), ("metering_device", "metering_device"))
        if of not in fields
    ]
    return known


def _row(
    line: int, names: Sequence[str], headers: Mapping[str, Header], cells: Sequence[str], wrong: list[FileFault]
) -> _Row:
    row = _Row(line, "", [])
    if len(cells) > len(names) and any(text.strip() for text in cells[len(names) :]):
        wrong.append(FileFault(line, "", f"it has {len(cells)} cells, and the first row names {len(names)} columns"))
    for name, text in zip(names, (cell.strip() for cell in cells), strict=False):
        if not text:
            continue
        known = headers.get(name)
        if known is None:
            if not name:
                wrong.append(FileFault(line, "", f'"{shown(text)}" stands in a column without a name'))
            continue
        try:
            value = known.column.read(text)
        except (CellError, CalcError) as error:
            wrong.append(FileFault(line, name, f'"{shown(text)}": {error}'))
            continue
        if known.of == "tag":
            row.tag = str(value)
        else:
            row.cells.append((known, name, value))
    return row


def _units(rows: Iterator[_Row], wrong: list[FileFault]) -> dict[str, _Unit]:
    units: dict[str, _Unit] = {}
    for row in rows:
        if not row.tag:
            wrong.append(FileFault(row.line, "tag", "is empty: what is engraved on the unit was expected"))
            continue
        unit = units.setdefault(row.tag, _Unit(row.line))
        unit.places.setdefault("tag", _Place(row.line, "tag"))
        circuit: dict[str, Value] = {}
        at = f"circuits[{len(unit.circuits)}]"
        unit.circuits.append(circuit)
        unit.places[at] = _Place(row.line, "")
        for known, name, value in row.cells:
            place = _Place(row.line, name)
            match known.of:
                case "circuit":
                    circuit[known.column.field] = value
                    unit.places[f"{at}.{known.column.field}"] = place
                case "part":
                    key = f"part_{known.part}.{known.column.field}"
                    _once(unit, unit.parts.setdefault(known.part, {}), key, known, value, place, wrong)
                case _:
                    _once(unit, unit.unit, known.column.field, known, value, place, wrong)
    return units


def _once(
    unit: _Unit,
    into: dict[str, Value],
    key: str,
    known: Header,
    value: Value,
    place: _Place,
    wrong: list[FileFault],
) -> None:
    """Take what is of the unit and not of a circuit: in several rows it has to be the same."""
    before = into.setdefault(known.column.field, value)
    if before != value:
        first = unit.places[key]
        said = f"the unit has another one in line {first.line}; write it once, or alike"
        wrong.append(FileFault(place.line, place.column, said))
    unit.places.setdefault(key, place)


def _sheet(tag: str, unit: _Unit, wrong: list[FileFault]) -> Sheet | None:
    """Put a sheet together; None where that cannot be."""
    told = _told(tag, unit)
    problems = find_problems(told, Sheet)
    sheet = None if problems else msgspec.convert(told, Sheet)
    problems += faults(sheet) if sheet else []
    wrong += [_fault(unit, problem) for problem in problems]
    return sheet


def _told(tag: str, unit: _Unit) -> dict[str, object]:
    """Say what the rows say as a sheet does, and where each key of that stands."""
    if len(unit.circuits) == 1:
        unit.circuits[0].setdefault("name", FIRST_CIRCUIT)
    told: dict[str, object] = {"tag": tag, "circuits": unit.circuits, **unit.unit}
    parts = sorted(unit.parts.items())
    told["parts"] = [part for _, part in parts]
    for index, (number, part) in enumerate(parts):
        for name in part:
            unit.places[f"parts[{index}].{name}"] = place = unit.places[f"part_{number}.{name}"]
            unit.places.setdefault(f"parts[{index}]", _Place(place.line, f"part_{number}"))
    _spot(told, told, "at", _AT, unit)
    roof: dict[str, object] = {}
    for name in _ROOF:
        if name in told:
            roof[name.removeprefix("roof_")] = told.pop(name)
            unit.places[f"roof.{name.removeprefix('roof_')}"] = unit.places[name]
    _spot(told, roof, "roof.hatch", _HATCH, unit)
    return told | ({"roof": roof} if roof else {})


def _spot(told: dict[str, object], into: dict[str, object], key: str, columns: tuple[str, str], unit: _Unit) -> None:
    """Put the two shares of a spot together; one of which the other is missing is told of at its column."""
    spot = [told.pop(name, None) for name in columns]
    if spot == [None, None]:
        return
    into[key.rpartition(".")[2]] = spot
    line = next(unit.places[name].line for name in columns if name in unit.places)
    for index, name in enumerate(columns):
        unit.places[f"{key}[{index}]"] = unit.places.get(name, _Place(line, name))


def _fault(unit: _Unit, problem: Problem) -> FileFault:
    """Say of a key of the sheet where it stands in the file; what is missing, where it should."""
    key = problem.key
    value = "" if problem.value is None else f'"{shown(str(problem.value))}": '
    expected = problem.expected.replace("a text in quotes", "a text")  # as TOML would need it
    if key in unit.places:
        place = unit.places[key]
        return FileFault(place.line, place.column, f"{value}{expected}")
    whole, _, name = key.rpartition(".")
    place = unit.places.get(whole, _Place(unit.line, ""))
    column = f"{place.column}_{name}" if place.column else "circuit" if name == "name" else name
    return FileFault(place.line, column, f"{value}{expected}")
