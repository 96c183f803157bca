"""The supply against worked examples in manuals and a derating table in print."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.motor import derating, power_factor, supply_limits, three_phase_power, unbalance
from calc.motor.supply import is_single_phasing
from tests.calc.motor.taking import takes_and_refuses
from tests.fuzzing import fuzz


@pytest.mark.parametrize(("three", "printed_percent", "within_percent", "source"), [
    ((203, 210, 212), 2.5, 0.07, "NEMA MG 1 example in a motor protection manual, which divides 5.3 by 208.3"),
    ((452, 464, 455), 1.53, 0.005, "product data of a packaged air conditioner"),
    ((460, 467, 450), 1.96, 0.005, "an example on the web by NEMA MG 1"),
    ((480, 476, 472), 0.84, 0.005, "an article on NEMA MG 1"),
    ((220, 216, 213), 1.8, 0.11, "a heat pump's manual, which takes 4 for the 3.67 of 216.33"),
    ((17.943, 18.3, 18.357), 1.41, 0.005, "computed: currents"),
    ((20, 20, 20), 0, 0, "balanced"),
    ((230, 0, 0), 200, 1e-9, "one phase alone, by definition"),
])  # fmt: skip
def test_unbalance(three, printed_percent, within_percent, source):
    assert 100 * unbalance(*three) == pytest.approx(printed_percent, abs=within_percent), source


@pytest.mark.parametrize(("percent", "printed"), [
    (0, 1), (0.5, 1), (1.5, 0.97), (2, 0.95), (2.5, 0.93), (3, 0.89), (3.5, 0.85), (4, 0.82), (4.5, 0.78), (5, 0.76),
])  # fmt: skip
def test_derating_beside_a_table_in_print(percent, printed):
    """engineeringtoolbox.com, voltage imbalance derating factor; ours, partly from memory, is never much above it."""
    factor = derating(percent / 100).factor
    assert factor == pytest.approx(printed, abs=0.016)
    assert factor <= printed + 0.006


@pytest.mark.parametrize(("percent", "says"), [(0.5, "MG 1"), (1.96, "0.95 at 1.96 %"), (2.5, "from memory")])
def test_derating_says_where_it_is_from(percent, says):
    assert says in derating(percent / 100).status


def test_no_derating_allows_more_than_five_percent():
    with pytest.raises(CalcRangeError, match="do not run a motor"):
        derating(0.0501)


def power(volts, amps, factor):
    return three_phase_power(volts, amps, power_factor=factor)


def factor_of(watts, volts, amps):
    return power_factor(watts, line_voltage_v=volts, line_current_a=amps)


@pytest.mark.parametrize(("function", "taken", "refused"), [
    (unbalance, [(0.0, 1e5, 1e5), (0.5, 0.5, 0.5)], [(-0.5, 10.0, 10.0), (10.0, 10.0, 1e5 + 0.5), (0.0, 0.0, 0.0)]),
    (derating, [(0.0,), (0.05,)], [(-0.005,)]),
    (supply_limits, [(1.0,), (1e5,)], [(0.5,), (230.0, 208.0)]),
    (power, [(0.5, 0.5, 0.0), (0.0, 0.0, 1.0), (1e5, 1e5, 1.0)], [(-0.5, 1, 1), (1, -0.5, 1), (1, 1, -0.5)]),
    (factor_of, [(0.0, 1.0, 1.0), (0.4, 0.5, 0.5)], [(-0.5, 1.0, 1.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)]),
])  # fmt: skip
def test_what_their_docstrings_allow_is_taken_and_nothing_else(function, taken, refused):
    takes_and_refuses(function, taken, refused)


def test_a_leg_with_a_tenth_of_the_mean_carries_something():
    """A tenth is what a clamp shows around a wire that carries nothing: common practice, no source."""
    assert not is_single_phasing((2.0, 29.0, 29.0))
    assert is_single_phasing((1.99, 29.0, 29.0))


def test_limits_of_one_voltage_and_of_two():
    assert supply_limits(460.0) == pytest.approx((414, 506))  # makers print 414 and 506 V; from memory
    assert supply_limits(208.0, 230.0) == pytest.approx((187, 253), abs=0.3)  # and 187 and 253 V


@pytest.mark.parametrize(("volts", "amps", "factor", "watts", "volt_amperes", "vars_"), [
    (460, 18.2, 0.85, 12325.6, 14500.7, 7638.7),
    (230, 12.5, 0.9, 4481.7, 4979.6, 2170.6),
    (460, 7, 1.0, 5577.2, 5577.2, 0.0),
])  # fmt: skip
def test_three_phase_power(volts, amps, factor, watts, volt_amperes, vars_):
    """Computed by hand."""
    power = three_phase_power(volts, amps, power_factor=factor)
    assert (power.real_w, power.apparent_va, power.reactive_var) == pytest.approx(
        (watts, volt_amperes, vars_), abs=0.06
    )
    assert power_factor(power.real_w, line_voltage_v=volts, line_current_a=amps) == pytest.approx(factor)


def test_no_load_carries_more_than_its_volt_amperes():
    with pytest.raises(CalcRangeError, match="no more than its volt-amperes"):
        power_factor(15e3, line_voltage_v=460.0, line_current_a=18.2)


@given(st.floats(0, 1e3), st.floats(0, 1e3), st.floats(0, 1e3), st.permutations(range(3)))
def test_the_order_of_phases_does_not_count(first, second, third, order):
    three = (first, second, third)
    if sum(three) / 3 < 1e-6:
        with pytest.raises(CalcRangeError, match="nothing to compare"):
            unbalance(*three)
        return
    assert 0 <= unbalance(*three) <= 2 + 1e-9
    assert unbalance(*(three[i] for i in order)) == pytest.approx(unbalance(*three), abs=1e-9)


@given(st.floats(0, 0.05), st.floats(0, 0.05))
def test_more_unbalance_never_allows_more_load(one, another):
    low, high = sorted((one, another))
    assert derating(low).factor >= derating(high).factor


@pytest.mark.parametrize(("name", "argument", "text", "percent", "within"), [
    ("voltage_unbalance", "line_voltages", "469V,455.4V,455.4V", 1.97, True),
    ("voltage_unbalance", "line_voltages", "470.6V,455.4V,455.4V", 2.20, False),
    ("current_unbalance", "line_currents", "11A,9.6A,9.6A", 9.27, True),
    ("current_unbalance", "line_currents", "11.2A,9.6A,9.6A", 10.53, False),
])  # fmt: skip
def test_limits_of_unbalance_in_print(name, argument, text, percent, within):
    """At most 2 % of voltage and 10 % of current: a training manual of the Refrigeration Service Engineers Society."""
    found = catalogue.run(name, {argument: text}).values
    assert found["unbalance_percent"] == pytest.approx(percent, abs=0.01)
    assert found["within_limit"] is within


@fuzz
@given(st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third):
    for function in (
        lambda: unbalance(first, second, third),
        lambda: derating(first).factor,
        lambda: supply_limits(first, second)[1],
        lambda: three_phase_power(first, second, power_factor=third).reactive_var,
        lambda: power_factor(first, line_voltage_v=second, line_current_a=third),
    ):
        try:
            answer = function()
        except CalcError:
            continue
        assert math.isfinite(answer)


def fields(name: str, **arguments: str) -> dict:
    return json.loads(catalogue.run(name, arguments).as_json())


def test_by_name_a_motor_on_too_much_unbalance_gets_no_derating():
    result = fields("voltage_unbalance", line_voltages="230 V, 230 V, 200 V")
    assert result["derating_factor"] is None
    assert "do not run" in result["derating_factor_reason"]
    assert result["within_limit"] is False
    assert result["warning"].startswith("STOP: do not run")
    assert "warning" not in fields("voltage_unbalance", line_voltages="452 V, 464 V, 455 V")


@pytest.mark.parametrize(
    ("currents", "says"),
    [
        ("0A, 21A, 21A", "STOP"),
        ("12A, 0A, 0A", "STOP"),
        ("0.5A, 21A, 20A", "STOP"),  # what a clamp shows around a wire that carries nothing: common practice, no source
        ("8A, 10A, 10A", "Find the cause first"),  # 14 %; RSES: at most 10 %
        ("10A, 10A, 10A", None),
    ],
)
def test_a_lost_phase_stops_the_motor_and_says_so_first(currents, says):
    result = catalogue.run("current_unbalance", {"line_currents": currents})
    if says is None:
        assert "warning" not in result.values
    else:
        assert says in result.values["warning"]
        assert result.as_text().startswith("warning ")
        assert "live parts" in result.values["caution"]


def test_by_name_three_phases_have_three_values():
    with pytest.raises(ArgumentError, match="2 are given"):
        fields("current_unbalance", line_currents="10 A, 11 A")
