"""What makes a heat pump of a unit: a reversing valve, coils that change their work, and what goes with them."""

from dataclasses import dataclass, field

from simulators.unit.accumulator import Accumulator
from simulators.unit.compensator import Compensator
from simulators.unit.defrost import Defrost, DefrostLimits, TimedDefrost
from simulators.unit.limits import check_limits
from simulators.unit.metering import MeteringDevice, ThermostaticValve
from simulators.unit.reversing_valve import ReversingValve


@dataclass(frozen=True, slots=True)
class HeatPump:
    """Parts and sizes of a heat pump beside those of its cooling. Conductances are of whole coils [W/K].

    metering: the device at the outdoor coil; the one at the indoor coil has a check valve that passes by it, and the
    other way round in cooling. indoor_...: of the indoor coil as a condenser; outdoor_...: of the outdoor one as an
    evaporator. full_frost: what chokes the outdoor coil. melting_conductance: from metal to a full cover of frost.
    auxiliary_heat: electric, in the supply air [W].
    """

    valve: ReversingValve = field(default_factory=ReversingValve)
    metering: MeteringDevice = field(default_factory=lambda: ThermostaticValve(1.9e-6))
    defrost: Defrost = field(default_factory=TimedDefrost)
    defrost_limits: DefrostLimits = field(default_factory=DefrostLimits)
    accumulator: Accumulator = field(default_factory=Accumulator)
    compensator: Compensator | None = field(default_factory=Compensator)
    indoor_vapour_conductance: float = 520.0
    indoor_two_phase_conductance: float = 1250.0
    indoor_liquid_conductance: float = 400.0
    outdoor_two_phase_conductance: float = 1900.0
    outdoor_vapour_conductance: float = 700.0
    full_frost_kg: float = 3.5
    melting_conductance: float = 900.0
    auxiliary_heat_w: float = 9_600.0

    def __post_init__(self) -> None:
        check_limits(self, _LIMITS)


_LIMITS = {
    "indoor_vapour_conductance": (50.0, 5e3),
    "indoor_two_phase_conductance": (100.0, 1e4),
    "indoor_liquid_conductance": (50.0, 5e3),
    "outdoor_two_phase_conductance": (100.0, 2e4),
    "outdoor_vapour_conductance": (50.0, 5e3),
    "full_frost_kg": (0.3, 30.0),
    "melting_conductance": (50.0, 1e4),
    "auxiliary_heat_w": (0.0, 40e3),
}
