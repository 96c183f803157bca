"""What leaks, from how fast the pressure in a known volume falls or rises."""

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.molar_mass import GAS_CONSTANT, molar_mass_kg_per_mol
from calc.uncertainty import propagate

CAUTION = (
    "Of the gas in the test and at its pressure: what runs in the circuit leaks more at a higher pressure, less at a "
    "lower. A circuit that leaks is repaired before it is charged; no figure here allows a leak."
)
_GREATEST_PA = 10e6
_COLDEST_K, _WARMEST_K = 200.0, 400.0


@takes_arrays
def leak_flow(
    start_pressure_pa: float,
    end_pressure_pa: float,
    *,
    volume_m3: float,
    duration_s: float,
    start_temperature_k: float,
    end_temperature_k: float,
    volume_standard_uncertainty_m3: float,
    pressure_standard_uncertainty_pa: float,
    temperature_standard_uncertainty_k: float,
) -> Estimate:
    """Compute the flow through a leak: volume times the change of pressure over time, at the end's temperature.

    Q = V (p1 T2 / T1 - p2) / t, of an ideal gas: above 1 MPa the temperature's part errs by 3 % and more (see
    calc.nitrogen). Each reading counts with its whole uncertainty. The flow is taken as even over the time.

    Args:
        start_pressure_pa: absolute, 0 to 10 MPa [Pa].
        end_pressure_pa: likewise [Pa].
        volume_m3: of the closed part, above 0 to 100 [m³].
        duration_s: between the two, 1 s to a year [s].
        start_temperature_k: of the pipes, 200 to 400 [K].
        end_temperature_k: likewise [K].
        volume_standard_uncertainty_m3: half of its ± [m³].
        pressure_standard_uncertainty_pa: half of the gauge's ± limit [Pa].
        temperature_standard_uncertainty_k: half of the thermometer's [K].

    Returns:
        The flow, out of the circuit where it is above 0, into it where it is below [Pa m³/s].

    Raises:
        CalcRangeError: beyond these limits.

    >>> found = leak_flow(  # a vacuum engineering handbook in print: 1.5e-4 of a bicycle's tube, 1 bar in 30 days
    ...     400e3, 300e3, volume_m3=0.004, duration_s=30 * 86400.0, start_temperature_k=293.0, end_temperature_k=293.0,
    ...     volume_standard_uncertainty_m3=0.0, pressure_standard_uncertainty_pa=0.0,
    ...     temperature_standard_uncertainty_k=0.0)
    >>> round(found.value * 1e4, 1)
    1.5

    """
    within("duration_s", duration_s, 1.0, 366 * 86400.0, "s")

    def flow(
        *, start_pressure_pa: float, start_temperature_k: float, end_pressure_pa: float, end_temperature_k: float,
        volume_m3: float,
    ) -> float:  # fmt: skip
        within("start_pressure_pa", start_pressure_pa, 0.0, _GREATEST_PA, "Pa")
        within("end_pressure_pa", end_pressure_pa, 0.0, _GREATEST_PA, "Pa")
        within("start_temperature_k", start_temperature_k, _COLDEST_K, _WARMEST_K, "K")
        within("end_temperature_k", end_temperature_k, _COLDEST_K, _WARMEST_K, "K")
        within("volume_m3", volume_m3, 1e-9, 100.0, "m3")
        lost_pa = start_pressure_pa * end_temperature_k / start_temperature_k - end_pressure_pa
        return volume_m3 * lost_pa / duration_s

    readings = {
        "start_pressure_pa": Estimate(start_pressure_pa, pressure_standard_uncertainty_pa),
        "start_temperature_k": Estimate(start_temperature_k, temperature_standard_uncertainty_k),
        "end_pressure_pa": Estimate(end_pressure_pa, pressure_standard_uncertainty_pa),
        "end_temperature_k": Estimate(end_temperature_k, temperature_standard_uncertainty_k),
        "volume_m3": Estimate(volume_m3, volume_standard_uncertainty_m3),
    }
    return propagate(flow, readings).estimate


def leak_mass_flow(flow: Estimate, refrigerant: str, *, temperature_k: float) -> Estimate:
    """Give the mass of refrigerant whose vapour would flow like that: m = Q M / (R T), of an ideal gas.

    Args:
        flow: of `leak_flow`, -1e6 to 1e6 [Pa m³/s].
        refrigerant: whose mass is asked for.
        temperature_k: at which the flow was measured, 200 to 400 [K].

    Returns:
        The mass flow [kg/s]; 1 g/a is 3.17e-11 kg/s.

    Raises:
        CalcRangeError: beyond these limits.
        UnknownNameError: an unknown refrigerant.

    >>> found = leak_mass_flow(Estimate(7.1e-7, 0.0), "R-134a", temperature_k=273.15)
    >>> round(found.value * 1e3 * 10 * 365 * 86400)  # the same handbook: 7.1e-7 Pa m³/s of R-134a are 10 g in 10 years
    10

    """
    within("temperature_k", temperature_k, _COLDEST_K, _WARMEST_K, "K")
    within("flow", flow.value, -1e6, 1e6, "Pa m3/s")
    per_flow = molar_mass_kg_per_mol(refrigerant) / (GAS_CONSTANT * temperature_k)
    return Estimate(per_flow * flow.value, per_flow * flow.standard_uncertainty)
