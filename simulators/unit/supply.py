"""The supply at the compressor's terminals: sagging, unbalanced, or behind a loose lug."""

import math
from typing import NamedTuple

PART_IN_PHASE = math.sqrt(3.0) / 2.0
"""A drop in one phase shows with this part of it in each of the two line voltages that it belongs to."""


class Supply(NamedTuple):
    """Voltages between the terminals [V]. A single-phase unit has one, and the three are the same."""

    ab: float
    bc: float
    ca: float

    @property
    def average(self) -> float:
        """The mean of the three [V]."""
        return (self.ab + self.bc + self.ca) / 3.0

    @property
    def negative_sequence(self) -> float:
        """The negative over the positive sequence, from the magnitudes alone (IEC 61000-4-30, from memory) [1]."""
        squares = [voltage * voltage for voltage in self]
        beta = sum(square * square for square in squares) / sum(squares) ** 2
        root = math.sqrt(max(3.0 - 6.0 * beta, 0.0))
        return math.sqrt(max((1.0 - root) / (1.0 + root), 0.0))


def three_phase(average_v: float, *, unbalance: float, drop_a_v: float) -> Supply:
    """Give the three line voltages at the terminals.

    unbalance: greatest deviation over the average; phase a is the weak one. drop: lost in phase a's lug.

    >>> supply = three_phase(230.0, unbalance=0.02, drop_a_v=0.0)
    >>> round(supply.average, 6), round((supply.bc - supply.average) / supply.average, 6)
    (230.0, 0.02)
    """
    weak = average_v * (1.0 - unbalance / 2.0) - PART_IN_PHASE * drop_a_v
    return Supply(weak, average_v * (1.0 + unbalance), weak)


def single_phase(voltage_v: float, *, drop_v: float) -> Supply:
    """Give the one voltage at the terminals."""
    return Supply(voltage_v - drop_v, voltage_v - drop_v, voltage_v - drop_v)
