"""Generate liquid_density.json from equations of state: `python -m calc.data.build_liquid_density`.

The density of the liquid at its bubble point as a polynomial in (1 - T / critical T)^(1/3), the variable in which it
is nearly straight up to the critical point. Degree 6 is within 0.01 % of every equation of state, which themselves are
within some 0.1 %. The pressure comes from the bubble curve of calc.saturation, so nothing is flashed.
"""

import json
import math
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PT_INPUTS, AbstractState, iphase_liquid
from numpy.polynomial import polynomial
from numpy.typing import NDArray

from calc.refrigerants import get
from calc.saturation import bubble_point, bubble_pressure, names

_NODES = 60
_DEGREE = 6

DATA = Path(__file__).parent


def densities(refrigerant: str, temperatures_k: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute the density of the liquid at its bubble point from its equation of state [kg/m³]."""
    state = AbstractState("HEOS", get(refrigerant).equation_of_state)
    state.specify_phase(iphase_liquid)
    found = []
    for temperature_k in temperatures_k:
        state.update(PT_INPUTS, bubble_pressure(refrigerant, float(temperature_k)), temperature_k)
        found.append(state.rhomass())
    return np.array(found)


def build() -> dict[str, dict[str, object]]:
    """Fit the density of every refrigerant."""
    curves = json.loads((DATA / "saturation.json").read_text("utf-8"))
    return {name: _fit(name, curves[name]["low_pa"], float(curves[name]["high_pa"])) for name in names()}


def main(path: Path = DATA / "liquid_density.json") -> None:
    """Write the polynomials as JSON, one refrigerant a line."""
    lines = ",\n".join(f"{json.dumps(name)}: {json.dumps(facts)}" for name, facts in build().items())
    path.write_text(f"{{\n{lines}\n}}\n", "utf-8")


def _fit(refrigerant: str, low_pa: float, high_pa: float) -> dict[str, object]:
    low_k = math.ceil(bubble_point(refrigerant, low_pa) * 10) / 10
    high_k = math.floor(bubble_point(refrigerant, high_pa) * 10) / 10
    critical_k = get(refrigerant).critical_temperature_k
    first, last = ((1 - temperature_k / critical_k) ** (1 / 3) for temperature_k in (high_k, low_k))
    nodes = np.cos(np.pi * np.arange(_NODES) / (_NODES - 1))
    y = (first + last) / 2 + nodes * (last - first) / 2
    temperatures_k = np.clip(critical_k * (1 - y**3), low_k, high_k)
    terms = polynomial.polyfit(y, densities(refrigerant, temperatures_k), _DEGREE)
    return {"low_k": low_k, "high_k": high_k, "terms": [float(f"{term:.9e}") for term in terms]}


if __name__ == "__main__":  # pragma: no cover
    main()
