"""Superheat and subcooling, with the uncertainty that instruments and the refrigerant's model give them."""

import math

from calc.estimate import Estimate
from calc.refrigerants import get
from calc.saturation import bubble_point, bubble_slope, dew_point, dew_slope


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
        CalcRangeError: no saturation is known at this pressure.
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
    uncertainty_dk = math.hypot(
        dew_slope(refrigerant, suction_pressure_pa) * pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k,
        get(refrigerant).model_standard_uncertainty_k,
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
    uncertainty_dk = math.hypot(
        bubble_slope(refrigerant, liquid_pressure_pa) * pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k,
        get(refrigerant).model_standard_uncertainty_k,
    )
    return Estimate(bubble_point(refrigerant, liquid_pressure_pa) - liquid_line_temperature_k, uncertainty_dk)
