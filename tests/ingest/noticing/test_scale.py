"""Refrigerant that leaves a cylinder is proposed as a move; what disturbs a scale is tried in tests/calc."""

import random

import pytest

from ingest.wire.messages import ProposedMove
from tests.ingest.noticing.courses import T0_S, Course, known

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
    assert seen.says.us == "6.2 oz left the cylinder. Keep?"
    assert seen.says.si == f"{1000 * seen.what.mass_kg:.0f} g left the cylinder. Keep?"


@pytest.mark.parametrize(("in_doubt", "proposed"), [({"cylinder_mass"}, 0), ({"suction_pressure"}, 1)])
def test_a_scale_that_is_in_doubt_proposes_nothing(in_doubt: set[str], proposed: int) -> None:
    course = Course(of=known(in_doubt=frozenset(in_doubt)))
    course.go(200.0, cylinder_mass=9.0)
    course.go(300.0, cylinder_mass=8.8)
    assert len(course.proposed) == proposed
