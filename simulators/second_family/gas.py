"""Air in the circuit: an ideal gas whose pressure adds to the refrigerant's, gathered while running, spread at rest."""

from simulators.second_family.parameters import Build

GAS_CONSTANT = 8.314462618
"""CODATA 2018 [J/(mol K)]."""

_FILLED_PA, _FILLED_K = 101_325.0, 293.15
"""What an open circuit is filled with: the size of this fault is a share of it."""

LIQUID_KG_PER_M3 = {"R-410A": 1059.0, "R-32": 961.0, "R-22": 1191.0, "R-454B": 986.0}
"""Saturated liquid at 25 °C (CoolProp 8.0.0)."""


def circuit_m3(build: Build) -> float:
    """Give the volume of the circuit, of which the liquid of the right charge fills its share at rest."""
    return build.right_kg / (LIQUID_KG_PER_M3[build.refrigerant] * build.liquid_share)


def share_of(amount_mol: float, build: Build) -> float:
    """Give an amount of air as a share of what fills the open circuit."""
    return amount_mol * GAS_CONSTANT * _FILLED_K / (_FILLED_PA * circuit_m3(build))


def running_pa(share: float, build: Build, condensing_k: float) -> float:
    """Give what it adds to the head, gathered in part of the gas space of the condenser."""
    return share * _FILLED_PA / build.gas_share * condensing_k / _FILLED_K


def share_while_running(pressure_pa: float, build: Build, condensing_k: float) -> float:
    """Give the share that adds this to the head: the other way round."""
    return pressure_pa / running_pa(1.0, build, condensing_k)


def resting_pa(share: float, build: Build, coldest_k: float, charge_kg: float) -> float:
    """Give what it adds everywhere at rest, in the room that liquid leaves.

    Filled with air, an R-410A circuit is 15 to 20 psi over saturation.

    >>> round(resting_pa(1.0, Build(), 300.0, 3.4) / 6894.757, 1)
    20.1
    """
    room = 1.0 - build.liquid_share * min(charge_kg / build.right_kg, 2.0)
    return share * _FILLED_PA / room * coldest_k / _FILLED_K
