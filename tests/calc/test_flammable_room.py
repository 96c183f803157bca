"""Room and charge of class A2L against the tables of its annex, as installation manuals print them."""

import math
import re
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import ArgumentError, CalcError, CalcRangeError, UnknownNameError
from calc.flammable_room import (
    RELEASE_HEIGHTS_M,
    least_room_area_m2,
    lowest_flammable_limit,
    room_charge,
    share_of_flammable_limit,
    stands,
    thresholds,
)
from tests.fuzzing import fuzz

AREAS_M2 = (4, 7, 10, 15, 20, 30, 50)
TABLE_KG = {
    0.6: (0.68, 0.90, 1.08, 1.32, 1.53, 1.87, 2.41),
    1.0: (1.14, 1.51, 1.80, 2.20, 2.54, 3.12, 4.02),
    1.8: (2.05, 2.71, 3.24, 3.97, 4.58, 5.61, 7.254),
    2.2: (2.50, 3.31, 3.96, 4.85, 5.60, 6.86, 8.85),
}
"""Table GG.1 of R-32, with an LFL of 0.306 kg/m³: release height [m], charge by area [kg]."""
FLOOR_M2 = {1.84: 28.81, 1.9: 30.72, 2.0: 34.04, 2.1: 37.53, 2.5: 53.19, 3.0: 76.6, 3.5: 104.26}
"""Another manual: R-32 with an LFL of 0.307, floor mounted; charge [kg], least area [m²]."""


@pytest.mark.parametrize("height_m", TABLE_KG)
def test_table_of_the_annex(height_m):
    for area_m2, printed_kg in zip(AREAS_M2, TABLE_KG[height_m], strict=True):
        found = room_charge("R-32", float(area_m2), release_height_m=height_m)
        assert found.limit.limit_kg_per_m3 == 0.306
        assert found.by_formula_kg == pytest.approx(printed_kg, abs=0.013)
        assert found.by_cap_kg == pytest.approx(0.75 * 0.306 * height_m * area_m2)
        assert found.charge_kg == min(found.by_formula_kg, found.by_cap_kg)


@pytest.mark.parametrize(("charge_kg", "printed_m2"), FLOOR_M2.items())
def test_least_areas_of_another_manual(charge_kg, printed_m2):
    """It takes 0.307 for the LFL, and areas go with its power of -2.5; where the formula counts and not the cap."""
    found = least_room_area_m2("R-32", charge_kg, release_height_m=0.6) * (0.306 / 0.307) ** 2.5
    assert found == pytest.approx(printed_m2, rel=2e-3)


def test_the_cap_counts_in_small_rooms():
    """4.45 m² for 1.842 kg of R-32 at the wall: 1.842 / (0.75 x 0.307 x 1.8); the formula alone would have 3.2."""
    assert least_room_area_m2("R-32", 1.842, release_height_m=1.8) == pytest.approx(4.45, abs=0.02)
    small = room_charge("R-32", 4.0, release_height_m=1.8)
    assert small.charge_kg == small.by_cap_kg < small.by_formula_kg


@pytest.mark.parametrize("height_m", [0.6, 1.0, 1.8, 2.2])
@pytest.mark.parametrize("charge_kg", [0.5, 1.9, 4.0, 9.0])
def test_area_and_charge_belong_together(charge_kg, height_m):
    area_m2 = least_room_area_m2("R-454B", charge_kg, release_height_m=height_m)
    assert room_charge("R-454B", area_m2, release_height_m=height_m).charge_kg == pytest.approx(charge_kg)


@pytest.mark.parametrize(
    ("refrigerant", "limit", "m1_older", "m1", "m2", "m3"),
    [("R-454B", 0.296, 1.184, 1.776, 7.696, 38.48), ("R-32", 0.306, 1.224, 1.836, 7.956, 39.78),
     ("R-1234yf", 0.289, 1.156, 1.734, 7.514, 37.57)],
)  # fmt: skip
def test_thresholds_are_cubic_metres_of_the_limit(refrigerant, limit, m1_older, m1, m2, m3):
    """m1 = 4 (6 since 2018), m2 = 26, m3 = 130 m³ x LFL: manuals."""
    found = thresholds(refrigerant)
    assert found.limit.limit_kg_per_m3 == limit
    assert [found.older_m1_kg, found.m1_kg, found.m2_kg, found.m3_kg] == pytest.approx([m1_older, m1, m2, m3])


def test_a_charge_at_a_threshold_is_not_above_it():
    """Manuals: up to m1 no least area; the annex covers charges up to m3."""
    steps = thresholds("R-32")
    said = [stands(charge_kg, steps).split(":")[0] for charge_kg in (steps.m1_kg, steps.m2_kg, steps.m3_kg)]
    assert said == ["at or below m1", "above m1, up to m2", "above m2, up to m3"]


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-290"])
def test_only_of_class_a2l(refrigerant):
    with pytest.raises(ArgumentError, match="class A"):
        lowest_flammable_limit(refrigerant)
    with pytest.raises(UnknownNameError):
        lowest_flammable_limit("R-9")


def test_a_quarter_of_the_limit():
    """2.96 kg spread in 40 m³ is 0.074 kg/m³, a quarter of 0.296."""
    found = share_of_flammable_limit("R-454B", 2.96, room_area_m2=16.0, ceiling_m=2.5)
    assert found == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("function", "which", "low", "high"),
    [(room_charge, "room_area_m2", 1.0, 1e4), (room_charge, "release_height_m", 0.6, 2.2),
     (least_room_area_m2, "charge_kg", 0.05, 100.0), (least_room_area_m2, "release_height_m", 0.6, 2.2),
     (share_of_flammable_limit, "charge_kg", 0.0, 100.0), (share_of_flammable_limit, "room_area_m2", 1.0, 1e4),
     (share_of_flammable_limit, "ceiling_m", 1.5, 20.0)],
)  # fmt: skip
def test_limits(function, which, low, high):
    usual = {
        room_charge: {"room_area_m2": 20.0, "release_height_m": 1.8},
        least_room_area_m2: {"charge_kg": 3.0, "release_height_m": 1.8},
        share_of_flammable_limit: {"charge_kg": 3.0, "room_area_m2": 20.0, "ceiling_m": 2.4},
    }[function]
    for edge, beyond in ((low, 0.99 * low - 1e-9), (high, min(1.01 * high, high + 0.5))):
        function("R-32", **usual | {which: edge})
        with pytest.raises(CalcRangeError, match=which):
            function("R-32", **usual | {which: beyond})


def test_by_name_it_says_first_that_it_allows_nothing():
    given_values = {"refrigerant": "R-454B", "charge": "7 lb", "mounted": "wall"}
    result = catalogue.run("a2l_room", given_values | {"room_area": "300 ft2"})
    assert result.as_text().startswith("no approval")
    charge_kg = 7 * 0.45359237
    found = result.values
    assert found["least_room_area_m2"] == least_room_area_m2("R-454B", charge_kg, release_height_m=1.8)
    area_m2 = 300 * 0.3048**2
    assert found["area_comes_to_kg"] == room_charge("R-454B", area_m2, release_height_m=1.8).charge_kg
    assert found["of_the_flammable_limit_ratio"] == pytest.approx(charge_kg / (area_m2 * 2.4) / 0.296)
    assert any("no formula here allows it" in caution for caution in found["cautions"])
    assert any("annex GG" in basis for basis in found["basis"])
    assert any("lowest flammable limit known" in basis for basis in found["basis"])
    without = catalogue.run("a2l_room", given_values).values
    assert without["area_comes_to_kg"] == Unknown("the area of the room is not given")
    assert RELEASE_HEIGHTS_M == {"floor": 0.6, "window": 1.0, "wall": 1.8, "ceiling": 2.2}  # the annex's


@fuzz
@given(st.tuples(*(st.floats(),) * 3))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert math.isfinite(room_charge("R-32", numbers[0], release_height_m=numbers[1]).charge_kg)
    with suppress(CalcError):
        assert math.isfinite(least_room_area_m2("R-32", numbers[0], release_height_m=numbers[1]))
    with suppress(CalcError):
        share = share_of_flammable_limit("R-32", numbers[0], room_area_m2=numbers[1], ceiling_m=numbers[2])
        assert share >= 0


@pytest.mark.parametrize(
    ("charge", "stands", "has_area"),
    [
        ("1.1kg", "at or below m1", False),
        ("1.8kg", "at or below m1", False),  # m1 is 6 m³ x 0.306: 1.836 kg
        ("1.9kg", "above m1, up to m2", True),
        ("7.9kg", "above m1, up to m2", True),  # m2 is 26 m³ x 0.306: 7.956 kg
        ("8.0kg", "above m2, up to m3", True),
        ("39.7kg", "above m2, up to m3", True),  # m3 is 130 m³ x 0.306: 39.78 kg
        ("39.9kg", "ABOVE m3", False),
    ],
)
def test_it_says_where_the_charge_stands_and_no_area_up_to_m1(charge, stands, has_area):
    """Annex GG, as two manuals print it: up to m1 no least area."""
    result = catalogue.run("a2l_room", {"refrigerant": "R-32", "charge": charge, "mounted": "floor"})
    found = result.values
    assert found["stands"].startswith(stands)
    assert isinstance(found["least_room_area_m2"], float) is has_area
    assert ("in_older_editions_least_room_area_m2" in found) is (charge == "1.8kg")  # m1 was 4 m³: 1.224 kg
    assert "cmil" not in result.as_text()  # the unit of a wire's area
    assert ("no area makes this right" in found["stands"]) is (charge == "39.9kg")


@pytest.mark.parametrize(
    ("charge", "area", "too_small"),
    [
        ("15lb", "100ft2", True),
        ("15lb", "4645ft2", True),
        ("15lb", "4646ft2", False),
        ("1lb", "11ft2", False),  # below m1 the annex asks for no area
        ("90lb", "100ft2", False),  # above m3 it says already that no area makes this right
    ],
)
def test_a_room_that_is_too_small_is_told_so_and_none_is_approved(charge, area, too_small):
    """15 lb by the floor: (m / (2.5 x 0.296^1.25 x 0.6))^2, worked out, is 4,645.9 ft²."""
    given_values = {"refrigerant": "R-454B", "charge": charge, "mounted": "floor", "room_area": area}
    result = catalogue.run("a2l_room", given_values)
    assert ("TOO SMALL" in result.values.get("too_small", "")) is too_small
    assert result.as_text().startswith("no approval")
    assert ("too small" in result.as_text().splitlines()[1]) is too_small
    assert not re.search(r"\b(allowed|approved|large enough)\b", result.as_text())
