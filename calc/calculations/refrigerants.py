"""A refrigerant's facts and cautions; what a cylinder and a line set hold."""

import math
from collections.abc import Mapping

from calc import cautions, charging
from calc.arguments import REFRIGERANT, Choice
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values
from calc.elementwise import within
from calc.liquid import liquid_density
from calc.quantities import Quantity
from calc.refrigerants import get
from calc.units import to_display


def _refrigerant(refrigerant: str) -> Values:
    facts = get(refrigerant)
    limits = [
        f"{limit.limit_kg_per_m3:.3f} kg/m³ ({number:.4f} lb/ft³): {limit.basis}"
        for limit in facts.lower_flammable_limits
        for number, _ in [to_display(limit.limit_kg_per_m3, "density", "us")]
    ]
    return {
        "safety_class": facts.safety_class,
        "composition": [f"{share:.1%} {name}" for name, share in facts.composition.items()],
        "must_leave_the_cylinder_as_liquid": facts.charge_as_liquid,
        "ar4_gwp": facts.global_warming_potential("AR4"),
        "ar5_gwp": facts.global_warming_potential("AR5"),
        "ar6_gwp": facts.global_warming_potential("AR6"),
        "is_ozone_depleting": facts.is_ozone_depleting,
        "lower_flammable_limit": limits or Unknown(f"{facts.safety_class} stands for no flame propagation"),
        "critical_k": facts.critical_temperature_k,
        "critical_pressure_pa": facts.critical_pressure_pa,
        "model_uncertainty_dk": facts.model_standard_uncertainty_k,
        "model_basis": facts.model_basis,
    }


def _cautions(refrigerant: str, step: cautions.Step) -> Values:
    return {"cautions": cautions.cautions(refrigerant, step)}


def _liquid_density(refrigerant: str, temperature_k: float) -> Values:
    return {"liquid_density_kg_per_m3": liquid_density(refrigerant, temperature_k)}


def _cylinder_fill(
    refrigerant: str,
    water_capacity_kg: float,
    tare_kg: float,
    temperature_k: float,
    scale_reading_kg: float | None,
) -> Values:
    fill_kg = charging.safe_fill_mass(
        refrigerant, water_capacity_kg=water_capacity_kg, liquid_temperature_k=temperature_k
    )
    greatest_kg = within("tare_kg", tare_kg, 0.0, math.inf, "kg") + fill_kg
    room: Values = {} if scale_reading_kg is None else {"room_left_kg": greatest_kg - scale_reading_kg}
    overfilled = scale_reading_kg is not None and scale_reading_kg > greatest_kg
    return {
        "safe_fill_kg": fill_kg,
        "greatest_scale_reading_kg": greatest_kg,
        **room,
        "overfilled": overfilled,
        "cautions": cautions.cautions(refrigerant, cautions.Step.RECOVER),
    }


def _line_set(refrigerant: str, bore_m: float, length_m: float, temperature_k: float) -> Values:
    return {
        "line_set_charge_kg": charging.line_set_charge(
            refrigerant, bore_m=bore_m, length_m=length_m, liquid_temperature_k=temperature_k
        ),
        "charge_per_length_kg_per_m": charging.line_set_charge_per_length(
            refrigerant, bore_m=bore_m, liquid_temperature_k=temperature_k
        ),
        "cautions": cautions.cautions(refrigerant, cautions.Step.CHARGE),
    }


_REFRIGERANT = Parameter("refrigerant", "refrigerant", REFRIGERANT, "R-454B")
_DENSITY_SOURCE = "the equations of state of CoolProp 8.0.0"
_DENSITY_TEST = "tests/calc/test_liquid.py::test_within_a_hundredth_of_a_percent_of_the_equation_of_state"

CALCULATIONS: Mapping[str, Calculation] = {
    "refrigerant": Calculation(
        "what a refrigerant is made of, how it burns, warms, and leaves its cylinder",
        (_REFRIGERANT,),
        _refrigerant,
        source="ANSI/ASHRAE 34; IPCC AR4, AR5, AR6; IEC 60335-2-40 (from memory)",
        tolerance="0.1 of a GWP",
        test="tests/calc/test_refrigerants.py::test_global_warming_potential_of_each_report",
    ),
    "cautions": Calculation(
        "what to beware of with a refrigerant before a step",
        (_REFRIGERANT, Parameter("step", "step", Choice("step", tuple(cautions.Step)), "charge")),
        _cautions,
        source="40 CFR 82.154, 82.161; public charging manuals; common practice",
        tolerance="exact",
        test="tests/calc/test_cautions.py::test_flammable_refrigerants_are_warned_of_first_at_every_step",
    ),
    "liquid_density": Calculation(
        "the density of liquid refrigerant at its bubble point",
        (_REFRIGERANT, Parameter("temperature", "temperature_k", Quantity.TEMPERATURE, "100degF")),
        _liquid_density,
        source=_DENSITY_SOURCE,
        tolerance="0.01 %",
        test=_DENSITY_TEST,
    ),
    "cylinder_fill": Calculation(
        "how much refrigerant a recovery cylinder may hold, and the scale's reading then",
        (
            _REFRIGERANT,
            Parameter("water_capacity", "water_capacity_kg", Quantity.MASS, "26.2lb"),
            Parameter("tare", "tare_kg", Quantity.MASS, "17lb"),
            Parameter(
                "temperature",
                "temperature_k",
                Quantity.TEMPERATURE,
                "77degF",
                otherwise=Assumption(298.15, "liquid at 77 °F (25 °C), as AHRI Guideline K"),
            ),
            Parameter(
                "scale_reading",
                "scale_reading_kg",
                Quantity.MASS,
                "20lb",
                otherwise=Assumption(None, "no reading of the scale: the room left is not given"),
            ),
        ),
        _cylinder_fill,
        source="AHRI Guideline K: 80 % of the volume, as worked in the trade press",
        tolerance="0.5 %",
        test="tests/calc/test_charging.py::test_cylinder_fill_in_print",
    ),
    "line_set_charge": Calculation(
        "the charge that a liquid line takes beyond what the nameplate allows for",
        (
            _REFRIGERANT,
            Parameter("bore", "bore_m", "length", "0.311in"),
            Parameter("length", "length_m", "length", "20ft"),
            Parameter(
                "temperature",
                "temperature_k",
                Quantity.TEMPERATURE,
                "100degF",
                otherwise=Assumption(310.928, "liquid at 100 °F (37.8 °C) (common practice, no source)"),
            ),
        ),
        _line_set,
        source=f"{_DENSITY_SOURCE}; 0.6 oz/ft of 3/8 in line for R-22 in the trade",
        tolerance="1 %",
        test="tests/calc/test_charging.py::test_line_set_charge_per_foot",
    ),
}
