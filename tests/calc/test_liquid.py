"""Liquid density against saturation tables in print, and against the equations of state it was fitted to."""

import json
import re
from importlib.resources import files

import numpy as np
import pytest
from CoolProp.CoolProp import QT_INPUTS, AbstractState
from hypothesis import given
from hypothesis import strategies as st

from calc.data import build_liquid_density
from calc.errors import CalcRangeError, UnknownNameError
from calc.liquid import liquid_density
from calc.refrigerants import get
from calc.saturation import names

SHIPPED = json.loads(files("calc.data").joinpath("liquid_density.json").read_text("utf-8"))
FLASHED = [name for name in names() if not get(name).equation_of_state.endswith(".mix")]


@pytest.mark.parametrize(
    ("refrigerant", "celsius", "printed"),
    [  # ASHRAE Handbook of Fundamentals, chapter 30, saturation tables (from memory)
        ("R-134a", 0, 1294.8),
        ("R-134a", 25, 1206.7),
        ("R-22", 0, 1281.5),
        ("R-32", 0, 1055.3),
        ("R-290", 0, 528.6),
    ],
)
def test_tables_in_print(refrigerant, celsius, printed):
    assert liquid_density(refrigerant, celsius + 273.15) == pytest.approx(printed, rel=2e-4)


def test_specific_gravity_in_print():
    """R-22 at 77 °F is 1.197 times as dense as water (997.0 kg/m³): AHRI Guideline K, quoted in the trade press."""
    assert liquid_density("R-22", 298.15) / 997.0 == pytest.approx(1.197, rel=3e-3)


@pytest.mark.parametrize("refrigerant", FLASHED)
def test_within_a_hundredth_of_a_percent_of_the_equation_of_state(refrigerant):
    """By a flash at temperature, which the generator does not use."""
    state = AbstractState("HEOS", get(refrigerant).equation_of_state)
    for temperature_k in np.linspace(SHIPPED[refrigerant]["low_k"], SHIPPED[refrigerant]["high_k"], 41):
        state.update(QT_INPUTS, 0.0, temperature_k)
        assert liquid_density(refrigerant, float(temperature_k)) == pytest.approx(state.rhomass(), rel=1e-4)


@pytest.mark.parametrize("refrigerant", names())
def test_within_a_hundredth_of_a_percent_between_the_nodes(refrigerant):
    temperatures_k = np.linspace(SHIPPED[refrigerant]["low_k"], SHIPPED[refrigerant]["high_k"], 41)
    expected = build_liquid_density.densities(refrigerant, temperatures_k)
    np.testing.assert_allclose(liquid_density(refrigerant, temperatures_k), expected, rtol=1e-4)


def test_rebuilding_gives_the_shipped_polynomials(tmp_path):
    build_liquid_density.main(tmp_path / "liquid_density.json")
    rebuilt = json.loads((tmp_path / "liquid_density.json").read_text("utf-8"))
    assert list(rebuilt) == list(SHIPPED) == list(names())
    for name, facts in rebuilt.items():
        assert (facts["low_k"], facts["high_k"]) == (SHIPPED[name]["low_k"], SHIPPED[name]["high_k"])
        np.testing.assert_allclose(facts["terms"], SHIPPED[name]["terms"], rtol=1e-4)  # machines round differently


@pytest.mark.parametrize("refrigerant", names())
def test_arrays_give_what_scalars_give(refrigerant):
    temperatures_k = np.linspace(SHIPPED[refrigerant]["low_k"], SHIPPED[refrigerant]["high_k"], 5)
    several = liquid_density(refrigerant, temperatures_k)
    assert several.tolist() == pytest.approx([liquid_density(refrigerant, float(one)) for one in temperatures_k])


@given(st.sampled_from(names()), st.floats())
def test_any_number_gives_a_density_or_a_range_error(refrigerant, temperature_k):
    if SHIPPED[refrigerant]["low_k"] <= temperature_k <= SHIPPED[refrigerant]["high_k"]:
        assert 300 < liquid_density(refrigerant, temperature_k) < 1700
        return
    with pytest.raises(CalcRangeError, match=rf"temperature_k is .*liquid {re.escape(refrigerant)} is not known"):
        liquid_density(refrigerant, temperature_k)


def test_unknown_refrigerant():
    with pytest.raises(UnknownNameError):
        liquid_density("R-0", 300.0)
