"""A unit's panel as it left its maker, but for the faults that its parameters tell."""

from collections.abc import Mapping

from simulators.unit.electric.capacitor import Can, Section
from simulators.unit.electric.contactor import Contactor, ControlTransformer
from simulators.unit.electric.nameplates import FanMotor, run_capacitor_f
from simulators.unit.electric.panel import TIGHT_OHM, Panel, joint_names
from simulators.unit.electric.sized import SizedMotor
from simulators.unit.electric.supply import Supply
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
    supply = Supply(
        phases=plate.phases,
        line_v=conditions.line_voltage_v,
        sag=faults.voltage_sag,
        unbalance=faults.voltage_unbalance if plate.phases == 3 else 0.0,
    )
    fan = Section(parameters.condenser_fan.capacitance_f, share=faults.fan_capacitor)
    herm = Section(plate.capacitance_f, share=faults.herm_capacitor)
    outdoor = {"herm": herm, "fan": fan} if plate.phases == 1 else {"fan": fan}
    joints = dict.fromkeys(joint_names(supply), TIGHT_OHM)
    joints["compressor_common" if plate.phases == 1 else "compressor_a"] += faults.lug_resistance_ohm
    return Panel(
        supply=supply,
        transformer=ControlTransformer(plate.nominal_voltage_v),
        contactor=Contactor(),
        cans={
            "outdoor": Can(outdoor, temperature_k=conditions.outdoor_air_k),
            "blower": Can({"blower": Section(motors["blower"].capacitance_f)}, temperature_k=conditions.return_air_k),
        },
        joints=joints,
        blades=dict.fromkeys(supply.legs, True),
        compressor_leads=supply.legs,
        machines={name: motor.machine for name, motor in motors.items()},
    )
