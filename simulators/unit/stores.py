"""What the unit remembers from one step to the next, and everything that follows from it at one moment."""

from dataclasses import dataclass
from typing import NamedTuple

from simulators.unit.condenser import CondenserState
from simulators.unit.evaporator import EvaporatorState
from simulators.unit.properties import Saturation


@dataclass(slots=True)
class Stores:
    """Where refrigerant and heat are.

    log_suction_pressure, log_condensing_pressure: the pressures as they are. sought_...: those that the stores ask
    for, which the pressures follow within seconds. high_metal, low_metal: the coils, which set the pressures at rest.
    sump_enthalpy: what refrigerant in the sump is counted with, the rest being the shell's warmth [J/kg].
    air_mol, air_pa: the air or nitrogen in each side, and what it adds to the pressure there. water, steam: liquid,
    and vapour of it throughout. frost: on the indoor coil, and outdoor_frost: on the outdoor one. damper: part of
    outdoor air in what enters indoors. evaporator_outlet: where the bulb sits. suction_drop: what the suction line
    takes of the pressure. accumulator, compensator: of a heat pump, with the energy of what they hold.
    """

    high_side_kg: float
    low_side_kg: float
    sump_kg: float
    shell_k: float
    suction_line_k: float
    liquid_line_k: float
    discharge_line_k: float
    bulb_k: float
    high_metal_k: float
    low_metal_k: float
    supply_air_k: float
    supply_humidity_ratio: float
    liquid_enthalpy: float
    sump_enthalpy: float
    delivered_fraction: float
    log_suction_pressure: float
    log_condensing_pressure: float
    sought_log_suction: float
    sought_log_condensing: float
    high_air_pa: float
    high_air_mol: float = 0.0
    low_air_pa: float = 0.0
    low_air_mol: float = 0.0
    water_kg: float = 0.0
    steam_mol: float = 0.0
    steam_pa: float = 0.0
    frost_kg: float = 0.0
    damper: float = 0.0
    evaporator_outlet_k: float = 0.0
    suction_drop_pa: float = 0.0
    outdoor_frost_kg: float = 0.0
    accumulator_kg: float = 0.0
    accumulator_j: float = 0.0
    compensator_kg: float = 0.0
    compensator_j: float = 0.0

    @property
    def charge_kg(self) -> float:
        """All the refrigerant."""
        return sum((self.high_side_kg, self.low_side_kg, self.sump_kg, self.accumulator_kg, self.compensator_kg))


class Compressed(NamedTuple):
    """What the compressor does now. flow: what it would send to the condenser with its relief valve shut.

    suction_enthalpy: of what it draws, and enthalpy: of what it sends out [J/kg].
    """

    flow_kg_s: float
    power_w: float
    suction_enthalpy: float
    enthalpy: float
    gas_to_shell_w: float


class Moment(NamedTuple):
    """Everything that follows from the stores at one moment."""

    suction: Saturation
    evaporator: EvaporatorState
    boiling_off_kg_s: float
    compressed: Compressed
    condensing: Saturation
    condenser: CondenserState
    condenser_flow_kg_s: float
    metered_kg_s: float
    accumulating_kg_s: float = 0.0
    line_gain_w: float = 0.0
    line_end_k: float = 0.0
