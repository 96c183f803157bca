"""What holds a motor back, by its speed: a compressor against its pressures, and a fan in its air.

Torques in synchronous watts. Figures are common practice, no source: a scroll starts nearly unloaded, since it empties
itself when it stops, but not against all its pressure; backwards it pumps nothing and only rubs.
"""

import math
from typing import NamedTuple

RATED_DIFFERENCE_PA = 1.7e6
STANDING_PART, TURNING_PART = 0.12, 0.85
"""Of the rated torque, that the rated difference of pressure asks of a compressor at rest, and once it turns."""

BACKWARDS_PART = 0.15
_LOADED, _UP_FROM, _UP_TO = 0.5, 0.7, 0.9


class CompressorLoad(NamedTuple):
    """sticks: without pressure. rated: torque. difference: of the pressures [Pa]. at_speed: what running asks."""

    sticks_w: float
    rated_w: float
    difference_pa: float
    at_speed_w: float
    is_blocked: bool = False

    def torque(self, speed: float) -> float:
        """Find the torque against the way it turns, or that has to be overcome before it turns."""
        if self.is_blocked:
            return math.inf
        if speed < 0.0:
            return BACKWARDS_PART * self.rated_w
        part = STANDING_PART + (TURNING_PART - STANDING_PART) * min(speed / _LOADED, 1.0)
        coming_up_w = self.sticks_w + part * self.rated_w * max(self.difference_pa, 0.0) / RATED_DIFFERENCE_PA
        if self.at_speed_w <= 0.0:
            return coming_up_w
        up = min(max((speed - _UP_FROM) / (_UP_TO - _UP_FROM), 0.0), 1.0)
        return coming_up_w * (1.0 - up) + self.at_speed_w * up


class FanLoad(NamedTuple):
    """rated: torque at the rated speed, blowing freely. share: of it, that its air asks. is_blocked: by hand."""

    sticks_w: float
    rated_w: float
    rated_speed: float
    share: float = 1.0
    is_blocked: bool = False

    def torque(self, speed: float) -> float:
        """Find it likewise."""
        if self.is_blocked:
            return math.inf
        return max(self.share * self.rated_w * (speed / self.rated_speed) ** 2, self.sticks_w)


Load = CompressorLoad | FanLoad
