"""Refrigerant that leaves a cylinder is proposed as a move; what disturbs a scale is tried in tests/calc."""

import random
from typing import Any

import pytest
from msgspec.structs import replace

from ingest.wire.messages import ProposedMove
from tests.ingest.noticing.courses import SHEET, T0_S, Course, known

OZ = 0.028349523125  # NIST SP 811, B.8


def test_a_move_is_proposed_once_with_when_it_was() -> None:
    noise = random.Random(3)
    course = Course(of=known(cylinder="c7"), spreads={"cylinder_mass": 0.008})

    def stands(mass_kg: float) -> float:
        return round(mass_kg + noise.gauss(0.0, 0.001), 3)

    course.go(200.0, cylinder_mass=lambda _: stands(9.0))
    course.go(60.0, cylinder_mass=lambda t_s: stands(9.0 - t_s / 60.0 * 6.2 * OZ))
    course.go(300.0, cylinder_mass=lambda _: stands(9.0 - 6.2 * OZ))
    (seen,) = course.proposed
    assert isinstance(seen.what, ProposedMove)
    assert seen.what.mass_kg == pytest.approx(6.2 * OZ, abs=0.1 * OZ)
    assert seen.what.cylinder == "c7"
    assert seen.what.standard_uncertainty_kg >= 0.008
    assert (seen.from_s - T0_S, seen.to_s - T0_S) == (pytest.approx(200, abs=15), pytest.approx(260, abs=15))
    assert seen.time_s - seen.to_s <= 200.0
    in_view = "left the cylinder while circuit 1 was in view. Keep it for that circuit?"
    assert seen.says.us == f"6.2 oz {in_view}"
    assert seen.says.si == f"{1000 * seen.what.mass_kg:.0f} g {in_view}"
    assert seen.what.circuit == "1"


ONE = replace(SHEET, circuits=SHEET.circuits[:1])


@pytest.mark.parametrize(
    ("of", "circuit", "says"),
    [
        ({"sheet": ONE}, "1", "7.1 oz left the cylinder. Keep?"),
        ({"sheet": None, "circuit": ""}, "", "7.1 oz left the cylinder. Keep?"),
        # by the middle of the move, 200 s from the beginning
        ({"circuit": "2", "views": [(T0_S + 190.0, "1"), (T0_S + 210.0, "2")]}, "1", "circuit 1 was in view"),
        ({"circuit": "1", "views": [(T0_S, "1"), (T0_S + 190.0, "2")]}, "2", "circuit 2 was in view"),
        ({"circuit": "2", "views": [(T0_S + 210.0, "2")]}, "1", "circuit 1 was in view"),  # the first of the sheet
    ],
)
def test_it_is_of_the_circuit_that_was_in_view_meanwhile(of: dict[str, Any], circuit: str, says: str) -> None:
    course = Course(of=known(**of))
    course.go(200.0, cylinder_mass=9.0)
    course.go(300.0, cylinder_mass=8.8)
    (seen,) = course.proposed
    assert isinstance(seen.what, ProposedMove)
    assert seen.what.circuit == circuit
    assert says in seen.says.us


def test_what_comes_in_is_of_the_circuit_in_view_too() -> None:
    course = Course()
    course.go(200.0, cylinder_mass=9.0)
    course.go(300.0, cylinder_mass=9.2)
    (seen,) = course.proposed
    assert seen.says.us == "7.1 oz came into the cylinder while circuit 1 was in view. Keep it for that circuit?"


@pytest.mark.parametrize(("in_doubt", "proposed"), [({"cylinder_mass"}, 0), ({"suction_pressure"}, 1)])
def test_a_scale_that_is_in_doubt_proposes_nothing(in_doubt: set[str], proposed: int) -> None:
    course = Course(of=known(in_doubt=frozenset(in_doubt)))
    course.go(200.0, cylinder_mass=9.0)
    course.go(300.0, cylinder_mass=8.8)
    assert len(course.proposed) == proposed
