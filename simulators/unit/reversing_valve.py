"""The reversing valve of a heat pump: which coil its slide leads hot gas to, and what it lets across.

Its coil only opens a pilot: it is the difference of the pressures that moves the slide. Without one it stays where it
is, whatever is asked. A slide that hangs on its way joins both sides.
"""

from dataclasses import dataclass
from typing import Literal

from simulators.unit.limits import check_limits

Mode = Literal["cooling", "heating"]

HALF_WAY = 0.5


@dataclass(frozen=True, slots=True)
class ReversingValve:
    """Sizes of the valve (common practice, no source).

    energised_in: the mode in which its coil has power. least_difference: what moves the slide. port: the effective
    area that joins both sides with the slide half-way, or that equalises them just after it moved. leak: effective
    area, past a sound slide.
    """

    energised_in: Mode = "cooling"
    least_difference_pa: float = 1.0e5
    port_m2: float = 3.0e-5
    leak_m2: float = 4.0e-8

    def __post_init__(self) -> None:
        check_limits(self, _LIMITS)

    def leads(self, *, energised: bool) -> Mode:
        """Tell the mode that a sound valve is in when its coil has power, or has none."""
        if energised:
            return self.energised_in
        return "heating" if self.energised_in == "cooling" else "cooling"


_LIMITS = {"least_difference_pa": (0.0, 5e5), "port_m2": (1e-6, 1e-4), "leak_m2": (0.0, 1e-6)}


class Slide:
    """Where the slide is: position, from 0 in cooling to 1 in heating.

    reaches: how far a shift gets of its way, 1 being all of it. It last rested with its coil dead.
    """

    def __init__(self, valve: ReversingValve, *, reaches: float) -> None:
        self._valve, self._reaches = valve, reaches
        self.position = 1.0 if valve.leads(energised=False) == "heating" else 0.0

    @property
    def mode(self) -> Mode:
        """Where the slide leads hot gas: to the outdoor coil in cooling, to the indoor one in heating."""
        return "heating" if self.position > HALF_WAY else "cooling"

    @property
    def joins_m2(self) -> float:
        """The effective area from discharge to suction: past the slide, and round one that hangs half-way."""
        return self._valve.leak_m2 + 4.0 * self.position * (1.0 - self.position) * self._valve.port_m2

    def follow(self, *, energised: bool, difference_pa: float) -> None:
        """Move where the coil asks, if there is difference enough between the pressures."""
        if difference_pa >= self._valve.least_difference_pa:
            self.position = self._end(self._valve.leads(energised=energised), energised=energised)

    def _end(self, asked: Mode, *, energised: bool) -> float:
        """Tell where a shift ends. A slide that hangs does so on its way from where it rests, and falls back whole."""
        part = self._reaches if energised else 1.0
        return part if asked == "heating" else 1.0 - part
