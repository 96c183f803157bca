"""How much carbon dioxide would warm as much as a mass of refrigerant, by the assessment report that a rule names."""

from collections.abc import Mapping
from types import MappingProxyType

from calc.elementwise import within
from calc.estimate import Estimate
from calc.refrigerants import AssessmentReport, get

BASES: Mapping[AssessmentReport, str] = MappingProxyType(
    {
        "AR4": "IPCC AR4, over 100 years: the figures of the US AIM Act (40 CFR 84.64), a blend by its mass fractions",
        "AR5": "IPCC AR5, over 100 years",
        "AR6": "IPCC AR6, over 100 years",
    }
)
"""What each report is the basis of."""


def co2_equivalent(refrigerant: str, mass_kg: Estimate, *, report: AssessmentReport = "AR4") -> Estimate:
    """Compute the mass of carbon dioxide that warms as much over 100 years.

    A global warming potential counts as the convention that it is; its own uncertainty, a third or so, is left out.

    Args:
        refrigerant: one of `saturation.names()`.
        mass_kg: added, recovered or lost, 0 to 100,000 [kg].
        report: the basis.

    Raises:
        CalcRangeError: no such mass.
        UnknownNameError: an unknown refrigerant.

    >>> round(co2_equivalent("R-410A", Estimate(1.0, 0.0)).value)  # 2,088 as the trade prints it
    2088

    """
    within("mass_kg", mass_kg.value, 0.0, 1e5, "kg")
    per_kg = get(refrigerant).global_warming_potential(report)
    return Estimate(per_kg * mass_kg.value, per_kg * mass_kg.standard_uncertainty)
