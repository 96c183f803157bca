"""Random units, weather, faults and instruments: what the judge is tried on.

Each unit is drawn afresh: its size, coils, fans, compressor, metering device and refrigerant. Its maker charges it
rightly and prints on the nameplate what it does then at the rating conditions. The technician's instruments are off by
errors within their accuracy.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product

from calc.air import wet_bulb
from calc.charging_chart import ChartPoint
from calc.saturation import bubble_point, bubble_pressure, dew_point
from calc.targets import target_superheat
from simulators.second_family.parameters import Parameters
from simulators.unit import properties
from simulators.unit.metering import FixedOrifice, MeteringDevice, ThermostaticValve
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.fahrenheit import kelvin

DDEGF = 5 / 9
PSI = 6894.757

RATING = Conditions(outdoor_air_k=308.15, return_air_k=299.817, return_air_humidity=51.1)
"""95 °F outdoors, 80 °F and 67 °F wet bulb inside: condition A of AHRI 210/240."""

REFRIGERANTS = ("R-410A", "R-32", "R-454B", "R-22", "R-407C")

FAULTS = (
    "undercharge",
    "overcharge",
    "low evaporator airflow",
    "condenser fouling",
    "liquid-line restriction",
    "compressor valve leakage",
    "non-condensables",
)
NO_FAULT = "nothing wrong"

ACCURACIES: Mapping[str, float] = {
    "suction_pressure": 1.0 * PSI,
    "liquid_pressure": 2.0 * PSI,
    "suction_line_temperature": 0.5,
    "liquid_line_temperature": 0.5,
    "discharge_line_temperature": 1.0,
    "return_air_temperature": 0.3,
    "supply_air_temperature": 0.3,
    "outdoor_air_temperature": 0.3,
    "return_air_humidity": 2.0,
    "compressor_current": 0.15,
}
"""The ± limits of ordinary field instruments, as k = 2 (common practice, no source)."""


@dataclass(frozen=True)
class Family:
    """How far units of one family differ, as shares, and what their makers charge them to [°F].

    superheat_f: of a fixed orifice; the table asks for 12 °F at the rating conditions. subcooling_f: of any.
    is_charged_to_it: whether an expansion valve's unit is charged to a subcooling, or comes with the usual charge.
    """

    coils: float
    air: float
    superheat_f: tuple[float, float]
    most_superheat_f: float
    subcooling_f: tuple[float, float]
    is_charged_to_it: bool


OWN = Family(0.12, 0.12, (9.0, 15.0), 16.0, (5.0, 16.0), is_charged_to_it=False)
WIDE = Family(0.30, 0.25, (7.0, 17.0), 19.0, (5.0, 20.0), is_charged_to_it=True)
"""As units of many makers differ. Subcooling: nameplates print 5 to 17.6 °F (service manuals of two makers), and a
maker of heat pumps allows 20; coils and air: air flows of 27 systems from 130 to 510 cfm a ton about a mean of 320
(FSEC-PF-321-97), condensing over outdoor from 14 to 33 °F over printed tables of one refrigerant."""


@dataclass(frozen=True)
class Design:
    """A unit as its maker meant it, and its nameplate."""

    parameters: UnitParameters | Parameters
    metering_device: str
    target_subcooling_dk: float | None
    compressor_rla_a: float
    superheat_chart: tuple[ChartPoint, ...] = ()


@dataclass(frozen=True)
class Case:
    """What the judge gets to see, and what is true."""

    truth: str
    size: float
    design: Design
    parameters: UnitParameters | Parameters
    readings: Mapping[str, float]
    readings_at_rest: Mapping[str, float]


def draw_design(chance: random.Random, *, valve: bool | None = None, family: Family = OWN) -> Design:
    """Draw units until one comes out as a maker would sell it. valve: an expansion valve; None: perhaps."""
    if valve is None:
        valve = chance.random() < 0.5
    least_f, most_f = family.subcooling_f
    while True:
        parameters = _draw_parameters(chance, family, valve=valve)
        if not valve:
            parameters = _charged_to(parameters, chance.uniform(*family.superheat_f) * DDEGF)
        elif family.is_charged_to_it:
            parameters = _subcooled_to(parameters, chance.uniform(least_f, most_f) * DDEGF)
        state = Unit(parameters).true_state()
        figures = figures_of(parameters.refrigerant, state)
        subcooling_f, superheat_f = figures["subcooling"] / DDEGF, figures["superheat"] / DDEGF
        if least_f <= subcooling_f <= most_f and 5.0 <= superheat_f <= family.most_superheat_f:
            break
    return Design(
        parameters=parameters,
        metering_device=chance.choice(("txv", "eev")) if valve else "fixed_orifice",
        target_subcooling_dk=round(subcooling_f) * DDEGF if valve else None,
        compressor_rla_a=round(state["compressor_current"] * chance.uniform(1.15, 1.4), 1),
    )


def _charged_to(parameters: UnitParameters, superheat_dk: float) -> UnitParameters:
    """Charge a unit with a fixed orifice to a superheat: the table asks for 12 °F at the rating conditions."""
    for _ in range(3):
        over_dk = figures_of(parameters.refrigerant, Unit(parameters).true_state())["superheat"] - superheat_dk
        if abs(over_dk) < 2 * DDEGF:
            break
        # Some 3 K of superheat for 5 % of the charge.
        parameters = replace(parameters, charge_kg=parameters.charge_kg * (1 + min(max(over_dk / 60, -0.1), 0.1)))
    return parameters


def charted(design: Design) -> Design:
    """Print the charging chart of a unit with a fixed orifice: what it shows with its right charge, in whole °F.

    Every 4 °F of wet bulb at half humidity, and every 10 °F outdoors; blank below 1 °F, as liquid has no superheat.
    """
    points = []
    for outdoor_f, wet_bulb_f in product(range(65, 116, 10), range(53, 74, 4)):
        conditions = _humid_by_half(kelvin(float(wet_bulb_f)), kelvin(float(outdoor_f)))
        parameters = replace(design.parameters, conditions=conditions)
        assert isinstance(parameters, UnitParameters)
        superheat_f = figures_of(parameters.refrigerant, Unit(parameters).true_state())["superheat"] / DDEGF
        if superheat_f >= 1.0:
            points.append(ChartPoint(kelvin(float(wet_bulb_f)), conditions.outdoor_air_k, round(superheat_f) * DDEGF))
    return replace(design, superheat_chart=tuple(points))


def _humid_by_half(wet_bulb_k: float, outdoor_air_k: float) -> Conditions:
    """Find the air at half humidity whose wet bulb this is."""
    low_k, high_k = wet_bulb_k, wet_bulb_k + 20.0
    for _ in range(40):
        conditions = Conditions(outdoor_air_k, (low_k + high_k) / 2, 50.0)
        low_k, high_k = (
            (low_k, conditions.return_air_k)
            if _wet_bulb_k(conditions) > wet_bulb_k
            else (conditions.return_air_k, high_k)
        )
    return conditions


def _subcooled_to(parameters: UnitParameters, subcooling_dk: float) -> UnitParameters:
    """Charge a unit with an expansion valve to the subcooling of its nameplate: some 0.4 K for 1 % of the charge."""
    for _ in range(4):
        state = Unit(parameters).true_state()
        over_dk = figures_of(parameters.refrigerant, state)["subcooling"] - subcooling_dk
        if abs(over_dk) < DDEGF:
            break
        parameters = replace(parameters, charge_kg=parameters.charge_kg * (1 - min(max(over_dk / 45, -0.15), 0.15)))
    return parameters


def _draw_parameters(chance: random.Random, family: Family, *, valve: bool) -> UnitParameters:
    size, refrigerant = chance.uniform(0.6, 1.6), chance.choice(REFRIGERANTS)
    displacement, area, charge = _against_the_usual(refrigerant)
    plain = UnitParameters()

    def spread(share: float) -> float:
        return chance.uniform(1 - share, 1 + share)

    coil = spread(family.coils)
    condenser = replace(
        plain.condenser,
        vapour_conductance=plain.condenser.vapour_conductance * size * coil,
        two_phase_conductance=plain.condenser.two_phase_conductance * size * coil,
        liquid_conductance=plain.condenser.liquid_conductance * size * coil,
        volume_m3=plain.condenser.volume_m3 * size,
        line_volume_m3=plain.condenser.line_volume_m3 * size,
        air_flow_m3_s=plain.condenser.air_flow_m3_s * size * spread(family.air),
    )
    coil = spread(family.coils)
    evaporator = replace(
        plain.evaporator,
        two_phase_conductance=plain.evaporator.two_phase_conductance * size * coil,
        vapour_conductance=plain.evaporator.vapour_conductance * size * coil,
        volume_m3=plain.evaporator.volume_m3 * size,
        suction_volume_m3=plain.evaporator.suction_volume_m3 * size,
        air_flow_m3_s=plain.evaporator.air_flow_m3_s * size * spread(family.air),
    )
    compressor = replace(
        plain.compressor,
        displacement_m3_s=plain.compressor.displacement_m3_s * size * displacement * spread(0.06),
        best_isentropic_efficiency=plain.compressor.best_isentropic_efficiency * spread(0.06),
    )
    sump = plain.sump
    sump = replace(
        sump,
        **{
            name: getattr(sump, name) * size
            for name in ("oil_kg", "shell_heat_capacity", "shell_conductance", "loss_conductance")
        },
    )
    return UnitParameters(
        charge_kg=plain.charge_kg * size * charge * spread(0.06),
        refrigerant=refrigerant,
        conditions=RATING,
        metering=_draw_metering(chance, size * area * spread(0.06), valve=valve),
        compressor=compressor,
        compressor_motor=replace(
            plain.compressor_motor, magnetising_var=plain.compressor_motor.magnetising_var * size * spread(0.1)
        ),
        condenser=condenser,
        evaporator=evaporator,
        sump=sump,
        liquid_line_area_m2=plain.liquid_line_area_m2 * size * area,
        most_charge_kg=plain.most_charge_kg * size * 1.2,
    )


def _against_the_usual(refrigerant: str) -> tuple[float, float, float]:
    """Find what displacement, orifice and charge are multiplied by, for the same capacity with another refrigerant."""
    volume, area, mass = _needs(refrigerant)
    usual_volume, usual_area, usual_mass = _needs(UnitParameters().refrigerant)
    return volume / usual_volume, area / usual_area, mass / usual_mass


def _needs(refrigerant: str) -> tuple[float, float, float]:
    """Give suction volume and orifice for each watt between 47 °F and 115 °F, and the liquid's density."""
    found = properties.load(refrigerant)
    low = found.saturation(found.bubble_pressure(281.5))
    high = found.saturation(found.bubble_pressure(319.0))
    lifted = low.vapour_enthalpy - high.liquid_enthalpy
    flux = math.sqrt(high.liquid_density * (high.pressure_pa - low.pressure_pa))
    return 1 / (low.vapour_density * lifted), 1 / (flux * lifted), high.liquid_density


def _draw_metering(chance: random.Random, size: float, *, valve: bool) -> MeteringDevice:
    if not valve:
        plain = FixedOrifice()
        return replace(plain, area_m2=plain.area_m2 * size)
    thermostatic = ThermostaticValve()
    static_dk = chance.uniform(1.5, 4.0)
    return replace(thermostatic, full_area_m2=thermostatic.full_area_m2 * size, static_superheat_dk=static_dk)


def figures_of(refrigerant: str, state: Mapping[str, float]) -> dict[str, float]:
    """Give superheat and subcooling [K]."""
    return {
        "superheat": state["suction_line_temperature"] - dew_point(refrigerant, state["suction_pressure"]),
        "subcooling": bubble_point(refrigerant, state["liquid_pressure"]) - state["liquid_line_temperature"],
    }


def draw_conditions(chance: random.Random) -> Conditions:
    """Draw weather in which the table of target superheat has a value: else nobody charges by it."""
    while True:
        conditions = Conditions(
            outdoor_air_k=(chance.uniform(68.0, 108.0) + 459.67) * DDEGF,
            return_air_k=(chance.uniform(71.0, 82.0) + 459.67) * DDEGF,
            return_air_humidity=chance.uniform(38.0, 62.0),
        )
        wet_bulb_k = _wet_bulb_k(conditions)
        if target_superheat(wet_bulb_k, conditions.outdoor_air_k) is not None:
            return conditions


def _wet_bulb_k(conditions: Conditions) -> float:
    return wet_bulb(
        conditions.return_air_k, conditions.return_air_humidity, pressure_pa=conditions.barometric_pressure_pa
    )


def draw_fault(chance: random.Random, fault: str) -> tuple[float, float, Faults]:
    """Draw a fault of moderate size: its size, the charge by which the right one is multiplied, and the rest."""
    match fault:
        case "undercharge":
            size = chance.uniform(0.15, 0.30)
            return size, 1 - size, Faults()
        case "overcharge":
            size = chance.uniform(0.15, 0.30)
            return size, 1 + size, Faults()
        case "low evaporator airflow":
            size = chance.uniform(0.30, 0.55)
            return size, 1.0, Faults(evaporator_airflow=1 - size)
        case "condenser fouling":
            size = chance.uniform(0.30, 0.60)
            return size, 1.0, Faults(condenser_airflow=1 - size)
        case "liquid-line restriction":
            size = chance.uniform(0.55, 0.78)
            return size, 1.0, Faults(liquid_line_restriction=size)
        case "compressor valve leakage":
            size = chance.uniform(0.15, 0.40)
            return size, 1.0, Faults(compressor_leakage=size)
        case "non-condensables":
            size = chance.uniform(1.0e5, 3.0e5)
            return size, 1.0, Faults(non_condensables_pa=size)
        case _:
            return 0.0, 1.0, Faults()


def measure(state: Mapping[str, float], chance: random.Random) -> dict[str, float]:
    """Read every instrument once: off by a normal error of which its ± limit is twice the standard deviation."""
    return {name: state[name] + chance.gauss(0.0, limit / 2) for name, limit in ACCURACIES.items() if name in state}


def at_rest(parameters: UnitParameters, off_dk: float) -> dict[str, float]:
    """Find what the gauge shows with the unit off: saturation at the outdoor air, and the air that is in it.

    The air was in the condenser's gas, at its partial pressure there; at rest it has all of the gas to itself. The
    liquid takes a third of the volume. The coils are off the outdoor air by a degree or so.
    """
    condenser, evaporator, faults = parameters.condenser, parameters.evaporator, parameters.faults
    volume_m3 = condenser.volume_m3 + condenser.line_volume_m3 + evaporator.volume_m3 + evaporator.suction_volume_m3
    share = 0.75 * condenser.volume_m3 / (0.67 * volume_m3)
    outdoor_k = parameters.conditions.outdoor_air_k
    saturated_pa = bubble_pressure(parameters.refrigerant, outdoor_k + off_dk)
    return {
        "liquid_pressure": saturated_pa + share * faults.non_condensables_pa,
        "outdoor_air_temperature": outdoor_k,
    }
