"""The refrigerant circuit with its compressor running: the pressures that the stores ask for, and all the flows.

The suction pressure is the one at which evaporator and suction line hold what the low side holds, and the head is
found likewise. What the coils store in their metal lets the pressures follow within some seconds.
"""

import math
from collections.abc import Callable

from simulators.unit import properties
from simulators.unit.air_inside import AirInside
from simulators.unit.air_streams import AirStreams
from simulators.unit.compressor import compress
from simulators.unit.condenser import CondenserState, condense
from simulators.unit.evaporator import EvaporatorState, evaporate
from simulators.unit.lag import lagged
from simulators.unit.line_set import liquid_column
from simulators.unit.metering import Inlet, behind_restriction, orifice_flow
from simulators.unit.parameters import UnitParameters
from simulators.unit.properties import Saturation
from simulators.unit.resting import Side, Vessel, equalising_flow, metal_temperature, moment, vessel
from simulators.unit.roots import solve_rising
from simulators.unit.stores import Compressed, Moment, Stores

SUCTION_LAG_S = 3.0
HEAD_LAG_S = 5.0
"""How soon the pressures follow, for the metal of the coils (of the order of its heat capacity over conductance)."""


class Circuit:
    """The circuit of one unit. It keeps the air streams; what it finds goes back to the caller."""

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        self.refrigerant = properties.load(parameters.refrigerant)
        condenser, evaporator = parameters.condenser, parameters.evaporator
        self.high = Side(condenser.volume_m3 + condenser.line_volume_m3, condenser.metal_heat_capacity)
        self.low = Side(evaporator.volume_m3 + evaporator.suction_volume_m3, evaporator.metal_heat_capacity)
        self.air_inside = AirInside(self.high, self.low)
        self.streams = AirStreams(parameters)
        self.motor_losses = 1.0
        """Power that the compressor's motor takes over what it would take from a sound supply [1]."""

    @property
    def volume_m3(self) -> float:
        """Of coils and lines, refrigerant or not."""
        return self.high.volume_m3 + self.low.volume_m3

    def running(self, stores: Stores, step_s: float) -> Moment:
        """Let the pressures follow for this long, and find all that the stores then bring about.

        An infinite step takes the pressures straight to where they go.
        """
        boiling_off = self._boiling_off(stores, math.exp(stores.log_suction_pressure))
        suction, evaporator = self._find_low_side(stores, boiling_off, step_s)
        compressed = self._compress(stores, suction, evaporator, boiling_off)
        condensing, condenser, condenser_flow = self._find_high_side(stores, compressed, step_s)
        stores.liquid_enthalpy = condenser.outlet_enthalpy
        return Moment(
            suction=suction,
            evaporator=evaporator,
            boiling_off_kg_s=boiling_off,
            compressed=compressed,
            condensing=condensing,
            condenser=condenser,
            condenser_flow_kg_s=condenser_flow,
            metered_kg_s=self._meter(stores, suction, condensing, condenser),
        )

    def resting(self, stores: Stores) -> Moment:
        """Find the pressures of a unit at rest, and what passes from one side to the other."""
        high, low = self.vessels(stores)
        self.air_inside.press(stores, high.at, low.at)
        flow = equalising_flow(
            self.refrigerant,
            self._open_area(stores, low.at),
            high,
            low,
            high_air_pa=stores.high_air_pa,
            low_air_pa=stores.low_air_pa,
        )
        lowest_pa = self.refrigerant.lowest_pressure_pa
        stores.log_suction_pressure = stores.sought_log_suction = math.log(max(low.at.pressure_pa, lowest_pa))
        stores.log_condensing_pressure = stores.sought_log_condensing = math.log(max(high.at.pressure_pa, lowest_pa))
        boiling_off = self._boiling_off(stores, low.at.pressure_pa)
        return moment(high, low, low_metal_k=stores.low_metal_k, boiling_off_kg_s=boiling_off, flow_kg_s=flow)

    def head(self, stores: Stores, condensing: Saturation) -> Saturation:
        """Take saturation at the pressure that a gauge finds: refrigerant and air together."""
        if stores.high_air_pa == 0.0:
            return condensing
        highest_pa = self.refrigerant.highest_pressure_pa
        return self.refrigerant.saturation(min(condensing.pressure_pa + stores.high_air_pa, highest_pa))

    def stored_j(self, stores: Stores) -> tuple[float, float]:
        """Find the energy in the high and in the low side, metal and refrigerant, the latter as at rest [J]."""
        high, low = self.vessels(stores)
        return high.energy_j, low.energy_j

    def warm_metal(self, stores: Stores, high_j: float, low_j: float) -> None:
        """Make the coils as warm as they are with this energy in each side."""
        stores.high_metal_k = metal_temperature(
            self.refrigerant, self.high, held_kg=stores.high_side_kg, energy_j=high_j, guess_k=stores.high_metal_k
        )
        stores.low_metal_k = metal_temperature(
            self.refrigerant, self.low, held_kg=stores.low_side_kg, energy_j=low_j, guess_k=stores.low_metal_k
        )

    def vessels(self, stores: Stores) -> tuple[Vessel, Vessel]:
        """Find how the high and the low side stand, taken as at rest."""
        return (
            vessel(self.refrigerant, self.high, held_kg=stores.high_side_kg, metal_k=stores.high_metal_k),
            vessel(self.refrigerant, self.low, held_kg=stores.low_side_kg, metal_k=stores.low_metal_k),
        )

    def _boiling_off(self, stores: Stores, suction_pa: float) -> float:
        sump = self._parameters.sump
        dissolved_kg = sump.equilibrium_kg(suction_pa, stores.shell_k)
        return (stores.sump_kg - dissolved_kg) / sump.time_constant_s

    def _find_low_side(
        self, stores: Stores, boiling_off_kg_s: float, step_s: float
    ) -> tuple[Saturation, EvaporatorState]:
        """Find the suction pressure at which evaporator and suction line hold what the low side holds."""
        refrigerant = self.refrigerant
        head_pa = self._last_head_pa(stores)

        def at(log_pressure: float) -> tuple[Saturation, EvaporatorState]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            swallowed = self._swallowed(stores, saturation, head_pa) * stores.delivered_fraction
            return saturation, evaporate(
                self.streams.evaporator,
                refrigerant,
                self.streams.indoor,
                at=saturation,
                inlet_enthalpy=stores.liquid_enthalpy,
                vapour_flow_kg_s=max(swallowed - boiling_off_kg_s, 0.05 * swallowed),
            )

        stores.sought_log_suction = self._find_pressure(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.low_side_kg,
            stores.sought_log_suction,
            lowest_pa=refrigerant.lowest_pressure_pa,
            highest_pa=refrigerant.bubble_pressure(self.streams.indoor.temperature_k),
        )
        stores.log_suction_pressure = lagged(
            stores.log_suction_pressure, stores.sought_log_suction, step_s / SUCTION_LAG_S
        )
        return at(stores.log_suction_pressure)

    def _find_high_side(
        self, stores: Stores, compressed: Compressed, step_s: float
    ) -> tuple[Saturation, CondenserState, float]:
        """Find the condensing pressure at which condenser and liquid line hold what the high side holds.

        The flow into the condenser comes with it: near its limit the relief valve lets the less pass the higher the
        head, at once, so that flow and pressure have to be found together. The head never falls below the suction
        pressure: the discharge valve would open by itself.
        """
        refrigerant = self.refrigerant
        extra_pa = stores.high_air_pa

        def at(log_pressure: float) -> tuple[Saturation, CondenserState, float]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            head_pa = saturation.pressure_pa + extra_pa
            flow = compressed.flow_kg_s * self._parameters.compressor.delivered_fraction(head_pa)
            state = condense(
                self.streams.condenser,
                refrigerant,
                self.streams.outdoor,
                at=saturation,
                inlet_enthalpy=compressed.enthalpy,
                flow_kg_s=flow,
            )
            return saturation, state, flow

        stores.sought_log_condensing = self._find_pressure(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.high_side_kg,
            stores.sought_log_condensing,
            lowest_pa=math.exp(stores.log_suction_pressure),
            highest_pa=refrigerant.highest_pressure_pa - extra_pa,
        )
        stores.log_condensing_pressure = lagged(
            stores.log_condensing_pressure, stores.sought_log_condensing, step_s / HEAD_LAG_S
        )
        return at(stores.log_condensing_pressure)

    @staticmethod
    def _find_pressure(
        excess_kg: Callable[[float], float], guess_log_pressure: float, *, lowest_pa: float, highest_pa: float
    ) -> float:
        return solve_rising(
            excess_kg,
            guess_log_pressure,
            step=1e-4,
            low=math.log(lowest_pa),
            high=math.log(highest_pa),
            tolerance=1e-9,
        )

    def _compress(
        self, stores: Stores, suction: Saturation, evaporator: EvaporatorState, boiling_off_kg_s: float
    ) -> Compressed:
        compressor, sump, faults = self._parameters.compressor, self._parameters.sump, self._parameters.faults
        head = self.head(stores, self.refrigerant.saturation(math.exp(stores.log_condensing_pressure)))
        compression = compress(
            self.refrigerant, suction=suction, superheat_dk=_line_superheat(stores, suction), head=head
        )
        efficiency = compressor.isentropic_efficiency(head.pressure_pa / suction.pressure_pa)
        driven = self._swallowed(stores, suction, head.pressure_pa) / (1.0 - faults.compressor_leakage)
        power = driven * stores.delivered_fraction * compression.isentropic_work / efficiency * self.motor_losses
        flow = evaporator.flow_kg_s + boiling_off_kg_s
        wetness = (1.0 - evaporator.outlet_quality) * suction.latent_heat
        drawn = compression.suction_enthalpy - wetness
        hot = drawn + power / flow
        hot_k = head.dew_point_k + self.refrigerant.superheat_of_enthalpy(head, hot)
        gas_to_shell = sump.shell_conductance * (hot_k - stores.shell_k)
        unrelieved = evaporator.flow_kg_s / stores.delivered_fraction + boiling_off_kg_s
        return Compressed(unrelieved, power, drawn, hot - gas_to_shell / flow, gas_to_shell)

    def _meter(self, stores: Stores, suction: Saturation, condensing: Saturation, condenser: CondenserState) -> float:
        lost_pa = liquid_column(condensing.liquid_density, self._parameters.liquid_rise_m)
        arriving_pa = max(condensing.pressure_pa - lost_pa, suction.pressure_pa)
        arriving = self.refrigerant.saturation(min(arriving_pa, self.refrigerant.highest_pressure_pa))
        return orifice_flow(
            self.refrigerant,
            self._open_area(stores, suction),
            Inlet(arriving, condenser.outlet_enthalpy),
            upstream_pa=self.head(stores, condensing).pressure_pa - lost_pa,
            downstream_pa=suction.pressure_pa,
        )

    def _open_area(self, stores: Stores, suction: Saturation) -> float:
        faults = self._parameters.faults
        area = self._parameters.metering_as_it_is().open_area(stores.bulb_k - suction.dew_point_k)
        return behind_restriction(
            area, faults.liquid_line_restriction, line_area_m2=self._parameters.liquid_line_area_m2
        )

    def _swallowed(self, stores: Stores, suction: Saturation, head_pa: float) -> float:
        """Find what the compressor moves on of vapour as warm as the suction line, with no relief [kg/s].

        It falls to nothing at the end of the tables, so that the low side is never pumped empty.
        """
        lowest_pa = self.refrigerant.lowest_pressure_pa
        starved = min((suction.pressure_pa - lowest_pa) / lowest_pa + 1e-6, 1.0)
        density = self.refrigerant.vapour_density(suction, _line_superheat(stores, suction))
        volume_flow = self._parameters.compressor.volume_flow(suction.pressure_pa, head_pa)
        return volume_flow * density * starved * (1.0 - self._parameters.faults.compressor_leakage)

    def _last_head_pa(self, stores: Stores) -> float:
        return math.exp(stores.log_condensing_pressure) + stores.high_air_pa


def _line_superheat(stores: Stores, suction: Saturation) -> float:
    return max(stores.suction_line_k - suction.dew_point_k, 0.0)
