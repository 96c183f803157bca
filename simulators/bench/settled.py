"""Whether the simulated unit has settled since its charge was changed: by the rule of the advice, calc.settling.

What is looked at is what the advice judges the charge by, without any instrument's error: superheat of a fixed orifice,
subcooling of a valve, and the other one of both beside it.
"""

from collections.abc import Mapping
from typing import Literal

from calc.errors import CalcRangeError
from calc.saturation import bubble_point, dew_point

_EVERY_S = 1.0


class SinceChange:
    """Both figures of one unit since the last change of its charge, as they truly were."""

    def __init__(self, refrigerant: str, metering_device: Literal["txv", "fixed_orifice"]) -> None:
        self._refrigerant = refrigerant
        self._by_superheat = metering_device == "fixed_orifice"
        self._times_s: list[float] = []
        self._superheats_dk: list[float] = []
        self._subcoolings_dk: list[float] = []

    def begin(self) -> None:
        """Forget what was before a change."""
        self._times_s, self._superheats_dk, self._subcoolings_dk = [], [], []

    def note(self, time_s: float, state: Mapping[str, float]) -> None:
        """Note how things stand at a time [s], by channel [SI]; once a second is enough."""
        if self._times_s and time_s - self._times_s[-1] < _EVERY_S:
            return
        try:
            dew_k = dew_point(self._refrigerant, state["suction_pressure"])
            bubble_k = bubble_point(self._refrigerant, state["liquid_pressure"])
        except CalcRangeError:  # no pressure at which this refrigerant boils: whatever was, has not settled
            self.begin()
            return
        self._times_s.append(time_s)
        self._superheats_dk.append(state["suction_line_temperature"] - dew_k)
        self._subcoolings_dk.append(bubble_k - state["liquid_line_temperature"])

    def has_settled(self) -> bool:
        """Tell whether it has settled."""
        from calc.settling import Settled, assess_both  # with numpy, which a bench must not wait for as it starts

        figures = self._superheats_dk, self._subcoolings_dk
        judged, beside = figures if self._by_superheat else figures[::-1]
        return isinstance(assess_both(self._times_s, judged, beside)[0], Settled)
