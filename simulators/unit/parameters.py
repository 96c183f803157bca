"""What makes one unit: its parts and charge, what it stands in, and what is wrong with it."""

from dataclasses import dataclass, field, replace

from simulators.unit.compressor import Compressor
from simulators.unit.condenser import Condenser
from simulators.unit.controls import CutOuts
from simulators.unit.economizer import Economizer
from simulators.unit.electric.as_found import AsFound
from simulators.unit.electric.nameplates import CompressorMotor, FanMotor
from simulators.unit.evaporator import Evaporator
from simulators.unit.faults import Faults
from simulators.unit.head_control import FullSpeed, HeadControl
from simulators.unit.heat_pump import HeatPump
from simulators.unit.limits import check_limits
from simulators.unit.metering import LIQUID_LINE_AREA_M2, MeteringDevice, ThermostaticValve
from simulators.unit.suction_line import SuctionLine
from simulators.unit.sump import Sump

__all__ = ["Conditions", "Faults", "UnitParameters"]

CONDUCTANCE_EXPONENT = 0.5
"""How conductance goes with air flow, air being about half of the resistance."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the unit stands in, and its supply. Humidities are relative [%RH]."""

    outdoor_air_k: float = 303.15
    return_air_k: float = 297.04
    return_air_humidity: float = 50.0
    barometric_pressure_pa: float = 101_325.0
    line_voltage_v: float = 230.0
    outdoor_air_humidity: float = 50.0

    def __post_init__(self) -> None:
        check_limits(self, _CONDITION_LIMITS)


_CONDITION_LIMITS = {
    "outdoor_air_k": (248.0, 325.0),
    "return_air_k": (288.0, 308.0),
    "return_air_humidity": (5.0, 95.0),
    "barometric_pressure_pa": (60e3, 110e3),
    "line_voltage_v": (150.0, 660.0),
    "outdoor_air_humidity": (5.0, 100.0),
}


@dataclass(frozen=True, slots=True)
class UnitParameters:
    """A unit; the defaults make a rooftop unit of 3.5 tons on R-410A, rightly charged, in mild weather.

    Units of other sizes, refrigerants and builds come from simulators.unit.sizing. most_charge: near what the coils
    hold when full of liquid. bulb_dead_time: until what the valve feeds shows at its bulb, the way through the coil.
    delay_timer: how long the contactor stays open once it opened, against short cycling (5 min: common practice, no
    source; makers say so). liquid_rise: from the outdoor to the indoor coil. suction_line: of a split unit; without
    one it is short. as_found: its panel.
    liquid_line_area: effective, of a clean drier and line; it counts where some is blocked.
    """

    charge_kg: float = 3.40
    refrigerant: str = "R-410A"
    conditions: Conditions = field(default_factory=Conditions)
    metering: MeteringDevice = field(default_factory=ThermostaticValve)
    faults: Faults = field(default_factory=Faults)
    as_found: AsFound = field(default_factory=AsFound)
    compressor: Compressor = field(default_factory=Compressor)
    compressor_motor: CompressorMotor = field(default_factory=CompressorMotor)
    condenser: Condenser = field(default_factory=Condenser)
    condenser_fan: FanMotor = field(default_factory=FanMotor)
    economizer: Economizer | None = None
    head_control: HeadControl = field(default_factory=FullSpeed)
    evaporator: Evaporator = field(default_factory=Evaporator)
    heat_pump: HeatPump | None = None
    suction_line: SuctionLine | None = None
    sump: Sump = field(default_factory=Sump)
    cut_outs: CutOuts = field(default_factory=CutOuts)
    delay_timer_s: float = 300.0
    liquid_rise_m: float = 0.0
    liquid_line_area_m2: float = LIQUID_LINE_AREA_M2
    most_charge_kg: float = 6.0
    suction_line_lag_s: float = 6.0
    bulb_lag_s: float = 40.0
    bulb_dead_time_s: float = 3.0
    blower_current_a: float = 3.1

    def __post_init__(self) -> None:
        limits = {"charge_kg": (self.most_charge_kg / 6.0, self.most_charge_kg), "delay_timer_s": (0.0, 900.0)}
        check_limits(self, limits)

    def metering_as_it_is(self) -> MeteringDevice:
        """Give the device that is really in there."""
        if isinstance(self.metering, ThermostaticValve) and self.faults.valve_oversize != 1.0:
            return self.metering.oversized(self.faults.valve_oversize)
        return self.metering

    def dead_time_as_it_is_s(self) -> float:
        """Give the dead time of the bulb: a valve that works near its seat feeds in slugs, which take longer."""
        return self.bulb_dead_time_s * max(self.faults.valve_oversize, 1.0)

    def evaporator_as_it_is(self, air_share: float = 1.0) -> Evaporator:
        """Give the coil at the air flow it really gets. air_share: over its own, with the fins in that air."""
        flow = self.faults.evaporator_airflow * air_share
        return replace(
            self.evaporator,
            air_flow_m3_s=self.evaporator.air_flow_m3_s * flow,
            two_phase_conductance=self.evaporator.two_phase_conductance * flow**CONDUCTANCE_EXPONENT,
        )

    def condenser_as_it_is(self, fan_speed: float = 1.0, air_share: float = 1.0) -> Condenser:
        """Give the coil at the air flow it really gets, with its fan at this part of its rated speed."""
        return with_air(self.condenser, self.faults.condenser_airflow * fan_speed * air_share)


def with_air(coil: Condenser, flow: float) -> Condenser:
    """Give the coil with this part of the air flow that it is made for."""
    better = flow**CONDUCTANCE_EXPONENT
    return replace(
        coil,
        air_flow_m3_s=coil.air_flow_m3_s * flow,
        vapour_conductance=coil.vapour_conductance * better,
        two_phase_conductance=coil.two_phase_conductance * better,
        liquid_conductance=coil.liquid_conductance * better,
    )
