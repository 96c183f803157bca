"""Refrigerant in the air, as a detector reads it: how much burns, and from where on it is said.

Servicing clauses after IEC 60335-2-40 ask for a detector that warns at 25 % of the lower flammable limit (from memory).
"""

from calc.estimate import Estimate
from calc.molar_mass import GAS_CONSTANT, molar_mass_kg_per_mol
from calc.quantities import STANDARD_PRESSURE_PA
from calc.refrigerants import get

_LIMIT_AT_K = 296.15
"""23 °C, at which ASTM E681 has lower flammable limits (ASHRAE 34, from memory)."""

LEAST_SHARE = 500e-6
"""500 ppm: a detector that drifts, or a hose that is taken off outdoors, comes to less. Common practice, no source."""


def flammable_share(refrigerant: str) -> float | None:
    """Give the lower flammable limit as a share of the air's volume [mol/mol]; None of what does not burn.

    The lowest of those known, as of an ideal gas.

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> round(100 * flammable_share("R-32"), 1)  # 14.4 % by volume: ASHRAE 34, from memory
    14.3

    """
    limits = get(refrigerant).lower_flammable_limits
    if not limits:
        return None
    lowest = min(limit.limit_kg_per_m3 for limit in limits)
    return lowest * GAS_CONSTANT * _LIMIT_AT_K / (molar_mass_kg_per_mol(refrigerant) * STANDARD_PRESSURE_PA)


def is_told(in_air: Estimate) -> bool:
    """Tell whether so much is in the air that nobody moves any on [mol/mol]: above its ±, and above what drifts.

    >>> is_told(Estimate(600e-6, 50e-6)), is_told(Estimate(600e-6, 400e-6))
    (True, False)
    """
    return in_air.value > max(LEAST_SHARE, in_air.expanded())
