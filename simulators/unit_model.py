"""A rooftop unit in cooling: where its refrigerant is, what it does to two air streams, what probes would find.

Three stores hold the refrigerant: the high side (condenser and liquid line), the low side (evaporator and suction
line) and the compressor's sump, where some is dissolved in the oil. Only flows between them change what each holds,
so that no mass is made or lost. Pressures follow at once: the suction pressure is the one at which the
evaporator holds what the low side holds, and the head is found likewise. What takes time is the moving of
refrigerant and the warming of metal:

- the high and the low side fill and empty within seconds to half a minute;
- the suction line and the valve's bulb follow the vapour with lags of their own;
- sump and shell take minutes; liquid let in at the suction port lies in the sump first and boils off.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from simulators import moist_air, properties
from simulators.compressor import compress
from simulators.condenser import CondenserState, condense
from simulators.errors import SimulatorError
from simulators.evaporator import EvaporatorState, evaporate
from simulators.metering import Inlet, behind_restriction, orifice_flow
from simulators.properties import Saturation
from simulators.roots import solve_rising
from simulators.unit_parameters import MOST_CHARGE_KG, UnitParameters

LONGEST_STEP_S = 0.25
"""The stores move on in steps no longer than this, well below the quickest of their lags."""

RELIEF_LAG_S = 3.0
"""How soon the suction side notices that the relief valve returns gas to it."""

RECOVERABLE_FRACTION = 0.8
"""What part of the high side can be taken out at one moment."""

_SETTLING_S = 900.0
_SETTLING_LOOK_S = 30.0
_SETTLING_QUICKENING = 12.0
_STEADY_KG = 1e-6
_STEADY_DK = 1e-3
_FIRST_LOW_SIDE_KG = 0.45
_FIRST_SUMP_KG = 0.18


@dataclass(frozen=True, slots=True)
class HeatFlows:
    """Where the energy goes, now. At a steady state the first two add up to the other two."""

    evaporator_w: float
    compressor_w: float
    condenser_w: float
    shell_loss_w: float


@dataclass(slots=True)
class _Stores:
    """What the unit remembers from one step to the next. The pressures are where to look for the next ones."""

    high_side_kg: float
    low_side_kg: float
    sump_kg: float
    shell_k: float
    suction_line_k: float
    bulb_k: float
    liquid_enthalpy: float
    delivered_fraction: float
    log_suction_pressure: float
    log_condensing_pressure: float


@dataclass(frozen=True, slots=True)
class _Compressed:
    """What the compressor does now. flow: what it would send to the condenser with its relief valve shut."""

    flow_kg_s: float
    power_w: float
    enthalpy: float
    gas_to_shell_w: float


@dataclass(frozen=True, slots=True)
class _Moment:
    """Everything that follows from the stores at one moment."""

    suction: Saturation
    evaporator: EvaporatorState
    boiling_off_kg_s: float
    compressed: _Compressed
    condensing: Saturation
    condenser: CondenserState
    condenser_flow_kg_s: float
    metered_kg_s: float


class Unit:
    """A unit that has run for long. Its parameters are fixed; refrigerant can go in and out while it runs.

    The same parameters and calls give the same states: there is no chance in it.

    Raises:
        SimulatorError: the refrigerant is not one that can be simulated.

    """

    def __init__(self, parameters: UnitParameters | None = None) -> None:
        self._parameters = parameters or UnitParameters()
        self._refrigerant = properties.load(self._parameters.refrigerant)
        self._evaporator = self._parameters.evaporator_as_it_is()
        self._condenser = self._parameters.condenser_as_it_is()
        conditions = self._parameters.conditions
        self._air = self._evaporator.in_air(
            conditions.return_air_k, conditions.return_air_humidity, conditions.barometric_pressure_pa
        )
        self._outdoor_air = self._condenser.in_air(conditions.outdoor_air_k, conditions.barometric_pressure_pa)
        self._stores = self._first_stores()
        self._moment = self._find_moment()
        self._settle()

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit."""
        return sum(self.held_kg().values())

    def held_kg(self) -> Mapping[str, float]:
        """Tell where the refrigerant is now."""
        stores = self._stores
        return {"high side": stores.high_side_kg, "low side": stores.low_side_kg, "sump": stores.sump_kg}

    def step(self, duration_s: float) -> None:
        """Let the unit run on for this long."""
        if not (duration_s >= 0.0 and math.isfinite(duration_s)):
            raise SimulatorError(f"the unit cannot run for {duration_s} s")
        self._run(duration_s, quickening=1.0)

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in at the suction port: vapour joins the flow, liquid falls into the sump first.

        Raises:
            SimulatorError: more would be in the unit than it can hold.

        """
        _check_mass(mass_kg)
        if self.charge_kg + mass_kg > MOST_CHARGE_KG:
            raise SimulatorError(f"the unit holds {self.charge_kg:.2f} kg, and {MOST_CHARGE_KG:g} kg at most")
        if phase == "liquid":
            self._stores.sump_kg += mass_kg
        else:
            self._stores.low_side_kg += mass_kg

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
        self._stores.high_side_kg -= mass_kg

    def heat_flows(self) -> HeatFlows:
        """Find the four flows of energy now."""
        now, parameters = self._moment, self._parameters
        shell_over_air_dk = self._stores.shell_k - parameters.conditions.outdoor_air_k
        return HeatFlows(
            evaporator_w=now.evaporator.flow_kg_s * (self._suction_enthalpy() - self._stores.liquid_enthalpy),
            compressor_w=now.compressed.power_w,
            condenser_w=now.condenser_flow_kg_s * (now.compressed.enthalpy - now.condenser.outlet_enthalpy),
            shell_loss_w=parameters.sump.loss_conductance * shell_over_air_dk,
        )

    def true_state(self) -> Mapping[str, float]:
        """Tell what perfect instruments would read: channel to value in the house's units."""
        return self._refrigerant_state() | self._air_state() | self._electrical_state()

    def _refrigerant_state(self) -> dict[str, float]:
        now = self._moment
        head = self._head(now.condensing)
        superheat = self._refrigerant.superheat_of_enthalpy(head, now.compressed.enthalpy)
        return {
            "suction_pressure": now.suction.pressure_pa,
            "liquid_pressure": head.pressure_pa,
            "discharge_pressure": head.pressure_pa,
            "suction_line_temperature": self._stores.suction_line_k,
            "liquid_line_temperature": Inlet(now.condensing, now.condenser.outlet_enthalpy).temperature_k,
            "discharge_line_temperature": head.dew_point_k + superheat,
        }

    def _air_state(self) -> dict[str, float]:
        air, evaporator, conditions = self._air, self._moment.evaporator, self._parameters.conditions
        contact = air.effectiveness * evaporator.two_phase_fraction
        condensed = contact * air.water_above(self._moment.suction.mean_temperature_k)
        latent_w = air.flow_kg_s * condensed * moist_air.HEAT_OF_VAPORISATION
        supply_k = air.temperature_k - (self.heat_flows().evaporator_w - latent_w) / air.capacity
        supply_ratio = air.humidity_ratio - condensed
        pressure_pa = conditions.barometric_pressure_pa
        return {
            "barometric_pressure": pressure_pa,
            "outdoor_air_temperature": conditions.outdoor_air_k,
            "return_air_temperature": air.temperature_k,
            "return_air_humidity": conditions.return_air_humidity,
            "return_air_wet_bulb": moist_air.wet_bulb(air.temperature_k, air.humidity_ratio, pressure_pa),
            "supply_air_temperature": supply_k,
            "supply_air_humidity": moist_air.relative_humidity(supply_k, supply_ratio, pressure_pa),
        }

    def _electrical_state(self) -> dict[str, float]:
        parameters = self._parameters
        voltage = parameters.conditions.line_voltage_v
        current = parameters.compressor.current(self._moment.compressed.power_w, voltage)
        phases = ("compressor_current", *(f"compressor_current_{phase}" for phase in "abc"))
        return {
            **dict.fromkeys(phases, current),
            **dict.fromkeys(("line_voltage_ab", "line_voltage_bc", "line_voltage_ca"), voltage),
            "condenser_fan_current": parameters.condenser_fan_current_a,
            "blower_current": parameters.blower_current_a,
            "capacitance_fan": parameters.condenser_fan_capacitance_f,
        }

    def _first_stores(self) -> _Stores:
        """Make a rough state to start from; running on finds the true one."""
        charge_kg, conditions = self._parameters.charge_kg, self._parameters.conditions
        low_side_kg = min(_FIRST_LOW_SIDE_KG, 0.25 * charge_kg)
        sump_kg = min(_FIRST_SUMP_KG, 0.1 * charge_kg)
        condensing_pa = self._refrigerant.bubble_pressure(conditions.outdoor_air_k + 12.0)
        suction_pa = self._refrigerant.bubble_pressure(conditions.return_air_k - 18.0)
        return _Stores(
            high_side_kg=charge_kg - low_side_kg - sump_kg,
            low_side_kg=low_side_kg,
            sump_kg=sump_kg,
            shell_k=conditions.outdoor_air_k + 30.0,
            suction_line_k=conditions.return_air_k - 10.0,
            bulb_k=conditions.return_air_k - 10.0,
            liquid_enthalpy=self._refrigerant.saturation(condensing_pa).liquid_enthalpy,
            delivered_fraction=1.0,
            log_suction_pressure=math.log(suction_pa),
            log_condensing_pressure=math.log(condensing_pa),
        )

    def _settle(self) -> None:
        """Run until nothing moves any more, or for as long as one may wait: some states never come to rest."""
        for _ in range(math.ceil(_SETTLING_S / _SETTLING_LOOK_S)):
            before = replace(self._stores)
            self._run(_SETTLING_LOOK_S, quickening=_SETTLING_QUICKENING)
            moved_kg = abs(self._stores.high_side_kg - before.high_side_kg)
            warmed_dk = abs(self._stores.shell_k - before.shell_k)
            if moved_kg < _STEADY_KG and warmed_dk < _STEADY_DK:
                return

    def _run(self, duration_s: float, *, quickening: float) -> None:
        """Run on. quickening: how many times faster than in truth sump and shell go, to settle at first."""
        steps = math.ceil(duration_s / LONGEST_STEP_S)
        for _ in range(steps):
            self._move_masses(duration_s / steps, quickening)
            self._warm_metal(duration_s / steps, quickening)
            self._moment = self._find_moment()

    def _move_masses(self, step_s: float, quickening: float) -> None:
        now, stores = self._moment, self._stores
        boiled_kg = now.boiling_off_kg_s * step_s * quickening
        compressed_kg = now.condenser_flow_kg_s * step_s
        metered_kg = now.metered_kg_s * step_s
        stores.high_side_kg += compressed_kg - metered_kg
        stores.low_side_kg += metered_kg + boiled_kg - compressed_kg
        stores.sump_kg -= boiled_kg

    def _warm_metal(self, step_s: float, quickening: float) -> None:
        now, stores, parameters = self._moment, self._stores, self._parameters
        vapour_k = now.suction.dew_point_k + now.evaporator.superheat_dk
        stores.bulb_k = _lagged(stores.bulb_k, stores.suction_line_k, step_s / parameters.bulb_lag_s)
        stores.suction_line_k = _lagged(stores.suction_line_k, vapour_k, step_s / parameters.suction_line_lag_s)
        delivered = parameters.compressor.delivered_fraction(self._head(now.condensing).pressure_pa)
        stores.delivered_fraction = _lagged(stores.delivered_fraction, delivered, step_s / RELIEF_LAG_S)
        kept_w = now.compressed.gas_to_shell_w - self.heat_flows().shell_loss_w
        stores.shell_k += kept_w / parameters.sump.shell_heat_capacity * step_s * quickening

    def _find_moment(self) -> _Moment:
        """Find the two pressures that the stores ask for, and everything that follows."""
        stores, sump = self._stores, self._parameters.sump
        dissolved_kg = sump.equilibrium_kg(math.exp(stores.log_suction_pressure), stores.shell_k)
        boiling_off = (stores.sump_kg - dissolved_kg) / sump.time_constant_s
        suction, evaporator = self._find_low_side(boiling_off)
        compressed = self._compress(suction, evaporator, boiling_off)
        condensing, condenser, condenser_flow = self._find_high_side(compressed)
        stores.liquid_enthalpy = condenser.outlet_enthalpy
        return _Moment(
            suction=suction,
            evaporator=evaporator,
            boiling_off_kg_s=boiling_off,
            compressed=compressed,
            condensing=condensing,
            condenser=condenser,
            condenser_flow_kg_s=condenser_flow,
            metered_kg_s=self._meter(suction, condensing, condenser),
        )

    def _find_low_side(self, boiling_off_kg_s: float) -> tuple[Saturation, EvaporatorState]:
        """Find the suction pressure at which evaporator and suction line hold what the low side holds."""
        stores, refrigerant = self._stores, self._refrigerant
        head_pa = self._last_head_pa()

        def at(log_pressure: float) -> tuple[Saturation, EvaporatorState]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            swallowed = self._swallowed(saturation, head_pa) * stores.delivered_fraction
            return saturation, evaporate(
                self._evaporator,
                refrigerant,
                self._air,
                at=saturation,
                inlet_enthalpy=stores.liquid_enthalpy,
                vapour_flow_kg_s=max(swallowed - boiling_off_kg_s, 0.05 * swallowed),
            )

        highest_pa = refrigerant.bubble_pressure(self._air.temperature_k)
        stores.log_suction_pressure = self._find_pressure(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.low_side_kg,
            stores.log_suction_pressure,
            highest_pa,
        )
        return at(stores.log_suction_pressure)

    def _find_high_side(self, compressed: _Compressed) -> tuple[Saturation, CondenserState, float]:
        """Find the condensing pressure at which condenser and liquid line hold what the high side holds.

        The flow into the condenser comes with it: near its limit the relief valve lets the less pass the higher the
        head, at once, so that flow and pressure have to be found together.
        """
        stores, refrigerant = self._stores, self._refrigerant
        extra_pa = self._parameters.faults.non_condensables_pa

        def at(log_pressure: float) -> tuple[Saturation, CondenserState, float]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            head_pa = saturation.pressure_pa + extra_pa
            flow = compressed.flow_kg_s * self._parameters.compressor.delivered_fraction(head_pa)
            state = condense(
                self._condenser,
                refrigerant,
                self._outdoor_air,
                at=saturation,
                inlet_enthalpy=compressed.enthalpy,
                flow_kg_s=flow,
            )
            return saturation, state, flow

        stores.log_condensing_pressure = self._find_pressure(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.high_side_kg,
            stores.log_condensing_pressure,
            refrigerant.highest_pressure_pa - extra_pa,
        )
        return at(stores.log_condensing_pressure)

    def _find_pressure(
        self, excess_kg: Callable[[float], float], guess_log_pressure: float, highest_pa: float
    ) -> float:
        return solve_rising(
            excess_kg,
            guess_log_pressure,
            step=1e-4,
            low=math.log(self._refrigerant.lowest_pressure_pa),
            high=math.log(highest_pa),
            tolerance=1e-9,
        )

    def _compress(self, suction: Saturation, evaporator: EvaporatorState, boiling_off_kg_s: float) -> _Compressed:
        compressor, sump, faults = self._parameters.compressor, self._parameters.sump, self._parameters.faults
        stores = self._stores
        head = self._refrigerant.saturation(self._last_head_pa())
        compression = compress(
            self._refrigerant, suction=suction, superheat_dk=self._line_superheat(suction), head=head
        )
        efficiency = compressor.isentropic_efficiency(head.pressure_pa / suction.pressure_pa)
        driven = self._swallowed(suction, head.pressure_pa) / (1.0 - faults.compressor_leakage)
        power = driven * stores.delivered_fraction * compression.isentropic_work / efficiency
        flow = evaporator.flow_kg_s + boiling_off_kg_s
        wetness = (1.0 - evaporator.outlet_quality) * suction.latent_heat
        hot = compression.suction_enthalpy - wetness + power / flow
        hot_k = head.dew_point_k + self._refrigerant.superheat_of_enthalpy(head, hot)
        gas_to_shell = sump.shell_conductance * (hot_k - stores.shell_k)
        unrelieved = evaporator.flow_kg_s / stores.delivered_fraction + boiling_off_kg_s
        return _Compressed(unrelieved, power, hot - gas_to_shell / flow, gas_to_shell)

    def _meter(self, suction: Saturation, condensing: Saturation, condenser: CondenserState) -> float:
        parameters = self._parameters
        area = parameters.metering.open_area(self._stores.bulb_k - suction.dew_point_k)
        return orifice_flow(
            self._refrigerant,
            behind_restriction(area, parameters.faults.liquid_line_restriction),
            Inlet(condensing, condenser.outlet_enthalpy),
            upstream_pa=self._head(condensing).pressure_pa,
            downstream_pa=suction.pressure_pa,
        )

    def _swallowed(self, suction: Saturation, head_pa: float) -> float:
        """Find what the compressor moves on of vapour as warm as the suction line, with no relief [kg/s].

        It falls to nothing at the end of the tables, so that the low side is never pumped empty.
        """
        lowest_pa = self._refrigerant.lowest_pressure_pa
        starved = min((suction.pressure_pa - lowest_pa) / lowest_pa + 1e-6, 1.0)
        density = self._refrigerant.vapour_density(suction, self._line_superheat(suction))
        volume_flow = self._parameters.compressor.volume_flow(suction.pressure_pa, head_pa)
        return volume_flow * density * starved * (1.0 - self._parameters.faults.compressor_leakage)

    def _line_superheat(self, suction: Saturation) -> float:
        return max(self._stores.suction_line_k - suction.dew_point_k, 0.0)

    def _suction_enthalpy(self) -> float:
        suction, evaporator = self._moment.suction, self._moment.evaporator
        wetness = (1.0 - evaporator.outlet_quality) * suction.latent_heat
        return self._refrigerant.vapour_enthalpy(suction, evaporator.superheat_dk) - wetness

    def _last_head_pa(self) -> float:
        return math.exp(self._stores.log_condensing_pressure) + self._parameters.faults.non_condensables_pa

    def _head(self, condensing: Saturation) -> Saturation:
        """Take saturation at the pressure that a gauge finds: refrigerant and non-condensables together."""
        extra_pa = self._parameters.faults.non_condensables_pa
        if extra_pa == 0.0:
            return condensing
        return self._refrigerant.saturation(condensing.pressure_pa + extra_pa)


def _lagged(now: float, towards: float, time_constants: float) -> float:
    return now + (towards - now) * -math.expm1(-time_constants)


def _check_mass(mass_kg: float) -> None:
    if not (mass_kg > 0.0 and math.isfinite(mass_kg)):
        raise SimulatorError(f"a mass of {mass_kg} kg cannot be moved; give more than nothing")
