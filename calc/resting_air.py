"""To which air a unit at rest goes: its liquid ends in the colder coil, and its pressure is saturation there.

Physics; that the coil is as warm as its air, blower on, within 2 °F: common practice, no source.
"""

from collections.abc import Mapping

from calc.estimate import Estimate

CLEARLY_COLDER_DK = 2.0 * 5 / 9
"""By so much the return air must be colder than the outdoor air for the refrigerant to go indoors, clearly."""


def coldest_air(measured: Mapping[str, Estimate]) -> tuple[str, Estimate] | None:
    """Name the air whose coil the refrigerant goes to, with its temperature [K]; None without an outdoor one.

    measured: outdoor_air_temperature and, where it is measured, return_air_temperature [K].

    >>> coldest_air({"outdoor_air_temperature": Estimate(305.0, 0.3), "return_air_temperature": Estimate(297.0, 0.3)})
    ('return_air', Estimate(value=297.0, standard_uncertainty=0.3))
    """
    outdoor, indoors = (measured.get(f"{name}_air_temperature") for name in ("outdoor", "return"))
    if outdoor is None:
        return None
    if indoors is not None and indoors.value < outdoor.value - CLEARLY_COLDER_DK:
        return "return_air", indoors
    return "outdoor_air", outdoor
