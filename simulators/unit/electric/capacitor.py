"""Run capacitors: what each section holds cold, hot and under load, and the charge that is left in it.

Figures without another source are common practice, no source: metallised film loses some 0.025 % a kelvin, and a can
stands some 20 K above its air beside a running motor, which it reaches within half an hour.
"""

import math
from dataclasses import dataclass, replace

from simulators.unit.lag import lagged

COLD_K = 298.15
"""At which a label holds."""

LOSS_PER_K = 2.5e-4
WARMER_DK = 20.0
CAN_LAG_S = 900.0
HOT_K = 333.15
"""At which a weak section shows all its weakness under load."""

LOSS_PER_YEAR = 0.004
"""Of a sound one that runs for a season each year."""


@dataclass(frozen=True, slots=True)
class Section:
    """One section of a can. rated: its label [F, V].

    share: what is left of the label's value, cold and at the little voltage of a meter; 0 is open. fails_under_load:
    the part that goes too, once it is hot and at its rated voltage. bleeder: the resistor across it, None without.
    """

    rated_f: float
    rated_v: float = 440.0
    share: float = 1.0
    fails_under_load: float = 0.0
    bleeder_ohm: float | None = None

    @property
    def cold_f(self) -> float:
        """What a meter finds on it, cold [F]."""
        return self.rated_f * self.share

    def capacitance_f(self, volts: float, temperature_k: float) -> float:
        """Find what it holds at this voltage across it [V RMS] and this warm.

        >>> section = Section(45e-6, fails_under_load=0.15)
        >>> round(section.capacitance_f(0.0, 298.15) * 1e6, 2), round(section.capacitance_f(440.0, 333.15) * 1e6, 2)
        (45.0, 37.92)
        """
        warmth = 1.0 - LOSS_PER_K * (temperature_k - COLD_K)
        if self.fails_under_load == 0.0:
            return self.cold_f * warmth
        hot = min(max((temperature_k - COLD_K) / (HOT_K - COLD_K), 0.0), 1.0)
        stressed = min((volts / self.rated_v) ** 2, 1.0)
        return self.cold_f * warmth * (1.0 - self.fails_under_load * hot * stressed)

    def aged(self, years: float) -> "Section":
        """Give it as it is after so many years of sound service."""
        return replace(self, share=self.share * max(1.0 - LOSS_PER_YEAR * years, 0.0))


@dataclass(slots=True)
class Can:
    """A capacitor with its sections by name, and its state: how warm it is, and the charge in each section [V DC].

    is_bulged: its top has domed, and so parted its own connections.
    """

    sections: dict[str, Section]
    is_bulged: bool = False
    temperature_k: float = COLD_K
    charge_v: dict[str, float] | None = None

    def capacitance_f(self, name: str, volts: float) -> float:
        """Find what a section holds now [F]."""
        return 0.0 if self.is_bulged else self.sections[name].capacitance_f(volts, self.temperature_k)

    def cold_f(self, name: str) -> float:
        """Find what a meter shows on a section, cold [F]."""
        return 0.0 if self.is_bulged else self.sections[name].cold_f

    def residual_v(self, name: str) -> float:
        """Find the charge that is left in a section [V DC]."""
        return (self.charge_v or {}).get(name, 0.0)

    def warm(self, step_s: float, *, air_k: float, under_load: bool) -> None:
        """Let it follow what is around it."""
        towards_k = air_k + (WARMER_DK if under_load else 0.0)
        self.temperature_k = lagged(self.temperature_k, towards_k, step_s / CAN_LAG_S)

    def keep(self, name: str, peak_v: float) -> None:
        """Leave the peak in a section: it was cut off at its worst moment, and there is no chance in it."""
        self.charge_v = {**(self.charge_v or {}), name: peak_v}

    def leak_off(self, name: str, step_s: float, across_ohm: float) -> None:
        """Let a section empty itself through what lies across it."""
        left_v = self.residual_v(name)
        if left_v:
            self.keep(name, after_discharge_v(left_v, self.cold_f(name), across_ohm, step_s))


def after_discharge_v(from_v: float, capacitance_f: float, resistance_ohm: float, duration_s: float) -> float:
    """Find what is left: V exp(-t / R C), nothing below a millivolt.

    >>> round(after_discharge_v(523.0, 45e-6, 20e3, 4.2), 1)
    4.9
    """
    if capacitance_f <= 0.0:
        return 0.0
    left_v = from_v * math.exp(-duration_s / (resistance_ohm * capacitance_f))
    return left_v if abs(left_v) > 1e-3 else 0.0
