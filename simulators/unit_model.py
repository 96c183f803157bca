"""A rooftop unit in cooling: where its refrigerant is, what it does to two air streams, and what probes would find.

Three stores hold the refrigerant: the high side (condenser and liquid line), the low side (evaporator and suction
line) and the compressor's sump, where some is dissolved in the oil. Flows between them change what each holds, so that no
mass is made or lost. Pressures follow at once: the suction pressure is the one at which the evaporator would hold
what the low side holds, and likewise the head. What takes time is the moving of refrigerant and the warming of metal:

- the high and the low side fill and empty within seconds to half a minute;
- the suction line and the bulb of the valve follow the vapour with lags of their own;
- the sump and the compressor's shell take minutes. Liquid added through the suction port lies in the sump first and boils off.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from simulators import moist_air, properties
from simulators.compressor import Compressor, compress
from simulators.condenser import Condenser, CondenserState, condense
from simulators.errors import SimulatorError
from simulators.evaporator import Evaporator, EvaporatorState, evaporate
from simulators.metering import (
    Inlet,
    MeteringDevice,
    ThermostaticValve,
    in_series,
    orifice_flow,
)
from simulators.properties import Saturation
from simulators.roots import solve_rising

LONGEST_STEP_S = 0.25
"""The stores are moved on in steps no longer than this: a fifth of the quickest of them."""

RELIEF_LAG_S = 3.0
"""How quickly the suction side notices that the relief valve returns gas to it."""

_PRESSURE_TOLERANCE = 1e-9
_PRESSURE_GUESS_STEP = 1e-4
_SETTLING_S = 900.0
_SETTLING_QUICKENING = 12.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the unit stands in, and its supply."""

    outdoor_air_k: float = 303.15
    return_air_k: float = 297.04
    return_air_humidity: float = 50.0
    barometric_pressure_pa: float = 101_325.0
    line_voltage_v: float = 230.0


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults with their sizes; the defaults are none.

    evaporator_airflow, condenser_airflow: fraction of the design air flow. liquid_line_restriction: fraction of the
    liquid line's free area that is blocked. compressor_leakage: fraction of the flow that leaks back through worn
    valves or scrolls. non_condensables: pressure of air in the condenser [Pa].
    """

    evaporator_airflow: float = 1.0
    condenser_airflow: float = 1.0
    liquid_line_restriction: float = 0.0
    compressor_leakage: float = 0.0
    non_condensables_pa: float = 0.0

    def __post_init__(self) -> None:
        limits = {
            "evaporator_airflow": (0.2, 1.5),
            "condenser_airflow": (0.2, 1.5),
            "liquid_line_restriction": (0.0, 0.98),
            "compressor_leakage": (0.0, 0.6),
            "non_condensables_pa": (0.0, 1e6),
        }
        for name, (low, high) in limits.items():
            if not low <= getattr(self, name) <= high:
                raise SimulatorError(f"fault {name} is {getattr(self, name):g}, outside {low:g} to {high:g}")


@dataclass(frozen=True, slots=True)
class Sump:
    """The oil in the compressor's shell. Both lags are the slow ones of the unit.

    oil_kg takes up `solubility` of its own mass in refrigerant at the reference pressure and shell temperature; more at
    higher pressure, less when warmer, with the heat of solution as exponent [K] (the usual shape; no source for
    the figures). shell_conductance: from discharge gas to the shell [W/K]; loss_conductance: shell to ambient.
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

    def equilibrium_kg(self, suction_pressure_pa: float, shell_k: float) -> float:
        """Refrigerant that the oil holds when left alone at this pressure and temperature."""
        warmth = math.exp(self.solution_exponent_k * (1.0 / shell_k - 1.0 / self.reference_shell_k))
        share = self.solubility * suction_pressure_pa / self.reference_pressure_pa * warmth
        return self.oil_kg * min(share, 0.4)


@dataclass(frozen=True, slots=True)
class UnitParameters:
    """Everything that makes one unit, with the defaults of a rooftop unit of 3.5 tons on R-410A."""

    charge_kg: float = 3.40
    refrigerant: str = "R-410A"
    conditions: Conditions = field(default_factory=Conditions)
    metering: MeteringDevice = field(default_factory=lambda: ThermostaticValve(full_area_m2=2.1e-6))
    faults: Faults = field(default_factory=Faults)
    compressor: Compressor = field(default_factory=Compressor)
    condenser: Condenser = field(default_factory=Condenser)
    evaporator: Evaporator = field(default_factory=Evaporator)
    sump: Sump = field(default_factory=Sump)
    suction_line_lag_s: float = 6.0
    bulb_lag_s: float = 20.0
    condenser_fan_full_load_a: float = 1.6
    blower_current_a: float = 3.1
    condenser_fan_capacitance_f: float = 7.5e-6


@dataclass(frozen=True, slots=True)
class HeatFlows:
    """Where the energy goes, now [W]. At a steady state the first two add up to the other two."""

    evaporator_w: float
    compressor_w: float
    condenser_w: float
    shell_loss_w: float


@dataclass(slots=True)
class _Stores:
    """What the unit remembers from one step to the next: masses, metal temperatures, and pressures to start from."""

    high_side_kg: float
    low_side_kg: float
    sump_kg: float
    shell_k: float
    suction_line_k: float
    bulb_k: float
    liquid_enthalpy: float
    log_suction_pressure: float
    log_condensing_pressure: float
    delivered_fraction: float


@dataclass(frozen=True, slots=True)
class _Moment:
    """Everything that follows from the stores at one moment."""

    suction: Saturation
    evaporator: EvaporatorState
    condensing: Saturation
    condenser: CondenserState
    compressor_flow_kg_s: float
    metering_flow_kg_s: float
    boiling_off_kg_s: float
    power_w: float
    discharge_enthalpy: float
    gas_to_shell_w: float


class Unit:
    """A unit that has run for long at its conditions. Raises SimulatorError for what cannot be simulated."""

    def __init__(self, parameters: UnitParameters | None = None) -> None:
        self._parameters = parameters or UnitParameters()
        self._properties = properties.load(self._parameters.refrigerant)
        self._evaporator = _with_air(self._parameters.evaporator, self._parameters.faults.evaporator_airflow)
        self._condenser = _with_outdoor_air(
            self._parameters.condenser, self._parameters.faults.condenser_airflow
        )
        conditions = self._parameters.conditions
        self._air = self._evaporator.in_air(
            conditions.return_air_k, conditions.return_air_humidity, conditions.barometric_pressure_pa
        )
        self._outdoor_air = self._condenser.in_air(
            conditions.outdoor_air_k, conditions.barometric_pressure_pa
        )
        self._stores = self._first_stores()
        self._moment = self._look()
        self._run(_SETTLING_S, quickening=_SETTLING_QUICKENING)

    @property
    def charge_kg(self) -> float:
        """All the refrigerant in the unit [kg]."""
        return self._stores.high_side_kg + self._stores.low_side_kg + self._stores.sump_kg

    def step(self, duration_s: float) -> None:
        """Let the unit run on."""
        self._run(duration_s, quickening=1.0)

    def add(self, mass_kg: float, phase: Literal["liquid", "vapour"]) -> None:
        """Let refrigerant in through the suction port: vapour joins the flow, liquid falls into the sump first."""
        _check_positive("mass added", mass_kg)
        if phase == "liquid":
            self._stores.sump_kg += mass_kg
        else:
            self._stores.low_side_kg += mass_kg

    def recover(self, mass_kg: float) -> None:
        """Take liquid out through the liquid port.

        Raises:
            SimulatorError: it is more than the high side can give at once.

        """
        _check_positive("mass recovered", mass_kg)
        available = 0.8 * self._stores.high_side_kg
        if mass_kg > available:
            raise SimulatorError(
                f"cannot recover {mass_kg:.3f} kg at once: the high side gives up to {available:.3f} kg; "
                "take it in smaller portions and let the unit run between them"
            )
        self._stores.high_side_kg -= mass_kg

    def heat_flows(self) -> HeatFlows:
        """The four flows of energy now."""
        now, shell_k = self._moment, self._stores.shell_k
        outlet = self._suction_enthalpy(now)
        ambient = self._parameters.conditions.outdoor_air_k
        return HeatFlows(
            evaporator_w=now.evaporator.flow_kg_s * (outlet - self._stores.liquid_enthalpy),
            compressor_w=now.power_w,
            condenser_w=now.compressor_flow_kg_s * (now.discharge_enthalpy - now.condenser.outlet_enthalpy),
            shell_loss_w=self._parameters.sump.loss_conductance * (shell_k - ambient),
        )

    def true_state(self) -> Mapping[str, float]:
        """What perfect instruments would read: channel name to value in the house's units, pressures absolute."""
        now, stores, conditions = self._moment, self._stores, self._parameters.conditions
        head = self._head(now.condensing)
        state = {
            "suction_pressure": now.suction.pressure_pa,
            "liquid_pressure": head.pressure_pa,
            "discharge_pressure": head.pressure_pa,
            "barometric_pressure": conditions.barometric_pressure_pa,
            "suction_line_temperature": stores.suction_line_k,
            "liquid_line_temperature": self._liquid_line_k(now),
            "discharge_line_temperature": head.dew_point_k
            + self._properties.superheat_of_enthalpy(head, now.discharge_enthalpy),
            "outdoor_air_temperature": conditions.outdoor_air_k,
            "line_voltage_ab": conditions.line_voltage_v,
            "line_voltage_bc": conditions.line_voltage_v,
            "line_voltage_ca": conditions.line_voltage_v,
            "condenser_fan_current": self._parameters.condenser_fan_full_load_a,
            "blower_current": self._parameters.blower_current_a,
            "capacitance_fan": self._parameters.condenser_fan_capacitance_f,
        }
        current = self._parameters.compressor.current(now.power_w, conditions.line_voltage_v)
        names = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")
        return state | dict.fromkeys(names, current) | self._air_state(now)

    def _air_state(self, now: _Moment) -> dict[str, float]:
        air, conditions = self._air, self._parameters.conditions
        wet = air.effectiveness * now.evaporator.two_phase_fraction
        saturated = moist_air.humidity_ratio(
            now.suction.mean_temperature_k, 100.0, air.barometric_pressure_pa
        )
        supply_ratio = air.humidity_ratio - wet * max(air.humidity_ratio - saturated, 0.0)
        latent = air.flow_kg_s * (air.humidity_ratio - supply_ratio) * moist_air.HEAT_OF_VAPORISATION
        sensible = self.heat_flows().evaporator_w - latent
        supply_k = air.temperature_k - sensible / air.capacity
        return {
            "return_air_temperature": air.temperature_k,
            "return_air_humidity": conditions.return_air_humidity,
            "return_air_wet_bulb": moist_air.wet_bulb(
                air.temperature_k, air.humidity_ratio, air.barometric_pressure_pa
            ),
            "supply_air_temperature": supply_k,
            "supply_air_humidity": moist_air.relative_humidity(
                supply_k, supply_ratio, air.barometric_pressure_pa
            ),
        }

    def _first_stores(self) -> _Stores:
        """A rough state to start from; running on finds the true one."""
        charge, conditions = self._parameters.charge_kg, self._parameters.conditions
        _check_positive("charge", charge)
        low_side_kg = min(0.45, 0.25 * charge)
        sump_kg = min(0.18, 0.1 * charge)
        condensing_pa = self._properties.bubble_pressure(conditions.outdoor_air_k + 12.0)
        liquid = self._properties.saturation(condensing_pa)
        return _Stores(
            high_side_kg=charge - low_side_kg - sump_kg,
            low_side_kg=low_side_kg,
            sump_kg=sump_kg,
            shell_k=conditions.outdoor_air_k + 30.0,
            suction_line_k=conditions.return_air_k - 10.0,
            bulb_k=conditions.return_air_k - 10.0,
            liquid_enthalpy=liquid.liquid_enthalpy,
            log_suction_pressure=math.log(self._properties.bubble_pressure(conditions.return_air_k - 18.0)),
            log_condensing_pressure=math.log(condensing_pa),
            delivered_fraction=1.0,
        )

    def _run(self, duration_s: float, *, quickening: float) -> None:
        """Move on. quickening: how many times faster than in truth the sump and the shell go, to settle at first."""
        if duration_s < 0.0 or not math.isfinite(duration_s):
            raise SimulatorError(f"the unit cannot run for {duration_s} s")
        steps = math.ceil(duration_s / LONGEST_STEP_S)
        for _ in range(steps):
            self._move(duration_s / steps, quickening)
            self._moment = self._look()

    def _look(self) -> _Moment:
        """Find the two pressures that the stores ask for, and everything that follows."""
        stores, parameters = self._stores, self._parameters
        boiling_off = (
            stores.sump_kg
            - parameters.sump.equilibrium_kg(math.exp(stores.log_suction_pressure), stores.shell_k)
        ) / parameters.sump.time_constant_s
        suction, evaporator = self._low_side(boiling_off)
        flow = evaporator.flow_kg_s + boiling_off
        head = self._head(self._properties.saturation(math.exp(stores.log_condensing_pressure)))
        power, discharge_enthalpy, gas_to_shell = self._compression(suction, evaporator, flow, head)
        condensing, condenser, flow = self._high_side(flow / stores.delivered_fraction, discharge_enthalpy)
        stores.liquid_enthalpy = condenser.outlet_enthalpy
        return _Moment(
            suction=suction,
            evaporator=evaporator,
            condensing=condensing,
            condenser=condenser,
            compressor_flow_kg_s=flow,
            metering_flow_kg_s=self._metered(suction, condensing, condenser),
            boiling_off_kg_s=boiling_off,
            power_w=power,
            discharge_enthalpy=discharge_enthalpy,
            gas_to_shell_w=gas_to_shell,
        )

    def _low_side(self, boiling_off_kg_s: float) -> tuple[Saturation, EvaporatorState]:
        """The suction pressure at which evaporator and suction line hold what the low side holds."""
        stores, refrigerant = self._stores, self._properties
        head_pa = math.exp(stores.log_condensing_pressure) + self._parameters.faults.non_condensables_pa

        def at(log_pressure: float) -> tuple[Saturation, EvaporatorState]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            swallowed = self._swallowed(saturation, head_pa)
            drawn = max(swallowed - boiling_off_kg_s, 0.05 * swallowed)
            return saturation, evaporate(
                self._evaporator,
                refrigerant,
                self._air,
                at=saturation,
                inlet_enthalpy=stores.liquid_enthalpy,
                vapour_flow_kg_s=drawn,
            )

        stores.log_suction_pressure = solve_rising(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.low_side_kg,
            stores.log_suction_pressure,
            step=_PRESSURE_GUESS_STEP,
            low=math.log(refrigerant.lowest_pressure_pa),
            high=math.log(refrigerant.bubble_pressure(self._air.temperature_k)),
            tolerance=_PRESSURE_TOLERANCE,
        )
        return at(stores.log_suction_pressure)

    def _swallowed(self, suction: Saturation, head_pa: float) -> float:
        """What the compressor moves on when all that it draws is vapour as warm as the suction line [kg/s]."""
        compressor = self._parameters.compressor
        density = self._properties.vapour_density(suction, self._line_superheat(suction))
        delivered = self._stores.delivered_fraction * (1.0 - self._parameters.faults.compressor_leakage)
        lowest_pa = self._properties.lowest_pressure_pa
        starved = min((suction.pressure_pa - lowest_pa) / lowest_pa, 1.0)
        return compressor.volume_flow(suction.pressure_pa, head_pa) * density * delivered * starved

    def _line_superheat(self, suction: Saturation) -> float:
        return max(self._stores.suction_line_k - suction.dew_point_k, 0.0)

    def _compression(
        self, suction: Saturation, evaporator: EvaporatorState, flow_kg_s: float, head: Saturation
    ) -> tuple[float, float, float]:
        """Electrical power [W], enthalpy of the discharge gas [J/kg], and heat it leaves in the shell [W]."""
        compressor, sump = self._parameters.compressor, self._parameters.sump
        superheat = self._line_superheat(suction)
        compression = compress(self._properties, suction, superheat, head)
        efficiency = compressor.isentropic_efficiency(head.pressure_pa / suction.pressure_pa)
        swallowed = self._swallowed(suction, head.pressure_pa) / (
            1.0 - self._parameters.faults.compressor_leakage
        )
        power = swallowed * compression.isentropic_work / efficiency
        wetness = (1.0 - evaporator.outlet_quality) * suction.latent_heat
        hot = compression.suction_enthalpy - wetness + power / flow_kg_s
        hot_k = head.dew_point_k + self._properties.superheat_of_enthalpy(head, hot)
        to_shell = sump.shell_conductance * (hot_k - self._stores.shell_k)
        return power, hot - to_shell / flow_kg_s, to_shell

    def _high_side(
        self, flow_kg_s: float, discharge_enthalpy: float
    ) -> tuple[Saturation, CondenserState, float]:
        """The condensing pressure at which condenser and liquid line hold what the high side holds.

        Returns the flow into the condenser too: near its limit the relief valve lets the less through the higher the
        head, within no time, so that flow and pressure have to be found together.
        """
        stores, refrigerant = self._stores, self._properties
        extra_pa = self._parameters.faults.non_condensables_pa
        compressor = self._parameters.compressor

        def at(log_pressure: float) -> tuple[Saturation, CondenserState, float]:
            saturation = refrigerant.saturation(math.exp(log_pressure))
            delivered = compressor.delivered_fraction(saturation.pressure_pa + extra_pa)
            flow = flow_kg_s * delivered
            state = condense(
                self._condenser,
                refrigerant,
                self._outdoor_air,
                at=saturation,
                inlet_enthalpy=discharge_enthalpy,
                flow_kg_s=flow,
            )
            return saturation, state, flow

        stores.log_condensing_pressure = solve_rising(
            lambda log_pressure: at(log_pressure)[1].held_kg - stores.high_side_kg,
            stores.log_condensing_pressure,
            step=_PRESSURE_GUESS_STEP,
            low=math.log(refrigerant.lowest_pressure_pa),
            high=math.log(refrigerant.highest_pressure_pa - extra_pa),
            tolerance=_PRESSURE_TOLERANCE,
        )
        return at(stores.log_condensing_pressure)

    def _metered(self, suction: Saturation, condensing: Saturation, condenser: CondenserState) -> float:
        parameters = self._parameters
        area = parameters.metering.open_area(self._stores.bulb_k - suction.dew_point_k)
        blocked = parameters.faults.liquid_line_restriction
        if blocked > 0.0:
            area = in_series(area, LIQUID_LINE_AREA_M2 * (1.0 - blocked))
        inlet = Inlet(condensing, condenser.outlet_enthalpy)
        return orifice_flow(
            self._properties, area, inlet, self._head(condensing).pressure_pa, suction.pressure_pa
        )

    def _move(self, step_s: float, quickening: float) -> None:
        """Move the stores on by one step."""
        now, stores, parameters = self._moment, self._stores, self._parameters
        boiled_kg = now.boiling_off_kg_s * step_s * quickening
        compressed_kg = now.compressor_flow_kg_s * step_s
        metered_kg = now.metering_flow_kg_s * step_s
        drawn_kg = compressed_kg - boiled_kg
        stores.high_side_kg += compressed_kg - metered_kg
        stores.low_side_kg += metered_kg - drawn_kg
        stores.sump_kg -= boiled_kg
        outlet_k = now.suction.dew_point_k + now.evaporator.superheat_dk
        stores.bulb_k += (stores.suction_line_k - stores.bulb_k) * -math.expm1(
            -step_s / parameters.bulb_lag_s
        )
        stores.suction_line_k += (outlet_k - stores.suction_line_k) * -math.expm1(
            -step_s / parameters.suction_line_lag_s
        )
        delivered = parameters.compressor.delivered_fraction(self._head(now.condensing).pressure_pa)
        stores.delivered_fraction += (delivered - stores.delivered_fraction) * -math.expm1(
            -step_s / RELIEF_LAG_S
        )
        loss = parameters.sump.loss_conductance * (stores.shell_k - parameters.conditions.outdoor_air_k)
        stores.shell_k += (
            (now.gas_to_shell_w - loss) / parameters.sump.shell_heat_capacity * step_s * quickening
        )

    def _head(self, condensing: Saturation) -> Saturation:
        """Saturation at the pressure a gauge finds on the high side: refrigerant's and non-condensables' together."""
        extra_pa = self._parameters.faults.non_condensables_pa
        if extra_pa == 0.0:
            return condensing
        return self._properties.saturation(condensing.pressure_pa + extra_pa)

    def _liquid_line_k(self, now: _Moment) -> float:
        inlet = Inlet(now.condensing, now.condenser.outlet_enthalpy)
        glide = now.condensing.dew_point_k - now.condensing.bubble_point_k
        return now.condensing.bubble_point_k - inlet.subcooling_dk + inlet.quality * glide

    def _suction_enthalpy(self, now: _Moment) -> float:
        wetness = (1.0 - now.evaporator.outlet_quality) * now.suction.latent_heat
        return self._properties.vapour_enthalpy(now.suction, now.evaporator.superheat_dk) - wetness


LIQUID_LINE_AREA_M2 = 6.0e-6
"""The effective area of a clean drier and liquid line, of the order of an open valve's [m²]: counted only when some of
it is blocked."""


def _with_air(coil: Evaporator, fraction: float) -> Evaporator:
    """The coil at a fraction of its air flow; conductance goes with its square root, air being half of the resistance."""
    return replace(
        coil,
        air_flow_m3_s=coil.air_flow_m3_s * fraction,
        two_phase_conductance=coil.two_phase_conductance * math.sqrt(fraction),
    )


def _with_outdoor_air(coil: Condenser, fraction: float) -> Condenser:
    return replace(
        coil,
        air_flow_m3_s=coil.air_flow_m3_s * fraction,
        two_phase_conductance=coil.two_phase_conductance * math.sqrt(fraction),
        liquid_conductance=coil.liquid_conductance * math.sqrt(fraction),
        vapour_conductance=coil.vapour_conductance * math.sqrt(fraction),
    )


def _check_positive(name: str, mass_kg: float) -> None:
    if not (mass_kg > 0.0 and math.isfinite(mass_kg)):
        raise SimulatorError(f"{name} is {mass_kg} kg; it has to be more than nothing")
