"""Acts of service at once: refrigerant weighed in, refrigerant taken out, air let in by a hose."""

import math
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.heat_books import HeatBooks
from simulators.unit.ports import ServicePorts
from simulators.unit.stores import Stores

RECOVERABLE_FRACTION = 0.8
"""What part of the high side can be taken out at one moment."""


class Service:
    """What a technician does to one circuit. most_charge: what it can hold."""

    def __init__(self, stores: Stores, books: HeatBooks, ports: ServicePorts, *, most_charge_kg: float) -> None:
        self._stores, self._books, self._ports = stores, books, ports
        self._most_charge_kg = most_charge_kg

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in at the suction port: vapour joins the flow, liquid falls into the sump first.

        Raises:
            SimulatorError: more would be in the unit than it can hold.

        """
        _check_mass(mass_kg)
        charge_kg = self._stores.charge_kg
        if charge_kg + mass_kg > self._most_charge_kg:
            raise SimulatorError(f"the unit holds {charge_kg:.2f} kg, and {self._most_charge_kg:g} kg at most")
        before_j = self._books.stored_j()
        if phase == "liquid":
            self._stores.sump_kg += mass_kg
        else:
            self._stores.low_side_kg += mass_kg
        self._ports.moved_j += self._books.stored_j() - before_j

    def recover(self, mass_kg: float) -> None:
        """Take liquid out at the liquid port.

        Raises:
            SimulatorError: it is more than the high side can give at once.

        """
        _check_mass(mass_kg)
        available_kg = RECOVERABLE_FRACTION * self._stores.high_side_kg
        if mass_kg > available_kg:
            raise SimulatorError(
                f"cannot recover {mass_kg:.3f} kg at once: the high side gives at most {available_kg:.3f} kg; "
                "take less, and let the unit run in between"
            )
        before_j = self._books.stored_j()
        self._stores.high_side_kg -= mass_kg
        self._ports.moved_j += self._books.stored_j() - before_j

    def let_air_in(self, amount_mol: float) -> None:
        """Let air in at the suction port, as from a hose that was not purged."""
        if not (amount_mol > 0.0 and math.isfinite(amount_mol)):
            raise SimulatorError(f"{amount_mol} mol of air cannot be let in; give more than nothing")
        self._stores.low_air_mol += amount_mol


def _check_mass(mass_kg: float) -> None:
    if not (mass_kg > 0.0 and math.isfinite(mass_kg)):
        raise SimulatorError(f"a mass of {mass_kg} kg cannot be moved; give more than nothing")
