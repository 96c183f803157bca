"""Generate saturation.json from equations of state: `python -m calc.data.build_saturation`.

Each curve is 1/T as a Chebyshev series in ln p, fitted by least squares at 160 Chebyshev nodes. Degree 15 is
enough for most refrigerants; it rises until no node is off by more than 0.8 mK.

A plain flash of a mixture fails at up to an eighth of the nodes, most of them near the critical point, and
a fit without those nodes is off by more than 1 mK there. So every flash of a mixture starts from the
equilibrium at the node below it. That finds them all, and agrees with the plain flash within 1e-8 K.
"""

import json
import math
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PQ_INPUTS, AbstractState, PyGuessesStructure, iDmass, iDmolar
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from calc.data.equations import state_of

_NODES = 160
_DEGREES = range(15, 24)
_TOLERANCE_K = 0.8e-3
_LEAST_PRESSURE_PA = 30e3
_LEAST_PRESSURE_ABOVE_TRIPLE_POINT_PA = {"R-744": 520e3}
_SHARE_OF_CRITICAL_PRESSURE = 0.90

DATA = Path(__file__).parent


class BuildError(Exception):
    """An equation of state gave no sound equilibrium, or no series reaches the tolerance."""


def equilibrium_temperatures(
    equation_of_state: str, quality: float, pressures_pa: NDArray[np.float64], critical_temperature_k: float
) -> NDArray[np.float64]:
    """Compute bubble (quality 0) or dew points (quality 1) from an equation of state [K].

    Args:
        equation_of_state: CoolProp's name of the fluid.
        quality: mass of vapour per mass.
        pressures_pa: rising, the first where a plain flash converges [Pa].
        critical_temperature_k: for telling a true equilibrium from a false root [K].

    Raises:
        BuildError: a flash found no equilibrium, or a false one.

    """
    state = state_of(equation_of_state)
    is_mixture = len(state.fluid_names()) > 1
    temperatures_k: list[float] = []
    for pressure_pa in pressures_pa:
        try:
            if is_mixture and temperatures_k:
                state.update_with_guesses(PQ_INPUTS, pressure_pa, quality, guesses_from(state))
            else:
                state.update(PQ_INPUTS, pressure_pa, quality)
        except ValueError as error:
            raise BuildError(f"{equation_of_state} at {pressure_pa:.0f} Pa: {error}") from error
        liquid = state.saturated_liquid_keyed_output(iDmass)
        vapour = state.saturated_vapor_keyed_output(iDmass)
        rises = not temperatures_k or state.T() > temperatures_k[-1]
        if not (120 < state.T() < 1.02 * critical_temperature_k and liquid > 1.05 * vapour and rises):
            raise BuildError(f"{equation_of_state} at {pressure_pa:.0f} Pa: a false root, {state.T():.3f} K")
        temperatures_k.append(state.T())
    return np.array(temperatures_k)


def guesses_from(state: AbstractState) -> PyGuessesStructure:
    """Take the equilibrium that a state is in as the first guess of the next one."""
    guesses = PyGuessesStructure()
    guesses.T = state.T()
    guesses.rhomolar_liq = state.saturated_liquid_keyed_output(iDmolar)
    guesses.rhomolar_vap = state.saturated_vapor_keyed_output(iDmolar)
    guesses.x = state.mole_fractions_liquid()
    guesses.y = state.mole_fractions_vapor()
    return guesses


def pressure_range_pa(designation: str, critical_pressure_pa: float) -> tuple[float, float]:
    """Give the least and greatest pressure of a refrigerant's curves [Pa]."""
    low = _LEAST_PRESSURE_ABOVE_TRIPLE_POINT_PA.get(designation, _LEAST_PRESSURE_PA)
    return low, round(_SHARE_OF_CRITICAL_PRESSURE * critical_pressure_pa)


def fit(designation: str, nodes: NDArray[np.float64], temperatures_k: NDArray[np.float64]) -> list[float]:
    """Fit 1/T by a Chebyshev series of the least degree within the tolerance; lowest order first."""
    for degree in _DEGREES:
        series = chebyshev.chebfit(nodes, 1 / temperatures_k, degree)
        worst_k = np.abs(1 / chebyshev.chebval(nodes, series) - temperatures_k).max()
        if worst_k <= _TOLERANCE_K:
            return [float(f"{term:.13e}") for term in series]
    raise BuildError(f"{designation}: still off by {worst_k:.2g} K at degree {degree}")


def build() -> dict[str, dict[str, object]]:
    """Fit the curves of every refrigerant in refrigerants.json."""
    refrigerants = json.loads((DATA / "refrigerants.json").read_text("utf-8"))["refrigerants"]
    return {designation: _shipped_curves(designation, facts) for designation, facts in refrigerants.items()}


def main(path: Path = DATA / "saturation.json") -> None:
    """Write the curves as JSON, one refrigerant a line."""
    lines = ",\n".join(f"{json.dumps(name)}: {json.dumps(curves)}" for name, curves in build().items())
    path.write_text(f"{{\n{lines}\n}}\n", "utf-8")


def curves(
    designation: str, equation_of_state: str, critical_temperature_k: float, pressures_pa: tuple[float, float]
) -> dict[str, object]:
    """Fit bubble and dew curve of one refrigerant between two pressures [Pa].

    Raises:
        BuildError: a flash found no equilibrium, or a false one, or no series follows them.

    """
    low_pa, high_pa = pressures_pa
    nodes, at_pa = nodes_between(low_pa, high_pa, _NODES)
    series = [
        fit(designation, nodes, equilibrium_temperatures(equation_of_state, quality, at_pa, critical_temperature_k))
        for quality in (0.0, 1.0)
    ]
    return {"low_pa": low_pa, "high_pa": high_pa, "bubble": series[0], "dew": series[1]}


def nodes_between(low_pa: float, high_pa: float, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give Chebyshev nodes from -1 to 1, rising, and the pressures they stand for on a scale of ln p [Pa]."""
    nodes = np.cos(np.pi * (np.arange(count)[::-1] + 0.5) / count)
    middle, half = math.log(high_pa * low_pa) / 2, math.log(high_pa / low_pa) / 2
    return nodes, np.exp(middle + half * nodes)


def _shipped_curves(designation: str, facts: dict[str, object]) -> dict[str, object]:
    return curves(
        designation,
        str(facts["equation_of_state"]),
        float(str(facts["critical_temperature_k"])),
        pressure_range_pa(designation, float(str(facts["critical_pressure_pa"]))),
    )


if __name__ == "__main__":  # pragma: no cover
    main()
