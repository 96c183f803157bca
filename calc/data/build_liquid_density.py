"""Generate liquid_density.json from equations of state: `python -m calc.data.build_liquid_density`.

The density of the liquid at its bubble point as a polynomial in (1 - T / critical T)^(1/3): see `calc.data.fitting`.
Degree 6 is within 0.01 % of every equation of state, which themselves are within some 0.1 %.
"""

import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from calc.data.fitting import DATA, inwards, nodes, of_liquid, terms, write
from calc.saturation import bubble_point, names

_DEGREE = 6


def densities(refrigerant: str, temperatures_k: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute the density of the liquid at its bubble point from its equation of state [kg/m³]."""
    return of_liquid(refrigerant, temperatures_k, lambda state: float(state.rhomass()))


def build() -> dict[str, dict[str, object]]:
    """Fit the density of every refrigerant."""
    curves = json.loads((DATA / "saturation.json").read_text("utf-8"))
    return {name: fit(name, curves[name]["low_pa"], float(curves[name]["high_pa"])) for name in names()}


def main(path: Path = DATA / "liquid_density.json") -> None:
    """Write the polynomials as JSON, one refrigerant a line."""
    write(path, build())


def fit(refrigerant: str, low_pa: float, high_pa: float) -> dict[str, object]:
    """Fit the density of one refrigerant, between its bubble points at two pressures [Pa]."""
    low_k, high_k = inwards(bubble_point(refrigerant, low_pa), bubble_point(refrigerant, high_pa))
    temperatures_k, y = nodes(refrigerant, low_k, high_k)
    return {"low_k": low_k, "high_k": high_k, "terms": terms(y, densities(refrigerant, temperatures_k), _DEGREE)}


if __name__ == "__main__":  # pragma: no cover
    main()
