"""How tight a lug must be whose screw has a hexagon: one for a wrench outside, or a socket for a key inside.

A box lug is tightened by whatever its screw has: a slot (`calc.wiring.torque`), a socket, or a hexagon.
"""

import json
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.wiring.tightening import LBF_IN_N_M, Torque, of_gauge, of_maker

_INCH_M = 0.0254
_KEY_PLAY_M = 0.1e-3
"""By how much a key may differ from its socket: common practice, no source."""


class Connector(StrEnum):
    """What a hexagon head for a wrench tightens: a split bolt, or any other connector."""

    SPLIT_BOLT = "split_bolt"
    OTHER = "other"


def hexagon_torque(gauge: str | int, connector: Connector, *, maker_n_m: float | None = None) -> Torque:
    """Give how tight a hexagon head must be, turned by a wrench: what its maker says, else NEC annex I, table I.1.

    Args:
        gauge: of the conductor, "18" to "4/0".
        connector: what it tightens.
        maker_n_m: what is marked on the equipment or in its papers, 0.01 to 1000 [N m].

    Raises:
        UnknownNameError: the table has no such gauge.
        CalcRangeError: no such torque.

    >>> round(hexagon_torque("2", Connector.SPLIT_BOLT).torque_n_m, 1)  # the table: 31.1 N m, 275 lbf in
    31.1

    """
    if maker_n_m is not None:
        return of_maker(maker_n_m)
    return of_gauge(_tables()["hexagon"], gauge, connector, known=("18 AWG", "and thicker, up to 4/0"))


@takes_arrays
def socket_torque(across_flats_m: float, *, maker_n_m: float | None = None) -> Torque:
    """Give how tight a screw with a hexagon or square socket must be: what its maker says, else NEC annex I, table I.3.

    Args:
        across_flats_m: the width of the socket, or of the key that fits it, one of the table's within 0.1 mm [m].
        maker_n_m: what is marked on the equipment or in its papers, 0.01 to 1000 [N m].

    Raises:
        CalcRangeError: no such torque, or no width from 1/8 to 9/16 in.
        ArgumentError: the table has no such width.

    >>> round(socket_torque(0.25 * 0.0254).torque_n_m, 1)  # the table: 22.6 N m, 200 lbf in
    22.6

    """
    if maker_n_m is not None:
        return of_maker(maker_n_m)
    rows = [(_INCH_M * row["sixteenths"] / 16, row) for row in _tables()["socket"]["rows"]]
    low_m, high_m = rows[0][0] - _KEY_PLAY_M, rows[-1][0] + _KEY_PLAY_M
    within("across_flats_m", across_flats_m, low_m, high_m, "m", "the table's sockets are of 1/8 to 9/16 in")
    width_m, row = min(rows, key=lambda each: abs(each[0] - across_flats_m))
    if abs(width_m - across_flats_m) > _KEY_PLAY_M:
        known = ", ".join(row["width"] for _, row in rows)
        raise ArgumentError(f"the table has no socket of {1000 * across_flats_m:.2f} mm across the flats, only {known}")
    return Torque(row["lbf_in"] * LBF_IN_N_M, _tables()["socket"]["source"])


@cache
def _tables() -> dict[str, Any]:
    tables: dict[str, Any] = json.loads(files("calc.data").joinpath("lug_torque.json").read_text("utf-8"))
    return tables
