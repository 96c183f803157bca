"""What a fan moves: by its maker's table at a static pressure, and by the fan laws at another speed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.uncertainty import propagate

_HIGHEST_STATIC_PA = 5e3
_SPEED_RATIO = (0.5, 1.5)
"""Farther from the speed where it was measured the laws are not trusted here: common practice, no source."""
NO_FAN_LAW = (
    "the same ducts, dampers, filter and coil, as wet or as dry: if one of them changes, measure again",
    "not for a motor that keeps its airflow or its torque by itself",
    "power at the shaft, not at the meter: see amps and the service factor of the motor before you speed it up",
    "not for the part of the static pressure that a control holds",
)
"""Where the fan laws do not hold, and what they do not tell."""


@dataclass(frozen=True, slots=True)
class FanPoint:
    """How a fan runs: airflow [m³/s], static pressure [Pa], power at its shaft [W], turns [1/s]."""

    airflow_m3_per_s: float
    static_pressure_pa: float
    shaft_power_w: float
    speed_hz: float


@takes_arrays
def external_static_pressure(supply_static: Estimate, return_static: Estimate) -> Estimate:
    """Give the static pressure that a unit works against: that of the supply side less that of the return side.

    Args:
        supply_static: after the unit, against the room, 0 to 5 kPa [Pa].
        return_static: before it, against the room, and so below zero: -5 kPa to 0 [Pa].

    Raises:
        CalcRangeError: beyond these limits.

    >>> external_static_pressure(Estimate(80.0, 2.0), Estimate(-70.0, 2.0)).value
    150.0

    """
    supply_pa, return_pa = supply_static.value, return_static.value
    within("supply_static", supply_pa, 0.0, _HIGHEST_STATIC_PA, "Pa", "the supply side lies above the room")
    because = "the return side lies below the room: write its minus"
    within("return_static", return_pa, -_HIGHEST_STATIC_PA, 0.0, "Pa", because)
    uncertainty_pa = math.hypot(supply_static.standard_uncertainty, return_static.standard_uncertainty)
    return Estimate(supply_pa - return_pa, uncertainty_pa)


@takes_arrays
def airflow_from_static(
    static: Estimate,
    table_static_pa: Sequence[float],
    *,
    table_airflow_m3_per_s: Sequence[float],
    table_standard_uncertainty_ratio: float,
) -> Estimate:
    """Read the airflow off the maker's table at the fan's own speed setting: straight between two columns.

    Between columns makers allow it, beyond the last one they do not ("interpolation is permissible, do not
    extrapolate": notes to fan tables in print).

    Args:
        static: external, as the table counts it, with what it was measured to within [Pa].
        table_static_pa: of the columns, rising [Pa].
        table_airflow_m3_per_s: of the columns, in the same order, 1e-3 to 100 [m³/s].
        table_standard_uncertainty_ratio: of the table itself, 0 to 0.2 [1].

    Returns:
        The airflow [m³/s]: as many cubic metres at any density, for a fan moves volume.

    Raises:
        ArgumentError: the columns do not make a table.
        CalcRangeError: the static pressure is beyond the table.

    >>> cfm, inch_pa = 0.3048**3 / 60, 249.0889
    >>> found = airflow_from_static(Estimate(0.5 * inch_pa, 0.0), (0.4 * inch_pa, 0.6 * inch_pa),
    ...     table_airflow_m3_per_s=(1300 * cfm, 1200 * cfm), table_standard_uncertainty_ratio=0.0)
    >>> round(found.value / cfm)  # halfway
    1250

    """
    columns = list(zip(table_static_pa, table_airflow_m3_per_s, strict=False))
    if not len(columns) == len(table_static_pa) == len(table_airflow_m3_per_s) or len(columns) < 2:
        raise ArgumentError("the fan table needs two columns or more, and as many airflows as static pressures")
    if any(left >= right for left, right in pairwise(table_static_pa)):
        raise ArgumentError("the static pressures of the fan table must rise from column to column")
    for airflow in table_airflow_m3_per_s:
        within("table_airflow_m3_per_s", airflow, 1e-3, 100.0, "m³/s")
    share = within("table_standard_uncertainty_ratio", table_standard_uncertainty_ratio, 0.0, 0.2, "")

    def read(static_pa: float) -> float:
        because = "the table ends there, and is not to be extrapolated: see the speed setting, or a wider table"
        within("static", static_pa, columns[0][0], columns[-1][0], "Pa", because)
        (low_pa, low), (high_pa, high) = next(pair for pair in pairwise(columns) if static_pa <= pair[1][0])
        return low + (high - low) * (static_pa - low_pa) / (high_pa - low_pa)

    found = propagate(read, {"static_pa": static}).estimate
    return Estimate(found.value, math.hypot(found.standard_uncertainty, share * found.value))


def fan_laws(
    airflow_m3_per_s: float,
    static_pressure_pa: float,
    *,
    shaft_power_w: float,
    speed_hz: float,
    other_speed_hz: float,
    density_ratio: float = 1.0,
) -> FanPoint:
    """Tell how the same fan in the same ducts runs at another speed.

    Airflow goes with the speed, static pressure with its square, power with its cube; both of these with the density
    of the air too (fan laws, as fan makers print them). Where they do not hold: `NO_FAN_LAW`.

    Args:
        airflow_m3_per_s: measured, 0 to 100 [m³/s].
        static_pressure_pa: measured, 0 to 5 kPa [Pa].
        shaft_power_w: at the shaft, 0 to 1 MW [W].
        speed_hz: turns, above 0 to 200 [1/s].
        other_speed_hz: 0.5 to 1.5 of that [1/s].
        density_ratio: of the air then to the air when measured, 0.5 to 2 [1].

    Raises:
        CalcRangeError: beyond these limits.

    >>> then = fan_laws(15800.0 * 0.3048**3 / 60, 100.0, shaft_power_w=6.3, speed_hz=15.8, other_speed_hz=20.0)
    >>> round(then.shaft_power_w, 3)  # 6.3 hp at 15,800 cfm are 12.778 at 20,000: a calculator's manual
    12.778

    """
    within("airflow_m3_per_s", airflow_m3_per_s, 0.0, 100.0, "m³/s")
    within("static_pressure_pa", static_pressure_pa, 0.0, _HIGHEST_STATIC_PA, "Pa")
    within("shaft_power_w", shaft_power_w, 0.0, 1e6, "W")
    within("speed_hz", speed_hz, 0.01, 200.0, "1/s")
    low_hz, high_hz = (share * speed_hz for share in _SPEED_RATIO)
    within("other_speed_hz", other_speed_hz, low_hz, high_hz, "1/s", "so far off the fan laws are not trusted here")
    density = within("density_ratio", density_ratio, 0.5, 2.0, "")
    faster = other_speed_hz / speed_hz
    return FanPoint(
        airflow_m3_per_s=airflow_m3_per_s * faster,
        static_pressure_pa=static_pressure_pa * faster**2 * density,
        shaft_power_w=shaft_power_w * faster**3 * density,
        speed_hz=other_speed_hz,
    )
