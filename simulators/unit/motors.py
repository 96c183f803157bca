"""Motors: how they start, what they draw, and what a run capacitor has to do with it.

Figures without another source are common practice: locked rotor near six times the rated current for a compressor
and twice for a fan; torque with the square of the voltage, and starting torque with the capacitor.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit.lag import lagged
from simulators.unit.roots import solve_rising
from simulators.unit.supply import Supply

LEAST_STARTING_TORQUE = 0.35
"""Of the usual starting torque: with less, the rotor does not move."""

OWN_TORQUE = 0.6
"""The part of a running motor's torque that it has without its capacitor."""


class Phases(NamedTuple):
    """The current in each phase [A]."""

    a: float
    b: float
    c: float

    @property
    def mean(self) -> float:
        """Their mean [A]."""
        return (self.a + self.b + self.c) / 3.0


@dataclass(frozen=True, slots=True)
class CompressorMotor:
    """The compressor's motor. A single-phase one has a run capacitor; one of three phases needs none.

    magnetising: reactive power at the nominal voltage [var]. start: how long it takes to come up to speed [s].
    """

    phases: int = 3
    rated_load_a: float = 12.0
    nominal_voltage_v: float = 230.0
    magnetising_var: float = 1500.0
    locked_rotor_ratio: float = 6.0
    start_s: float = 0.3
    capacitance_f: float = 0.0

    def starting_torque(self, voltage_v: float, capacitor: float) -> float:
        """Find the starting torque over the usual one [1]."""
        torque = (voltage_v / self.nominal_voltage_v) ** 2
        return torque if self.phases == 3 else torque * min(capacitor, 1.0)

    def can_start(self, voltage_v: float, capacitor: float) -> bool:
        """Tell whether it comes up from rest."""
        return self.starting_torque(voltage_v, capacitor) >= LEAST_STARTING_TORQUE

    def losses(self, capacitor: float) -> float:
        """Find by what factor a weak capacitor raises the power that it takes [1]."""
        return 1.0 if self.phases == 3 else 1.0 + 0.1 * max(1.0 - capacitor, 0.0) ** 2

    def running_current(self, power_w: float, voltage_v: float, capacitor: float) -> float:
        """Find what it draws at speed [A]; not nothing without load, since it is magnetised."""
        reactive_var = self.magnetising_var * (voltage_v / self.nominal_voltage_v) ** 2
        if self.phases == 3:
            return math.hypot(power_w, reactive_var) / (math.sqrt(3.0) * voltage_v)
        return math.hypot(power_w, reactive_var * (1.0 + max(1.0 - capacitor, 0.0))) / voltage_v

    def locked_current(self, voltage_v: float) -> float:
        """Find what it draws before it turns [A]."""
        return self.locked_rotor_ratio * self.rated_load_a * voltage_v / self.nominal_voltage_v

    def starting_current(self, running_a: float, voltage_v: float, torque: float, since_s: float) -> float:
        """Find what it draws this long after it began to turn: the inrush, and then what it runs at [A]."""
        rest = math.exp(-((since_s * torque / self.start_s) ** 4))
        return running_a + (self.locked_current(voltage_v) - running_a) * rest

    def by_phase(self, current_a: float, supply: Supply) -> Phases:
        """Share the current among the phases.

        The negative sequence meets about the locked rotor's impedance. That is why current unbalance is
        6 to 10 times the voltage unbalance (NEMA MG 1).
        """
        against = min(self.locked_rotor_ratio * supply.negative_sequence, 0.9)
        strong = math.sqrt(1.0 + against + against * against)
        return Phases(current_a * (1.0 - against), current_a * strong, current_a * strong)


class FanRun(NamedTuple):
    """A fan at the speed where it stays: speed over the rated one [1], and current [A]."""

    speed: float
    current_a: float


@dataclass(frozen=True, slots=True)
class FanMotor:
    """A fan's single-phase motor with its run capacitor: the torque it needs goes with the square of its speed."""

    running_current_a: float = 1.6
    capacitance_f: float = 7.5e-6
    nominal_voltage_v: float = 230.0
    rated_slip: float = 0.12
    locked_rotor_ratio: float = 2.2
    start_s: float = 1.0

    def run(self, voltage_v: float, capacitor: float) -> FanRun:
        """Find where it stays: nowhere but at rest, with its locked rotor current, if it cannot start."""
        voltage = voltage_v / self.nominal_voltage_v
        if min(capacitor, 1.0) * voltage**2 < LEAST_STARTING_TORQUE:
            return FanRun(0.0, self.locked_rotor_ratio * self.running_current_a * voltage)
        torque = voltage**2 * (OWN_TORQUE + (1.0 - OWN_TORQUE) * min(capacitor, 1.0))
        slip = solve_rising(
            lambda slip: torque * slip / self.rated_slip - ((1.0 - slip) / (1.0 - self.rated_slip)) ** 2,
            self.rated_slip, step=0.01, low=0.0, high=1.0, tolerance=1e-6,
        )  # fmt: skip
        magnetising = 0.6 * voltage * (1.0 + 0.5 * abs(1.0 - capacitor))
        working = 0.8 * voltage * slip / self.rated_slip
        return FanRun((1.0 - slip) / (1.0 - self.rated_slip), self.running_current_a * math.hypot(magnetising, working))

    def spin_up_s(self, voltage_v: float, capacitor: float) -> float:
        """Find the time constant of its start [s]."""
        torque = min(capacitor, 1.0) * (voltage_v / self.nominal_voltage_v) ** 2
        return self.start_s / max(torque, LEAST_STARTING_TORQUE)


@dataclass(frozen=True, slots=True)
class Protector:
    """The overload in a motor's winding: it opens on heat, and closes again when the winding has cooled.

    carries: the current that it bears for ever, over the rated one. warming, cooling: time constants [s].
    """

    carries: float = 1.4
    warming_s: float = 100.0
    cooling_s: float = 400.0
    closes_at: float = 0.5

    def heat_after(self, heat: float, load_ratio: float, duration_s: float) -> float:
        """Find the heat, 1 where it opens, after this long with this current over the rated one."""
        towards = (load_ratio / self.carries) ** 2
        constant_s = self.warming_s if load_ratio > 0.0 else self.cooling_s
        return lagged(heat, towards, duration_s / constant_s)
