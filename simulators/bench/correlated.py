"""A unit of the second family where hands can be laid on it: behind the panel of a unit of its nameplate.

Panel, motors and controls are those of simulators.unit, which know nothing of refrigerant; what the gauges read is the
second family's. What lies between them is here: power and pressures one way, whether compressor and fans turn the
other.
"""

import math
from collections.abc import Mapping
from typing import Literal

from simulators.errors import SimulatorError
from simulators.second_family.model import CorrelatedUnit
from simulators.second_family.parameters import Parameters
from simulators.unit import properties
from simulators.unit.controls import Controls, Hold
from simulators.unit.electric.at_the_panel import AtThePanel
from simulators.unit.electric.channels import channels
from simulators.unit.electric.electrics import Electrics
from simulators.unit.model import CONTROLS_GO_OUT_V, Unit
from simulators.unit.parameters import UnitParameters
from simulators.unit.ports import Port, ServicePorts
from simulators.unit.properties import Properties
from simulators.unit.resting import Vessel

STEP_S = 0.25
LEAST_AIR = {"evaporator": 0.4, "condenser": 0.2}
"""The least part of its air that a coil of this family is simulated with."""

_AIR_CHANGES = 0.005


class PortsOfCorrelated(ServicePorts):
    """Its two ports: one circuit behind both, that gives and takes what a hose moves.

    It is never emptied, so that what only an empty circuit needs is not here: a recovery machine, a pump, nitrogen.
    """

    def __init__(self, unit: CorrelatedUnit, refrigerant: Properties) -> None:  # its own: no circuit, no stores
        self._unit, self._refrigerant = unit, refrigerant
        self.moved_j = 0.0

    def pressure_pa(self, port: Port) -> float:
        """Tell what a gauge there finds."""
        return self._unit.true_state()[f"{port}_pressure"]

    def inside(self, port: Port) -> Vessel:
        """Tell how refrigerant stands behind it: vapour at the suction port, liquid at the other."""
        at = self._refrigerant.saturation(self.pressure_pa(port))
        return Vessel(at, port == "liquid", at.vapour_enthalpy, 0.0)

    def held_kg(self, port: Port) -> float:  # noqa: ARG002  there is one circuit behind both
        """Tell how much refrigerant is behind it."""
        return self._unit.charge_kg

    def put(self, port: Port, mass_kg: float, enthalpy: float) -> None:  # noqa: ARG002  no heat is reckoned here
        """Let refrigerant in, or out where the mass is negative; errors as of the unit."""
        if mass_kg > 0.0:
            self._unit.add(mass_kg, "liquid" if port == "liquid" else "vapour")
        else:
            self._unit.recover(-mass_kg)

    def put_gas(self, port: Port, amount_mol: float) -> None:  # noqa: ARG002
        """Let air in."""
        self._unit.let_air_in(amount_mol)


class CorrelatedAtTheBench:
    """One such unit. parameters: its panel, motors and cut-outs, sized by the same nameplate."""

    def __init__(self, parameters: UnitParameters, correlated: Parameters, *, at_rest: bool = False) -> None:
        self._electrics = Electrics(parameters)
        self.electric = AtThePanel(self._electrics)
        refrigerant = properties.load(correlated.refrigerant)
        self._controls = Controls(parameters.cut_outs, refrigerant, delay_timer_s=parameters.delay_timer_s)
        self._unit = CorrelatedUnit(correlated, at_rest=at_rest or not self._electrics.can_start)
        faults = correlated.faults
        self._left = {"evaporator": 1.0 - faults.evaporator_air, "condenser": 1.0 - faults.condenser_air}
        self._air = dict(self._left)
        self._usual_air_m3_s = correlated.build.air_m3_s
        self._electrics.has_run(self._unit.compressor_w)
        if not self._unit.is_running:
            self._controls.calls = False
            self.step(parameters.delay_timer_s + 1.0)  # in which motors come to a stand
            self._electrics.has_cooled()
            self._unit = CorrelatedUnit(correlated, at_rest=True)
        self._electrics.be_found()
        self.ports = PortsOfCorrelated(self._unit, refrigerant)

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit."""
        return self._unit.charge_kg

    @property
    def is_running(self) -> bool:
        """Whether the compressor turns."""
        return self._electrics.compressor_turns

    @property
    def cut_out(self) -> str:
        """Which pressure cut-out is open: `high`, `low`, or none."""
        return self._controls.cut_out

    @property
    def held_by(self) -> Hold:
        """What holds the contactor open."""
        return self._controls.held_by

    @property
    def usual_air_flow_m3_s(self) -> float:
        """What its blower moves with a clean filter."""
        return self._usual_air_m3_s

    @property
    def supply_air_flow_m3_s(self) -> float:
        """What it moves now."""
        return self._usual_air_m3_s * self._air["evaporator"] if self._controls.blower_runs else 0.0

    def held_kg(self) -> Mapping[str, float]:
        """Tell where the refrigerant is now."""
        return self._unit.held_kg()

    def call(self, *, cooling: bool = False, heating: bool = False) -> None:
        """Let the thermostat call for cooling, or no longer.

        Raises:
            SimulatorError: it is to heat.

        """
        if heating:
            raise SimulatorError("a unit of this family only cools")
        self._controls.calls = cooling

    def disconnect(self, *, closed: bool) -> None:
        """Throw the disconnect."""
        self._controls.is_connected = closed
        self.electric.disconnect(closed=closed)

    def sense_leak(self, *, refrigerant: bool) -> None:
        """Let its leak detector sense refrigerant, or no longer."""
        self._controls.senses_leak = refrigerant

    def reset_cut_outs(self) -> None:
        """Press the reset of both cut-outs."""
        self._controls.reset_cut_outs()

    def let_air_pass(self, *, evaporator: float | None = None, condenser: float | None = None) -> None:
        """Leave a coil this part of its usual air.

        Raises:
            SimulatorError: less or more than can be simulated.

        """
        for coil, left in (("evaporator", evaporator), ("condenser", condenser)):
            if left is not None and not LEAST_AIR[coil] <= left <= 1.0:
                raise SimulatorError(f"the {coil} is simulated with {LEAST_AIR[coil]:g} to 1 of its air, not {left:g}")
            if left is not None:
                self._left[coil] = left
        self._electrics.load_fans(outdoor_air=condenser, indoor_air=evaporator)

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in at the suction port; errors as of the unit itself."""
        self._unit.add(mass_kg, phase)

    def recover(self, mass_kg: float) -> None:
        """Take refrigerant out; errors as of the unit itself."""
        self._unit.recover(mass_kg)

    def step(self, duration_s: float) -> None:
        """Let the unit go on for this long."""
        if not (duration_s >= 0.0 and math.isfinite(duration_s)):
            raise SimulatorError(f"the unit cannot run for {duration_s} s")
        self._electrics.motion.interval.begin()
        steps = math.ceil(duration_s / STEP_S)
        for _ in range(steps):
            self._go_on(duration_s / steps)

    def true_state(self) -> Mapping[str, float]:
        """Tell what perfect instruments would read: channel to value in the house's units."""
        return {**self._unit.true_state(), **channels(self._electrics.motion)}

    def _go_on(self, step_s: float) -> None:
        electrics, controls, read = self._electrics, self._controls, self._unit.true_state()
        low_pa, high_pa = read["suction_pressure"], read["liquid_pressure"]
        controls.has_power = electrics.motion.secondary_v > CONTROLS_GO_OUT_V
        electrics.go_on(
            step_s,
            called=controls.go_on(step_s, suction_pa=low_pa, head_pa=high_pa),
            compressor_w=self._unit.compressor_w,
            difference_pa=max(high_pa - low_pa, 0.0),
            blower_runs=controls.blower_runs,
        )
        self._unit.call(cooling=electrics.compressor_turns)
        self._blow()
        self._unit.step(step_s)

    def _blow(self) -> None:
        """Give the coils what fans and dirt leave them."""
        turning = {"evaporator": self._electrics.blower_part, "condenser": self._electrics.fan_speed}
        air = {coil: min(max(left * turning[coil], LEAST_AIR[coil]), 1.0) for coil, left in self._left.items()}
        if max(abs(air[coil] - self._air[coil]) for coil in air) > _AIR_CHANGES:
            self._air = air
            self._unit.let_air_pass(**air)


AnyUnit = Unit | CorrelatedAtTheBench
"""What can stand on the bench."""
