"""What the fits over temperature have in common: nodes up to a critical point, the liquid there, terms, the file.

The variable is y = (1 - T / critical T)^(1/3), in which properties of a liquid and its vapour are nearly straight.
"""

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PT_INPUTS, AbstractState, iphase_liquid
from numpy.polynomial import polynomial
from numpy.typing import NDArray

from calc.data.equations import state_of
from calc.refrigerants import get
from calc.saturation import bubble_pressure

DATA = Path(__file__).parent
_NODES = 60


def of_liquid(
    refrigerant: str, temperatures_k: NDArray[np.float64], read: Callable[[AbstractState], float]
) -> NDArray[np.float64]:
    """Read a property of the liquid at its bubble point from its equation of state.

    The pressure comes from the bubble curve of calc.saturation, so nothing is flashed.
    """
    state = state_of(get(refrigerant).equation_of_state)
    state.specify_phase(iphase_liquid)
    found = []
    for temperature_k in temperatures_k:
        state.update(PT_INPUTS, bubble_pressure(refrigerant, float(temperature_k)), temperature_k)
        found.append(read(state))
    return np.array(found)


def inwards(low_k: float, high_k: float) -> tuple[float, float]:
    """Round the ends of a fit to 0.1 K within them [K]."""
    return math.ceil(low_k * 10) / 10, math.floor(high_k * 10) / 10


def nodes(refrigerant: str, low_k: float, high_k: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the temperatures to fit at, from low to high [K], and their y."""
    critical_k = get(refrigerant).critical_temperature_k
    first, last = ((1 - temperature_k / critical_k) ** (1 / 3) for temperature_k in (high_k, low_k))
    y = (first + last) / 2 + np.cos(np.pi * np.arange(_NODES) / (_NODES - 1)) * (last - first) / 2
    return np.clip(critical_k * (1 - y**3), low_k, high_k), y


def terms(y: NDArray[np.float64], values: NDArray[np.float64], degree: int) -> list[float]:
    """Fit a polynomial in y; lowest order first."""
    return [float(f"{term:.9e}") for term in polynomial.polyfit(y, values, degree)]


def write(path: Path, fits: Mapping[str, object]) -> None:
    """Write fits as JSON, one refrigerant a line."""
    lines = ",\n".join(f"{json.dumps(name)}: {json.dumps(facts)}" for name, facts in fits.items())
    path.write_text(f"{{\n{lines}\n}}\n", "utf-8")
