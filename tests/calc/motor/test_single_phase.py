"""The power of a single-phase load, by the triangle of powers and by trials."""

import json
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError
from calc.motor import single_phase_power, single_phase_power_factor
from tests.edges import check_edges
from tests.fuzzing import fuzz


def power(volts, amps, factor, u=(0.0, 0.0, 0.0)):
    return single_phase_power(
        volts,
        amps,
        power_factor=factor,
        voltage_standard_uncertainty_v=u[0],
        current_standard_uncertainty_a=u[1],
        power_factor_standard_uncertainty=u[2],
    )


def factor_of(watts, volts, amps, u=(0.0, 0.0, 0.0)):
    return single_phase_power_factor(
        watts,
        voltage_v=volts,
        current_a=amps,
        real_standard_uncertainty_w=u[0],
        voltage_standard_uncertainty_v=u[1],
        current_standard_uncertainty_a=u[2],
    )


@pytest.mark.parametrize(
    ("factor", "real", "reactive"), [(0.8, 1840, 1380), (0.6, 1380, 1840), (1, 2300, 0), (0, 0, 2300)]
)
def test_the_triangle_of_powers(factor, real, reactive):
    """230 V and 10 A are 2300 VA; 3, 4 and 5 are the sides of a right triangle."""
    found = power(230.0, 10.0, factor)
    assert found.real.value == pytest.approx(real)
    assert found.apparent.value == pytest.approx(2300)
    assert found.reactive.value == pytest.approx(reactive)
    assert factor_of(real, 230.0, 10.0).value == pytest.approx(factor)


def test_three_instruments_count_as_in_two_hundred_thousand_trials():
    """JCGM 101: each drawn anew; the spread of what comes out, within 3 %."""
    draw = np.random.default_rng(8).normal
    volts, amps, factor = draw(230, 2.5, 200_000), draw(10, 0.2, 200_000), draw(0.8, 0.01, 200_000)
    found = power(230.0, 10.0, 0.8, (2.5, 0.2, 0.01))
    assert found.real.standard_uncertainty == pytest.approx((volts * amps * factor).std(), rel=0.03)
    assert found.apparent.standard_uncertainty == pytest.approx((volts * amps).std(), rel=0.03)
    reactive = volts * amps * np.sqrt(1 - factor**2)
    assert found.reactive.standard_uncertainty == pytest.approx(reactive.std(), rel=0.03)
    watts = draw(1840, 20, 200_000)
    of_power = factor_of(1840.0, 230.0, 10.0, (20.0, 2.5, 0.2))
    assert of_power.standard_uncertainty == pytest.approx((watts / volts / amps).std(), rel=0.03)


def test_at_a_power_factor_of_1_what_lies_beyond_is_left_out():
    assert power(230.0, 10.0, 1.0, (0.0, 0.0, 0.1)).reactive.standard_uncertainty == pytest.approx(2300 * 0.19**0.5)


def test_a_little_more_than_all_is_all_and_much_more_is_refused():
    """No load carries more than its volt-amperes; two instruments may differ by their ±, here 40 W."""
    assert factor_of(2330.0, 230.0, 10.0, (20.0, 0.0, 0.0)).value == 1
    with pytest.raises(CalcRangeError, match="real_w is 2350 W, outside 0 to 2340 W: the load carries no more"):
        factor_of(2350.0, 230.0, 10.0, (20.0, 0.0, 0.0))


def test_at_a_power_factor_of_0_likewise():
    assert power(230.0, 10.0, 0.0, (0.0, 0.0, 0.1)).reactive.standard_uncertainty == pytest.approx(
        2300 * (1 - 0.99**0.5)
    )


def test_limits():
    check_edges(lambda value: power(value, 1.0, 0.5), "voltage_v", 0.0, 1e5)
    check_edges(lambda value: power(230.0, value, 0.5), "current_a", 0.0, 1e5)
    check_edges(lambda value: power(230.0, 1.0, value), "power_factor", 0.0, 1.0)
    check_edges(lambda value: factor_of(1.0, value, 1e5), "voltage_v", 1e-3, 1e5)
    check_edges(lambda value: factor_of(1.0, 1e5, value), "current_a", 1e-3, 1e5)
    check_edges(lambda value: factor_of(value, 230.0, 10.0), "real_w", 0.0, 2300.0)


def test_by_name():
    found = json.loads(
        catalogue.run("single_phase_power", {"voltage": "230 V", "current": "10 A", "power_factor": "0.8"}).as_json()
    )
    assert found["real_electric_w"] == pytest.approx(1840)
    assert found["expanded_apparent_va"] == pytest.approx(((5 * 10) ** 2 + (0.1 * 230) ** 2) ** 0.5)
    assert found["expanded_real_electric_w"] == pytest.approx((44**2 + 0.0 + (0.1 * 184) ** 2 + 0) ** 0.5, rel=2)
    given_power = {"voltage": "230 V", "current": "10 A", "real_power": "1840 W", "real_power_accuracy": "20 W"}
    factor = json.loads(catalogue.run("single_phase_power_factor", given_power).as_json())
    assert factor["power_factor"] == pytest.approx(0.8)
    relative = ((20 / 1840) ** 2 + (5 / 230) ** 2 + (0.1 / 10) ** 2) ** 0.5
    assert factor["expanded_power_factor"] == pytest.approx(0.8 * relative)
    assert "live" in factor["caution"]


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert np.isfinite(power(*numbers[:3], numbers[3:]).reactive.value)
    with suppress(CalcError):
        assert 0 <= factor_of(*numbers[:3], numbers[3:]).value <= 1
