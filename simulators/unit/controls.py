"""What starts and stops the unit: disconnect, thermostat, delay timer, pressure cut-outs and leak detector.

A small state machine beside the model: what is asked for and what was felt go in, and out comes whether the contactor
is closed, and what holds it if not. There is no chance in it.
"""

from dataclasses import dataclass
from typing import Literal

from simulators.unit.properties import Properties

Hold = Literal[
    "disconnect",
    "control power",
    "thermostat",
    "economizer",
    "leak detector",
    "high cut-out",
    "low cut-out",
    "delay timer",
    "",
]
"""What holds the contactor open; nothing while it is closed."""

DETECTOR_HOLDS_S = 300.0
"""How long a leak detector keeps its unit off after the last refrigerant it sensed (IEC 60335-2-40, from memory)."""


@dataclass(frozen=True, slots=True)
class CutOuts:
    """Where the cut-outs open and close by themselves, as bubble points, so that they fit every refrigerant [K].

    For R-410A 61 °C is near 560 psig and -25 °C near 33 psig (common practice, no source). by_hand: one that opened
    stays so until it is reset by hand.
    """

    high_opens_k: float = 334.5
    high_closes_k: float = 319.0
    low_opens_k: float = 248.0
    low_closes_k: float = 268.0
    high_by_hand: bool = False
    low_by_hand: bool = False


class Controls:
    """The state of all that can hold the contactor. At first it is closed, as after a long run.

    calls: the thermostat. heats: it is for heating that it calls. is_connected: by its disconnect. has_power: the
    control transformer gives something, which it does not where one of its two legs is lost.

    The timer starts whenever the contactor opens, and anew when power comes back.
    """

    def __init__(
        self, cut_outs: CutOuts, properties: Properties, *, delay_timer_s: float, outdoor_air_cools: bool = False
    ) -> None:
        self.calls = True
        self.heats = False
        self.is_connected = self.has_power = True
        self.senses_leak = False
        self._outdoor_air_cools = outdoor_air_cools
        self._cut_outs, self._delay_timer_s = cut_outs, delay_timer_s
        self._high_open = self._low_open = self._reset_pressed = False
        self._high_pa = [properties.bubble_pressure(k) for k in (cut_outs.high_closes_k, cut_outs.high_opens_k)]
        self._low_pa = [properties.bubble_pressure(k) for k in (cut_outs.low_opens_k, cut_outs.low_closes_k)]
        self._off_s = delay_timer_s
        self._since_leak_s = DETECTOR_HOLDS_S
        self._was_closed = True

    @property
    def cut_out(self) -> Literal["high", "low", ""]:
        """Which cut-out is open: `high`, `low`, or none."""
        return "high" if self._high_open else "low" if self._low_open else ""

    @property
    def held_by(self) -> Hold:
        """What holds the contactor open, the first in the order in which one looks for it."""
        return (
            "disconnect" if not self.is_connected
            else "control power" if not self.has_power
            else "thermostat" if not self.calls
            else "economizer" if self._outdoor_air_cools and not self.heats
            else "leak detector" if self.is_in_alarm
            else "high cut-out" if self._high_open
            else "low cut-out" if self._low_open
            else "delay timer" if self._off_s < self._delay_timer_s
            else ""
        )  # fmt: skip

    @property
    def is_live(self) -> bool:
        """Whether the controls have power."""
        return self.is_connected and self.has_power

    @property
    def is_in_alarm(self) -> bool:
        """Whether the leak detector stops the compressor and runs the blower."""
        return self.is_live and self._since_leak_s < DETECTOR_HOLDS_S

    @property
    def blower_runs(self) -> bool:
        """Whether the indoor air moves: on a call, and always while a leak is sensed."""
        return self.is_live and (self.calls or self.is_in_alarm)

    def reset_cut_outs(self) -> None:
        """Press the reset of both cut-outs; one that still feels its pressure stays open."""
        self._reset_pressed = True

    def go_on(self, step_s: float, *, suction_pa: float, head_pa: float) -> bool:
        """Look at the pressures and timers after this long, and tell whether the contactor is closed."""
        self._feel(suction_pa, head_pa)
        self._since_leak_s = 0.0 if self.senses_leak else self._since_leak_s + step_s
        drops_out = self._was_closed and self.held_by != ""
        self._off_s = 0.0 if drops_out or not self.is_live else self._off_s + step_s
        self._was_closed = self.held_by == ""
        return self._was_closed

    def _feel(self, suction_pa: float, head_pa: float) -> None:
        """Open a cut-out beyond one pressure, and close it at another, by itself or when it is reset."""
        high_closes, high_opens = self._high_pa
        low_opens, low_closes = self._low_pa
        may_close_high = self._reset_pressed or not self._cut_outs.high_by_hand
        may_close_low = self._reset_pressed or not self._cut_outs.low_by_hand
        self._high_open = head_pa > high_opens or (self._high_open and not (may_close_high and head_pa <= high_closes))
        self._low_open = suction_pa < low_opens or (self._low_open and not (may_close_low and suction_pa >= low_closes))
        self._reset_pressed = False
