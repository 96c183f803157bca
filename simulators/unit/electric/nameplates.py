"""What is known of a motor before its circuit: nameplate and a few usual ratios.

Figures without another source are common practice: locked rotor near six times the rated current for a compressor and
twice for a fan.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class CompressorMotor:
    """The compressor's motor. A single-phase one has a run capacitor; one of three phases needs none.

    magnetising: reactive power at the nominal voltage and three quarters of the rated current [var]. start: how long
    it takes to come up to speed without pressure to work against [s].
    """

    phases: Literal[1, 3] = 3
    rated_load_a: float = 12.0
    nominal_voltage_v: float = 230.0
    magnetising_var: float = 1500.0
    locked_rotor_ratio: float = 6.0
    start_s: float = 0.3
    capacitance_f: float = 0.0


@dataclass(frozen=True, slots=True)
class FanMotor:
    """A fan's single-phase motor with its run capacitor: the torque it needs goes with the square of its speed.

    running: what it draws at its rated slip, blowing freely [A]. start: how long it takes to come up to speed [s].
    """

    running_current_a: float = 1.6
    capacitance_f: float = 7.5e-6
    nominal_voltage_v: float = 230.0
    rated_slip: float = 0.12
    locked_rotor_ratio: float = 2.2
    start_s: float = 1.0


def run_capacitor_f(running_a: float, nominal_v: float) -> float:
    """Find the run capacitor that a fan's motor needs: the nearest of those on sale (common practice, no source).

    >>> round(run_capacitor_f(1.6, 230.0) * 1e6, 1)
    7.5
    """
    wanted = 7.5e-6 * running_a / 1.6 * 230.0 / nominal_v
    return min(_ON_SALE_F, key=lambda farads: abs(farads - wanted)) if wanted > _ON_SALE_F[0] else wanted


def compressor_capacitor_f(rated_a: float, nominal_v: float) -> float:
    """Find likewise what a single-phase compressor needs.

    >>> round(compressor_capacitor_f(16.0, 230.0) * 1e6, 1)
    45.0
    """
    wanted = 45e-6 * rated_a / 16.0 * 230.0 / nominal_v
    return min(_ON_SALE_F, key=lambda farads: abs(farads - wanted)) if wanted < _ON_SALE_F[-1] else wanted


_ON_SALE_F = tuple(
    microfarads * 1e-6 for microfarads in (2, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80)
)
