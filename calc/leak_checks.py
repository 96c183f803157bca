"""How often a circuit is checked for leaks in the European Union, by what its charge would warm: (EU) 2024/573.

From 5 t of CO2 equivalent every 12 months, from 50 t every 6, from 500 t every 3; twice that with a leak detection
system; hermetically sealed and labelled so, from 10 t. The kilograms of common refrigerants at these limits are in
print at gov.uk, for Regulation (EU) 517/2014, which has the same ones. Of substances of its Annex II, such as R-1234yf,
the Regulation counts the kilograms, from 1: from memory. National law can ask for more.
"""

import math

from calc.elementwise import takes_arrays, within
from calc.refrigerants import get

LEAST_T = 5.0
LEAST_SEALED_T = 10.0
_EVERY_MONTHS = ((500.0, 3), (50.0, 6), (LEAST_T, 12))
_WITH_DETECTION = 2
_ROUNDING = 1e-9
_OF_ANNEX_II = ("R-1234yf", "R-1234ze(E)")
_LEAST_OF_ANNEX_II_KG = 1.0
_LEAST_SEALED_OF_ANNEX_II_KG = 2.0
_OF_ANNEX_II_MONTHS = ((100.0, 3), (10.0, 6), (_LEAST_OF_ANNEX_II_KG, 12))


@takes_arrays
def co2_equivalent_t(refrigerant: str, charge_kg: float) -> float:
    """Compute what a charge would warm as, as tonnes of carbon dioxide [t], by the IPCC's fourth report.

    That is the report of the Regulation's Annex I; of its Annex II, other figures hold, below 2 where this has 4 or 6.

    Args:
        refrigerant: one of `saturation.names()`.
        charge_kg: 0 to 1e5 [kg].

    Raises:
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> round(co2_equivalent_t("R-404A", 1.4), 1)  # 5.5 t in print, in a service company's worked example
    5.5

    """
    within("charge_kg", charge_kg, 0.0, 1e5, "kg")
    return charge_kg * get(refrigerant).global_warming_potential("AR4") / 1000


def check_interval_months(
    refrigerant: str, charge_kg: float, *, has_leak_detection: bool = False, is_sealed: bool = False
) -> int | None:
    """Give how many months may lie between two checks for leaks; None where none is asked for regularly.

    Args:
        refrigerant: one of `saturation.names()`.
        charge_kg: of the circuit, 0 to 1e5 [kg].
        has_leak_detection: a system that warns whoever runs it of a leak.
        is_sealed: hermetically sealed, and labelled so.

    Raises:
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> check_interval_months("R-410A", 2.4), check_interval_months("R-410A", 2.3)  # 5 t are 2.4 kg: gov.uk
    (12, None)

    """
    tonnes = co2_equivalent_t(refrigerant, charge_kg) * (1 + _ROUNDING)
    unsaturated_kg = charge_kg * sum(
        share for substance, share in get(refrigerant).composition.items() if substance in _OF_ANNEX_II
    )
    unsaturated_kg *= 1 + _ROUNDING
    months = min(
        _interval(tonnes, _EVERY_MONTHS, LEAST_SEALED_T if is_sealed else LEAST_T),
        _interval(
            unsaturated_kg,
            _OF_ANNEX_II_MONTHS,
            _LEAST_SEALED_OF_ANNEX_II_KG if is_sealed else _LEAST_OF_ANNEX_II_KG,
        ),
    )
    if math.isinf(months):
        return None
    return int(months) * (_WITH_DETECTION if has_leak_detection else 1)


def _interval(amount: float, table: tuple[tuple[float, int], ...], least: float) -> float:
    if amount < least:
        return math.inf
    return next((months for limit, months in table if amount >= limit), math.inf)
