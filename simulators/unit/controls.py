"""What starts and stops the unit: the thermostat's call, and the two pressure cut-outs."""

from dataclasses import dataclass

from simulators.unit.properties import Properties


@dataclass(frozen=True, slots=True)
class CutOuts:
    """Where the cut-outs open and close by themselves, as bubble points, so that they fit every refrigerant [K].

    For R-410A 61 °C is near 560 psig and -25 °C near 33 psig (common practice, no source).
    """

    high_opens_k: float = 334.5
    high_closes_k: float = 319.0
    low_opens_k: float = 248.0
    low_closes_k: float = 268.0


class Controls:
    """The thermostat's call and the state of the cut-outs."""

    def __init__(self, cut_outs: CutOuts, properties: Properties) -> None:
        self.calls = True
        self._high_open = self._low_open = False
        self._high_pa = [properties.bubble_pressure(k) for k in (cut_outs.high_closes_k, cut_outs.high_opens_k)]
        self._low_pa = [properties.bubble_pressure(k) for k in (cut_outs.low_opens_k, cut_outs.low_closes_k)]

    @property
    def cut_out(self) -> str:
        """Which cut-out is open: `high`, `low`, or none."""
        return "high" if self._high_open else "low" if self._low_open else ""

    def closed(self, *, suction_pa: float, head_pa: float) -> bool:
        """Look at the pressures, and tell whether the contactor is closed."""
        high_closes, high_opens = self._high_pa
        low_opens, low_closes = self._low_pa
        self._high_open = head_pa > (high_closes if self._high_open else high_opens)
        self._low_open = suction_pa < (low_closes if self._low_open else low_opens)
        return self.calls and not self.cut_out
