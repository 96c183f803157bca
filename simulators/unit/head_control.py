"""Condenser fan control for low outdoor air: a fan that cycles, or that slows, so that the head stays up.

Figures are common practice, no source: without one, a unit in cool air feeds its evaporator with too little pressure.
"""

from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit.lag import lagged

SPEED_LAG_S = 20.0
"""How soon a speed control follows."""


@dataclass(frozen=True, slots=True)
class FullSpeed:
    """No control: the fan runs with the compressor."""

    def request(self, condensing_k: float, before: float) -> float:  # noqa: ARG002 - it looks at nothing
        """Give full speed [1]."""
        return 1.0


@dataclass(frozen=True, slots=True)
class FanCycling:
    """A pressure switch that stops the fan below one condensing temperature and starts it at another [K]."""

    starts_k: float = 314.0
    stops_k: float = 304.0

    def request(self, condensing_k: float, before: float) -> float:
        """Give full speed or none [1]."""
        return 1.0 if condensing_k > (self.stops_k if before > 0.0 else self.starts_k) else 0.0


@dataclass(frozen=True, slots=True)
class FanSpeed:
    """A control that slows the fan evenly from one condensing temperature to another [K]."""

    full_k: float = 314.0
    least_k: float = 308.0
    least_speed: float = 0.1

    def request(self, condensing_k: float, before: float) -> float:  # noqa: ARG002 - it has no hysteresis
        """Give the speed for this head over the rated one [1]."""
        part = (condensing_k - self.least_k) / (self.full_k - self.least_k)
        return self.least_speed + (1.0 - self.least_speed) * min(max(part, 0.0), 1.0)


HeadControl = FullSpeed | FanCycling | FanSpeed


class HeadControlState(NamedTuple):
    """What the control asks of the fan now [1]."""

    control: HeadControl
    request: float = 1.0

    def after(self, step_s: float, condensing_k: float) -> "HeadControlState":
        """Look at the head after this long. A speed takes its time to change, a switch none."""
        asked = self.control.request(condensing_k, self.request)
        if isinstance(self.control, FanSpeed):
            asked = lagged(self.request, asked, step_s / SPEED_LAG_S)
        return HeadControlState(self.control, asked)
