"""The supply as phasors, against earth and between legs."""

import cmath
import math

import pytest

from simulators.unit.electric.supply import Supply, sequences


def test_three_phases_are_a_third_of_a_turn_apart_and_earthed_in_their_middle() -> None:
    """IEC 60038 counts a three-phase supply by line and by phase voltage: 400/230, 480/277 (sqrt 3 apart)."""
    legs = Supply(line_v=480.0).leg_voltages()
    assert [abs(volts) for volts in legs.values()] == pytest.approx([277.13] * 3, abs=0.01)
    turns = [math.degrees(cmath.phase(legs[one] / legs[other])) for one, other in ("ab", "bc", "ca")]
    assert turns == pytest.approx([120.0] * 3)


@pytest.mark.parametrize("unbalance", [0.0, 0.01, 0.03, 0.1])
def test_unbalance_is_the_greatest_deviation_over_the_average(unbalance: float) -> None:
    """NEMA MG 1, 14.36. Its negative sequence is that of IEC 61000-4-30 from magnitudes alone (from memory)."""
    a, b, c = Supply(unbalance=unbalance).leg_voltages().values()
    lines = [abs(a - b), abs(b - c), abs(c - a)]
    mean = sum(lines) / 3.0
    assert mean == pytest.approx(230.0)
    assert max(abs(line - mean) for line in lines) / mean == pytest.approx(unbalance, abs=1e-9)
    beta = sum(line**4 for line in lines) / sum(line**2 for line in lines) ** 2
    root = math.sqrt(3.0 - 6.0 * beta) if unbalance else 1.0
    parts = sequences(a, b, c)
    assert abs(parts.negative / parts.positive) == pytest.approx(math.sqrt((1.0 - root) / (1.0 + root)), abs=1e-6)
    assert abs(parts.zero) == pytest.approx(0.0, abs=1e-9)


def test_swapped_legs_turn_the_other_way() -> None:
    """Fortescue: with two legs exchanged, positive and negative sequence change places."""
    parts = sequences(*Supply(order=("a", "c", "b")).leg_voltages().values())
    assert abs(parts.positive) == pytest.approx(0.0, abs=1e-9)
    assert abs(parts.negative) == pytest.approx(230.0 / math.sqrt(3.0))


def test_a_sag_takes_the_same_part_of_every_leg() -> None:
    for supply in (Supply(sag=0.2), Supply(phases=1, sag=0.2), Supply(phases=1, two_of_three=True, sag=0.2)):
        legs = supply.leg_voltages()
        assert abs(legs["a"] - legs["b"]) == pytest.approx(0.8 * 230.0)
