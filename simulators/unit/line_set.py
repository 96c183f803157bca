"""The two pipes between the outdoor and the indoor half of a split unit."""

import math
from dataclasses import dataclass

from simulators.unit.limits import check_limits

STANDARD_GRAVITY = 9.80665
"""[m/s²], by definition."""


@dataclass(frozen=True, slots=True)
class LineSet:
    """Length and bores. factory_length: what the charge on the nameplate is for (15 ft: common practice, no source).

    rise: how far the indoor coil stands above the outdoor one [m].
    """

    length_m: float
    liquid_bore_m: float = 0.311 * 0.0254
    suction_bore_m: float = 0.68 * 0.0254
    factory_length_m: float = 15.0 * 0.3048
    rise_m: float = 0.0

    def __post_init__(self) -> None:
        check_limits(self, _LIMITS)

    @property
    def beyond_nameplate(self) -> float:
        """What part of the length the nameplate's charge is not for; negative for a shorter one."""
        return 1.0 - self.factory_length_m / self.length_m

    @property
    def liquid_volume_m3(self) -> float:
        """Of the liquid line."""
        return _volume(self.liquid_bore_m, self.length_m)

    @property
    def suction_volume_m3(self) -> float:
        """Of the suction line."""
        return _volume(self.suction_bore_m, self.length_m)


_LIMITS = {
    "length_m": (1.0, 60.0),
    "liquid_bore_m": (0.003, 0.03),
    "suction_bore_m": (0.006, 0.06),
    "factory_length_m": (0.0, 20.0),
    "rise_m": (-25.0, 25.0),
}


def liquid_column(density: float, rise_m: float) -> float:
    """Find what a column of liquid takes of the pressure on its way up, or adds on its way down [Pa].

    >>> round(liquid_column(1000.0, 10.0))
    98066
    """
    return density * STANDARD_GRAVITY * rise_m


def _volume(bore_m: float, length_m: float) -> float:
    return math.pi / 4.0 * bore_m * bore_m * length_m
