"""What is connected to the ports of a unit at rest: recovery machine, vacuum pump, nitrogen, cylinder, hose.

Each does its work for a time, and the unit goes on meanwhile. Rates are common practice, no source.
"""

import math
from dataclasses import dataclass

from simulators.unit.air_inside import air_amount
from simulators.unit.ports import PORTS, Port, ServicePorts
from simulators.unit.properties import Properties

STANDARD_PA = 101_325.0


@dataclass(slots=True)
class RecoveryMachine:
    """It takes liquid while there is some, then vapour, and stops itself at its lowest pressure.

    liquid [kg/s]; displacement of its compressor [m³/s]; recovered: what went into its cylinder.
    """

    liquid_kg_s: float = 0.04
    displacement_m3_s: float = 1.5e-4
    lowest_pa: float = 60e3
    recovered_kg: float = 0.0

    def work(self, ports: ServicePorts, step_s: float) -> None:
        """Take out what it can in this time, liquid at the liquid port first."""
        if ports.inside("liquid").has_liquid:
            taken_kg = min(self.liquid_kg_s * step_s, 0.2 * ports.held_kg("liquid"))
            ports.put("liquid", -taken_kg, ports.inside("liquid").enthalpy)
            self.recovered_kg += taken_kg
            return
        for port in PORTS:
            over = max(1.0 - self.lowest_pa / ports.pressure_pa(port), 0.0)
            self.recovered_kg += ports.sweep_out(port, self.displacement_m3_s * over * step_s)


@dataclass(frozen=True, slots=True)
class VacuumPump:
    """A pump on both ports. speed: at the unit, hoses and cores counted [m³/s]; ultimate: the pump's blank-off."""

    speed_m3_s: float = 1.2e-3
    ultimate_pa: float = 3.0

    def work(self, ports: ServicePorts, step_s: float) -> float:
        """Pump for this long, and tell how much refrigerant went into the open with the rest [kg]."""
        lost_kg = 0.0
        for port in PORTS:
            over = max(1.0 - self.ultimate_pa / max(ports.pressure_pa(port), 1e-3), 0.0)
            lost_kg += ports.sweep_out(port, 0.5 * self.speed_m3_s * over * step_s)
        return lost_kg


def put_nitrogen(ports: ServicePorts, pressure_pa: float) -> None:
    """Let dry nitrogen in at both ports until both stand at this pressure, if they are below it."""
    for port in PORTS:
        missing_pa = pressure_pa - ports.pressure_pa(port)
        if missing_pa > 0.0:
            ports.put_gas(port, air_amount(missing_pa, ports.gas_volume_m3(port), ports.metal_k(port)))


def let_gas_out(ports: ServicePorts) -> None:
    """Open both ports to the air until nothing presses any more."""
    for port in PORTS:
        over = ports.pressure_pa(port) / STANDARD_PA
        if over > 1.0:
            ports.sweep_out(port, math.log(over) * ports.volume_m3(port))


@dataclass(slots=True)
class Cylinder:
    """A cylinder on the scale: liquid goes in at the liquid port as long as its pressure is the higher one.

    valve: the effective area of valve and hose [m²].
    """

    refrigerant: Properties
    temperature_k: float
    given_kg: float = 0.0
    valve_m2: float = 1.2e-6

    def weigh_in(self, ports: ServicePorts, step_s: float, *, most_kg: float) -> None:
        """Let liquid in for this time, and no more than this in all."""
        at = self.refrigerant.saturation(self.refrigerant.bubble_pressure(self.temperature_k))
        drop_pa = max(at.pressure_pa - ports.pressure_pa("liquid"), 0.0)
        flow_kg_s = self.valve_m2 * math.sqrt(2.0 * at.liquid_density * drop_pa)
        mass_kg = min(flow_kg_s * step_s, most_kg - self.given_kg)
        if mass_kg > 0.0:
            ports.put("liquid", mass_kg, at.liquid_enthalpy)
            self.given_kg += mass_kg


@dataclass(frozen=True, slots=True)
class Hose:
    """A charging hose of 5 ft and a quarter inch, some 5 mm of bore."""

    volume_m3: float = 30e-6

    def connect_unpurged(self, ports: ServicePorts, port: Port, outdoor_air_k: float) -> None:
        """Screw it on full of air, and let the air in."""
        ports.put_gas(port, air_amount(STANDARD_PA, self.volume_m3, outdoor_air_k))

    def take_off(self, ports: ServicePorts, port: Port) -> float:
        """Take it off with what fills it, liquid where the port has some, and tell how much is lost [kg]."""
        inside = ports.inside(port)
        density = inside.at.liquid_density if inside.has_liquid and port == "liquid" else inside.at.vapour_density
        lost_kg = min(density * self.volume_m3, 0.5 * ports.held_kg(port))
        ports.put(port, -lost_kg, inside.enthalpy if port == "liquid" else inside.vapour_enthalpy)
        return lost_kg
