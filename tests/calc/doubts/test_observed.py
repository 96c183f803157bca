"""What doubts are made of, to the bound: twice the combined standard uncertainty is 95 % (JCGM 100, annex G)."""

import pytest
from CoolProp.CoolProp import PropsSI

from calc.doubts.observed import clearly_above, lies_within, over_dew_point_dk, under_bubble_point_dk
from calc.estimate import Estimate
from calc.situation import Situation


@pytest.mark.parametrize(("difference", "above"), [(2.9, False), (3.0, False), (3.1, True)])
def test_a_difference_is_clear_beyond_twice_what_it_is_known_by(difference: float, above: bool) -> None:
    assert clearly_above(Estimate(difference, 1.0), 1.0) is above


@pytest.mark.parametrize(("value", "within"), [(0.9, False), (1.0, True), (2.0, True), (2.1, False), (None, False)])
def test_bounds_are_within(value: float | None, within: bool) -> None:
    assert lies_within(value, (1.0, 2.0)) is within


def test_superheat_and_subcooling_are_those_of_the_equation_of_state() -> None:
    """R-32 in CoolProp 8.0.0; a kilopascal, were the pressure off by it."""
    readings = {"suction_pressure": 9e5, "liquid_pressure": 25e5, "suction_line_temperature": 285.0}
    readings["liquid_line_temperature"] = 308.0
    now = Situation(refrigerant="R-32", measured={name: Estimate(value, 0.1) for name, value in readings.items()})
    for by_pa in (0.0, 1e3):
        dew_k, bubble_k = (PropsSI("T", "P", at_pa + by_pa, "Q", 1, "R32") for at_pa in (9e5, 25e5))
        assert over_dew_point_dk(now, by_pa=by_pa) == pytest.approx(285.0 - dew_k, abs=2e-3)
        assert under_bubble_point_dk(now, by_pa=by_pa, line_k=300.0) == pytest.approx(bubble_k - 300.0, abs=2e-3)
    assert over_dew_point_dk(now) == over_dew_point_dk(now, by_pa=0.0, line_k=285.0)
    assert under_bubble_point_dk(now) == under_bubble_point_dk(now, by_pa=0.0, line_k=308.0)
