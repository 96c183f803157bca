"""The molar masses of refrigerants, and the gas constant that goes with them."""

from calc.refrigerants import get

GAS_CONSTANT = 8.314462618
"""Of ideal gases [J/(mol K)]."""
_MOLAR_MASSES_KG_PER_MOL = {
    "R-22": 0.08647,
    "R-32": 0.05202,
    "R-125": 0.12002,
    "R-134a": 0.10203,
    "R-143a": 0.08404,
    "R-290": 0.04410,
    "R-600a": 0.05812,
    "R-744": 0.04401,
    "R-1234yf": 0.11404,
    "R-1234ze(E)": 0.11404,
}
"""From the atomic weights; CoolProp has the same."""


def molar_mass_kg_per_mol(refrigerant: str) -> float:
    """Give the molar mass of a refrigerant; of a blend by its make-up, 1 / sum(w / M) [kg/mol].

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> round(1000 * molar_mass_kg_per_mol("R-410A"), 1)  # ASHRAE 34: 72.6
    72.6

    """
    composition = get(refrigerant).composition
    return 1 / sum(share / _MOLAR_MASSES_KG_PER_MOL[component] for component, share in composition.items())
