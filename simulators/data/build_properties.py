"""Make the property tables of the simulated unit from CoolProp: `python -m simulators.data.build_properties`.

The unit model may not call a flash in its loop, so that everything it needs is put on two grids here:
the saturation line against ln p, and the superheated vapour against ln p and the square root of the superheat
(which is what makes linear interpolation good next to the dew line, where the heat capacity is steep).

A plain flash of a mixture fails at some pressures in the working range, or finds a false root. So every flash of
one starts from the equilibrium at the pressure below it.
"""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

import CoolProp
import msgspec
import numpy as np
from CoolProp.CoolProp import AbstractState

from calc.data.build_saturation import guesses_from
from simulators.unit.properties import PropertyTables

FOLDER = Path(__file__).parent
ROUTES = {
    "R-410A": ("R410A", 4.41e6),
    "R-22": ("R22", 4.45e6),
    "R-407C": ("R407C", 4.15e6),
    "R-32": ("R32", 5.20e6),
    "R-454B": ("R454B.mix", 4.75e6),
}
"""Designation to the fluid in CoolProp and the highest pressure [Pa], near 0.9 of the critical one."""

LOWEST_PRESSURE_PA = 60e3
SATURATION_ROWS = 256
VAPOUR_ROWS = 64
VAPOUR_COLUMNS = 25
STEPS_TO_A_ROW = 4
"""From one row of the vapour to the next is too far a start for a mixture's flash near its critical point."""
HIGHEST_SUPERHEAT_DK = 130.0


class _End(NamedTuple):
    """One end of evaporation at one pressure. Density [kg/m³], enthalpy [J/kg], entropy [J/(kg K)]."""

    temperature_k: float
    density: float
    enthalpy: float
    entropy: float


def build(designation: str) -> PropertyTables:
    """Compute the tables of one refrigerant."""
    fluid, highest_pressure_pa = ROUTES[designation]
    span = (np.log(LOWEST_PRESSURE_PA), np.log(highest_pressure_pa))
    saturation = list(_saturation_rows(fluid, np.exp(np.linspace(*span, SATURATION_ROWS)).tolist()))
    superheats = (np.linspace(0.0, 1.0, VAPOUR_COLUMNS) ** 2 * HIGHEST_SUPERHEAT_DK).tolist()
    finely = np.exp(np.linspace(*span, (VAPOUR_ROWS - 1) * STEPS_TO_A_ROW + 1)).tolist()
    pressures = finely[::STEPS_TO_A_ROW]
    dews = list(_equilibria(fluid, 1.0, finely))[::STEPS_TO_A_ROW]
    vapour = [_vapour_rows(fluid, p, dew, superheats) for p, dew in zip(pressures, dews, strict=True)]
    columns = [[_rounded(value) for value in column] for column in zip(*saturation, strict=True)]
    return PropertyTables(
        refrigerant=designation,
        source=f"CoolProp {CoolProp.__version__}, {fluid}",
        lowest_pressure_pa=LOWEST_PRESSURE_PA,
        highest_pressure_pa=highest_pressure_pa,
        highest_superheat_dk=HIGHEST_SUPERHEAT_DK,
        bubble_point_k=columns[0],
        dew_point_k=columns[1],
        liquid_enthalpy=columns[2],
        vapour_enthalpy=columns[3],
        liquid_density=columns[4],
        vapour_volume=columns[5],
        liquid_heat_capacity=columns[6],
        enthalpy_over_dew=[rows[0] for rows in vapour],
        volume_over_dew=[rows[1] for rows in vapour],
        entropy_over_dew=[rows[2] for rows in vapour],
        dew_entropy=columns[7],
    )


def _saturation_rows(fluid: str, pressures_pa: list[float]) -> Iterator[tuple[float, ...]]:
    bubbles, dews = _equilibria(fluid, 0.0, pressures_pa), _equilibria(fluid, 1.0, pressures_pa)
    for pressure, bubble, dew in zip(pressures_pa, bubbles, dews, strict=True):
        if not bubble.density > 1.05 * dew.density:
            raise ArithmeticError(f"{fluid} at {pressure:.0f} Pa: the flash found no two phases")
        yield (
            bubble.temperature_k,
            dew.temperature_k,
            bubble.enthalpy,
            dew.enthalpy,
            bubble.density,
            1.0 / dew.density,
            _liquid_heat_capacity(fluid, bubble.temperature_k, bubble.density),
            dew.entropy,
        )


def _equilibria(fluid: str, quality: float, rising_pressures_pa: Iterable[float]) -> Iterator[_End]:
    state = AbstractState("HEOS", fluid)
    is_mixture, found = len(state.fluid_names()) > 1, False
    for pressure in rising_pressures_pa:
        if is_mixture and found:
            state.update_with_guesses(CoolProp.PQ_INPUTS, pressure, quality, guesses_from(state))
        else:
            state.update(CoolProp.PQ_INPUTS, pressure, quality)
        found = True
        yield _End(state.T(), state.rhomass(), state.hmass(), state.smass())


def _liquid_heat_capacity(fluid: str, bubble_point_k: float, density: float) -> float:
    """Of the saturated liquid [J/(kg K)], from the single-phase side of the bubble line."""
    state = AbstractState("HEOS", fluid)
    state.specify_phase(CoolProp.iphase_liquid)
    state.update(CoolProp.DmassT_INPUTS, density, bubble_point_k)
    return float(state.cpmass())


def _vapour_rows(
    fluid: str, pressure_pa: float, dew: _End, superheats_dk: list[float]
) -> tuple[list[float], list[float], list[float]]:
    """Enthalpy [J/kg], volume ratio [1], entropy [J/(kg K)] over those of the dew point, by superheat."""
    state = AbstractState("HEOS", fluid)
    state.specify_phase(CoolProp.iphase_gas)
    density = dew.density
    enthalpies, volumes, entropies = [0.0], [1.0], [0.0]
    for superheat in superheats_dk[1:]:
        density = _vapour_density(state, pressure_pa, dew.temperature_k + superheat, guess=density)
        enthalpies.append(_rounded(state.hmass() - dew.enthalpy))
        volumes.append(_rounded(dew.density / density))
        entropies.append(_rounded(state.smass() - dew.entropy))
    return enthalpies, volumes, entropies


def _vapour_density(state: AbstractState, pressure_pa: float, temperature_k: float, *, guess: float) -> float:
    """Solve p(T, density) from the density of the last, cooler point; leaves the state there.

    A flash on p and T looks for the phase anew at every point, and may take the wrong one near the dew line.
    """

    def excess(density: float) -> float:
        state.update(CoolProp.DmassT_INPUTS, density, temperature_k)
        return float(state.p()) - pressure_pa

    return _bisected(excess, 0.5 * guess, guess)


def _bisected(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if rising(middle) > 0.0 else (middle, high)
    rising(high)
    return high


def _rounded(value: float) -> float:
    return float(f"{value:.7g}")


def write(designation: str) -> Path:
    """Build the tables of one refrigerant and write them where `simulators.unit.properties` looks for them."""
    path = FOLDER / f"{designation}.json"
    path.write_bytes(msgspec.json.format(msgspec.json.encode(build(designation)), indent=0) + b"\n")
    return path


if __name__ == "__main__":
    for name in ROUTES:
        write(name)
