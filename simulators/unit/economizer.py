"""An economizer: it cools with outdoor air alone as long as that is cool enough."""

from dataclasses import dataclass

from simulators.unit.lag import lagged
from simulators.unit.limits import check_limits

ACTUATOR_LAG_S = 45.0
"""How soon its damper gets where it should be (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Economizer:
    """A damper with a changeover by dry bulb: below it a call opens the damper, and the compressor waits [K].

    least: how much outdoor air passes whenever the blower runs, for those inside.
    """

    changeover_k: float = 286.15
    least: float = 0.15

    def __post_init__(self) -> None:
        check_limits(self, {"changeover_k": (273.0, 300.0), "least": (0.0, 0.6)})

    def cools_alone(self, outdoor_air_k: float) -> bool:
        """Tell whether a call is its own to answer."""
        return outdoor_air_k < self.changeover_k

    def position(self, outdoor_air_k: float) -> float:
        """Tell how far the damper should be open on a call [1]."""
        return 1.0 if self.cools_alone(outdoor_air_k) else self.least


def damper_after(position: float, asked: float, step_s: float, *, stuck_open: float) -> float:
    """Move the damper for this long. stuck_open: how far it stays open whatever is asked."""
    return max(lagged(position, asked, step_s / ACTUATOR_LAG_S), stuck_open)
