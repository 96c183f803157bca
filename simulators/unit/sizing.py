"""Units of other sizes, refrigerants and builds, from what a nameplate says.

The usual unit is scaled to the capacity and to what a litre of the refrigerant's vapour carries. What a maker finds
on a test stand is found likewise: the unit is run at its rating conditions, and orifice, coil and motor are altered
until superheat, subcooling and amps are as they should be there.
"""

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from simulators.unit import properties
from simulators.unit.condenser import Condenser
from simulators.unit.defrost import TimedDefrost
from simulators.unit.electric.nameplates import CompressorMotor, FanMotor, compressor_capacitor_f, run_capacitor_f
from simulators.unit.heat_pump import HeatPump
from simulators.unit.limits import check_limits
from simulators.unit.line_set import LineSet
from simulators.unit.metering import FixedOrifice, MeteringDevice, ThermostaticValve
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, UnitParameters
from simulators.unit.properties import Properties
from simulators.unit.suction_line import SuctionLine
from simulators.unit.usual_heat_pump import USUAL_HEAT_PUMP

RATING = Conditions(outdoor_air_k=308.15, return_air_k=299.82, return_air_humidity=51.1)
"""95 °F outdoors, 80 °F dry and 67 °F wet bulb indoors: AHRI 210/240, test A."""

RATED_SUPERHEAT_DK = 7.2
"""Of a fixed orifice at the rating conditions: 13 °F, by (3 WB - 80 - DB) / 2."""

RATED_LOAD_RATIO = 0.75
"""Amps over RLA at the rating conditions (common practice, no source)."""

GREATEST_POWER_FACTOR = 0.97

_USUAL = UnitParameters()
_USUAL_W = 12_870.0
_EVAPORATING_K, _CONDENSING_K, _SUPERHEAT_DK, _SUBCOOLING_DK = 281.5, 319.0, 6.0, 5.5
_RELIEF_K = 335.7
_TRIALS = 5
_DK_PER_LOG_AREA = 60.0
_SHARE_PER_DK = 0.04


@dataclass(frozen=True, slots=True)
class Build:
    """What a unit is made for. capacity: cooling at the rating conditions. line_set: None for a rooftop unit.

    charge: the nameplate's. target_subcooling: what that charge gives at the rating conditions. heat_pump: whether it
    heats too; its nameplate tells of its cooling, and the parts for heating go with it. defrost_every: of running time
    below freezing.
    """

    capacity_w: float
    charge_kg: float
    refrigerant: str = "R-410A"
    metering: Literal["txv", "fixed_orifice"] = "txv"
    compressor_rla_a: float = 12.0
    condenser_fan_fla_a: float = 2.0
    phases: Literal[1, 3] = 3
    nominal_voltage_v: float = 230.0
    target_subcooling_dk: float = 5.56
    line_set: LineSet | None = None
    heat_pump: bool = False
    defrost_every_s: float = 3600.0

    def __post_init__(self) -> None:
        check_limits(self, _LIMITS)


_LIMITS = {
    "capacity_w": (3e3, 60e3),
    "charge_kg": (0.5, 20.0),
    "compressor_rla_a": (2.0, 100.0),
    "condenser_fan_fla_a": (0.2, 20.0),
    "nominal_voltage_v": (190.0, 600.0),
    "target_subcooling_dk": (2.0, 12.0),
}


@cache
def size(build: Build) -> UnitParameters:
    """Make a unit without faults, with its nameplate's charge and what its lines need beyond it.

    Raises:
        SimulatorError: the refrigerant is not one that can be simulated.

    """
    unit = _scaled(build)
    for _ in range(_TRIALS):
        unit = _nearer(build, unit)
    unit = replace(unit, compressor_motor=_motor(build, unit), conditions=Conditions())
    return unit if build.line_set is None else _with_lines(unit, build.line_set)


def liquid_line_charge_kg(refrigerant: str, line_set: LineSet) -> float:
    """Find what the liquid line holds beyond the length that the nameplate is for."""
    liquid = properties.load(refrigerant)
    density = liquid.saturation(liquid.bubble_pressure(_CONDENSING_K - _SUBCOOLING_DK)).liquid_density
    return line_set.liquid_volume_m3 * line_set.beyond_nameplate * density


def suction_line_charge_kg(refrigerant: str, line_set: LineSet) -> float:
    """Find what the suction line holds beyond that length."""
    vapour = properties.load(refrigerant)
    at = vapour.saturation(vapour.bubble_pressure(_EVAPORATING_K))
    return line_set.suction_volume_m3 * line_set.beyond_nameplate * vapour.vapour_density(at, _SUPERHEAT_DK)


@dataclass(frozen=True, slots=True)
class _Carried:
    """What refrigerant carries between the usual two temperatures."""

    per_volume: float
    flow_per_watt: float
    orifice_flux: float
    suction_pressure_pa: float


def _carried(refrigerant: Properties) -> _Carried:
    low = refrigerant.saturation(refrigerant.bubble_pressure(_EVAPORATING_K))
    high = refrigerant.saturation(refrigerant.bubble_pressure(_CONDENSING_K))
    lifted = (
        refrigerant.vapour_enthalpy(low, _SUPERHEAT_DK)
        - high.liquid_enthalpy
        + high.liquid_heat_capacity * _SUBCOOLING_DK
    )
    return _Carried(
        per_volume=refrigerant.vapour_density(low, _SUPERHEAT_DK) * lifted,
        flow_per_watt=1.0 / lifted,
        orifice_flux=math.sqrt(high.liquid_density * (high.pressure_pa - low.pressure_pa)),
        suction_pressure_pa=low.pressure_pa,
    )


def _scaled(build: Build) -> UnitParameters:
    refrigerant = properties.load(build.refrigerant)
    usual = USUAL_HEAT_PUMP if build.heat_pump else _USUAL
    ours, carried = _carried(refrigerant), _carried(properties.load(usual.refrigerant))
    size = build.capacity_w / _USUAL_W
    areas = size * (ours.flow_per_watt / carried.flow_per_watt) * (carried.orifice_flux / ours.orifice_flux)
    relief_pa = refrigerant.bubble_pressure(_RELIEF_K)
    charge = build.charge_kg / usual.charge_kg
    return replace(
        usual,
        charge_kg=build.charge_kg,
        most_charge_kg=charge * usual.most_charge_kg,
        refrigerant=build.refrigerant,
        conditions=replace(RATING, line_voltage_v=build.nominal_voltage_v),
        metering=_metering(build.metering, areas),
        liquid_line_area_m2=usual.liquid_line_area_m2 * areas,
        compressor=replace(
            usual.compressor,
            displacement_m3_s=usual.compressor.displacement_m3_s * size * carried.per_volume / ours.per_volume,
            relief_pressure_pa=relief_pa,
            relief_band_pa=0.075 * relief_pa,
        ),
        condenser=_condenser(usual.condenser, size, charge),
        heat_pump=None if usual.heat_pump is None else _heat_pump(usual.heat_pump, build, size, areas),
        condenser_fan=_fan(build),
        evaporator=replace(
            usual.evaporator,
            two_phase_conductance=usual.evaporator.two_phase_conductance * size,
            vapour_conductance=usual.evaporator.vapour_conductance * size,
            volume_m3=usual.evaporator.volume_m3 * size,
            suction_volume_m3=usual.evaporator.suction_volume_m3 * charge,
            metal_heat_capacity=usual.evaporator.metal_heat_capacity * size,
            air_flow_m3_s=usual.evaporator.air_flow_m3_s * size,
        ),
        sump=replace(
            usual.sump,
            oil_kg=usual.sump.oil_kg * charge,
            reference_pressure_pa=ours.suction_pressure_pa,
            shell_heat_capacity=usual.sump.shell_heat_capacity * size,
            shell_conductance=usual.sump.shell_conductance * size,
            loss_conductance=usual.sump.loss_conductance * size,
        ),
        blower_current_a=usual.blower_current_a * size,
    )


def _fan(build: Build) -> FanMotor:
    amps, volts = 0.8 * build.condenser_fan_fla_a, build.nominal_voltage_v
    return FanMotor(amps, run_capacitor_f(amps, volts), volts)


def _metering(kind: Literal["txv", "fixed_orifice"], areas: float) -> MeteringDevice:
    if kind == "txv":
        return ThermostaticValve(ThermostaticValve().full_area_m2 * areas)
    return FixedOrifice(FixedOrifice().area_m2 * areas)


def _heat_pump(usual: HeatPump, build: Build, size: float, areas: float) -> HeatPump:
    """Scale what heating needs: coils, valve, frost and heater with the capacity, the tanks with what they hold."""
    charge = build.charge_kg / _USUAL.charge_kg
    valve, tank, compensator = usual.valve, usual.accumulator, usual.compensator
    return replace(
        usual,
        valve=replace(valve, port_m2=valve.port_m2 * size, leak_m2=valve.leak_m2 * size),
        metering=ThermostaticValve(1.9e-6 * areas),
        defrost=TimedDefrost(build.defrost_every_s),
        accumulator=replace(tank, volume_m3=tank.volume_m3 * charge, returned_full_kg_s=tank.returned_full_kg_s * size),
        compensator=None if compensator is None else replace(compensator, volume_m3=compensator.volume_m3 * charge),
        indoor_vapour_conductance=usual.indoor_vapour_conductance * size,
        indoor_two_phase_conductance=usual.indoor_two_phase_conductance * size,
        indoor_liquid_conductance=usual.indoor_liquid_conductance * size,
        outdoor_two_phase_conductance=usual.outdoor_two_phase_conductance * size,
        outdoor_vapour_conductance=usual.outdoor_vapour_conductance * size,
        full_frost_kg=usual.full_frost_kg * size,
        melting_conductance=usual.melting_conductance * size,
        auxiliary_heat_w=usual.auxiliary_heat_w * size,
    )


def _condenser(usual: Condenser, size: float, charge: float) -> Condenser:
    return Condenser(
        vapour_conductance=usual.vapour_conductance * size,
        two_phase_conductance=usual.two_phase_conductance * size,
        liquid_conductance=usual.liquid_conductance * size,
        volume_m3=usual.volume_m3 * charge,
        line_volume_m3=usual.line_volume_m3 * charge,
        metal_heat_capacity=usual.metal_heat_capacity * size,
        air_flow_m3_s=usual.air_flow_m3_s * size,
    )


def _nearer(build: Build, unit: UnitParameters) -> UnitParameters:
    """Run it on the test stand, and alter displacement, orifice and condenser towards what they should give."""
    trial = Unit(unit)
    state, refrigerant = trial.true_state(), properties.load(build.refrigerant)
    suction = refrigerant.saturation(state["suction_pressure"])
    liquid = refrigerant.saturation(state["liquid_pressure"])
    superheat = state["suction_line_temperature"] - suction.dew_point_k
    too_cold_dk = liquid.bubble_point_k - state["liquid_line_temperature"] - build.target_subcooling_dk
    metering = unit.metering
    if isinstance(metering, FixedOrifice):
        wider = math.exp(min(max((superheat - RATED_SUPERHEAT_DK) / _DK_PER_LOG_AREA, -0.1), 0.1))
        metering = FixedOrifice(metering.area_m2 * wider)
    room = math.exp(min(max(too_cold_dk * _SHARE_PER_DK, -0.2), 0.2))
    stronger = build.capacity_w / trial.heat_flows().evaporator_w
    return replace(
        unit,
        metering=metering,
        condenser=replace(unit.condenser, volume_m3=unit.condenser.volume_m3 * room),
        compressor=replace(unit.compressor, displacement_m3_s=unit.compressor.displacement_m3_s * stronger**0.7),
    )


def _motor(build: Build, unit: UnitParameters) -> CompressorMotor:
    """Make a motor that draws its usual part of RLA at the rating conditions, if its power allows."""
    power_w, volts = Unit(unit).heat_flows().compressor_w, build.nominal_voltage_v
    phases = math.sqrt(3.0) if build.phases == 3 else 1.0
    apparent_va = phases * volts * RATED_LOAD_RATIO * build.compressor_rla_a
    least_va = power_w / GREATEST_POWER_FACTOR
    return CompressorMotor(
        phases=build.phases,
        rated_load_a=build.compressor_rla_a,
        nominal_voltage_v=volts,
        magnetising_var=math.sqrt(max(apparent_va, least_va) ** 2 - power_w**2),
        capacitance_f=compressor_capacitor_f(build.compressor_rla_a, volts) if build.phases == 1 else 0.0,
    )


def _with_lines(unit: UnitParameters, line_set: LineSet) -> UnitParameters:
    beyond = line_set.beyond_nameplate
    extra_kg = liquid_line_charge_kg(unit.refrigerant, line_set) + suction_line_charge_kg(unit.refrigerant, line_set)
    condenser, evaporator = unit.condenser, unit.evaporator
    return replace(
        unit,
        charge_kg=unit.charge_kg + extra_kg,
        liquid_rise_m=line_set.rise_m,
        suction_line=SuctionLine(line_set.length_m, line_set.suction_bore_m),
        most_charge_kg=unit.most_charge_kg + max(extra_kg, 0.0),
        condenser=replace(
            condenser, line_volume_m3=max(condenser.line_volume_m3 + beyond * line_set.liquid_volume_m3, 1e-5)
        ),
        evaporator=replace(
            evaporator, suction_volume_m3=max(evaporator.suction_volume_m3 + beyond * line_set.suction_volume_m3, 1e-5)
        ),
    )
