"""The register as a table, one row a circuit, in CSV by RFC 4180. What is of the unit stands in its first row."""

import csv
import io
from collections.abc import Sequence

import msgspec

from ingest.register.columns import CIRCUIT_COLUMNS, NO_PORTS, PART_COLUMNS, UNIT_COLUMNS, cell
from ingest.wire.messages import Circuit, Sheet
from ingest.wire.sheet import Roof


def as_csv(sheets: Sequence[Sheet]) -> str:
    """Write sheets as a table: every column of unit and circuit, and of parts those that any of them fills."""
    rows = [row for sheet in sheets for row in _rows(sheet)]
    filled = {name for row in rows for name, text in row.items() if text}
    most_parts = max((len(sheet.parts) for sheet in sheets), default=0)
    parts = [f"part_{number}_{name}" for number in range(1, most_parts + 1) for name in PART_COLUMNS]
    columns = (*UNIT_COLUMNS.items(), *CIRCUIT_COLUMNS.items())
    own = [name for name, column in columns if name in ("circuit", column.field)]
    text = io.StringIO(newline="")
    table = csv.DictWriter(
        text, ["tag", *own, *(name for name in parts if name in filled)], restval="", extrasaction="ignore"
    )
    table.writeheader()
    table.writerows(rows)
    return text.getvalue()


def _rows(sheet: Sheet) -> list[dict[str, str]]:
    rows = [{"tag": cell(sheet.tag)} | _circuit(circuit) for circuit in sheet.circuits]
    rows[0] |= _unit(sheet)
    return rows


def _unit(sheet: Sheet) -> dict[str, str]:
    known = msgspec.structs.asdict(sheet)
    known["at_x_share"], known["at_y_share"] = sheet.at or (None, None)
    roof = sheet.roof or Roof()
    known["hatch_x_share"], known["hatch_y_share"] = roof.hatch or (None, None)
    known |= {f"roof_{name}": getattr(roof, name) for name in ("name", "north_deg", "width_m", "depth_m")}
    row = {field: cell(known[field]) for field in UNIT_COLUMNS if field in known}
    for number, part in enumerate(sheet.parts, start=1):
        figures = {"kind": part.kind} | msgspec.structs.asdict(part)
        row |= {f"part_{number}_{field}": cell(figures[field]) for field in PART_COLUMNS if field in figures}
    return row


def _circuit(circuit: Circuit) -> dict[str, str]:
    known = msgspec.structs.asdict(circuit)
    row = {
        name: cell(known[column.field]) for name, column in CIRCUIT_COLUMNS.items() if name in ("circuit", column.field)
    }
    return row | ({} if circuit.ports else {"ports": NO_PORTS})
