"""How tight a screw must be, and who says so: the maker first, else a table by the conductor's gauge."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calc.elementwise import within
from calc.errors import UnknownNameError
from calc.wire_gauge import awg_number

LBF_IN_N_M = 0.0254 * 0.45359237 * 9.80665


@dataclass(frozen=True, slots=True)
class Torque:
    """How tight, and who says so."""

    torque_n_m: float
    source: str


def of_maker(maker_n_m: float) -> Torque:
    """Take what the maker says, 0.01 to 1000 N m."""
    return Torque(within("maker_n_m", maker_n_m, 0.01, 1000.0, "N m"), "the maker")


def of_gauge(table: Mapping[str, Any], gauge: str | int, screw: str, *, known: Sequence[str] = ()) -> Torque:
    """Look a conductor up in a shipped table.

    Args:
        table: its source, and rows of gauges with pound-force inches for each kind of screw.
        gauge: of the conductor.
        screw: which kind.
        known: the gauges to name to whoever asks for another one; all of the table if none.

    Raises:
        UnknownNameError: the table has no such gauge.

    """
    rows = {awg_number(each): row for row in table["rows"] for each in row["gauges"]}
    number = awg_number(gauge)
    if number not in rows:
        raise UnknownNameError("wire gauge of the torque table", str(gauge), known or tuple(map(str, rows)))
    return Torque(rows[number][f"{screw}_lbf_in"] * LBF_IN_N_M, table["source"])
