"""The three-phase induction motor by its equivalent circuit, under any three voltages.

Stator resistance and leakage, the magnetising reactance beside the rotor, and the rotor's resistance over slip: one
circuit for the positive sequence at slip s, the same for the negative at 2 - s (textbooks of electrical machines).
Torque is told in synchronous watts: torque times the speed of the field, which is the power through the air gap.
Speed is over that of the field: 1 is synchronous, 0 stands, below 0 turns against the sequence of the terminals.
"""

import math
from dataclasses import dataclass
from typing import Literal

from simulators.unit.electric.network import Block, Rows
from simulators.unit.electric.supply import TURN, sequences


@dataclass(frozen=True, slots=True)
class Rotor:
    """A cage. resistance and leakage as seen from the stator, magnetising reactance beside it [ohm]."""

    resistance_ohm: float
    leakage_ohm: float
    magnetising_ohm: float

    def admittance(self, slip: float) -> complex:
        """Find what the cage alone takes, s / (R2 + j s X2), which is sound at no slip too [S]."""
        return slip / complex(self.resistance_ohm, slip * self.leakage_ohm)

    def impedance(self, slip: float) -> complex:
        """Find the cage with the magnetising reactance beside it [ohm]."""
        return 1.0 / (self.admittance(slip) + 1.0 / complex(0.0, self.magnetising_ohm))


@dataclass(frozen=True, slots=True)
class ThreePhaseMachine:
    """A motor with its star point free, or in delta: seen from its terminals they are the same."""

    stator_resistance_ohm: float
    stator_leakage_ohm: float
    rotor: Rotor

    def admittance(self, slip: float) -> complex:
        """Find what one phase of the equivalent star takes from its sequence [S]."""
        return 1.0 / (complex(self.stator_resistance_ohm, self.stator_leakage_ohm) + self.rotor.impedance(slip))

    def block(self, points: tuple[str, ...], speed: float) -> Block:
        """Find the admittances between its three terminals: of zero sequence nothing passes."""
        forward, backward = self.admittance(1.0 - speed), self.admittance(1.0 + speed)
        own = (forward + backward) / 3.0
        ahead = (forward * TURN + backward * TURN.conjugate()) / 3.0
        behind = (forward * TURN.conjugate() + backward * TURN) / 3.0
        return Block(points, ((own, ahead, behind), (behind, own, ahead), (ahead, behind, own)))

    def torque(self, speed: float, voltages: tuple[complex, complex, complex]) -> float:
        """Find the torque that drives it forwards [synchronous W]."""
        _, positive, negative = sequences(*voltages)
        return self._gap_power(abs(positive), 1.0 - speed) - self._gap_power(abs(negative), 1.0 + speed)

    def _gap_power(self, volts: float, slip: float) -> float:
        rotor = self.rotor.impedance(slip)
        admittance = 1.0 / (complex(self.stator_resistance_ohm, self.stator_leakage_ohm) + rotor)
        through = volts * abs(admittance * rotor)
        return 3.0 * through**2 * self.rotor.admittance(slip).real

    def resistances(self) -> Rows:
        """Find the admittances that an ohmmeter meets between its terminals: a star of the stator's resistance [S]."""
        conductance = 1.0 / self.stator_resistance_ohm
        own, other = complex(conductance * 2.0 / 3.0), complex(-conductance / 3.0)
        return ((own, other, other), (other, own, other), (other, other, own))

    def breakdown(self, line_v: float) -> tuple[float, float]:
        """Find slip and torque at the pull-out point, by the Thevenin voltage before the rotor [1, synchronous W]."""
        magnetising = complex(0.0, self.rotor.magnetising_ohm)
        stator = complex(self.stator_resistance_ohm, self.stator_leakage_ohm)
        before = magnetising / (magnetising + stator)
        series = before * stator
        reactance = series.imag + self.rotor.leakage_ohm
        reach = math.hypot(series.real, reactance)
        torque = (abs(before) * line_v) ** 2 / (2.0 * (series.real + reach))
        return self.rotor.resistance_ohm / reach, torque


def winding_currents(
    lines: tuple[complex, complex, complex], connection: Literal["star", "delta"]
) -> tuple[complex, complex, complex]:
    """Find the current in each winding from those in the lines; in delta nothing goes round by itself."""
    if connection == "star":
        return lines
    a, b, c = lines
    return (a - b) / 3.0, (b - c) / 3.0, (c - a) / 3.0
