"""The tables and correlations under the simulated unit, held to CoolProp, psychrolib and published tables."""

import math

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI

from calc import saturation
from simulators.data.build_properties import build
from simulators.errors import SimulatorError
from simulators.unit import moist_air, properties
from simulators.unit.roots import solve_rising
from simulators.unit.void_fraction import mean_density

FLUIDS = {"R-410A": "R410A", "R-22": "R22", "R-407C": "R407C", "R-32": "R32", "R-454B": "R454B.mix"}
FLASHED = [name for name in FLUIDS if name != "R-454B"]
"""CoolProp's plain flash fails for the mixture at some pressures: it has a test of its own."""


def test_there_are_tables_for_these_refrigerants() -> None:
    assert properties.names() == sorted(FLUIDS)


def test_shipped_tables_are_what_the_generator_makes() -> None:
    rebuilt, shipped = build("R-410A"), properties.load_tables("R-410A")
    assert rebuilt.refrigerant == shipped.refrigerant
    assert rebuilt.dew_point_k == pytest.approx(shipped.dew_point_k, rel=1e-6)
    assert rebuilt.liquid_density == pytest.approx(shipped.liquid_density, rel=1e-6)
    for made, kept in zip(rebuilt.enthalpy_over_dew, shipped.enthalpy_over_dew, strict=True):
        assert made == pytest.approx(kept, rel=1e-5, abs=1e-3)


@pytest.mark.parametrize("designation", FLASHED)
def test_tables_follow_the_equation_of_state(designation: str) -> None:
    """CoolProp, off the nodes of the tables. 0.4 kJ/kg is 0.2 % of the latent heat."""
    refrigerant, fluid = properties.load(designation), FLUIDS[designation]
    span = np.log([refrigerant.lowest_pressure_pa * 1.01, refrigerant.highest_pressure_pa * 0.99])
    for pressure in np.exp(np.linspace(*span, 23)):
        at = refrigerant.saturation(pressure)
        assert at.dew_point_k == pytest.approx(PropsSI("T", "P", pressure, "Q", 1, fluid), abs=2e-3)
        assert at.bubble_point_k == pytest.approx(PropsSI("T", "P", pressure, "Q", 0, fluid), abs=2e-3)
        assert at.liquid_density == pytest.approx(PropsSI("D", "P", pressure, "Q", 0, fluid), rel=1e-3)
        for superheat in (1.3, 8.0, 33.0, 77.0):
            state = ("P", pressure, "T", at.dew_point_k + superheat, fluid)
            enthalpy = refrigerant.vapour_enthalpy(at, superheat)
            entropy = refrigerant.vapour_entropy(at, superheat)
            assert enthalpy == pytest.approx(PropsSI("H", *state), abs=400)
            assert entropy == pytest.approx(PropsSI("S", *state), abs=2.0)
            assert refrigerant.vapour_density(at, superheat) == pytest.approx(PropsSI("D", *state), rel=5e-3)
            assert refrigerant.superheat_of_enthalpy(at, enthalpy) == pytest.approx(superheat, abs=1e-9)
            assert refrigerant.superheat_of_entropy(at, entropy) == pytest.approx(superheat, abs=1e-9)
        assert refrigerant.bubble_pressure(at.bubble_point_k) == pytest.approx(pressure, rel=1e-9)


@pytest.mark.parametrize("designation", FLUIDS)
def test_tables_agree_with_the_shipped_curves(designation: str) -> None:
    """calc's curves come from flashes of their own, and are held to makers' tables; 5 mK for both fits."""
    refrigerant = properties.load(designation)
    span = np.log([refrigerant.lowest_pressure_pa * 1.01, refrigerant.highest_pressure_pa * 0.99])
    for pressure in np.exp(np.linspace(*span, 37)):
        at = refrigerant.saturation(pressure)
        assert at.dew_point_k == pytest.approx(saturation.dew_point(designation, pressure), abs=5e-3)
        assert at.bubble_point_k == pytest.approx(saturation.bubble_point(designation, pressure), abs=5e-3)


def test_r454b_latent_heat_and_entropy_hang_together() -> None:
    """Of a mixture too, dh = T ds + v dp along the dew line: Gibbs, for a fixed composition."""
    refrigerant = properties.load("R-454B")
    for pressure in (0.4e6, 0.9e6, 2.0e6, 3.0e6):
        low, at, high = (refrigerant.saturation(pressure * factor) for factor in (0.96, 1.0, 1.04))
        rise = high.vapour_enthalpy - low.vapour_enthalpy
        step_pa = high.pressure_pa - low.pressure_pa
        expected = at.dew_point_k * (high.dew_entropy - low.dew_entropy) + step_pa / at.vapour_density
        assert rise == pytest.approx(expected, abs=30.0)


@pytest.mark.parametrize(("pressure_kpa", "dew_point_c"), [(480.04, -15.0), (962.14, 6.0), (2538.2, 42.0)])
def test_r410a_dew_point_of_a_published_table(pressure_kpa: float, dew_point_c: float) -> None:
    """US DOE EnergyPlus, FluidProperties of R-410A, vapour line of the saturated table; 10 mK."""
    at = properties.load("R-410A").saturation(1000.0 * pressure_kpa)
    assert at.dew_point_k - 273.15 == pytest.approx(dew_point_c, abs=0.010)


def test_outside_the_tables_is_an_error_that_names_the_range() -> None:
    with pytest.raises(SimulatorError, match="R-410A at 4500000 Pa is outside the tables, 60000 to 4410000 Pa"):
        properties.load("R-410A").saturation(4.5e6)


def test_unknown_refrigerant_is_an_error_that_names_the_known() -> None:
    with pytest.raises(SimulatorError, match="there are tables for R-22, R-32, R-407C, R-410A, R-454B"):
        properties.load("R-999")


def test_mean_density_is_the_mean_of_zivis_void_fraction() -> None:
    """Zivi, J. Heat Transfer 86 (1964): slip (liquid over vapour density)^(1/3), integrated numerically."""
    at = properties.load("R-410A").saturation(9e5)
    quality = np.linspace(0.2, 1.0, 20_001)
    ratio = at.vapour_density / at.liquid_density
    slip = ratio ** (-1.0 / 3.0)
    void = 1.0 / (1.0 + (1.0 - quality) / quality * slip * ratio)
    density = void * at.vapour_density + (1.0 - void) * at.liquid_density
    assert mean_density(at, 0.2, 1.0) == pytest.approx(float(np.mean(density)), rel=1e-3)
    assert mean_density(at, 0.2, 0.2) == pytest.approx(float(density[0]), rel=1e-9)
    assert mean_density(at, 0.2, 0.2001) == pytest.approx(float(density[0]), rel=1e-3)


@pytest.mark.parametrize(
    ("celsius", "percent"), [(26.67, 51.1), (23.9, 50.0), (12.0, 95.0), (35.0, 40.0), (21.0, 10.0)]
)
def test_moist_air_follows_psychrolib(celsius: float, percent: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure, temperature = 98_000.0, celsius + 273.15
    ratio = moist_air.humidity_ratio(temperature, percent, pressure)
    assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(celsius, percent / 100, pressure), rel=6e-3)
    exact = psychrolib.GetMoistAirEnthalpy(celsius, ratio)
    assert moist_air.enthalpy(temperature, ratio) == pytest.approx(exact, rel=2e-3)
    wet_bulb = psychrolib.GetTWetBulbFromRelHum(celsius, percent / 100, pressure)
    assert moist_air.wet_bulb(temperature, ratio, pressure) - 273.15 == pytest.approx(wet_bulb, abs=0.1)
    assert moist_air.relative_humidity(temperature, ratio, pressure) == pytest.approx(percent, rel=1e-9)


@pytest.mark.parametrize("celsius", [-2.0, -8.3, -20.0])
def test_below_freezing_air_is_saturated_over_ice_as_in_psychrolib(celsius: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = moist_air.humidity_ratio(celsius + 273.15, 100.0, 101_325.0)
    assert ratio == pytest.approx(psychrolib.GetSatHumRatio(celsius, 101_325.0), rel=6e-3)


def test_roots_are_found_from_any_guess_and_end_at_a_bound() -> None:
    for guess in (-5.0, 0.0, 0.7, 3.0, 99.0):
        root = solve_rising(lambda x: math.exp(x) - 2.0, guess, step=1e-3, low=-4.0, high=9.0, tolerance=1e-12)
        assert root == pytest.approx(math.log(2.0), abs=1e-9)
    assert solve_rising(lambda x: x + 5.0, 1.0, step=0.1, low=0.0, high=9.0, tolerance=1e-9) == 0.0
    assert solve_rising(lambda x: x - 50.0, 1.0, step=0.1, low=0.0, high=9.0, tolerance=1e-9) == 9.0
