"""The pump's least time: closed formulas, conductances in print, and the differential equation solved by a library."""

import json
import math
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import CalcError, CalcRangeError
from calc.pull_down import hose_conductance, pull_down
from tests.edges import check_edges
from tests.fuzzing import fuzz

MICRON_PA = 0.1333224


@pytest.mark.parametrize(
    ("bore_cm", "length_cm", "mbar", "l_per_s", "relative"),
    [
        (5.0, 100.0, 0.0, 15.125, 1e-6),  # a calculator's example table: 12.1 D³ / L, molecular
        (5.08, 50.8, 0.0, 30.0, 0.05),  # a vacuum supplier's: 75 D³ / L in inches, 30 l/s of 2 in by 20 in
        (1.0, 100.0, 1.0, 1.35 + 0.121, 1e-6),  # 135 D⁴ p / L, viscous, with the molecular part added
        (2.0, 50.0, 10.0, 135 * 16 * 10 / 50 + 12.1 * 8 / 50, 1e-6),
    ],
)
def test_conductances_in_print(bore_cm, length_cm, mbar, l_per_s, relative):
    found = hose_conductance(bore_cm / 100, length_cm / 100, mean_pressure_pa=100 * mbar)
    assert 1000 * found == pytest.approx(l_per_s, rel=relative)


@pytest.mark.parametrize(("end_pa", "ultimate_pa"), [(100.0, 0.0), (66.66, 6.666), (66.66, 60.0)])
def test_without_a_hose_by_the_closed_formula(end_pa, ultimate_pa):
    """t = V / S ln((p1 - pu) / (p2 - pu)): vacuum handbooks."""
    found = pull_down(0.012, 0.00236, end_pressure_pa=end_pa, ultimate_pressure_pa=ultimate_pa)
    by_hand_s = 0.012 / 0.00236 * math.log((101325 - ultimate_pa) / (end_pa - ultimate_pa))
    assert found.time_s == found.pump_alone_s == pytest.approx(by_hand_s)
    assert found.end_conductance_m3_per_s == math.inf


@pytest.mark.parametrize(
    ("end_pa", "ultimate_pa", "bore_m", "length_m"),
    [(66.66, 6.666, 6.35e-3, 1.5), (66.66, 6.666, 9.5e-3, 0.9), (20.0, 2.0, 4e-3, 3.0), (5e3, 10.0, 6.35e-3, 1.5)],
)
def test_with_a_hose_as_a_library_solves_the_equation(end_pa, ultimate_pa, bore_m, length_m):
    """V dp/dt = -C(p, pi) (p - pi), where C (p - pi) = S (pi - pu): inlet by root finding, time by Runge-Kutta."""
    volume_m3, pump = 0.012, 0.00236

    def taken(pressure_pa):
        def surplus(inlet_pa):
            mean_pa = (pressure_pa + inlet_pa) / 2
            let_through = hose_conductance(bore_m, length_m, mean_pressure_pa=mean_pa) * (pressure_pa - inlet_pa)
            return let_through - pump * (inlet_pa - ultimate_pa)

        return pump * (brentq(surplus, ultimate_pa, pressure_pa, xtol=1e-10) - ultimate_pa)

    def reached(_, pressure):
        return pressure[0] - end_pa

    reached.terminal = True
    solved = solve_ivp(
        lambda _, pressure: [-taken(pressure[0]) / volume_m3],
        (0, 1e5),
        [101325.0],
        events=reached,
        rtol=1e-10,
        atol=1e-6,
    )
    found = pull_down(volume_m3, pump, end_pressure_pa=end_pa, ultimate_pressure_pa=ultimate_pa, bore_m=bore_m,
                      length_m=length_m)  # fmt: skip
    assert found.time_s == pytest.approx(solved.t_events[0][0], rel=1e-6)
    inlet_pa = ultimate_pa + taken(end_pa) / pump
    at_end = hose_conductance(bore_m, length_m, mean_pressure_pa=(end_pa + inlet_pa) / 2)
    assert found.end_conductance_m3_per_s == pytest.approx(at_end, rel=1e-6)


def test_a_hose_of_molecular_flow_and_a_pump_in_series():
    """1/S + 1/C, in print: 500 l/s through 100 l/s are 83.3 l/s. Far below a pascal the viscous part is gone."""
    length_m = 121 * 0.1**3 / 0.1
    found = pull_down(1.0, 0.5, end_pressure_pa=1e-2, ultimate_pressure_pa=0.0, start_pressure_pa=2e-2, bore_m=0.1,
                      length_m=length_m)  # fmt: skip
    assert found.time_s == pytest.approx(math.log(2) / 0.0833, rel=0.01)


GOOD = {"volume_m3": 0.01, "pump_m3_per_s": 0.002, "end_pressure_pa": 66.0, "ultimate_pressure_pa": 6.0,
        "start_pressure_pa": 101325.0, "bore_m": 0.006, "length_m": 1.5}  # fmt: skip


def at(**changed):
    values = {**GOOD, **changed}
    return pull_down(values.pop("volume_m3"), values.pop("pump_m3_per_s"), **values)


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [("volume_m3", 1e-6, 100.0), ("pump_m3_per_s", 1e-6, 1.0), ("bore_m", 1e-3, 0.1), ("length_m", 0.05, 100.0)],
)
def test_limits(which, low, high):
    check_edges(lambda value: at(**{which: value}), which, low, high)


def test_limits_of_pressures():
    with pytest.raises(CalcRangeError, match="the pump alone does not get so low"):
        at(end_pressure_pa=6.0)
    check_edges(lambda value: at(end_pressure_pa=value), "end_pressure_pa", 6.0 * (1 + 1e-6) + 1e-3, 101325.0)
    check_edges(lambda value: at(start_pressure_pa=value, end_pressure_pa=min(66.0, value), ultimate_pressure_pa=0.0),
                "start_pressure_pa", 1e-3, 110e3)  # fmt: skip
    for beyond in (math.nextafter(0.0, -1.0), math.nextafter(110e3, 1e6)):
        with pytest.raises(CalcRangeError, match=r"^ultimate_pressure_pa is "):
            at(ultimate_pressure_pa=beyond)
    assert at(end_pressure_pa=101325.0).time_s == 0
    assert at(ultimate_pressure_pa=0.0).time_s < at().time_s


def test_without_more_said_from_the_standard_atmosphere_and_through_1_5_m():
    usual = pull_down(0.01, 0.002, end_pressure_pa=66.0, ultimate_pressure_pa=6.0, bore_m=0.006)
    assert usual == at()


def test_limits_of_a_hose():
    check_edges(lambda value: hose_conductance(value, 1.0, mean_pressure_pa=1.0), "bore_m", 1e-3, 0.1)
    check_edges(lambda value: hose_conductance(0.006, value, mean_pressure_pa=1.0), "length_m", 0.05, 100.0)
    check_edges(lambda value: hose_conductance(0.006, 1.0, mean_pressure_pa=value), "mean_pressure_pa", 0.0, 110e3)


def test_by_name():
    found = json.loads(
        catalogue.run("pull_down", {"volume": "12 L", "pump_speed": "5 cfm", "bore": "1/4 in"}).as_json()
    )
    pump = 5 * 0.3048**3 / 60
    closed_s = 0.012 / pump * math.log((101325 - 50 * MICRON_PA) / (450 * MICRON_PA))
    assert found["pump_alone_s"] == pytest.approx(closed_s)
    again = pull_down(0.012, pump, end_pressure_pa=500 * MICRON_PA, ultimate_pressure_pa=50 * MICRON_PA, bore_m=0.00635)
    assert found["least_time_s"] == pytest.approx(again.time_s)
    assert found["hose_conductance_m3_per_s"] == pytest.approx(again.end_conductance_m3_per_s)
    assert "vacuum" in found["caution"][0]
    bare = catalogue.run("pull_down", {"volume": "12 L", "pump_speed": "5 cfm"}).values
    assert bare["hose_conductance_m3_per_s"] == Unknown("no hose was given")
    assert bare["least_time_s"] == pytest.approx(closed_s)


@fuzz
@given(st.tuples(*(st.floats(),) * 7))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = pull_down(*numbers[:2], end_pressure_pa=numbers[2], ultimate_pressure_pa=numbers[3],
                          start_pressure_pa=numbers[4], bore_m=numbers[5], length_m=numbers[6])  # fmt: skip
        assert np.isfinite(found.time_s)


def test_the_pump_blows_off_outdoors_where_the_refrigerant_burns():
    """A public manual for flammable refrigerants: the pump's outlet not near anything that ignites."""
    asked = {"volume": "12 L", "pump_speed": "5 cfm"}
    assert "outdoors" in " ".join(catalogue.run("pull_down", asked | {"refrigerant": "R-454B"}).values["caution"])
    assert "outdoors" not in " ".join(catalogue.run("pull_down", asked).values["caution"])
