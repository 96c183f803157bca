"""Generate caloric.json from equations of state: `python -m calc.data.build_caloric`.

Compressibility and enthalpy of the vapour at its dew point and at `SUPERHEATS_DK` above it, and the enthalpy of the
liquid at its bubble point: each as a polynomial in (1 - T / critical T)^(1/3), T being that dew or bubble point.
Pressures come from the curves of calc.saturation, so nothing is flashed. Enthalpies count from the liquid at 0 °C.
"""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PT_INPUTS, iphase_gas
from numpy.typing import NDArray

from calc.data.equations import state_of
from calc.data.fitting import DATA, inwards, nodes, of_liquid, terms, write
from calc.refrigerants import get
from calc.saturation import bubble_point, dew_point, dew_pressure, names

SUPERHEATS_DK = (0.0, 12.0, 40.0)
_DEGREE = 7
_COLDEST_K, _HIGHEST_SHARE = 218.15, 0.7
"""From -55 °C to 0.7 of the critical pressure: lines of air conditioners and freezers, away from the critical point."""
_DATUM_K = 273.15


def liquid(refrigerant: str, temperatures_k: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the enthalpy of the liquid at its bubble point [J/kg]."""
    return of_liquid(refrigerant, temperatures_k, lambda state: float(state.hmass()))


def vapour(
    refrigerant: str, dew_points_k: NDArray[np.float64], superheat_dk: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give compressibility [1] and enthalpy [J/kg] so far above dew points."""
    state = state_of(get(refrigerant).equation_of_state)
    state.specify_phase(iphase_gas)
    compressibility, enthalpy = [], []
    for dew_k in dew_points_k:
        state.update(PT_INPUTS, dew_pressure(refrigerant, float(dew_k)), dew_k + superheat_dk)
        gas_constant = state.gas_constant() / state.molar_mass()
        compressibility.append(state.p() / (state.rhomass() * gas_constant * state.T()))
        enthalpy.append(state.hmass())
    return np.array(compressibility), np.array(enthalpy)


def build() -> dict[str, dict[str, object]]:
    """Fit every refrigerant."""
    curves = json.loads((DATA / "saturation.json").read_text("utf-8"))
    return {name: fit(name, curves[name]["low_pa"]) for name in names()}


def main(path: Path = DATA / "caloric.json") -> None:
    """Write the polynomials as JSON, one refrigerant a line."""
    write(path, build())


def fit(refrigerant: str, low_pa: float) -> dict[str, object]:
    """Fit one refrigerant, from the least pressure of its curves on [Pa]."""
    datum_j_per_kg = float(liquid(refrigerant, np.array([_DATUM_K]))[0])
    dew_k, dew = _nodes(refrigerant, dew_point, low_pa)
    liquid_k, bubble = _nodes(refrigerant, bubble_point, low_pa)
    above = [vapour(refrigerant, dew_k, superheat_dk) for superheat_dk in SUPERHEATS_DK]
    return {
        "dew_k": [float(dew_k.min()), float(dew_k.max())],
        "liquid_k": [float(liquid_k.min()), float(liquid_k.max())],
        "compressibility": [terms(dew, of_vapour, _DEGREE) for of_vapour, _ in above],
        "vapour_j_per_kg": [terms(dew, of_vapour - datum_j_per_kg, _DEGREE) for _, of_vapour in above],
        "liquid_j_per_kg": terms(bubble, liquid(refrigerant, liquid_k) - datum_j_per_kg, _DEGREE),
    }


def _nodes(
    refrigerant: str, point: Callable[[str, float], float], low_pa: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    high_pa = _HIGHEST_SHARE * get(refrigerant).critical_pressure_pa
    return nodes(refrigerant, *inwards(max(point(refrigerant, low_pa), _COLDEST_K), point(refrigerant, high_pa)))


if __name__ == "__main__":  # pragma: no cover
    main()
