"""A refrigerant's facts and cautions; what a cylinder and a line set hold."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from calc import cautions, charging, tubes
from calc.arguments import REFRIGERANT, Choice, Measure
from calc.calculation import Calculation, Unknown, Values
from calc.elementwise import within
from calc.entry import Given, entry
from calc.errors import ArgumentError
from calc.liquid import liquid_density
from calc.refrigerants import get
from calc.units import Conversion, to_display


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


def _cylinder_fill(
    refrigerant: str,
    water_capacity_kg: float,
    tare_kg: float,
    temperature_k: float = 298.15,
    scale_reading_kg: float | None = None,
) -> Values:
    fill_kg = charging.safe_fill_mass(
        refrigerant, water_capacity_kg=water_capacity_kg, liquid_temperature_k=temperature_k
    )
    within("tare_kg", tare_kg, 0.0, _MOST_TARE * water_capacity_kg, "kg", "no cylinder is that heavy for what it holds")
    greatest_kg = tare_kg + fill_kg
    room: Values = {}
    if scale_reading_kg is not None:
        because = "less than the empty cylinder: see that it stands free on the scale, the zero, and the tare stamped"
        within("scale_reading_kg", scale_reading_kg, tare_kg, max(tare_kg, _GREATEST_SCALE_KG), "kg", because)
        room = {"room_left_kg": max(greatest_kg - scale_reading_kg, 0.0)}
        if scale_reading_kg > greatest_kg:
            room |= {"over_by_kg": scale_reading_kg - greatest_kg, "now": "stop: it holds more than it may"}
    not_weighed = Unknown("no scale reading was given")
    return {
        "safe_fill_kg": fill_kg,
        "greatest_scale_reading_kg": greatest_kg,
        **room,
        "overfilled": not_weighed if scale_reading_kg is None else scale_reading_kg > greatest_kg,
        "limited_by": _fill_rule(refrigerant),
        "cautions": cautions.cautions(refrigerant, cautions.Step.RECOVER),
    }


def _fill_rule(refrigerant: str) -> str:
    facts = get(refrigerant)
    if not facts.is_flammable:
        return (
            "80 % of the volume as liquid at 77 °F, or at the liquid's own temperature where it is warmer: "
            "AHRI Guideline K; and no more than all of it at 55 °C"
        )
    return (
        f"{facts.designation} burns ({facts.safety_class}), and AHRI Guideline K covers only what does not: 70 % of "
        "the volume as liquid at 77 °F or warmer (common practice, no source). No authorisation: the makers of "
        "cylinder and refrigerant and local codes say how far"
    )


@dataclass(frozen=True, slots=True)
class _Tube(Measure):
    """A tube's outer diameter; a bare number is in inches, as tube is sold."""

    def read(self, text: str, _: float | None) -> float:
        """Give the diameter [m]."""
        return Measure.read(self, _with_inches(text), None)

    def unit_of(self, text: str, _: float | None) -> tuple[Conversion, str]:
        """Give the conversion and the label of the unit in which a text is written."""
        return Measure.unit_of(self, _with_inches(text), None)


def _with_inches(text: str) -> str:
    return text if any(letter.isalpha() or letter in '"″”' for letter in text) else f"{text} in"


def _bore(bore_m: float | None, tube_m: float | None) -> float:
    if (bore_m is None) == (tube_m is None):
        raise ArgumentError(
            "line_set_charge needs tube, the outer diameter by which it is sold, such as tube=3/8in, or bore, the "
            "inner one, such as bore=0.311in: one of the two"
        )
    return tubes.acr_bore_m(tube_m) if bore_m is None and tube_m is not None else bore_m or 0.0


def _line_set(
    refrigerant: str,
    tube_m: float | None = None,
    bore_m: float | None = None,
    *,
    length_m: float,
    temperature_k: float = 310.928,
) -> Values:
    inner_m = _bore(bore_m, tube_m)
    doubt = bore_m is not None and tubes.is_outer_diameter(bore_m)
    return {
        "line_set_charge_kg": charging.line_set_charge(
            refrigerant, bore_m=inner_m, length_m=length_m, liquid_temperature_k=temperature_k
        ),
        "charge_per_length_kg_per_m": charging.line_set_charge_per_length(
            refrigerant, bore_m=inner_m, liquid_temperature_k=temperature_k
        ),
        "inner_diameter_m": inner_m,
        "makers_figure": "the maker's charge per length wins: several print 0.6 oz/ft of 3/8 in line for R-410A, too",
        **(
            {"look_again": "tube is sold by this as its outer diameter: if it is that, give it as tube"}
            if doubt
            else {}
        ),
        "cautions": cautions.cautions(refrigerant, cautions.Step.WEIGH_IN),
    }


_GREATEST_SCALE_KG = 1e5
_MOST_TARE = 10.0
"""Of its water capacity; a small cylinder weighs some three times what it holds: common practice, no source."""
_LIQUID = ("liquid_temperature_k",)
_GIVEN = {
    "refrigerant": Given("R-454B", REFRIGERANT),
    "step": Given("charge", Choice("step", tuple(cautions.Step))),
    "temperature_k": Given("100degF", low=173.15, high=423.15),
}
_CYLINDER = _GIVEN | {
    "water_capacity_kg": Given("26.2lb", low=0.1, high=1e4, says="stamped WC on the cylinder"),
    "tare_kg": Given("17lb", high=1e4, says="stamped TW on the cylinder"),
    "temperature_k": Given(
        "77degF",
        low=213.15,
        high=333.15,
        otherwise="liquid at 77 °F (25 °C), as AHRI Guideline K",
        says="of the liquid; below 77 °F it allows no more",
        called=_LIQUID,
    ),
    "scale_reading_kg": Given(
        "20lb", otherwise="no reading of the scale: the room left is not given", says="with the cylinder on it"
    ),
}
_LINE = _GIVEN | {
    "tube_m": Given(
        "3/8in",
        _Tube("length", *tubes.OUTER_DIAMETERS_M),
        otherwise="",
        says="the outer diameter by which tube is sold",
    ),
    "bore_m": Given(
        "0.311in",
        low=1e-3,
        high=0.11,
        otherwise="the bore that tube of this outer diameter has",
        says="the inner diameter, instead of tube",
    ),
    "length_m": Given("20ft", high=1000.0, says="beyond what the nameplate's charge allows for"),
    "temperature_k": Given(
        "100degF",
        low=233.15,
        high=353.15,
        otherwise="liquid at 100 °F (37.8 °C) (common practice, no source)",
        called=_LIQUID,
    ),
}
_DENSITY_SOURCE = "the equations of state of CoolProp 8.0.0"
_entry = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "refrigerant": _entry(
        _refrigerant,
        "what a refrigerant is made of, how it burns, warms, and leaves its cylinder",
        source="ANSI/ASHRAE 34; IPCC AR4, AR5, AR6; IEC 60335-2-40 (from memory)",
        tolerance="0.1 of a GWP",
        test="tests/calc/test_refrigerants.py::test_global_warming_potential_of_each_report",
    ),
    "cautions": _entry(
        cautions.cautions,
        "what to beware of with a refrigerant before a step",
        result="cautions",
        source="40 CFR 82.154, 82.161; public charging manuals; common practice",
        test="tests/calc/test_cautions.py::test_flammable_refrigerants_are_warned_of_at_every_step_and_only_what_hurts_sooner_comes_before",
    ),
    "liquid_density": _entry(
        liquid_density,
        "the density of liquid refrigerant at its bubble point",
        result="liquid_density_kg_per_m3",
        source=_DENSITY_SOURCE,
        tolerance="0.01 %",
        test="tests/calc/test_liquid.py::test_within_a_hundredth_of_a_percent_of_the_equation_of_state",
    ),
    "cylinder_fill": _entry(
        _cylinder_fill,
        "how much refrigerant a recovery cylinder may hold, and the scale's reading then",
        given=_CYLINDER,
        example=(("scale_reading", "20lb"),),
        source="AHRI Guideline K, for refrigerants that do not burn: 80 % of the volume at 77 °F, as worked in the "
        "trade press; 49 CFR 173.304 (from memory): never full at 55 °C; 70 % of what burns: no source",
        tolerance="0.5 %",
        test="tests/calc/test_charging.py::test_cylinder_fill_in_print",
    ),
    "line_set_charge": _entry(
        _line_set,
        "the charge that a liquid line takes beyond what the nameplate allows for",
        given=_LINE,
        example=(("tube", "3/8in"),),
        source=f"{_DENSITY_SOURCE}; 0.6 oz/ft of 3/8 in line for R-22 in the trade; bores of tube: ASTM B280 (from "
        "memory)",
        tolerance="1 %",
        test="tests/calc/test_charging.py::test_line_set_charge_per_foot",
    ),
}
