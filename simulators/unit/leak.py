"""A leak: how much passes at a pressure inside, out above the atmosphere's and in below it."""

from simulators.unit.air_inside import air_amount
from simulators.unit.parameters import UnitParameters
from simulators.unit.ports import ServicePorts


def leak_flow(size_pa_m3_s: float, *, inside_pa: float, outside_pa: float) -> float:
    """Find what passes outwards; inwards where it is negative [Pa m³/s].

    The flow of a small leak is viscous and laminar: it goes with the difference of the squares of the pressures
    (Poiseuille for a gas). size: from one atmosphere into a vacuum.

    >>> leak_flow(1e-3, inside_pa=0.0, outside_pa=101_325.0)
    -0.001
    """
    return size_pa_m3_s * ((inside_pa / outside_pa) ** 2 - 1.0)


def leak(parameters: UnitParameters, ports: ServicePorts, *, inside_pa: float, step_s: float) -> None:
    """Let through the suction side's leak what its size and the pressure give: air in, or all that is there out."""
    conditions = parameters.conditions
    outside_pa = conditions.barometric_pressure_pa
    flow = leak_flow(parameters.faults.leak_pa_m3_s, inside_pa=inside_pa, outside_pa=outside_pa) * step_s
    if flow > 0.0:
        ports.sweep_out("suction", flow / inside_pa)
    elif flow < 0.0:
        ports.put_gas("suction", air_amount(-flow, 1.0, conditions.outdoor_air_k))
