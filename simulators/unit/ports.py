"""The two service ports of a circuit: what goes in and out there, with the energy that it carries.

The suction port opens on the low side, the liquid port on the high side. Coils warm and cool by what passes, so that a
circuit that is recovered from boils itself cold, and one charged in a hurry too.
"""

import math
from typing import Literal

from simulators.errors import SimulatorError
from simulators.unit.air_inside import gas_room_m3
from simulators.unit.circuit import Circuit
from simulators.unit.moisture import STEAM_J_PER_MOL
from simulators.unit.resting import Vessel
from simulators.unit.stores import Stores

Port = Literal["suction", "liquid"]
PORTS: tuple[Port, Port] = ("suction", "liquid")


class ServicePorts:
    """The ports. moved: the energy that came in through them, less what left [J]."""

    def __init__(self, circuit: Circuit, stores: Stores) -> None:
        self._circuit, self._stores = circuit, stores
        self.moved_j = 0.0

    def pressure_pa(self, port: Port) -> float:
        """Tell what a gauge there finds: refrigerant, gas and water vapour together."""
        stores = self._stores
        gas_pa = stores.low_air_pa if port == "suction" else stores.high_air_pa
        return self.inside(port).at.pressure_pa + gas_pa + stores.steam_pa

    def inside(self, port: Port) -> Vessel:
        """Tell how refrigerant stands behind it."""
        high, low = self._circuit.vessels(self._stores)
        return low if port == "suction" else high

    def volume_m3(self, port: Port) -> float:
        """Tell how large the side behind it is."""
        return self._circuit.low.volume_m3 if port == "suction" else self._circuit.high.volume_m3

    def gas_volume_m3(self, port: Port) -> float:
        """Tell what liquid leaves free behind it."""
        return gas_room_m3(self.inside(port).at, self.held_kg(port), self.volume_m3(port))

    def metal_k(self, port: Port) -> float:
        """Tell how warm the coil behind it is."""
        return self._stores.low_metal_k if port == "suction" else self._stores.high_metal_k

    def held_kg(self, port: Port) -> float:
        """Tell how much refrigerant is behind it."""
        return self._stores.low_side_kg if port == "suction" else self._stores.high_side_kg

    def put(self, port: Port, mass_kg: float, enthalpy: float) -> None:
        """Let refrigerant in, with its enthalpy [J/kg]; a negative mass leaves.

        Raises:
            SimulatorError: more would leave than there is.

        """
        if not (math.isfinite(mass_kg) and mass_kg > -self.held_kg(port)):
            raise SimulatorError(
                f"the {port} port cannot give {-mass_kg:.4f} kg; behind it are {self.held_kg(port):.4f} kg"
            )
        stores = self._stores
        high_j, low_j = self._circuit.stored_j(stores)
        carried_j = mass_kg * enthalpy
        if port == "suction":
            stores.low_side_kg += mass_kg
            low_j += carried_j
        else:
            stores.high_side_kg += mass_kg
            high_j += carried_j
        self._circuit.warm_metal(stores, high_j, low_j)
        self.moved_j += carried_j

    def put_gas(self, port: Port, amount_mol: float) -> None:
        """Let air or nitrogen in; a negative amount leaves. Its heat does not count."""
        if port == "suction":
            self._stores.low_air_mol += amount_mol
        else:
            self._stores.high_air_mol += amount_mol

    def sweep_out(self, port: Port, volume_m3: float) -> float:
        """Let this much of all the gas and vapour there leave, as it is mixed; tell the refrigerant in it [kg].

        A volume that is not small against the side's leaves a rest, as one that is drawn off bit by bit does.
        """
        stores, inside = self._stores, self.inside(port)
        part = -math.expm1(-volume_m3 / self.volume_m3(port))
        gas_mol = stores.low_air_mol if port == "suction" else stores.high_air_mol
        self.put_gas(port, -part * gas_mol)
        vapour_kg = min(inside.at.vapour_density * self.volume_m3(port), self.held_kg(port))
        self.put(port, -part * vapour_kg, inside.vapour_enthalpy)
        steam_part = part * self.volume_m3(port) / (self._circuit.low.volume_m3 + self._circuit.high.volume_m3)
        self.moved_j -= stores.steam_mol * steam_part * STEAM_J_PER_MOL
        stores.steam_mol *= 1.0 - steam_part
        return part * vapour_kg
