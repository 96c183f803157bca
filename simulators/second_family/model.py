"""A unit of correlations in time: what it is on its way to, and how far it has come.

What it holds is accounted for: all that went in and out. What its figures show of it comes later, after a dead time and
two lags. A start and a stop change what every figure is on its way to.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from simulators.errors import SimulatorError
from simulators.second_family.gas import share_of
from simulators.second_family.lags import (
    CHARGE_DEAD_TIME_S,
    CHARGE_LAG_S,
    RESTING,
    RUNNING,
    START_DEFICIT,
    START_LAG_S,
    DeadTime,
    Following,
    approached,
)
from simulators.second_family.levels import settled
from simulators.second_family.parameters import Parameters
from simulators.second_family.readings import IDLE_CURRENT, resting, running, supply_humidity, surroundings
from simulators.second_family.sound import Levels

LONGEST_STEP_S = 1.0

RECOVERABLE = 0.5
"""What part of the charge can be taken out at one moment."""

MOST_SHOWN = (-0.55, 0.75)
"""Of a charge over the right one: beyond it the correlations say nothing more."""

BOILING_LAG_S = 60.0
"""How soon liquid in a warm shell boils off; ten times as slow at rest (common practice, no source)."""

COIL_LAG_S = 500.0
"""How soon the coil that liquid goes to is as warm as the air around it (common practice, no source)."""

WET_COIL_K = 5.0
"""How far the indoor coil is below the return air's wet bulb as the unit stops (common practice, no source)."""


class CorrelatedUnit:
    """A unit that has run for long, or has been off for long. Refrigerant can go in and out meanwhile.

    The same parameters and calls give the same readings: there is no chance in it.
    """

    def __init__(self, parameters: Parameters | None = None, *, at_rest: bool = False) -> None:
        self._parameters = parameters or Parameters()
        build = self._parameters.build
        self._charge_kg = self._parameters.charge_kg
        charge = self._charge_kg / build.right_kg - 1.0
        self._dead_time = DeadTime(charge, CHARGE_DEAD_TIME_S * build.slowness)
        self._spreading = self._shown = charge
        self._deficit = self._lying_kg = 0.0
        self._runs, self._calls, self._is_connected = not at_rest, not at_rest, True
        self._coil_k = self._coldest_air_k
        self._figures = {name: Following(value) for name, value in self._target().items()}

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit."""
        return self._charge_kg

    @property
    def right_charge_kg(self) -> float:
        """With which the plate's target is met at the rating conditions."""
        return self._parameters.build.right_kg

    @property
    def is_running(self) -> bool:
        """Whether the compressor turns."""
        return self._runs

    @property
    def compressor_w(self) -> float:
        """What its compressor takes now, on a sound supply."""
        build = self._parameters.build
        of_rated = self._figures["compressor_current"].value / build.rated_current_a
        return build.compressor_w * max((of_rated - IDLE_CURRENT) / (1.0 - IDLE_CURRENT), 0.0)

    @property
    def parameters(self) -> Parameters:
        """How it now is."""
        return replace(self._parameters, charge_kg=self._charge_kg)

    @property
    def levels(self) -> Levels:
        """What it is on its way to, running, once its charge has spread."""
        its = self._parameters
        return settled(its.build, its.conditions, its.faults, self._charge_kg / its.build.right_kg - 1.0)[0]

    def call(self, *, cooling: bool) -> None:
        """Let the thermostat call for cooling, or no longer."""
        self._calls = cooling
        self._switch()

    def disconnect(self, *, closed: bool) -> None:
        """Throw the disconnect."""
        self._is_connected = closed
        self._switch()

    def held_kg(self) -> Mapping[str, float]:
        """Tell where the refrigerant is: in circulation, or as liquid that lies where it was let in."""
        return {"circulating": self._charge_kg - self._lying_kg, "lying": self._lying_kg}

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in at the suction port: vapour joins the flow, liquid lies in the shell and boils off.

        Raises:
            SimulatorError: not a mass, or more than is simulated.

        """
        self._hold(self._charge_kg + _mass(mass_kg))
        if phase == "liquid":
            self._lying_kg += mass_kg

    def recover(self, mass_kg: float) -> None:
        """Take refrigerant out.

        Raises:
            SimulatorError: not a mass, or more than it can give at once.

        """
        there_kg = self.held_kg()["circulating"]
        if _mass(mass_kg) > RECOVERABLE * there_kg:
            raise SimulatorError(
                f"cannot recover {mass_kg:.3f} kg at once: of {there_kg:.3f} kg one half can be had; take less"
            )
        self._hold(self._charge_kg - mass_kg)

    def let_air_in(self, amount_mol: float) -> None:
        """Let air in, as from a hose that was not purged; it stays through every rest."""
        if not (amount_mol > 0.0 and math.isfinite(amount_mol)):
            raise SimulatorError(f"{amount_mol} mol of air cannot be let in; give more than nothing")
        there = self._parameters.faults.non_condensables + share_of(amount_mol, self._parameters.build)
        self._parameters = replace(self._parameters, faults=replace(self._parameters.faults, non_condensables=there))

    def let_air_pass(self, *, evaporator: float | None = None, condenser: float | None = None) -> None:
        """Leave a coil this part of its usual air.

        Raises:
            SimulatorError: less or more than can be simulated.

        """
        faults = self._parameters.faults
        if evaporator is not None:
            faults = replace(faults, evaporator_air=1.0 - evaporator)
        if condenser is not None:
            faults = replace(faults, condenser_air=1.0 - condenser)
        self._parameters = replace(self._parameters, faults=faults)

    def step(self, duration_s: float) -> None:
        """Let the unit go on for this long."""
        if not (duration_s >= 0.0 and math.isfinite(duration_s)):
            raise SimulatorError(f"the unit cannot run for {duration_s} s")
        steps = math.ceil(duration_s / LONGEST_STEP_S)
        for _ in range(steps):
            self._go_on(duration_s / steps)

    def true_state(self) -> Mapping[str, float]:
        """Tell what perfect instruments would read: channel to value in SI."""
        read = {name: figure.value for name, figure in self._figures.items()}
        conditions = self._parameters.conditions
        humidity = supply_humidity(conditions, read["supply_air_temperature"])
        return read | surroundings(conditions) | {"supply_air_humidity": humidity}

    @property
    def _coldest_air_k(self) -> float:
        conditions = self._parameters.conditions
        return min(conditions.outdoor_air_k, conditions.return_air_k)

    def _switch(self) -> None:
        runs = self._calls and self._is_connected
        if runs and not self._runs:
            self._deficit = START_DEFICIT
        if self._runs and not runs:
            self._coil_k = self._parameters.conditions.return_wet_bulb_k - WET_COIL_K
        self._runs = runs

    def _hold(self, charge_kg: float) -> None:
        replace(self._parameters, charge_kg=charge_kg)  # which refuses what is not simulated
        self._charge_kg = charge_kg

    def _go_on(self, step_s: float) -> None:
        build = self._parameters.build
        self._lying_kg = approached(self._lying_kg, 0.0, step_s, BOILING_LAG_S if self._runs else 10.0 * BOILING_LAG_S)
        came_in = self._dead_time.go_on(self.held_kg()["circulating"] / build.right_kg - 1.0, step_s)
        self._spreading = approached(self._spreading, came_in, step_s, CHARGE_LAG_S * build.slowness)
        self._shown = approached(self._shown, self._spreading, step_s, CHARGE_LAG_S * build.slowness)
        self._deficit = approached(self._deficit, 0.0, step_s, START_LAG_S * build.slowness)
        self._coil_k = approached(self._coil_k, self._coldest_air_k, step_s, COIL_LAG_S)
        courses = RUNNING if self._runs else RESTING
        target = self._target()
        for name, figure in self._figures.items():
            figure.go_on(target[name], courses[name], step_s, build.slowness)

    def _target(self) -> dict[str, float]:
        its, (least, most) = self._parameters, MOST_SHOWN
        if not self._runs:
            return resting(its.build, its.conditions, its.faults, self._shown, self._coil_k)
        charge = min(max(self._shown - self._deficit, least), most)
        return running(its.build, its.conditions, its.faults, charge)


def _mass(mass_kg: float) -> float:
    if not (mass_kg > 0.0 and math.isfinite(mass_kg)):
        raise SimulatorError(f"a mass of {mass_kg} kg cannot be moved; give more than nothing")
    return mass_kg
