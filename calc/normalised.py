"""Capacity and power of single-speed cooling brought to rated conditions, and what a charge error does to the power.

Relations in print, not laws: fits over many makers' catalogues, and over one unit's tests. What they leave open counts
in the ±, and beyond their data they are refused.
"""

from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.uncertainty import propagate

RELATION = (
    "total capacity and total electric power of single-speed cooling at rated airflow, by the wet bulb that enters the "
    "indoor coil and the outdoor dry bulb: biquadratic fits over many catalogues, D. Cutler et al., NREL/TP-5500-56354 "
    "(2013), to 67 °F (19.4 °C) and 95 °F (35 °C)"
)
_CAPACITY = (3.68637657, -0.098352478, 0.000956357, 0.005838141, -0.0000127, -0.000131702)
_ENERGY_INPUT_RATIO = (-3.437356399, 0.136656369, -0.001049231, -0.0079378, 0.000185435, -0.0001441)
_CHARGE = ((-0.313, 0.0115, 0.00266, -0.116), (0.219, -0.00501, 0.000989, 0.284))
"""Of power, below and above the right charge: coefficients of the constant, indoor and outdoor °C, and deviation."""
RATED_WET_BULB_K, RATED_OUTDOOR_K = 292.594, 308.15
_WET_BULB_K = (287.0, 295.4)
_OUTDOOR_K = (297.0, 319.3)
CAPACITY_STANDARD_UNCERTAINTY_RATIO, POWER_STANDARD_UNCERTAINTY_RATIO = 0.04, 0.02
"""How far one unit's own course is off the fits: 4.3 % and 1.3 % of a unit measured in a laboratory, up to 3.0 % and
1.5 % of a maker's service manual."""
CHARGE_STANDARD_UNCERTAINTY_RATIO = 0.02
"""Two studies differ by 2 to 3 % in what 20 % less charge does to the power."""


@dataclass(frozen=True, slots=True)
class ConditionRatios:
    """Capacity and power at some conditions over those at rated conditions [1]."""

    capacity_ratio: float
    power_ratio: float


@dataclass(frozen=True, slots=True)
class Normalised:
    """What was measured, brought to rated conditions: capacity [W], power [W], and the one over the other [1]."""

    capacity: Estimate
    power: Estimate
    coefficient_of_performance: Estimate


def cooling_ratios(return_wet_bulb_k: float, outdoor_k: float) -> ConditionRatios:
    """Give what the catalogues' fits say of capacity and power at some conditions: `RELATION`.

    Args:
        return_wet_bulb_k: of the air that enters the indoor coil, 57 to 72 °F (13.9 to 22.2 °C) [K].
        outdoor_k: dry bulb, 75 to 115 °F (23.9 to 46.1 °C) [K].

    Raises:
        CalcRangeError: beyond the catalogues.

    >>> found = cooling_ratios(292.594, 313.71)  # 67 °F inside, 105 °F outdoors: 0.944 and 1.126 in print
    >>> round(found.capacity_ratio, 3), round(found.power_ratio, 3)
    (0.944, 1.126)

    """
    within("return_wet_bulb_k", return_wet_bulb_k, *_WET_BULB_K, "K", "the catalogues behind the relation end there")
    within("outdoor_k", outdoor_k, *_OUTDOOR_K, "K", "the catalogues behind the relation end there")
    capacity = _biquadratic(_CAPACITY, return_wet_bulb_k, outdoor_k)
    rated = _biquadratic(_CAPACITY, RATED_WET_BULB_K, RATED_OUTDOOR_K)
    power = capacity * _biquadratic(_ENERGY_INPUT_RATIO, return_wet_bulb_k, outdoor_k)
    rated_power = rated * _biquadratic(_ENERGY_INPUT_RATIO, RATED_WET_BULB_K, RATED_OUTDOOR_K)
    return ConditionRatios(capacity / rated, power / rated_power)


@takes_arrays
def normalised(capacity: Estimate, power: Estimate, *, return_wet_bulb: Estimate, outdoor_air: Estimate) -> Normalised:
    """Bring measured capacity and power to 67 °F entering wet bulb and 95 °F outdoors, by `RELATION`.

    Args:
        capacity: total, 100 W to 1 MW [W].
        power: total electric, 10 W to 1 MW [W].
        return_wet_bulb: of the air that enters the indoor coil [K].
        outdoor_air: dry bulb [K].

    Raises:
        CalcRangeError: beyond these limits, or beyond the catalogues.

    >>> exact = {"return_wet_bulb": Estimate(292.594, 0.0), "outdoor_air": Estimate(308.15, 0.0)}
    >>> normalised(Estimate(9000.0, 0.0), Estimate(3000.0, 0.0), **exact).capacity  # at rated conditions already
    Estimate(value=9000.0, standard_uncertainty=360.0)

    """
    within("capacity", capacity.value, 100.0, 1e6, "W")
    within("power", power.value, 10.0, 1e6, "W")
    measured = {"capacity": capacity, "power": power, "wet_bulb_k": return_wet_bulb, "outdoor_k": outdoor_air}
    measured |= {
        "of_capacity": Estimate(1.0, CAPACITY_STANDARD_UNCERTAINTY_RATIO),
        "of_power": Estimate(1.0, POWER_STANDARD_UNCERTAINTY_RATIO),
    }

    def capacity_w(*, capacity: float, of_capacity: float, wet_bulb_k: float, outdoor_k: float, **_: float) -> float:
        return of_capacity * capacity / cooling_ratios(wet_bulb_k, outdoor_k).capacity_ratio

    def power_w(*, power: float, of_power: float, wet_bulb_k: float, outdoor_k: float, **_: float) -> float:
        return of_power * power / cooling_ratios(wet_bulb_k, outdoor_k).power_ratio

    def performance(**inputs: float) -> float:
        return capacity_w(**inputs) / power_w(**inputs)

    return Normalised(*(propagate(model, measured).estimate for model in (capacity_w, power_w, performance)))


@takes_arrays
def charge_power_ratio(charge_deviation_ratio: float, *, return_air_k: float, outdoor_k: float) -> float:
    """Give what a wrong charge does to the power of cooling: a fit of NIST TN 1848 as an open program carries it.

    Another study's fit has 2 to 3 % less power at 20 % less charge: power, and amps with it, are no gauge of charge.

    Args:
        charge_deviation_ratio: from the right charge, -0.3 to 0.3 [1].
        return_air_k: dry bulb, 21 to 27 °C [K].
        outdoor_k: dry bulb, 21 to 38 °C [K].

    Returns:
        The power over that at the right charge [1].

    Raises:
        CalcRangeError: beyond the tests behind it.

    >>> round(charge_power_ratio(-0.25, return_air_k=299.82, outdoor_k=300.95), 4)  # in print: 0.9758
    0.9758

    """
    because = "the tests behind the relation end there"
    share = within("charge_deviation_ratio", charge_deviation_ratio, -0.3, 0.3, "", because)
    indoor_degc = within("return_air_k", return_air_k, 294.0, 300.2, "K", because) - 273.15
    outdoor_degc = within("outdoor_k", outdoor_k, 294.0, 311.2, "K", because) - 273.15
    constant, indoors, outdoors, deviation = _CHARGE[share >= 0]
    return 1 + (constant + indoors * indoor_degc + outdoors * outdoor_degc + deviation * share) * share


def _biquadratic(terms: tuple[float, ...], wet_bulb_k: float, outdoor_k: float) -> float:
    x, y = (kelvin * 1.8 - 459.67 for kelvin in (wet_bulb_k, outdoor_k))  # the fits are in °F
    constant, of_x, of_xx, of_y, of_yy, of_xy = terms
    return constant + of_x * x + of_xx * x * x + of_y * y + of_yy * y * y + of_xy * x * y
