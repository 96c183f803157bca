"""Superheat and subcooling, with the uncertainty that instruments and the refrigerant's model give them."""

import math
from functools import cache

from calc.elementwise import at_most, hypot, within
from calc.estimate import Estimate
from calc.refrigerants import get
from calc.saturation import bubble_point, bubble_slope, dew_point, dew_pressure, dew_slope
from calc.uncertainty import Budget


def superheat(
    refrigerant: str,
    suction_pressure_pa: float,
    *,
    suction_line_temperature_k: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Compute how far the suction line is above the dew point.

    The uncertainties add in quadrature (JCGM 100, 5.1.2): that of the pressure times the slope of the dew
    point, that of the line temperature, and that of the refrigerant's model.

    Args:
        refrigerant: one of `saturation.names()`.
        suction_pressure_pa: absolute [Pa].
        suction_line_temperature_k: where the pressure is read [K].
        pressure_standard_uncertainty_pa: half of an instrument's ± limit [Pa].
        temperature_standard_uncertainty_k: likewise [K].

    Returns:
        The superheat [K]. Below zero the instruments disagree, or liquid comes back.

    Raises:
        CalcRangeError: no saturation is known at this pressure, or an uncertainty is negative.
        UnknownNameError: an unknown refrigerant.

    >>> ten_degf_dk = superheat(
    ...     "R-410A",
    ...     914.92e3,
    ...     suction_line_temperature_k=277.507 + 5.556,
    ...     pressure_standard_uncertainty_pa=3447.0,
    ...     temperature_standard_uncertainty_k=0.25,
    ... )
    >>> round(ten_degf_dk.value, 2)
    5.56

    """
    uncertainty_dk = _uncertainty_dk(
        refrigerant,
        dew_slope(refrigerant, suction_pressure_pa),
        suction_pressure_pa,
        pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k,
    )
    return Estimate(suction_line_temperature_k - dew_point(refrigerant, suction_pressure_pa), uncertainty_dk)


def subcooling(
    refrigerant: str,
    liquid_pressure_pa: float,
    *,
    liquid_line_temperature_k: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Compute how far the liquid line is below the bubble point; as `superheat` otherwise.

    A little below zero happens with a sight glass full of liquid, within the uncertainty; it is given as is.

    >>> fifteen_degf_dk = subcooling(  # an R-22 service manual: 260 psig, line at 105 °F
    ...     "R-22",
    ...     1893.96e3,
    ...     liquid_line_temperature_k=313.706,
    ...     pressure_standard_uncertainty_pa=0.0,
    ...     temperature_standard_uncertainty_k=0.0,
    ... )
    >>> round(fifteen_degf_dk.value * 9 / 5, 1)
    15.0
    """
    uncertainty_dk = _uncertainty_dk(
        refrigerant,
        bubble_slope(refrigerant, liquid_pressure_pa),
        liquid_pressure_pa,
        pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k,
    )
    return Estimate(bubble_point(refrigerant, liquid_pressure_pa) - liquid_line_temperature_k, uncertainty_dk)


def superheat_budget(
    refrigerant: str,
    suction_gauge_pressure_pa: Estimate,
    *,
    suction_line_temperature_k: Estimate,
    barometric_pressure_pa: Estimate,
) -> Budget:
    """Compute the superheat from a gauge pressure, and keep what each input adds to its uncertainty.

    Superheat and subcooling hang on the same barometric pressure, in opposite directions: `Budget.correlation` of the
    two tells how much. Their models count as apart: how far dew and bubble points err together is not published.

    Args:
        refrigerant: one of `saturation.names()`.
        suction_gauge_pressure_pa: over the barometric pressure [Pa].
        suction_line_temperature_k: where the pressure is read [K].
        barometric_pressure_pa: from a barometer, or from the elevation with some 1 kPa for the weather [Pa].

    Returns:
        The superheat [K], from suction_pressure, barometric_pressure, suction_line_temperature and dew_point_model.

    Raises:
        CalcRangeError: no saturation is known at this pressure, or an uncertainty is negative.
        UnknownNameError: an unknown refrigerant.

    >>> budget = superheat_budget(
    ...     "R-410A",
    ...     Estimate(813.58e3, 12.07e3),  # 118 psig within ±3.5 psi, as California Title 24 asks
    ...     suction_line_temperature_k=Estimate(283.15, 0.25),
    ...     barometric_pressure_pa=Estimate(101325.0, 1000.0),
    ... )
    >>> round(budget.value, 2), budget.leading_input
    (5.64, 'suction_pressure')

    """
    pressure_pa = suction_gauge_pressure_pa.value + barometric_pressure_pa.value
    slope_k_per_pa = dew_slope(refrigerant, pressure_pa)
    return Budget(
        suction_line_temperature_k.value - dew_point(refrigerant, pressure_pa),
        {
            "suction_pressure": -slope_k_per_pa * suction_gauge_pressure_pa.standard_uncertainty,
            "barometric_pressure": -slope_k_per_pa * barometric_pressure_pa.standard_uncertainty,
            "suction_line_temperature": suction_line_temperature_k.standard_uncertainty,
            "dew_point_model": -model_uncertainty_k(refrigerant, pressure_pa, slope_k_per_pa),
        },
    )


def subcooling_budget(
    refrigerant: str,
    liquid_gauge_pressure_pa: Estimate,
    *,
    liquid_line_temperature_k: Estimate,
    barometric_pressure_pa: Estimate,
) -> Budget:
    """Compute the subcooling [K] likewise: liquid_pressure, barometric_pressure, liquid_line_temperature and so on.

    >>> budget = subcooling_budget(  # an R-22 service manual: 260 psig, line at 105 °F -> 15 °F
    ...     "R-22",
    ...     Estimate(1792.64e3, 0.0),
    ...     liquid_line_temperature_k=Estimate(313.706, 0.0),
    ...     barometric_pressure_pa=Estimate(101325.0, 0.0),
    ... )
    >>> round(budget.value * 9 / 5, 1), budget.leading_input
    (15.0, 'bubble_point_model')
    """
    pressure_pa = liquid_gauge_pressure_pa.value + barometric_pressure_pa.value
    slope_k_per_pa = bubble_slope(refrigerant, pressure_pa)
    return Budget(
        bubble_point(refrigerant, pressure_pa) - liquid_line_temperature_k.value,
        {
            "liquid_pressure": slope_k_per_pa * liquid_gauge_pressure_pa.standard_uncertainty,
            "barometric_pressure": slope_k_per_pa * barometric_pressure_pa.standard_uncertainty,
            "liquid_line_temperature": -liquid_line_temperature_k.standard_uncertainty,
            "bubble_point_model": model_uncertainty_k(refrigerant, pressure_pa, slope_k_per_pa),
        },
    )


def model_uncertainty_k(refrigerant: str, pressure_pa: float, slope_k_per_pa: float) -> float:
    """Give the standard uncertainty of a dew or bubble point by the refrigerant's model alone.

    Where it stems from one in pressure, it is stated for air conditioning, and at deep suction (below -10 °C)
    it is less: the same share of the pressure is fewer kelvin there.

    Args:
        refrigerant: one of `saturation.names()`.
        pressure_pa: absolute [Pa].
        slope_k_per_pa: of the dew or bubble point there [K/Pa].

    Returns:
        One standard deviation [K].

    >>> slope_k_per_pa = dew_slope("R-410A", 175e3)  # -40 °C: 0.5 % of pressure (Lemmon 2003) would be 0.11 K
    >>> round(model_uncertainty_k("R-410A", 175e3, slope_k_per_pa), 2)
    0.12

    """
    at_most_k, less_below_k = _model(refrigerant)
    return at_most_k if less_below_k is None else at_most_k * at_most(pressure_pa * slope_k_per_pa / less_below_k, 1.0)


@cache
def _model(refrigerant: str) -> tuple[float, float | None]:
    """Give the uncertainty, and if it stems from pressure, pressure times slope [K] where deep suction begins."""
    facts = get(refrigerant)
    if not facts.model_errs_in_pressure:
        return facts.model_standard_uncertainty_k, None
    pressure_pa = min(dew_pressure(refrigerant, _DEEP_SUCTION_K), _DEEP_SUCTION_PA)
    return facts.model_standard_uncertainty_k, pressure_pa * dew_slope(refrigerant, pressure_pa)


_DEEP_SUCTION_K = 263.15
_DEEP_SUCTION_PA = 600e3  # of carbon dioxide, which boils colder at any pressure


def _uncertainty_dk(
    refrigerant: str, slope_k_per_pa: float, at_pa: float, pressure_u_pa: float, line_u_k: float
) -> float:
    within("pressure_standard_uncertainty_pa", pressure_u_pa, 0.0, math.inf, "Pa")
    within("temperature_standard_uncertainty_k", line_u_k, 0.0, math.inf, "K")
    model_k = model_uncertainty_k(refrigerant, at_pa, slope_k_per_pa)
    together_dk: float = hypot(slope_k_per_pa * pressure_u_pa, line_u_k, model_k)
    return together_dk
