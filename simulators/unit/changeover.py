"""The reversing valve shifts: what was the high side is the low one, and the other way round.

What is in each coil stays there; only the liquid line, which is under high pressure in both modes, goes with the side
that becomes the high one. Nothing is made or lost, neither refrigerant nor energy.
"""

from simulators.unit.circuit import Circuit
from simulators.unit.reversing_valve import Mode
from simulators.unit.stores import Stores

EQUAL_PA = 6.0e4
"""So near each other, the pressures have met after a shift, and the compressor parts them again."""


def change_over(circuit: Circuit, stores: Stores, mode: Mode) -> None:
    """Let the valve lead the other way."""
    high, low = circuit.vessels(stores)
    if high.has_liquid:
        line_kg = min(circuit.liquid_line_m3 * high.at.liquid_density, 0.5 * stores.high_side_kg)
        line_j = line_kg * (high.at.liquid_enthalpy - high.at.pressure_pa / high.at.liquid_density)
    else:
        line_kg = stores.high_side_kg * circuit.liquid_line_m3 / circuit.high.volume_m3
        line_j = line_kg * high.vapour_enthalpy - high.at.pressure_pa * circuit.liquid_line_m3
    circuit.lead(mode)
    stores.high_side_kg, stores.low_side_kg = stores.low_side_kg + line_kg, stores.high_side_kg - line_kg
    stores.high_metal_k, stores.low_metal_k = stores.low_metal_k, stores.high_metal_k
    stores.high_air_mol, stores.low_air_mol = stores.low_air_mol, stores.high_air_mol
    circuit.warm_metal(
        stores, low.energy_j + line_j + stores.compensator_j, high.energy_j - line_j + stores.accumulator_j
    )


def have_met(circuit: Circuit, stores: Stores) -> bool:
    """Tell whether the pressures have met since the shift, so that the compressor can part them again."""
    high, low = circuit.vessels(stores)
    return low.at.pressure_pa - high.at.pressure_pa < EQUAL_PA
