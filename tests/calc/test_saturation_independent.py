"""Saturation against solvers and correlations that share no code with CoolProp, from which our curves are made.

teqp (National Institute of Standards and Technology) solves phase equilibrium by its own algorithms, and brings the
mixture parameters of Akasaka, FPE 358 (2013) for R-32/R-1234yf, which are older than ours. chemicals evaluates
vapour-pressure correlations of McGarry, IECPDD 22 (1983), fitted to measurements long before the equations of state.
"""

import chemicals
import numpy as np
import pytest
import teqp

from calc.saturation import bubble_point, dew_point

PURE = {
    "R-32": "R32",
    "R-134a": "R134a",
    "R-1234yf": "R1234yf",
    "R-22": "R22",
    "R-290": "n-Propane",
    "R-744": "CarbonDioxide",
}
EQUATIONS_AGREE_K = 0.02
"""Pure fluids: equations of state of the same fluid, evaluated elsewhere."""

BLENDS = {"R-454B": [0.689, 0.311]}
"""Parts of R-32 and R-1234yf by mass (ASHRAE 34). R-454A and R-454C hold more of the latter, where the parameters of
2013 put the dew point up to 1.1 K lower: too far for them to be a check."""
BLEND_FLUIDS = ["R32", "R1234yf"]
MOLAR_MASSES = np.array([52.024, 114.0416])
MIXTURE_MODELS_AGREE_K = 0.4
"""Published parameters of different years put R-454B's bubble point 0.28 to 0.32 K apart."""

CORRELATED = {"R-22": "75-45-6", "R-32": "75-10-5", "R-290": "74-98-6"}
CORRELATION_K = 0.3
"""McGarry states vapour pressures within about 1 % (from memory); 1 % of pressure is about 0.3 K."""


def pure_pressure_pa(fluid: str, temperature_k: float) -> float:
    """Solve the equilibrium of a pure fluid with teqp."""
    model = teqp.build_multifluid_model([fluid], teqp.get_datapath())
    guess = model.build_ancillaries()
    liquid, _ = model.pure_VLE_T(temperature_k, guess.rhoL(temperature_k), guess.rhoV(temperature_k), 10)
    return pressure_pa(model, temperature_k, np.array([liquid]))


def pressure_pa(model: teqp.AbstractModel, temperature_k: float, densities: np.ndarray) -> float:
    """Evaluate the pressure from partial molar densities [mol/m3]."""
    total = float(densities.sum())
    parts = densities / total
    return total * model.get_R(parts) * temperature_k * (1 + model.get_Ar01(temperature_k, total, parts))


def blend_pressure_pa(by_mass: list[float], temperature_k: float, *, at_bubble_point: bool) -> float:
    """Solve the equilibrium of a blend whose liquid (at the bubble point) or vapour is known, from Raoult's law on."""
    model = teqp.build_multifluid_model(BLEND_FLUIDS, teqp.get_datapath())
    pure = [teqp.build_multifluid_model([fluid], teqp.get_datapath()).build_ancillaries() for fluid in BLEND_FLUIDS]
    pressures = np.array([pure_pressure_pa(fluid, temperature_k) for fluid in BLEND_FLUIDS])
    known = np.array(by_mass) / MOLAR_MASSES
    known /= known.sum()
    other = known * pressures if at_bubble_point else known / pressures
    other /= other.sum()
    liquid, vapour = (known, other) if at_bubble_point else (other, known)
    liquid *= 1 / np.dot(liquid, [1 / one.rhoL(temperature_k) for one in pure])
    vapour *= np.dot(vapour, [one.rhoV(temperature_k) for one in pure])
    first, second = (liquid, vapour) if at_bubble_point else (vapour, liquid)
    parts = first / first.sum()
    code, densities, _ = model.mix_VLE_Tx(temperature_k, first, second, parts, 1e-8, 1e-8, 1e-8, 1e-8, 30)
    assert code != teqp.VLE_return_code.maxiter_met
    return pressure_pa(model, temperature_k, densities)


@pytest.mark.parametrize("temperature_k", [250.0, 265.0, 280.0])
@pytest.mark.parametrize("refrigerant", PURE)
def test_a_pure_fluid_against_another_solver(refrigerant: str, temperature_k: float) -> None:
    pressure = pure_pressure_pa(PURE[refrigerant], temperature_k)
    assert dew_point(refrigerant, pressure) == pytest.approx(temperature_k, abs=EQUATIONS_AGREE_K)
    assert bubble_point(refrigerant, pressure) == pytest.approx(temperature_k, abs=EQUATIONS_AGREE_K)


@pytest.mark.parametrize("temperature_k", [265.0, 280.0, 310.0])
@pytest.mark.parametrize("refrigerant", BLENDS)
def test_a_blend_against_another_solver(refrigerant: str, temperature_k: float) -> None:
    at_bubble = blend_pressure_pa(BLENDS[refrigerant], temperature_k, at_bubble_point=True)
    at_dew = blend_pressure_pa(BLENDS[refrigerant], temperature_k, at_bubble_point=False)
    assert bubble_point(refrigerant, at_bubble) == pytest.approx(temperature_k, abs=MIXTURE_MODELS_AGREE_K)
    assert dew_point(refrigerant, at_dew) == pytest.approx(temperature_k, abs=MIXTURE_MODELS_AGREE_K)


@pytest.mark.parametrize("temperature_k", [250.0, 280.0, 310.0])
@pytest.mark.parametrize("refrigerant", CORRELATED)
def test_a_pure_fluid_against_an_older_correlation(refrigerant: str, temperature_k: float) -> None:
    row = chemicals.vapor_pressure.Psat_data_WagnerMcGarry.loc[CORRELATED[refrigerant]]
    pressure = chemicals.Wagner_original(temperature_k, row["Tc"], row["Pc"], row["A"], row["B"], row["C"], row["D"])
    assert dew_point(refrigerant, float(pressure)) == pytest.approx(temperature_k, abs=CORRELATION_K)
