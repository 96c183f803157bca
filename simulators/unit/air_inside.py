"""Air in the circuit: an ideal gas that stays where no liquid is, and adds its pressure to the refrigerant's (Dalton).

It never leaves by itself. The running compressor sweeps it into the condenser, where the liquid at the outlet holds
it; at rest it spreads through both sides until its pressure is the same everywhere.
"""

import math

from simulators.unit.properties import Saturation
from simulators.unit.resting import Side
from simulators.unit.stores import Moment, Stores

GAS_CONSTANT = 8.314462618
"""CODATA 2018 [J/(mol K)]."""

SPREADING_LAG_S = 200.0
"""How soon air at rest spreads through metering device and valves (a guess, no source)."""

LEAST_ROOM = 0.05
"""What part of a side is taken for free of liquid at least, however full it is."""

MOST_AIR_PA = 1.2e6
"""The highest pressure of air that a compressor is simulated with: far beyond its high cut-out."""


def gas_room_m3(at: Saturation, held_kg: float, volume_m3: float) -> float:
    """Find what the liquid in a side leaves free [m³]."""
    free = (at.liquid_density * volume_m3 - held_kg) / (at.liquid_density - at.vapour_density)
    return min(max(free, LEAST_ROOM * volume_m3), volume_m3)


def air_pressure(amount_mol: float, room_m3: float, temperature_k: float) -> float:
    """Find what the air adds to the pressure [Pa].

    >>> round(air_pressure(1.0, 0.0224140, 273.15))
    101325
    """
    return amount_mol * GAS_CONSTANT * temperature_k / room_m3


def air_amount(pressure_pa: float, room_m3: float, temperature_k: float) -> float:
    """Find how much air makes this pressure [mol]."""
    return pressure_pa * room_m3 / (GAS_CONSTANT * temperature_k)


class AirInside:
    """The air in the two sides of one circuit."""

    def __init__(self, high: Side, low: Side) -> None:
        self._high, self._low = high, low

    def weigh(self, stores: Stores, now: Moment) -> None:
        """Find how much air is in the condenser from what it adds to the pressure."""
        room_m3 = gas_room_m3(now.condensing, stores.high_side_kg, self._high.volume_m3)
        stores.high_air_mol = air_amount(stores.high_air_pa, room_m3, stores.high_metal_k)

    def press(self, stores: Stores, high: Saturation, low: Saturation) -> None:
        """Find what the air adds to the pressure in each side."""
        if stores.high_air_mol + stores.low_air_mol > 0.0:
            high_room, low_room = self._rooms(stores, high, low)
            stores.high_air_pa = air_pressure(stores.high_air_mol, high_room, 1.0)
            stores.low_air_pa = air_pressure(stores.low_air_mol, low_room, 1.0)

    def sweep(self, stores: Stores, now: Moment, *, volume_flow_m3_s: float, step_s: float) -> None:
        """Let the running compressor carry it to the condenser."""
        part = -math.expm1(-volume_flow_m3_s / self._low.volume_m3 * step_s)
        _move(stores, -part * stores.low_air_mol)
        self.press(stores, now.condensing, now.suction)
        stores.high_air_pa = min(stores.high_air_pa, MOST_AIR_PA)

    def spread(self, stores: Stores, now: Moment, step_s: float) -> None:
        """Let it go towards one pressure everywhere, at rest."""
        high_room, low_room = self._rooms(stores, now.condensing, now.suction)
        even_mol = (stores.high_air_mol + stores.low_air_mol) * high_room / (high_room + low_room)
        _move(stores, (stores.high_air_mol - even_mol) * -math.expm1(-step_s / SPREADING_LAG_S))

    def _rooms(self, stores: Stores, high: Saturation, low: Saturation) -> tuple[float, float]:
        """Volume over temperature [m³/K]."""
        return (
            gas_room_m3(high, stores.high_side_kg, self._high.volume_m3) / stores.high_metal_k,
            gas_room_m3(low, stores.low_side_kg, self._low.volume_m3) / stores.low_metal_k,
        )


def _move(stores: Stores, to_low_mol: float) -> None:
    stores.high_air_mol -= to_low_mol
    stores.low_air_mol += to_low_mol
