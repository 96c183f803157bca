"""A unit's panel as it left its maker, but for the faults that its parameters tell."""

from collections.abc import Mapping
from dataclasses import replace

from simulators.unit.electric.capacitor import Can, Section
from simulators.unit.electric.contactor import SOUND_POLE_OHM, Contactor, ControlTransformer
from simulators.unit.electric.insulation import SOUND_OHM, Insulation
from simulators.unit.electric.nameplates import FanMotor, run_capacitor_f
from simulators.unit.electric.panel import TIGHT_OHM, Panel, joint_names
from simulators.unit.electric.sized import SizedMotor
from simulators.unit.electric.supply import LEGS, Supply
from simulators.unit.parameters import UnitParameters

BLOWER_START_S = 2.0


def blower(parameters: UnitParameters) -> FanMotor:
    """Give the nameplate of a unit's blower."""
    plate = parameters.compressor_motor
    amps, volts = parameters.blower_current_a, plate.nominal_voltage_v
    return FanMotor(amps, run_capacitor_f(amps, volts), volts, start_s=BLOWER_START_S)


def wire(parameters: UnitParameters, motors: Mapping[str, SizedMotor]) -> Panel:
    """Wire a unit as it left its maker, but for its faults."""
    plate, faults, conditions = parameters.compressor_motor, parameters.faults, parameters.conditions
    found = parameters.as_found
    supply = Supply(
        phases=plate.phases,
        line_v=conditions.line_voltage_v,
        sag=faults.voltage_sag,
        unbalance=faults.voltage_unbalance if plate.phases == 3 else 0.0,
        two_of_three=found.two_of_three,
        impedance_ohm=found.service_impedance_ohm,
        lost=found.lost,
        order=found.order,
    )
    sections = {
        "fan": Section(parameters.condenser_fan.capacitance_f, share=faults.fan_capacitor),
        "blower": Section(motors["blower"].capacitance_f),
    }
    if plate.phases == 1:
        sections["herm"] = Section(plate.capacitance_f, share=faults.herm_capacitor)
    for name, it in found.sections.items():
        sections[name] = replace(sections[name], fails_under_load=it.fails_under_load, bleeder_ohm=it.bleeder_ohm)
    indoor = {"blower": sections.pop("blower")}
    joints = dict.fromkeys(joint_names(supply), TIGHT_OHM)
    joints["compressor_common" if plate.phases == 1 else "compressor_a"] += faults.lug_resistance_ohm
    joints |= found.joints_ohm
    return Panel(
        supply=supply,
        transformer=ControlTransformer(found.transformer_tap_v or plate.nominal_voltage_v),
        contactor=Contactor(
            found.coil,
            pole_ohm=dict.fromkeys(LEGS, SOUND_POLE_OHM) | dict(found.poles_ohm),
            welded=set(found.welded),
            straps=found.straps,
        ),
        cans={
            "outdoor": Can(sections, "outdoor" in found.bulged, conditions.outdoor_air_k),
            "blower": Can(indoor, "blower" in found.bulged, conditions.return_air_k),
        },
        joints=joints,
        blades=dict.fromkeys(supply.legs, True),
        compressor_leads=supply.legs,
        machines={name: motor.machine for name, motor in motors.items()},
        blocked=set(found.blocked),
        insulation={
            name: Insulation(found.insulation_ohm.get(name, SOUND_OHM), found.acid if name == "compressor" else 0.0)
            for name in motors
        },
        windings_k={
            "compressor": conditions.outdoor_air_k,
            "fan": conditions.outdoor_air_k,
            "blower": conditions.return_air_k,
        },
    )
