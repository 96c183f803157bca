"""The two air streams of a heat pump in heating: the indoor coil condenses, and the outdoor one evaporates."""

import math
from dataclasses import replace

from simulators.unit.air_streams import FAN_STEP, NATURAL_DRAUGHT, mixed_air
from simulators.unit.condenser import Condenser, OutdoorAir
from simulators.unit.evaporator import Air, Evaporator
from simulators.unit.frost import FREEZING_K, covered
from simulators.unit.heat_pump import HeatPump
from simulators.unit.parameters import CONDUCTANCE_EXPONENT, UnitParameters, with_air

SUCTION_VOLUME_M3 = 1.0e-4
"""From the outdoor coil to the compressor."""


class HeatingStreams:
    """Both air streams of one circuit in heating, as AirStreams has them for cooling."""

    def __init__(self, parameters: UnitParameters, heat_pump: HeatPump) -> None:
        self._parameters, self._heat_pump = parameters, heat_pump
        self._indoor, self._outdoor = (math.nan, math.nan), (math.nan, math.nan)
        self._share = self._indoor_passes = self._outdoor_passes = 1.0
        self.fan_speed = math.nan
        self.set_indoor(share=1.0, damper=0.0, free=1.0)
        self.set_fan_speed(1.0)

    @property
    def indoor_capacity(self) -> float:
        """Flow times heat capacity of the indoor air [W/K]."""
        return self.condenser_air.capacity

    def let_pass(self, *, indoor: float | None, outdoor: float | None) -> None:
        """Leave a coil this part of its usual air, from the next that is set on. None leaves it as it was."""
        self._indoor_passes = self._indoor_passes if indoor is None else indoor
        self._outdoor_passes = self._outdoor_passes if outdoor is None else outdoor
        self._indoor, self._outdoor = (math.nan, math.nan), (math.nan, math.nan)

    def set_indoor(self, *, share: float, damper: float, free: float) -> None:
        """Set how many times its own air it has, how much of it is outdoor air, and what frost leaves free."""
        if (share * free, damper) == self._indoor:
            return
        self._indoor, self._share = (share * free, damper), share
        conditions = self._parameters.conditions
        flow = self._parameters.faults.evaporator_airflow * self._indoor_passes * share * free
        self.condenser = with_air(_indoor_as_condenser(self._parameters, self._heat_pump), flow)
        entering_k, _ = mixed_air(conditions, damper)
        self.condenser_air: OutdoorAir = self.condenser.in_air(entering_k, conditions.barometric_pressure_pa)

    def set_fan_speed(self, speed: float) -> None:
        """Give the outdoor coil the air that its fan moves at this part of its rated speed."""
        if abs(speed - self._outdoor[0]) < FAN_STEP and self._share == self._outdoor[1]:
            return
        self._outdoor, self.fan_speed = (speed, self._share), speed
        conditions = self._parameters.conditions
        flow = self._parameters.faults.condenser_airflow * self._outdoor_passes * self._share
        flow *= max(speed, NATURAL_DRAUGHT)
        coil = _outdoor_as_evaporator(self._parameters, self._heat_pump)
        better = flow**CONDUCTANCE_EXPONENT
        self.evaporator = replace(
            coil,
            air_flow_m3_s=coil.air_flow_m3_s * flow,
            two_phase_conductance=coil.two_phase_conductance * better,
            vapour_conductance=coil.vapour_conductance * better,
        )
        self.evaporator_air: Air = self.evaporator.in_air(
            conditions.outdoor_air_k, conditions.outdoor_air_humidity, conditions.barometric_pressure_pa
        )


def beside_frost(air: OutdoorAir, melting_conductance: float) -> OutdoorAir:
    """Give what a coil in defrost has around it: what draught there is, and the frost on it, at its melting point.

    >>> round(beside_frost(OutdoorAir(263.15, 200.0, 1.0), 800.0).temperature_k, 2)
    271.15
    """
    by_air = air.effectiveness * air.capacity
    total = by_air + melting_conductance
    mean_k = (by_air * air.temperature_k + melting_conductance * FREEZING_K) / total
    return OutdoorAir(mean_k, total, 1.0)


def melting_conductance(parameters: UnitParameters, frost_kg: float) -> float:
    """Find what leads heat from the outdoor coil's metal into the frost that is left on it [W/K]."""
    if parameters.heat_pump is None:
        return 0.0
    return parameters.heat_pump.melting_conductance * covered(frost_kg, parameters.heat_pump.full_frost_kg)


def _indoor_as_condenser(parameters: UnitParameters, heat_pump: HeatPump) -> Condenser:
    coil = parameters.evaporator
    return Condenser(
        vapour_conductance=heat_pump.indoor_vapour_conductance,
        two_phase_conductance=heat_pump.indoor_two_phase_conductance,
        liquid_conductance=heat_pump.indoor_liquid_conductance,
        volume_m3=coil.volume_m3,
        line_volume_m3=parameters.condenser.line_volume_m3,
        metal_heat_capacity=coil.metal_heat_capacity,
        air_flow_m3_s=coil.air_flow_m3_s,
        gas_line_volume_m3=coil.suction_volume_m3,
    )


def _outdoor_as_evaporator(parameters: UnitParameters, heat_pump: HeatPump) -> Evaporator:
    coil = parameters.condenser
    return Evaporator(
        two_phase_conductance=heat_pump.outdoor_two_phase_conductance,
        vapour_conductance=heat_pump.outdoor_vapour_conductance,
        volume_m3=coil.volume_m3,
        suction_volume_m3=SUCTION_VOLUME_M3,
        metal_heat_capacity=coil.metal_heat_capacity,
        air_flow_m3_s=coil.air_flow_m3_s,
    )
