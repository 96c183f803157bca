"""What refrigerant does outside the circuit: charge and room of what burns mildly, and how it warms."""

from collections.abc import Mapping

from calc import flammable_room, warming
from calc.arguments import REFRIGERANT, Choice
from calc.calculation import Calculation, Unknown, Values
from calc.cautions import Step, cautions
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.refrigerants import AssessmentReport


def _a2l_room(
    refrigerant: str, charge_kg: float, mounted: str, room_area_m2: float | None = None, ceiling_m: float = 2.4
) -> Values:
    height_m = flammable_room.RELEASE_HEIGHTS_M[mounted]
    steps = flammable_room.thresholds(refrigerant)
    least_m2 = flammable_room.least_room_area_m2(refrigerant, charge_kg, release_height_m=height_m)
    least = _least_area(charge_kg, steps, least_m2)
    too_small: Values = {}
    of_room: Values = {
        name: Unknown("the area of the room is not given")
        for name in ("area_comes_to_kg", "of_the_flammable_limit_ratio")
    }
    if room_area_m2 is not None:
        share = flammable_room.share_of_flammable_limit(
            refrigerant, charge_kg, room_area_m2=room_area_m2, ceiling_m=ceiling_m
        )
        room = flammable_room.room_charge(refrigerant, room_area_m2, release_height_m=height_m)
        if room_area_m2 < (least_m2 if isinstance(least, float) else 0.0):
            too_small = {"too_small": flammable_room.TOO_SMALL}
        of_room = {"area_comes_to_kg": room.charge_kg, "of_the_flammable_limit_ratio": share}
    return {
        "no_approval": flammable_room.NO_APPROVAL,
        **too_small,
        "stands": flammable_room.stands(charge_kg, steps),
        "least_room_area_m2": least,
        **_in_older_editions(charge_kg, steps, least_m2),
        **of_room,
        "m1_kg": steps.m1_kg,
        "m1_in_older_editions_kg": steps.older_m1_kg,
        "m2_kg": steps.m2_kg,
        "m3_kg": steps.m3_kg,
        "release_height_m": height_m,
        "flammable_limit_kg_per_m3": steps.limit.limit_kg_per_m3,
        "basis": [flammable_room.BASIS, flammable_room.STEPS, f"the lowest flammable limit known: {steps.limit.basis}"],
        "cautions": cautions(refrigerant, Step.WEIGH_IN),
    }


_NO_AREA = "at or below m1 the annex asks for no least area, as manuals print it"


_ABOVE_M3 = "above m3 no area makes a charge right"


def _least_area(charge_kg: float, steps: flammable_room.Thresholds, least_m2: float) -> float | Unknown:
    if charge_kg <= steps.m1_kg:
        return Unknown(_NO_AREA)
    return least_m2 if charge_kg <= steps.m3_kg else Unknown(_ABOVE_M3)


def _in_older_editions(charge_kg: float, steps: flammable_room.Thresholds, least_m2: float) -> Values:
    """Give the area that editions with the smaller m1 still ask for."""
    between = steps.older_m1_kg < charge_kg <= steps.m1_kg
    return {"in_older_editions_least_room_area_m2": least_m2} if between else {}


def _co2_equivalent(
    refrigerant: str, mass_kg: float, report: AssessmentReport = "AR4", mass_accuracy_kg: float = 0.0
) -> Values:
    return {
        "co2_equivalent_kg": warming.co2_equivalent(
            refrigerant, Estimate(mass_kg, mass_accuracy_kg / 2), report=report
        ),
        "per_mass_ratio": warming.co2_equivalent(refrigerant, Estimate(1.0, 0.0), report=report).value,
        "basis": warming.BASES[report],
    }


class _Report(Choice):
    """A report by its name, however it is written."""

    def read(self, text: str, _: float | None) -> str:
        """Give the name as the reports have it."""
        return Choice.read(self, text, None).upper()


_GIVEN = {
    "refrigerant": Given("R-454B", REFRIGERANT),
    "charge_kg": Given("7lb", low=0.05, high=100.0, says="all that can escape into the room, lines included"),
    "mounted": Given("wall", Choice("mounting", tuple(flammable_room.RELEASE_HEIGHTS_M))),
    "room_area_m2": Given("300ft2", low=1.0, high=1e4, otherwise="no room: only the least area is given"),
    "ceiling_m": Given("8ft", low=1.5, high=20.0, otherwise="a room 2.4 m (8 ft) high (common practice, no source)"),
    "mass_kg": Given("2lb", high=1e5, says="added, recovered or lost"),
    "report": Given(
        "AR6",
        _Report("report", ("ar4", "ar5", "ar6")),
        otherwise="GWP of IPCC AR4, as the US AIM Act counts (40 CFR 84.64)",
    ),
    "mass_accuracy_kg": Given("0.5oz", high=1e3, otherwise="no uncertainty of the mass"),
}

CALCULATIONS: Mapping[str, Calculation] = {
    "a2l_room": entry(
        _a2l_room,
        "the arithmetic of charge and room area of class A2L, with its basis; no approval of anything",
        given=_GIVEN,
        source="IEC 60335-2-40, annex GG, as installation manuals print it; ANSI/ASHRAE 34",
        tolerance="0.01 kg of its table",
        test="tests/calc/test_flammable_room.py::test_table_of_the_annex",
        example=(("room_area", "300ft2"),),
    ),
    "co2_equivalent": entry(
        _co2_equivalent,
        "the carbon dioxide that warms as much as a mass of refrigerant, by the report that is named",
        given=_GIVEN,
        source="40 CFR 84.64 (AR4); IPCC AR4, AR5, AR6, over 100 years",
        tolerance="0.1 of a GWP",
        test="tests/calc/test_warming.py::test_gwp_of_the_code_of_federal_regulations",
    ),
}
