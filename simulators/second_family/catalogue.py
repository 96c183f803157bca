"""Capacity and power as shares: of conditions, from catalogues; of faults, from published regressions.

Conditions: D. Cutler et al. 2013, NREL/TP-5500-56354, over many catalogues; the six terms are fitted here to the table
that an open program's coefficients give (tests/published/cooling_by_conditions.csv), within 0.03 %.

Faults: 1 + F (a1 + a2 W + a3 O + a4 F + a5 F² + a6 C), F the size, W and O wet bulb and outdoor air as °C / 273.15 + 1,
C the rated COP: regressions of Purdue, coefficients as NREL's open fault-measure program (commit f4d92fc) carries them.
Its sets for too much refrigerant and for lost evaporator air contradict every other source and are not used.
"""

from collections.abc import Mapping
from types import MappingProxyType

from simulators.second_family.parameters import Conditions

_CAPACITY = (1.0, 0.0174444, 0.000964394, -0.00544431, -0.0000128630, -0.000132834)
_POWER_PER_CAPACITY = (1.0, -0.01745, -0.00103792, 0.0174478, 0.000183532, -0.000142772)

_RATED_COP = {"split undercharge": 6.0, "split condenser air": 6.0}
"""As the regressions were evaluated when they were read; 4.2 for all others."""

Coefficients = tuple[float, float, float, float, float, float]

REGRESSIONS: Mapping[str, tuple[Coefficients, Coefficients]] = MappingProxyType(
    {
        "packaged undercharge": (
            (7.7179, -10.765, 3.129, -0.88403, 0.30043, -0.036993),
            (-5.7419, 8.6709, -4.4104, 1.2489, 1.2095, 0.36051),
        ),
        "split undercharge": (
            (-1.6119, -1.9681, 2.5514, -0.98803, 0.34675, 0.10109),
            (7.0958, -1.0132, -4.9319, 0.69788, 1.2677, -0.065184),
        ),
        "packaged condenser air": (
            (-2.2162, 5.6315, -3.1199, 0.22492, -0.76245, -0.072843),
            (-5.9806, 0.9479, 4.3816, -1.0667, 2.9142, 0.090476),
        ),
        "split condenser air": (
            (1.3037, -0.76356, -0.61117, -0.013457, -0.26911, 0.020726),
            (-4.5864, 5.7081, -1.5167, -0.13863, 1.2189, 0.070849),
        ),
        "restriction": (
            (-1.0205, -3.2899, 3.66, -1.9118, 0.031398, 0.064409),
            (1.4031, 3.7922, -5.343, 3.0229, 1.6979, 0.12159),
        ),
        "non-condensables": (
            (-1.952, 3.8946, -1.6685, -0.044405, -0.015189, -0.062296),
            (2.4648, -3.1898, 1.0582, 0.040316, -0.000329, -0.038164),
        ),
    }
)
"""Of capacity, and of power over capacity."""


def capacity(conditions: Conditions) -> float:
    """Give the capacity of a sound unit over the rated."""
    return _biquadratic(_CAPACITY, conditions)


def power(conditions: Conditions) -> float:
    """Give the power of a sound unit over the rated."""
    return capacity(conditions) * _biquadratic(_POWER_PER_CAPACITY, conditions)


def regressed(name: str, size: float, conditions: Conditions) -> tuple[float, float]:
    """Give capacity and power over those of the sound unit in the same conditions."""
    wet_bulb_c = min(max(conditions.return_wet_bulb_k - 273.15, 12.8), 23.9)
    outdoor_c = min(max(conditions.outdoor_air_k - 273.15, 18.3), 46.1)
    w, o = wet_bulb_c / 273.15 + 1.0, outdoor_c / 273.15 + 1.0
    cop = _RATED_COP.get(name, 4.2)

    def share(a: Coefficients) -> float:
        inner = a[0] + a[1] * w + a[2] * o + a[3] * size + a[4] * size**2 + a[5] * cop
        return 1.0 + size * inner

    of_capacity, of_power_per_capacity = REGRESSIONS[name]
    return share(of_capacity), share(of_capacity) * share(of_power_per_capacity)


def _biquadratic(terms: Coefficients, conditions: Conditions) -> float:
    w, o = conditions.wet_bulb_f - 67.0, conditions.outdoor_f - 95.0
    a, b, c, d, e, f = terms
    return a + b * w + c * w**2 + d * o + e * o**2 + f * w * o
