"""The molar masses of refrigerants, and the gas constant that goes with them."""

from calc.refrigerants import get
from calc.shelf import known

GAS_CONSTANT = 8.314462618
"""Of ideal gases [J/(mol K)]."""


def molar_mass_kg_per_mol(refrigerant: str) -> float:
    """Give the molar mass of a refrigerant; of a blend by its make-up, 1 / sum(w / M) [kg/mol].

    Raises:
        UnknownNameError: an unknown refrigerant.

    >>> round(1000 * molar_mass_kg_per_mol("R-410A"), 1)  # ASHRAE 34: 72.6
    72.6

    """
    composition = get(refrigerant).composition
    components: dict[str, dict[str, float]] = known("components")
    return 1 / sum(share / components[component]["kg_per_mol"] for component, share in composition.items())
