"""What a compressor does to its gas: the ratio of its pressures, and how far its discharge is above the dew point."""

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.superheat import superheat
from calc.uncertainty import propagate

_GREATEST_RATIO = 40.0
"""No single stage gets there: common practice, no source."""


@takes_arrays
def compression_ratio(suction_pressure: Estimate, discharge_pressure: Estimate) -> Estimate:
    """Give the absolute discharge pressure over the absolute suction pressure.

    Args:
        suction_pressure: absolute, 10 kPa to 5 MPa; a gauge counts from the air of the site [Pa].
        discharge_pressure: absolute, 1 to 40 times that [Pa].

    Raises:
        CalcRangeError: beyond these limits.

    >>> psi, air_psi = 6894.757, 14.7
    >>> suction, discharge = (Estimate((gauge + air_psi) * psi, 0.0) for gauge in (5, 145))
    >>> round(compression_ratio(suction, discharge).value, 1)  # a column of the trade press: 8.1
    8.1

    """

    def ratio(*, suction: float, discharge: float) -> float:
        within("suction_pressure", suction, 10e3, 5e6, "Pa", "a pressure of a working circuit, absolute")
        because = "below the suction pressure nothing is compressed: are the hoses exchanged, does it run?"
        return within("discharge_pressure", discharge, suction, _GREATEST_RATIO * suction, "Pa", because) / suction

    return propagate(ratio, {"suction": suction_pressure, "discharge": discharge_pressure}).estimate


def discharge_superheat(
    refrigerant: str,
    discharge_pressure_pa: float,
    *,
    discharge_line_temperature_k: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Compute how far the discharge gas is above the dew point at its pressure [K].

    A clamp on the line reads some kelvins below the gas inside. Small says that liquid comes back or the valves stay
    wet, whatever the suction superheat says; how small is too small the compressor's maker knows.

    Args:
        refrigerant: one of `saturation.names()`.
        discharge_pressure_pa: absolute [Pa].
        discharge_line_temperature_k: close to the compressor [K].
        pressure_standard_uncertainty_pa: half of an instrument's ± limit [Pa].
        temperature_standard_uncertainty_k: likewise [K].

    Raises:
        CalcRangeError: no saturation is known at this pressure, or an uncertainty is negative.
        UnknownNameError: an unknown refrigerant.

    >>> exact = {"pressure_standard_uncertainty_pa": 0.0, "temperature_standard_uncertainty_k": 0.0}
    >>> round(discharge_superheat("R-134a", 1.0166e6, discharge_line_temperature_k=343.15, **exact).value, 1)  # 40 °C
    30.0

    """
    return superheat(  # the same difference at the other end of the compressor
        refrigerant,
        discharge_pressure_pa,
        suction_line_temperature_k=discharge_line_temperature_k,
        pressure_standard_uncertainty_pa=pressure_standard_uncertainty_pa,
        temperature_standard_uncertainty_k=temperature_standard_uncertainty_k,
    )
