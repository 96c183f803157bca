"""Propagation of uncertainty against the GUM's worked example H.2, and against Monte Carlo (JCGM 101).

The inputs of H.2 and its results to two digits are those of JCGM 100:2008 as the public documentation of a metrology
library quotes them; the further digits are from memory.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import air
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.saturation import bubble_point, dew_point
from calc.superheat import subcooling, subcooling_budget, superheat, superheat_budget
from calc.targets import find_target_superheat
from calc.uncertainty import Budget, propagate

DRAWS = 200_000
VOLT = {"voltage": Estimate(4.999, 0.0032), "current": Estimate(0.019661, 9.5e-6), "phase": Estimate(1.04446, 7.5e-4)}
CORRELATIONS = {("voltage", "current"): -0.36, ("voltage", "phase"): 0.86, ("current", "phase"): -0.65}
RESISTANCE = propagate(lambda voltage, current, phase: voltage / current * math.cos(phase), VOLT, CORRELATIONS)
REACTANCE = propagate(lambda voltage, current, phase: voltage / current * math.sin(phase), VOLT, CORRELATIONS)
IMPEDANCE = propagate(lambda voltage, current, phase: voltage / current, VOLT, CORRELATIONS)


@pytest.mark.parametrize(
    ("budget", "value", "uncertainty"),
    [(RESISTANCE, 127.732, 0.071), (REACTANCE, 219.847, 0.295), (IMPEDANCE, 254.260, 0.236)],
)
def test_gum_h2_uncertainties(budget, value, uncertainty):
    assert budget.value == pytest.approx(value, abs=2e-3)
    assert budget.estimate.standard_uncertainty == pytest.approx(uncertainty, abs=2e-3)


@pytest.mark.parametrize(
    ("first", "second", "coefficient"),
    [(RESISTANCE, REACTANCE, -0.588), (RESISTANCE, IMPEDANCE, -0.485), (REACTANCE, IMPEDANCE, 0.993)],
)
def test_gum_h2_correlations(first, second, coefficient):
    assert first.correlation(second) == pytest.approx(coefficient, abs=0.01)
    assert second.correlation(first) == pytest.approx(first.correlation(second))


def test_the_sum_of_four_unit_normals():
    """JCGM 101, 9.2.2: the standard uncertainty is 2 (from memory)."""
    inputs = {name: Estimate(0.0, 1.0) for name in ("a", "b", "c", "d")}
    total = propagate(lambda a, b, c, d: a + b + c + d, inputs)
    assert total.estimate == Estimate(0.0, 2.0)


@given(st.floats(1, 100), st.floats(1, 100), st.floats(1e-3, 0.05), st.floats(1e-3, 0.05))
def test_relative_uncertainties_of_a_product_add_in_quadrature(x, y, relative_x, relative_y):
    """JCGM 100, 5.1.6."""
    product = propagate(lambda x, y: x * y, {"x": Estimate(x, x * relative_x), "y": Estimate(y, y * relative_y)})
    relative = product.estimate.standard_uncertainty / product.value
    assert relative == pytest.approx(math.hypot(relative_x, relative_y))


SUCTION = Estimate(813.58e3, 12.07e3)
LIQUID = Estimate(2413.2e3, 24.1e3)
SITE = Estimate(101325.0, 1500.0)
LINE = {"suction": Estimate(283.15, 0.25), "liquid": Estimate(309.0, 0.25)}
MODEL_K = 0.16  # of R-410A: Lemmon 2003


def budgets(refrigerant="R-410A", site=SITE):
    over = superheat_budget(
        refrigerant, SUCTION, suction_line_temperature_k=LINE["suction"], barometric_pressure_pa=site
    )
    under = subcooling_budget(
        refrigerant, LIQUID, liquid_line_temperature_k=LINE["liquid"], barometric_pressure_pa=site
    )
    return over, under


def test_superheat_and_subcooling_agree_with_monte_carlo():
    """JCGM 101, clause 7: draw every input, compute both figures of each draw, and look at what comes out."""
    draw = np.random.default_rng(101)

    def drawn(given):
        return draw.normal(given.value, given.standard_uncertainty, DRAWS)

    site = drawn(SITE)
    over = drawn(LINE["suction"]) - dew_point("R-410A", drawn(SUCTION) + site) + draw.normal(0, MODEL_K, DRAWS)
    under = bubble_point("R-410A", drawn(LIQUID) + site) - drawn(LINE["liquid"]) + draw.normal(0, MODEL_K, DRAWS)
    computed_over, computed_under = budgets()
    for computed, found in ((computed_over, over), (computed_under, under)):
        assert computed.value == pytest.approx(found.mean(), abs=0.02)
        assert computed.estimate.standard_uncertainty == pytest.approx(found.std(), rel=0.01)
        low, high = computed.value - 0.5, computed.value + 1.0
        share = np.mean((low <= found) & (found <= high))
        assert computed.estimate.probability_within(low, high) == pytest.approx(share, abs=0.01)
    coefficient = np.corrcoef(over, under)[0, 1]
    assert computed_over.correlation(computed_under) == pytest.approx(coefficient, abs=0.01)
    assert coefficient < 0


def test_the_correlation_comes_from_the_barometer_alone():
    over, under = budgets(site=Estimate(101325.0, 0.0))
    assert over.correlation(under) == 0
    over, under = budgets(site=Estimate(101325.0, 20e3))
    assert -1 < over.correlation(under) < -0.4


def test_budgets_say_the_same_as_the_plain_functions():
    over, under = budgets(site=Estimate(101325.0, 0.0))
    plain_over = superheat(
        "R-410A",
        SUCTION.value + 101325.0,
        suction_line_temperature_k=LINE["suction"].value,
        pressure_standard_uncertainty_pa=SUCTION.standard_uncertainty,
        temperature_standard_uncertainty_k=LINE["suction"].standard_uncertainty,
    )
    plain_under = subcooling(
        "R-410A",
        LIQUID.value + 101325.0,
        liquid_line_temperature_k=LINE["liquid"].value,
        pressure_standard_uncertainty_pa=LIQUID.standard_uncertainty,
        temperature_standard_uncertainty_k=LINE["liquid"].standard_uncertainty,
    )
    for budget, plain in ((over, plain_over), (under, plain_under)):
        assert budget.value == plain.value
        assert budget.estimate.standard_uncertainty == pytest.approx(plain.standard_uncertainty)


def test_a_wet_bulb_and_a_target_agree_with_monte_carlo():
    """As above, along a chain: dry bulb and humidity, to the wet bulb, to the target superheat."""
    dry_bulb, humidity, outdoor = Estimate(299.8, 0.2), Estimate(51.0, 1.0), Estimate(306.0, 0.3)
    inputs = {"dry_bulb": dry_bulb, "humidity": humidity}
    wet = propagate(lambda dry_bulb, humidity: air.wet_bulb(dry_bulb, humidity, pressure_pa=101325.0), inputs)
    draw = np.random.default_rng(101)
    drawn = air.wet_bulb(
        draw.normal(dry_bulb.value, dry_bulb.standard_uncertainty, 5000),
        draw.normal(humidity.value, humidity.standard_uncertainty, 5000),
        pressure_pa=101325.0,
    )
    assert wet.value == pytest.approx(drawn.mean(), abs=0.02)
    assert wet.estimate.standard_uncertainty == pytest.approx(drawn.std(), rel=0.05)
    target = find_target_superheat(wet.estimate, outdoor)
    found = [
        find_target_superheat(Estimate(wet_bulb_k, 0.0), Estimate(outdoor_k, 0.0)).value.value
        for wet_bulb_k, outdoor_k in zip(
            drawn, draw.normal(outdoor.value, outdoor.standard_uncertainty, drawn.size), strict=True
        )
    ] + draw.uniform(-0.5, 0.5, drawn.size) * 5 / 9  # the table is in whole °F
    assert target.value.value == pytest.approx(found.mean(), abs=0.1)
    assert target.value.estimate.standard_uncertainty == pytest.approx(found.std(), rel=0.06)


def test_at_the_end_of_a_model_the_side_that_is_left_counts():
    def of_humidity(humidity):
        return air.wet_bulb(293.15, humidity, pressure_pa=101325.0)

    at_saturation = propagate(of_humidity, {"humidity": Estimate(100.0, 2.0)}).estimate
    just_below = propagate(of_humidity, {"humidity": Estimate(97.9, 2.0)}).estimate
    assert at_saturation.standard_uncertainty == pytest.approx(just_below.standard_uncertainty, rel=0.02)
    with pytest.raises(CalcRangeError, match="relative_humidity_percent"):
        propagate(of_humidity, {"humidity": Estimate(50.0, 60.0)})


def test_what_is_exact_adds_nothing():
    exact = propagate(lambda x: 2 * x, {"x": Estimate(3.0, 0.0)})
    assert exact.estimate == Estimate(6.0, 0.0)
    assert exact.leading_input is None
    assert exact.correlation(IMPEDANCE) == 0


def test_what_two_results_share_cancels_in_their_difference():
    first = Budget(20.0, {"probe": 0.3, "place": 0.1})
    second = Budget(9.0, {"probe": 0.3})
    difference = first - second
    assert difference.value == 11.0
    assert difference.estimate.standard_uncertainty == pytest.approx(0.1)
    assert difference.leading_input == "place"


def test_the_leading_input_is_the_one_to_improve():
    assert budgets()[0].leading_input == "suction_pressure"


@pytest.mark.parametrize(
    ("correlations", "error", "message"),
    [
        ({("a", "b"): 1.5}, CalcRangeError, "correlation is 1.5, outside -1 to 1"),
        ({("a", "b"): -1.5}, CalcRangeError, "correlation is -1.5, outside -1 to 1"),
        ({("a", "b"): math.nan}, CalcRangeError, "correlation is nan"),
        ({("a", "x"): 0.5}, ArgumentError, "correlation of a and x names what is no input"),
        ({("a", "b"): -1.0, ("b", "c"): -1.0, ("a", "c"): -1.0}, ArgumentError, "contradict each other"),
    ],
)
def test_correlations_that_cannot_be(correlations, error, message):
    inputs = {name: Estimate(0.0, 1.0) for name in ("a", "b", "c")}
    with pytest.raises(error, match=message):
        _ = propagate(lambda a, b, c: a + b + c, inputs, correlations).estimate


def test_what_errs_together_may_cancel_to_nothing():
    """JCGM 100, 5.2.2: with correlations of 1 the contributions themselves are added: 0.2 + 0.3 - 0.5."""
    together = {("a", "b"): 1.0, ("a", "c"): 1.0, ("b", "c"): 1.0}
    for c in (-0.5, 0.5):
        found = Budget(1.0, {"a": 0.2, "b": 0.3, "c": c}, together).estimate.standard_uncertainty
        assert found == pytest.approx(0.5 + c, abs=1e-7)
    assert Budget(1.0, {"a": 1.0, "b": 1.0}, {("a", "b"): -1.0}).estimate.standard_uncertainty == 0.0


def test_what_two_results_do_not_share_adds_in_quadrature():
    assert (Budget(20.0, {"a": 0.3}) - Budget(9.0, {"b": 0.4})).estimate == Estimate(11.0, 0.5)


def test_an_exact_result_goes_with_none():
    assert Budget(1.0, {"voltage": 0.0}).correlation(RESISTANCE) == 0
    assert RESISTANCE.correlation(Budget(1.0, {"voltage": 0.0})) == 0


def test_a_correlation_stated_twice_must_agree():
    first = Budget(1.0, {"a": 1.0}, {("a", "b"): 0.5})
    assert first.covariance(Budget(1.0, {"b": 1.0}, {("b", "a"): 0.5})) == 0.5
    assert Budget(1.0, {"a": 2.0}, {("a", "b"): 0.5}).covariance(Budget(1.0, {"b": 3.0})) == pytest.approx(3.0)
    assert first.covariance(Budget(1.0, {"b": 1.0})) == 0.5
    with pytest.raises(ArgumentError, match="of b and a is stated twice"):
        first.covariance(Budget(1.0, {"b": 1.0}, {("b", "a"): 0.4}))


@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_a_budget_or_a_calc_error(value, uncertainty, other, coefficient):
    try:
        inputs = {"x": Estimate(value, uncertainty), "y": Estimate(other, uncertainty)}
        estimate = propagate(lambda x, y: x - y, inputs, {("x", "y"): coefficient}).estimate
    except CalcError:
        return
    assert estimate.standard_uncertainty >= 0
