"""What the supply gives before the unit draws anything: phasors of each leg against earth, and what is wrong with them.

A leg is `a`, `b` or `c`; a single-phase unit has the first two.
"""

import cmath
import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

Leg = Literal["a", "b", "c"]
LEGS: tuple[Leg, Leg, Leg] = ("a", "b", "c")
SERVICE_IMPEDANCE_OHM = complex(0.03, 0.01)
"""Of each leg up to the disconnect: transformer and wires (common practice, no source)."""

TURN = cmath.rect(1.0, 2.0 * math.pi / 3.0)
"""A third of a turn forwards."""


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply with its faults.

    line: volts between two legs without faults. sag: part of it that is missing. unbalance: greatest deviation of the
    three over their average, as NEMA MG 1 defines it; leg a is the weak one. two_of_three: single phase taken from two
    legs of three, as 208 V is, and not from the two ends of one winding, as 240/120 V are. lost: legs that are dead.
    order: which of the source's legs stands at the unit's a, b and c.
    """

    phases: Literal[1, 3] = 3
    line_v: float = 230.0
    sag: float = 0.0
    unbalance: float = 0.0
    two_of_three: bool = False
    impedance_ohm: complex = SERVICE_IMPEDANCE_OHM
    frequency_hz: float = 60.0
    lost: frozenset[Leg] = frozenset()
    order: tuple[Leg, ...] = LEGS

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Its legs."""
        return LEGS[: 2 if self.phases == 1 else 3]

    def leg_voltages(self) -> dict[Leg, complex]:
        """Give each leg against earth, as it stands at the unit, with nothing drawn; a lost leg as if it were there.

        >>> split = Supply(phases=1, line_v=240.0).leg_voltages()
        >>> abs(split["a"]), abs(split["a"] - split["b"])
        (120.0, 240.0)
        >>> legs = Supply(phases=1, line_v=208.0, two_of_three=True).leg_voltages()
        >>> round(abs(legs["a"]), 1), round(abs(legs["a"] - legs["b"]), 1)
        (120.1, 208.0)
        """
        source = self._source()
        return {leg: source[self.order[index]] for index, leg in enumerate(self.legs)}

    def _source(self) -> dict[Leg, complex]:
        line_v = self.line_v * (1.0 - self.sag)
        if self.phases == 3:
            return _three_phase(line_v, self.unbalance)
        if self.two_of_three:
            to_earth = cmath.rect(line_v / math.sqrt(3.0), math.pi / 3.0)
            return {"a": to_earth, "b": to_earth.conjugate()}
        return {"a": complex(line_v / 2.0), "b": complex(-line_v / 2.0)}


def _three_phase(average_v: float, unbalance: float) -> dict[Leg, complex]:
    """Lay the triangle of line voltages about its own middle, which is earthed; a leads b, and b leads c."""
    base_v = average_v * (1.0 + unbalance)
    side_v = average_v * (1.0 - unbalance / 2.0)
    height_v = math.sqrt(side_v**2 - (base_v / 2.0) ** 2)
    return {
        "a": complex(0.0, 2.0 / 3.0 * height_v),
        "b": complex(base_v / 2.0, -height_v / 3.0),
        "c": complex(-base_v / 2.0, -height_v / 3.0),
    }


class Sequences(NamedTuple):
    """Symmetrical components of three phasors (Fortescue)."""

    zero: complex
    positive: complex
    negative: complex


def sequences(a: complex, b: complex, c: complex) -> Sequences:
    """Split three phasors into zero, positive and negative sequence.

    >>> [round(abs(part), 9) for part in sequences(1, TURN**2, TURN)]
    [0.0, 1.0, 0.0]
    """
    turn, back = TURN, TURN.conjugate()
    return Sequences((a + b + c) / 3.0, (a + turn * b + back * c) / 3.0, (a + back * b + turn * c) / 3.0)
