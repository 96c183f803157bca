"""The refrigerant circuit with its compressor running: the pressures that the stores ask for, and all the flows.

The suction pressure is the one at which evaporator and suction line hold what the low side holds, and the head is
found likewise. What the coils store in their metal lets the pressures follow within some seconds.
"""

import math
from collections.abc import Callable

from simulators.unit import properties
from simulators.unit.air_inside import AirInside
from simulators.unit.air_streams import AirStreams
from simulators.unit.condenser import CondenserState, condense
from simulators.unit.drawing import Drawing
from simulators.unit.evaporator import EvaporatorState, evaporate
from simulators.unit.heating_streams import HeatingStreams, beside_frost, melting_conductance
from simulators.unit.lag import lagged
from simulators.unit.line_set import liquid_column
from simulators.unit.metering import Inlet, behind_restriction, orifice_flow
from simulators.unit.parameters import UnitParameters
from simulators.unit.properties import Saturation
from simulators.unit.resting import Side, Vessel, equalising_flow, metal_temperature, moment, vessel
from simulators.unit.reversing_valve import Mode
from simulators.unit.roots import solve_rising
from simulators.unit.stores import Compressed, Moment, Stores

SUCTION_LAG_S = 3.0
HEAD_LAG_S = 5.0
"""How soon the pressures follow, for the metal of the coils (of the order of its heat capacity over conductance)."""


class Circuit:
    """The circuit of one unit. It keeps the air streams; what it finds goes back to the caller.

    mode: which way its reversing valve leads; a unit without one cools. joins: the effective area that the valve
    leaves open from discharge to suction [m²].
    """

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        self.refrigerant = properties.load(parameters.refrigerant)
        self.drawing = Drawing(parameters, self.refrigerant)
        self.joins_m2 = 0.0
        self._cooling_streams = AirStreams(parameters)
        heat_pump = parameters.heat_pump
        self._heating_streams = None if heat_pump is None else HeatingStreams(parameters, heat_pump)
        self.lead("cooling")

    @property
    def indoor_air_m3_s(self) -> float:
        """The air over the indoor coil, whichever way the valve leads."""
        streams = self.streams
        coil = streams.condenser if isinstance(streams, HeatingStreams) else streams.evaporator
        return coil.air_flow_m3_s

    @property
    def liquid_line_m3(self) -> float:
        """The liquid line's volume, on the high side whichever way the valve leads."""
        return self._parameters.condenser.line_volume_m3

    def lead(self, mode: Mode) -> None:
        """Lead hot gas to the coil that condenses in this mode; only a heat pump's heats."""
        outdoor, indoor, heat_pump = self._parameters.condenser, self._parameters.evaporator, self._parameters.heat_pump
        self.mode: Mode = mode
        outdoor_m3, indoor_m3 = outdoor.volume_m3, indoor.volume_m3 + indoor.suction_volume_m3
        self.streams: AirStreams | HeatingStreams
        if mode == "heating" and heat_pump is not None and self._heating_streams is not None:
            self.high = Side(indoor_m3 + outdoor.line_volume_m3, indoor.metal_heat_capacity)
            self.low = Side(outdoor_m3, outdoor.metal_heat_capacity)
            self.streams = self._heating_streams
            self._metering, self._rise_m = heat_pump.metering, -self._parameters.liquid_rise_m
        else:
            self.high = Side(outdoor_m3 + outdoor.line_volume_m3, outdoor.metal_heat_capacity)
            self.low = Side(indoor_m3, indoor.metal_heat_capacity)
            self.streams = self._cooling_streams
            self._metering, self._rise_m = self._parameters.metering_as_it_is(), self._parameters.liquid_rise_m
        self.air_inside = AirInside(self.high, self.low)

    def let_air_pass(self, *, evaporator: float | None, condenser: float | None) -> None:
        """Leave a coil this part of its usual air, whichever way the valve leads. evaporator: the indoor coil.

        Raises:
            SimulatorError: less or more than can be simulated.

        """
        self._cooling_streams.let_pass(evaporator=evaporator, condenser=condenser)
        if self._heating_streams is not None:
            self._heating_streams.let_pass(indoor=evaporator, outdoor=condenser)

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
        accumulating = self._accumulating(stores, suction, evaporator)
        compressed = self.drawing.compress(
            stores,
            suction,
            evaporator,
            self.head(stores, self.refrigerant.saturation(math.exp(stores.log_condensing_pressure))),
            boiling_off_kg_s=boiling_off,
            accumulating_kg_s=accumulating,
        )
        condensing, condenser, condenser_flow = self._find_high_side(stores, compressed, step_s)
        stores.liquid_enthalpy = condenser.outlet_enthalpy
        line = self.drawing.line_end(suction, evaporator, is_long=self.mode == "cooling")
        stores.suction_drop_pa = line.drop_pa
        return Moment(
            suction=suction,
            evaporator=evaporator,
            boiling_off_kg_s=boiling_off,
            compressed=compressed,
            condensing=condensing,
            condenser=condenser,
            condenser_flow_kg_s=condenser_flow,
            metered_kg_s=self._meter(stores, suction, condensing, condenser),
            accumulating_kg_s=accumulating,
            line_gain_w=line.gain_w,
            line_end_k=line.temperature_k,
        )

    def resting(self, stores: Stores, *, beside_m2: float = 0.0) -> Moment:
        """Find the pressures of a unit at rest, and what passes from one side to the other.

        beside: what is open between them beside the metering device [m²].
        """
        high, low = self.vessels(stores)
        self.air_inside.press(stores, high.at, low.at)
        flow = equalising_flow(
            self.refrigerant,
            self._open_area(stores, low.at) + beside_m2,
            high,
            low,
            high_air_pa=stores.high_air_pa,
            low_air_pa=stores.low_air_pa,
        )
        lowest_pa = self.refrigerant.lowest_pressure_pa
        stores.log_suction_pressure = stores.sought_log_suction = math.log(max(low.at.pressure_pa, lowest_pa))
        stores.log_condensing_pressure = stores.sought_log_condensing = math.log(max(high.at.pressure_pa, lowest_pa))
        stores.suction_drop_pa = 0.0
        boiling_off = self._boiling_off(stores, low.at.pressure_pa)
        return moment(high, low, low_metal_k=stores.low_metal_k, boiling_off_kg_s=boiling_off, flow_kg_s=flow)

    def head(self, stores: Stores, condensing: Saturation) -> Saturation:
        """Take saturation at the pressure that a gauge finds: refrigerant and air together."""
        if stores.high_air_pa == 0.0:
            return condensing
        highest_pa = self.refrigerant.highest_pressure_pa
        return self.refrigerant.saturation(min(condensing.pressure_pa + stores.high_air_pa, highest_pa))

    def stored_j(self, stores: Stores) -> tuple[float, float]:
        """Find the energy in the high and in the low side, metal and refrigerant, the latter as at rest [J].

        A compensator belongs to the high side, and an accumulator to the low one.
        """
        high, low = self.vessels(stores)
        return high.energy_j + stores.compensator_j, low.energy_j + stores.accumulator_j

    def warm_metal(self, stores: Stores, high_j: float, low_j: float) -> None:
        """Make the coils as warm as they are with this energy in each side, as stored_j counts it."""
        high_j, low_j = high_j - stores.compensator_j, low_j - stores.accumulator_j
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

    def _accumulating(self, stores: Stores, suction: Saturation, evaporator: EvaporatorState) -> float:
        """Find what a heat pump's accumulator gains of the liquid that leaves the evaporator [kg/s]."""
        if self._parameters.heat_pump is None:
            return 0.0
        liquid_kg_s = evaporator.flow_kg_s * (1.0 - evaporator.outlet_quality)
        accumulator = self._parameters.heat_pump.accumulator
        return accumulator.gains_kg_s(stores.accumulator_kg, liquid_kg_s, suction.liquid_density)

    def _find_low_side(
        self, stores: Stores, boiling_off_kg_s: float, step_s: float
    ) -> tuple[Saturation, EvaporatorState]:
        """Find the suction pressure at which evaporator and suction line hold what the low side holds."""
        refrigerant = self.refrigerant
        head_pa = self._last_head_pa(stores)

        def at(log_pressure: float) -> tuple[Saturation, EvaporatorState]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            passed_on = self.drawing.passed_on(stores, saturation, head_pa, joins_m2=self.joins_m2)
            swallowed = passed_on * stores.delivered_fraction
            return saturation, evaporate(
                self.streams.evaporator,
                refrigerant,
                self.streams.evaporator_air,
                at=saturation,
                inlet_enthalpy=stores.liquid_enthalpy,
                vapour_flow_kg_s=max(swallowed - boiling_off_kg_s, 0.05 * swallowed),
            )

        stores.sought_log_suction = self._find_pressure(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.low_side_kg,
            stores.sought_log_suction,
            lowest_pa=refrigerant.lowest_pressure_pa,
            highest_pa=refrigerant.bubble_pressure(self.streams.evaporator_air.temperature_k),
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
        air = self.streams.condenser_air
        if self.mode == "cooling" and stores.outdoor_frost_kg > 0.0:
            air = beside_frost(air, melting_conductance(self._parameters, stores.outdoor_frost_kg))

        def at(log_pressure: float) -> tuple[Saturation, CondenserState, float]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            head_pa = saturation.pressure_pa + extra_pa
            flow = compressed.flow_kg_s * self._parameters.compressor.delivered_fraction(head_pa)
            state = condense(
                self.streams.condenser,
                refrigerant,
                air,
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

    def _meter(self, stores: Stores, suction: Saturation, condensing: Saturation, condenser: CondenserState) -> float:
        lost_pa = liquid_column(condensing.liquid_density, self._rise_m)
        arriving_pa = max(condensing.pressure_pa - lost_pa, suction.pressure_pa)
        arriving = condensing  # of a unit whose coils stand on one level
        if arriving_pa != condensing.pressure_pa:
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
        area = self._metering.open_area(stores.bulb_k - suction.dew_point_k)
        return behind_restriction(
            area, faults.liquid_line_restriction, line_area_m2=self._parameters.liquid_line_area_m2
        )

    def _last_head_pa(self, stores: Stores) -> float:
        return math.exp(stores.log_condensing_pressure) + stores.high_air_pa
