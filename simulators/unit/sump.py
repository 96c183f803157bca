"""The compressor's sump: oil that takes up refrigerant, in a shell that takes minutes to warm."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sump:
    """Sizes of the sump. Both of its lags are the slow ones of the unit.

    solubility: refrigerant per mass of oil at the reference pressure and shell temperature; more at higher
    pressure, less when warmer, with the heat of solution as exponent [K] (the usual shape; no source for the
    figures). time_constant: of dissolving and boiling off. shell_conductance: from the discharge gas to the shell,
    loss_conductance: from the shell to the outdoor air [W/K]. shell_heat_capacity [J/K]. heater: round the crankcase,
    on while the compressor stands, so that less refrigerant goes into the oil [W].
    """

    oil_kg: float = 1.3
    solubility: float = 0.14
    reference_pressure_pa: float = 0.92e6
    reference_shell_k: float = 338.0
    solution_exponent_k: float = 2200.0
    time_constant_s: float = 210.0
    shell_heat_capacity: float = 9.0e3
    shell_conductance: float = 35.0
    loss_conductance: float = 2.5
    heater_w: float = 0.0

    def equilibrium_kg(self, suction_pressure_pa: float, shell_k: float) -> float:
        """Find what the oil holds when left alone at this pressure and temperature."""
        coolness = math.exp(self.solution_exponent_k * (1.0 / shell_k - 1.0 / self.reference_shell_k))
        share = self.solubility * suction_pressure_pa / self.reference_pressure_pa * coolness
        return self.oil_kg * min(share, 0.4)
