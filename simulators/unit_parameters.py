"""What makes one unit: its parts and charge, what it stands in, and what is wrong with it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from simulators.compressor import Compressor
from simulators.condenser import Condenser
from simulators.errors import SimulatorError
from simulators.evaporator import Evaporator
from simulators.metering import MeteringDevice, ThermostaticValve
from simulators.sump import Sump


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the unit stands in, and its supply. return_air_humidity is relative [%RH]."""

    outdoor_air_k: float = 303.15
    return_air_k: float = 297.04
    return_air_humidity: float = 50.0
    barometric_pressure_pa: float = 101_325.0
    line_voltage_v: float = 230.0

    def __post_init__(self) -> None:
        _check_limits(self, _CONDITION_LIMITS)


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults with their sizes; the defaults are none.

    evaporator_airflow, condenser_airflow: fraction of the design air flow. liquid_line_restriction: fraction of the
    liquid line's free area that is blocked. compressor_leakage: fraction of the flow that leaks back inside.
    non_condensables: pressure of air in the condenser [Pa].
    """

    evaporator_airflow: float = 1.0
    condenser_airflow: float = 1.0
    liquid_line_restriction: float = 0.0
    compressor_leakage: float = 0.0
    non_condensables_pa: float = 0.0

    def __post_init__(self) -> None:
        _check_limits(self, _FAULT_LIMITS)


_CONDITION_LIMITS = {
    "outdoor_air_k": (280.0, 325.0),
    "return_air_k": (288.0, 308.0),
    "return_air_humidity": (5.0, 95.0),
    "barometric_pressure_pa": (60e3, 110e3),
    "line_voltage_v": (150.0, 300.0),
}
_FAULT_LIMITS = {
    "evaporator_airflow": (0.2, 1.5),
    "condenser_airflow": (0.2, 1.5),
    "liquid_line_restriction": (0.0, 0.98),
    "compressor_leakage": (0.0, 0.6),
    "non_condensables_pa": (0.0, 1e6),
}
MOST_CHARGE_KG = 6.0
"""Near what the coils hold when full of liquid."""
_CHARGE_LIMITS = {"charge_kg": (1.0, MOST_CHARGE_KG)}


def _check_limits(item: object, limits: Mapping[str, tuple[float, float]]) -> None:
    for name, (low, high) in limits.items():
        size = getattr(item, name)
        if not low <= size <= high:
            raise SimulatorError(f"{name} is {size:g}; the unit is simulated with {low:g} to {high:g}")


@dataclass(frozen=True, slots=True)
class UnitParameters:
    """A unit; the defaults make a rooftop unit of 3.5 tons on R-410A, rightly charged, in mild weather.

    The three-phase compressor would be rated at 12 A. The condenser fan is the motor with the run capacitor.
    """

    charge_kg: float = 3.40
    refrigerant: str = "R-410A"
    conditions: Conditions = field(default_factory=Conditions)
    metering: MeteringDevice = field(default_factory=ThermostaticValve)
    faults: Faults = field(default_factory=Faults)
    compressor: Compressor = field(default_factory=Compressor)
    condenser: Condenser = field(default_factory=Condenser)
    evaporator: Evaporator = field(default_factory=Evaporator)
    sump: Sump = field(default_factory=Sump)
    suction_line_lag_s: float = 6.0
    bulb_lag_s: float = 20.0
    condenser_fan_current_a: float = 1.6
    blower_current_a: float = 3.1
    condenser_fan_capacitance_f: float = 7.5e-6

    def __post_init__(self) -> None:
        _check_limits(self, _CHARGE_LIMITS)

    def evaporator_as_it_is(self) -> Evaporator:
        """Give the coil at the air flow it really gets.

        Its conductance goes with the square root of the flow, air being about half of the resistance.
        """
        flow = self.faults.evaporator_airflow
        return replace(
            self.evaporator,
            air_flow_m3_s=self.evaporator.air_flow_m3_s * flow,
            two_phase_conductance=self.evaporator.two_phase_conductance * math.sqrt(flow),
        )

    def condenser_as_it_is(self) -> Condenser:
        """Give the coil at the air flow it really gets; conductances as in the evaporator."""
        flow = self.faults.condenser_airflow
        return replace(
            self.condenser,
            air_flow_m3_s=self.condenser.air_flow_m3_s * flow,
            vapour_conductance=self.condenser.vapour_conductance * math.sqrt(flow),
            two_phase_conductance=self.condenser.two_phase_conductance * math.sqrt(flow),
            liquid_conductance=self.condenser.liquid_conductance * math.sqrt(flow),
        )
