"""A leak: how much passes at a pressure inside, out above the atmosphere's and in below it."""


def leak_flow(size_pa_m3_s: float, *, inside_pa: float, outside_pa: float) -> float:
    """Find what passes outwards; inwards where it is negative [Pa m³/s].

    The flow of a small leak is viscous and laminar: it goes with the difference of the squares of the pressures
    (Poiseuille for a gas). size: from one atmosphere into a vacuum.

    >>> leak_flow(1e-3, inside_pa=0.0, outside_pa=101_325.0)
    -0.001
    """
    return size_pa_m3_s * ((inside_pa / outside_pa) ** 2 - 1.0)
