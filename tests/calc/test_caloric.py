"""Vapour and liquid in lines against the equations of state that they were fitted to, and tables in print."""

import json
import math
from contextlib import suppress
from importlib.resources import files

import numpy as np
import pytest
from CoolProp.CoolProp import PT_INPUTS, AbstractState, iphase_gas, iphase_liquid
from hypothesis import given
from hypothesis import strategies as st

from calc.caloric import liquid_enthalpy, vapour_density, vapour_enthalpy
from calc.data import build_caloric
from calc.errors import CalcError, CalcRangeError, UnknownNameError
from calc.refrigerants import get
from calc.saturation import bubble_pressure, dew_pressure, names
from tests.fuzzing import fuzz

SHIPPED = json.loads(files("calc.data").joinpath("caloric.json").read_text("utf-8"))


def at_rest(refrigerant, phase, pressure_pa, temperature_k):
    state = AbstractState("HEOS", get(refrigerant).equation_of_state)
    state.specify_phase(phase)
    state.update(PT_INPUTS, pressure_pa, temperature_k)
    return state


@pytest.mark.parametrize("refrigerant", names())
def test_vapour_by_the_equation_of_state(refrigerant):
    """Up to a dew point of 47 °C: density within 1 % and enthalpy within 1.2 kJ/kg, twice that of R-744."""
    datum = at_rest(refrigerant, iphase_liquid, bubble_pressure(refrigerant, 273.15), 273.15).hmass()
    low_k, high_k = SHIPPED[refrigerant]["dew_k"]
    twice = 2 if refrigerant == "R-744" else 1
    for dew_k in np.linspace(low_k + 0.01, min(high_k - 0.01, 320.0), 9):
        pressure_pa = dew_pressure(refrigerant, float(dew_k))
        for above_dk in (0.0, 4.0, 10.0, 20.0, 39.9):
            kelvin = float(dew_k) + above_dk
            state = at_rest(refrigerant, iphase_gas, pressure_pa, kelvin)
            density = vapour_density(refrigerant, pressure_pa, temperature_k=kelvin)
            assert density == pytest.approx(state.rhomass(), rel=0.01 * twice)
            enthalpy = vapour_enthalpy(refrigerant, pressure_pa, temperature_k=kelvin)
            assert enthalpy == pytest.approx(state.hmass() - datum, abs=1200 * twice)


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-32", "R-454B", "R-22", "R-134a"])
@pytest.mark.parametrize("dew_celsius", [-20, 0, 8])
@pytest.mark.parametrize("above_dk", [2, 6, 15])
def test_suction_gas_closer(refrigerant, dew_celsius, above_dk):
    """Where suction lines are: 0.2 %."""
    kelvin = dew_celsius + 273.15 + above_dk
    pressure_pa = dew_pressure(refrigerant, dew_celsius + 273.15)
    real = at_rest(refrigerant, iphase_gas, pressure_pa, kelvin).rhomass()
    assert vapour_density(refrigerant, pressure_pa, temperature_k=kelvin) == pytest.approx(real, rel=2e-3)


@pytest.mark.parametrize("refrigerant", names())
def test_liquid_by_the_equation_of_state(refrigerant):
    datum = at_rest(refrigerant, iphase_liquid, bubble_pressure(refrigerant, 273.15), 273.15).hmass()
    for kelvin in np.linspace(*SHIPPED[refrigerant]["liquid_k"], 15):
        state = at_rest(refrigerant, iphase_liquid, bubble_pressure(refrigerant, float(kelvin)), float(kelvin))
        assert liquid_enthalpy(refrigerant, float(kelvin)) == pytest.approx(state.hmass() - datum, abs=1.0)


@pytest.mark.parametrize(
    ("refrigerant", "celsius", "volume_m3_per_kg", "latent_kj_per_kg"),
    [("R-134a", 0, 0.0693, 198.6), ("R-22", 0, 0.0471, 205.0), ("R-32", 0, 0.0453, 315.3)],
)
def test_tables_in_print(refrigerant, celsius, volume_m3_per_kg, latent_kj_per_kg):
    """ASHRAE Handbook of Fundamentals, chapter 30, saturation tables, from memory: 0.5 %."""
    kelvin = celsius + 273.15
    pressure_pa = dew_pressure(refrigerant, kelvin)
    volume = 1 / vapour_density(refrigerant, pressure_pa, temperature_k=kelvin)
    assert volume == pytest.approx(volume_m3_per_kg, rel=5e-3)
    latent = vapour_enthalpy(refrigerant, pressure_pa, temperature_k=kelvin) - liquid_enthalpy(refrigerant, kelvin)
    assert latent / 1e3 == pytest.approx(latent_kj_per_kg, rel=5e-3)


def test_the_file_is_as_the_generator_writes_it(tmp_path):
    build_caloric.main(tmp_path / "caloric.json")
    written = json.loads((tmp_path / "caloric.json").read_text("utf-8"))
    assert written.keys() == SHIPPED.keys()
    for name, facts in written.items():
        assert facts["dew_k"] == SHIPPED[name]["dew_k"]
        for what in ("compressibility", "vapour_j_per_kg"):
            assert np.allclose([sum(it) for it in facts[what]], [sum(it) for it in SHIPPED[name][what]], rtol=1e-4)


def test_limits():
    low_k, high_k = SHIPPED["R-410A"]["dew_k"]
    low_pa, high_pa = (dew_pressure("R-410A", kelvin) for kelvin in (low_k, high_k))
    for pressure_pa, kelvin in ((low_pa, low_k), (high_pa, high_k)):
        for off_dk in (-0.99, 39.99):
            assert vapour_density("R-410A", pressure_pa, temperature_k=kelvin + off_dk) > 0
        for off_dk in (-1.01, 40.01):
            with pytest.raises(CalcRangeError, match="temperature_k"):
                vapour_density("R-410A", pressure_pa, temperature_k=kelvin + off_dk)
    for pressure_pa, kelvin in ((0.99 * low_pa, low_k), (1.01 * high_pa, high_k)):
        with pytest.raises(CalcRangeError, match="pressure_pa"):
            vapour_enthalpy("R-410A", pressure_pa, temperature_k=kelvin)
    for kelvin in (218.1, 329.0):
        with pytest.raises(CalcRangeError, match="liquid R-410A is not known there"):
            liquid_enthalpy("R-410A", kelvin)
    with pytest.raises(UnknownNameError):
        liquid_enthalpy("R-9", 300.0)


@fuzz
@given(st.sampled_from(names()), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(refrigerant, pressure_pa, temperature_k):
    for function in (vapour_density, vapour_enthalpy):
        with suppress(CalcError):
            assert math.isfinite(function(refrigerant, pressure_pa, temperature_k=temperature_k))
    with suppress(CalcError):
        assert math.isfinite(liquid_enthalpy(refrigerant, temperature_k))
