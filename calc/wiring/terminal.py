"""Terminals: whether a conductor fits, how tight its screw must be, and how to find a joint that is loose."""

import json
import math
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from calc.elementwise import takes_arrays, within
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.wire_gauge import awg_number
from calc.wiring.tightening import Torque, of_gauge, of_maker

TORQUE_CAUTION = (
    "Lock out and tag, test dead. The torque on the terminal or in the maker's instructions wins; use a calibrated "
    "tool. A screw that turns a whole turn was loose: cut back burnt wire and replace a burnt terminal."
)
"""The whole turn: common practice, no source."""
JOINT_CAUTION = "Measured on live parts under load: only with the training, gloves and eye protection for live work."
SUSPECT_DROP_V = 0.1
"""A good joint drops some hundredths of a volt under load, a bad one tenths: a tutorial of the trade; no standard."""


class Fit(StrEnum):
    """How a conductor sits in a terminal."""

    FITS = "fits"
    TOO_THIN = "too thin"
    TOO_THICK = "too thick"
    TOO_MANY = "more conductors than it is marked for"


class Slot(StrEnum):
    """A slotted screw, No. 10 or larger: narrow is a slot up to 1.2 mm wide and 6.4 mm long, wide is beyond either."""

    NARROW = "narrow"
    WIDE = "wide"


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint under load: its resistance, the heat that it makes, and whether that is suspect."""

    resistance: Estimate
    heat: Estimate
    is_suspect: bool


def terminal_fit(
    gauge: str | int, *, thinnest: str | int, thickest: str | int, conductors: int = 1, marked_for: int = 1
) -> Fit:
    """Tell whether conductors fit a terminal: within the range marked on it, and no more of them than it is marked for.

    That is one, unless it says more: NEC 110.14(A).

    Args:
        gauge: of the conductor.
        thinnest: the end of the terminal's range with the higher number.
        thickest: the other end.
        conductors: how many are under the one screw, 1 to 100.
        marked_for: how many the terminal is marked for, 1 to 100.

    Raises:
        UnknownNameError: no such gauge.
        ArgumentError: the range is the wrong way round.
        CalcRangeError: beyond these limits.

    >>> terminal_fit("8", thinnest="14", thickest="10")  # by definition
    <Fit.TOO_THICK: 'too thick'>

    """
    number, most, least = awg_number(gauge), awg_number(thinnest), awg_number(thickest)
    if most < least:
        raise ArgumentError(f"{thinnest} is thicker than {thickest}: the thinnest has the higher gauge number")
    if within("conductors", conductors, 1, 100, "") > within("marked_for", marked_for, 1, 100, ""):
        return Fit.TOO_MANY
    if number > most:
        return Fit.TOO_THIN
    return Fit.FITS if number >= least else Fit.TOO_THICK


@takes_arrays
def torque(gauge: str | int, slot: Slot, *, maker_n_m: float | None = None) -> Torque:
    """Give how tight a terminal's screw must be: what its maker says, else NEC informative annex I, table I.1.

    Args:
        gauge: of the conductor, "18" to "2".
        slot: of the screw.
        maker_n_m: what is marked on the equipment or in its papers, 0.01 to 1000 [N m].

    Raises:
        UnknownNameError: the table has no such gauge.
        CalcRangeError: no such torque.

    >>> round(torque("12", Slot.WIDE).torque_n_m, 1)  # the table: 4.0 N m, 35 lbf in
    4.0

    """
    if maker_n_m is not None:
        return of_maker(maker_n_m)
    return of_gauge(_torques(), gauge, slot)


@takes_arrays
def joint(
    drop_v: float, current_a: float, *, drop_standard_uncertainty_v: float, current_standard_uncertainty_a: float
) -> Joint:
    """Compute the contact resistance and the heat of a joint from the millivolts across it under load.

    R = U / I and P = U I, with both instruments' uncertainties in quadrature (JCGM 100, 5.1.2). An ohmmeter cannot
    see it. Compare like joints on other legs: the one that stands out is the loose one. An open contact drops the
    whole supply; this is for joints that carry their load.

    Args:
        drop_v: across the joint, 0 to 50 [V].
        current_a: through it, 0.1 to 1e4 [A].
        drop_standard_uncertainty_v: half of the instrument's ± limit, 0 to 50 [V].
        current_standard_uncertainty_a: likewise, 0 to 1e4 [A].

    Raises:
        CalcRangeError: beyond these limits.

    >>> found = joint(0.5, 16.0, drop_standard_uncertainty_v=0.0, current_standard_uncertainty_a=0.0)
    >>> found.resistance.value, found.heat.value, found.is_suspect  # by the formulas
    (0.03125, 8.0, True)

    """
    within("drop_v", drop_v, 0.0, 50.0, "V")
    within("current_a", current_a, 0.1, 1e4, "A")
    within("drop_standard_uncertainty_v", drop_standard_uncertainty_v, 0.0, 50.0, "V")
    within("current_standard_uncertainty_a", current_standard_uncertainty_a, 0.0, 1e4, "A")
    resistance_ohm = drop_v / current_a
    return Joint(
        Estimate(
            resistance_ohm,
            math.hypot(drop_standard_uncertainty_v, resistance_ohm * current_standard_uncertainty_a) / current_a,
        ),
        Estimate(
            drop_v * current_a,
            math.hypot(current_a * drop_standard_uncertainty_v, drop_v * current_standard_uncertainty_a),
        ),
        drop_v >= SUSPECT_DROP_V,
    )


@cache
def _torques() -> dict[str, Any]:
    table: dict[str, Any] = json.loads(files("calc.data").joinpath("terminal_torque.json").read_text("utf-8"))
    return table
