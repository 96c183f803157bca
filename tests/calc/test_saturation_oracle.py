"""Saturation curves against the equations of state that they were fitted to (CoolProp 8.0.0)."""

import json
from functools import cache
from importlib.resources import files

import numpy as np
import pytest
from CoolProp.CoolProp import (
    PQ_INPUTS,
    AbstractState,
    DmolarT_INPUTS,
    iDmass,
    iDmolar,
    iphase_gas,
    iphase_liquid,
)
from numpy.polynomial import chebyshev

from calc.data import build_saturation
from calc.data.build_saturation import BuildError, equilibrium_temperatures, guesses_from
from calc.refrigerants import Refrigerant, get
from calc.saturation import bubble_point, dew_point, names

POINTS = {"bubble": (0.0, bubble_point), "dew": (1.0, dew_point)}
SHIPPED = json.loads(files("calc.data").joinpath("saturation.json").read_text("utf-8"))
MIXTURES = [name for name in names() if get(name).equation_of_state.endswith(".mix")]


def pressures_pa(refrigerant: str) -> np.ndarray:
    """Pressures over the refrigerant's whole range, dense at its ends, none of them a node of the fit."""
    low, high = np.log([SHIPPED[refrigerant]["low_pa"], SHIPPED[refrigerant]["high_pa"]])
    x = np.cos(np.pi * (np.arange(81)[::-1] + 0.5) / 81)
    return np.exp((low + high) / 2 + x * (high - low) / 2)


def plain_flash(facts: Refrigerant, quality: float, pressure_pa: float) -> float | None:
    """A flash from nothing; None where it fails or finds a false root, as it does for mixtures."""
    state = AbstractState("HEOS", facts.equation_of_state)
    try:
        state.update(PQ_INPUTS, pressure_pa, quality)
        liquid = state.saturated_liquid_keyed_output(iDmass)
        vapour = state.saturated_vapor_keyed_output(iDmass)
    except ValueError:
        return None
    sound = 120 < state.T() < 1.02 * facts.critical_temperature_k and liquid > 1.05 * vapour
    return state.T() if sound else None


@pytest.mark.parametrize("end", POINTS)
@pytest.mark.parametrize("refrigerant", names())
def test_within_a_millikelvin_of_the_plain_flash(refrigerant, end):
    quality, point = POINTS[end]
    pressures = pressures_pa(refrigerant)
    flashes = [plain_flash(get(refrigerant), quality, pressure) for pressure in pressures]
    converged = [(pressure, flash) for pressure, flash in zip(pressures, flashes, strict=True) if flash]
    assert len(converged) >= (0.85 if refrigerant in MIXTURES else 1.0) * len(pressures)
    assert max(abs(point(refrigerant, pressure) - flash) for pressure, flash in converged) <= 1e-3


@pytest.mark.parametrize("end", POINTS)
@pytest.mark.parametrize("refrigerant", names())
def test_within_a_millikelvin_of_a_flash_from_its_neighbour(refrigerant, end):
    quality, point = POINTS[end]
    facts = get(refrigerant)
    pressures = pressures_pa(refrigerant)
    flashes = equilibrium_temperatures(facts.equation_of_state, quality, pressures, facts.critical_temperature_k)
    assert np.abs(point(refrigerant, pressures) - flashes).max() <= 1e-3


@pytest.mark.parametrize("end", POINTS)
@pytest.mark.parametrize("refrigerant", MIXTURES)
def test_at_the_upper_end_each_component_has_one_fugacity_in_both_phases(refrigerant, end):
    """That is what equilibrium means, however it was found; the plain flash mostly fails there."""
    quality, point = POINTS[end]
    equation_of_state = get(refrigerant).equation_of_state
    state = AbstractState("HEOS", equation_of_state)
    first, *rest = pressures_pa(refrigerant)
    state.update(PQ_INPUTS, first, quality)
    for pressure in rest:
        state.update_with_guesses(PQ_INPUTS, pressure, quality, guesses_from(state))
    assert point(refrigerant, state.p()) == pytest.approx(state.T(), abs=1e-3)
    sides = (
        (iphase_liquid, state.mole_fractions_liquid(), state.saturated_liquid_keyed_output(iDmolar)),
        (iphase_gas, state.mole_fractions_vapor(), state.saturated_vapor_keyed_output(iDmolar)),
    )
    fugacities = []
    for phase, fractions, density in sides:
        side = AbstractState("HEOS", equation_of_state)
        side.set_mole_fractions(fractions)
        side.specify_phase(phase)
        side.update(DmolarT_INPUTS, density, state.T())
        assert side.p() == pytest.approx(state.p(), rel=1e-6)
        fugacities.append([side.fugacity(component) for component in range(len(fractions))])
    np.testing.assert_allclose(*fugacities, rtol=1e-6)


@cache
def rebuilt() -> dict[str, dict]:
    return build_saturation.build()


def test_rebuilding_gives_the_shipped_refrigerants():
    assert list(rebuilt()) == list(SHIPPED)


@pytest.mark.parametrize("refrigerant", names())
def test_rebuilding_gives_the_shipped_curves(refrigerant):
    shipped, built = SHIPPED[refrigerant], rebuilt()[refrigerant]
    assert (built["low_pa"], built["high_pa"]) == (shipped["low_pa"], shipped["high_pa"])
    x = np.linspace(-1, 1, 201)
    for end in POINTS:
        old, new = (1 / chebyshev.chebval(x, curves[end]) for curves in (shipped, built))
        assert np.abs(old - new).max() < 1e-6  # another machine rounds otherwise; nothing else may differ


def test_the_file_holds_one_refrigerant_a_line(tmp_path, monkeypatch):
    monkeypatch.setattr(build_saturation, "build", lambda: {"R-1": {"low_pa": 1.0}, "R-2": {"low_pa": 2.0}})
    build_saturation.main(tmp_path / "curves.json")
    text = (tmp_path / "curves.json").read_text("utf-8")
    assert json.loads(text) == {"R-1": {"low_pa": 1.0}, "R-2": {"low_pa": 2.0}}
    assert len(text.splitlines()) == 4


def test_a_failing_flash_stops_the_build():
    with pytest.raises(BuildError, match="R134a at 9000000 Pa"):
        equilibrium_temperatures("R134a", 1.0, np.array([1e6, 9e6]), 374.2)


def test_a_false_root_stops_the_build():
    # as if R-134a's critical point lay at 300 K: its true equilibrium at 1 MPa, 312.5 K, then looks false
    with pytest.raises(BuildError, match="R134a at 1000000 Pa: a false root, 312"):
        equilibrium_temperatures("R134a", 1.0, np.array([1e6]), 300.0)


def test_a_curve_that_no_series_follows_stops_the_build():
    nodes = np.linspace(-1, 1, 160)
    with pytest.raises(BuildError, match=r"R-0: still off by .* K at degree 23"):
        build_saturation.fit("R-0", nodes, 300 + np.abs(nodes))
