"""Recovery against 40 CFR 82.156, its table in print, and against division."""

import json
import math
from contextlib import suppress
from datetime import date

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.calculation import Unknown
from calc.errors import CalcError, CalcRangeError
from calc.recovery import (
    LARGE_CHARGE_KG,
    Opening,
    PressureClass,
    class_of_pressure,
    pressure_class,
    recovery_level,
    recovery_time,
)
from tests.edges import check_edges
from tests.fuzzing import fuzz

INCH_PA = 3386.389
LB_KG = 0.45359237
BEFORE, SINCE = date(1993, 11, 14), date(1993, 11, 15)


@pytest.mark.parametrize(
    ("kind", "pounds", "before_inches", "since_inches"),
    [
        (PressureClass.VERY_HIGH, 8, 0, 0),
        (PressureClass.VERY_HIGH, 500, 0, 0),
        (PressureClass.HIGH, 199.9, 0, 0),
        (PressureClass.HIGH, 200, 4, 10),
        (PressureClass.MEDIUM, 199.9, 4, 10),
        (PressureClass.MEDIUM, 200, 4, 15),  # a page of the agency prints 10 here: a slip, the rule's table says 15
    ],
)
def test_the_table(kind, pounds, before_inches, since_inches):
    """40 CFR 82.156, table 1, as two public mirrors of the rule print it: below 29.9 inches of mercury."""
    for made, inches, word in ((BEFORE, before_inches, "before"), (SINCE, since_inches, "on or after")):
        level = recovery_level(kind, pounds * LB_KG, machine_made=made)
        assert (101325 - level.pressure_pa) / INCH_PA == pytest.approx(inches, abs=1e-6)
        assert f"made {word} 1993-11-15: {inches} inHg" in level.row
        assert ("200 lb and more" in level.row) == (pounds >= 200)
        assert f"{kind.replace('_', ' ')} pressure" in level.row
        assert str(made) in level.why


@pytest.mark.parametrize("kind", PressureClass)
@pytest.mark.parametrize("opening", Opening)
def test_small_appliances(kind, opening):
    """40 CFR 82.156(b), as a guide prints it: 90 % with the compressor running, 80 % without, or 4 inHg."""
    for made, share in (
        (SINCE, "90 % of the charge with its compressor running, 80 % without"),
        (BEFORE, "80 % of it"),
    ):
        level = recovery_level(
            kind, 5 * LB_KG, machine_made=made, opening=opening, is_small_appliance=True, barometric_pressure_pa=84e3
        )
        assert level.pressure_pa == pytest.approx(101325 - 4 * INCH_PA)
        assert level.row == f"82.156(b): 4 inHg of vacuum, or {share} by the scale"
        assert str(made) in level.why
    with pytest.raises(CalcRangeError, match=r"full_charge_kg is .*a small appliance holds 5 lb at most"):
        recovery_level(kind, 5.001 * LB_KG, machine_made=SINCE, opening=opening, is_small_appliance=True)
    with pytest.raises(CalcRangeError, match="full_charge_kg"):
        recovery_level(kind, -0.1, machine_made=SINCE, opening=opening, is_small_appliance=True)


def test_low_pressure_is_25_mm_of_mercury_absolute():
    """The same table, of any size and date."""
    for made in (BEFORE, SINCE):
        level = recovery_level(PressureClass.LOW, 300.0, machine_made=made)
        assert level.pressure_pa == pytest.approx(25 * 133.3224)
        assert "25 mmHg absolute" in level.row


@pytest.mark.parametrize(
    ("opening", "paragraph"), [(Opening.NOT_MAJOR, "82.156(a)(1)"), (Opening.LEAKING, "82.156(a)(2)")]
)
def test_exceptions_end_at_0_psig(opening, paragraph):
    """40 CFR 82.156(a)(1) and (2)."""
    level = recovery_level(
        PressureClass.MEDIUM, 300.0, machine_made=SINCE, opening=opening, barometric_pressure_pa=84e3
    )
    assert level.pressure_pa == 84e3
    assert paragraph in level.row
    assert level.why


def test_at_elevation_the_vacuum_counts_from_29_9_inches_and_0_psig_from_the_air():
    """The table: "relative to standard atmospheric pressure of 29.9 inches Hg"; of both, what leaves less."""
    deep = recovery_level(PressureClass.HIGH, 100.0, machine_made=SINCE, barometric_pressure_pa=84e3)
    assert deep.pressure_pa == pytest.approx(101325 - 10 * INCH_PA)
    shallow = recovery_level(PressureClass.HIGH, 8.0, machine_made=SINCE, barometric_pressure_pa=84e3)
    assert shallow.pressure_pa == 84e3
    low = recovery_level(PressureClass.HIGH, 8.0, machine_made=SINCE, barometric_pressure_pa=104e3)
    assert low.pressure_pa == 101325


@pytest.mark.parametrize(
    ("refrigerant", "kind"),
    [("R-410A", "high"), ("R-454B", "high"), ("R-22", "high"), ("R-407C", "high"), ("R-404A", "high"),
     ("R-134a", "medium"), ("R-1234yf", "medium"), ("R-32", "very_high"), ("R-744", "very_high")],
)  # fmt: skip
def test_classes_by_the_liquid_at_104_degf(refrigerant, kind):
    """40 CFR 82.152: medium 45 to 170, high to 355 psia, very high above; a trade paper prints the same limits."""
    assert pressure_class(refrigerant) == kind


@pytest.mark.parametrize(("fluid", "refrigerant"), [("R32", "R-32"), ("R22", "R-22"), ("R134a", "R-134a")])
def test_classes_as_an_independent_library_has_them(fluid, refrigerant):
    psia = PropsSI("P", "T", 313.15, "Q", 0, fluid) / 6894.757
    limits = {"medium": (45, 170), "high": (170, 355), "very_high": (355, math.inf)}[pressure_class(refrigerant)]
    assert limits[0] < psia < limits[1]


@pytest.mark.parametrize(
    ("psia", "kind"),
    [(0, "low"), (44.9999, "low"), (45.0001, "medium"), (169.9999, "medium"), (170.0001, "high"), (354.999, "high"),
     (355.001, "very_high"), (2900, "very_high")],
)  # fmt: skip
def test_the_limits_between_the_classes(psia, kind):
    """40 CFR 82.152, as a trade paper and an examination guide print it: 45, 170 and 355 psia at 104 °F."""
    assert class_of_pressure(psia * 6894.757) == kind
    check_edges(class_of_pressure, "liquid_pressure_pa", 0.0, 20e6)


def test_limits():
    def at(kilograms=8.0, baro_pa=101325.0):
        return recovery_level(PressureClass.HIGH, kilograms, machine_made=SINCE, barometric_pressure_pa=baro_pa)

    check_edges(lambda value: at(kilograms=value), "full_charge_kg", 1e-3, 1e5)
    check_edges(lambda value: at(baro_pa=value), "barometric_pressure_pa", 40e3, 180e3)
    usual = recovery_level(PressureClass.HIGH, 100.0, machine_made=SINCE)
    assert usual == at(kilograms=100.0)


def time_s(mass_kg, vapour, liquid_kg=0.0, liquid=None, u=(0.0, 0.0)):
    return recovery_time(
        mass_kg, vapour, liquid_mass_kg=liquid_kg, liquid_kg_per_s=liquid, mass_standard_uncertainty_kg=u[0],
        rate_standard_uncertainty_ratio=u[1],
    )  # fmt: skip


def test_time_by_division():
    """10 kg: 8 of them liquid at 0.05 kg/s are 160 s, 2 as vapour at 0.005 kg/s are 400 s."""
    assert time_s(10.0, 0.005, 8.0, 0.05).value == pytest.approx(560)
    assert time_s(10.0, 0.005).value == pytest.approx(2000)
    assert time_s(10.0, 0.005, 8.0).value == pytest.approx(2000)
    assert time_s(8.0, 0.005, 8.0, 0.05).value == pytest.approx(160)


def test_mass_and_rates_count_as_in_forty_thousand_trials():
    """JCGM 101, within 3 %."""
    draw = np.random.default_rng(7).normal
    mass_kg, rates = draw(10, 0.2, 40_000), draw(1, 0.03, 40_000)
    spread = ((8 / 0.05 + (mass_kg - 8) / 0.005) / rates).std()
    assert time_s(10.0, 0.005, 8.0, 0.05, (0.2, 0.03)).standard_uncertainty == pytest.approx(spread, rel=0.03)


def test_what_leaves_as_liquid_is_nothing_unless_it_is_said():
    usual = recovery_time(
        10.0, 0.005, liquid_kg_per_s=0.05, mass_standard_uncertainty_kg=0.0, rate_standard_uncertainty_ratio=0.0
    )
    assert usual.value == 2000


def test_a_rate_that_may_be_far_off():
    """JCGM 100, 5.1.4: half of what 0.4 either way makes of one over the rate."""
    assert time_s(10.0, 0.005, u=(0.0, 0.4)).standard_uncertainty == pytest.approx(2000 * (1 / 0.6 - 1 / 1.4) / 2)


def test_limits_of_time():
    check_edges(lambda value: time_s(value, 0.1), "mass_kg", 0.0, 1e5)
    check_edges(lambda value: time_s(1.0, value, 0.0, 0.1), "vapour_kg_per_s", 1e-6, 100.0)
    check_edges(lambda value: time_s(1.0, 0.1, value, 0.1), "liquid_mass_kg", 0.0, 1.0)
    check_edges(lambda value: time_s(1.0, 0.1, 0.5, value), "liquid_kg_per_s", 1e-6, 100.0)
    check_edges(lambda value: time_s(1.0, 0.1, u=(0.0, value)), "rate_standard_uncertainty_ratio", 0.0, 0.4)


def test_by_name_the_level_is_verified_with_what_the_gauge_leaves_open():
    asked = {"refrigerant": "R-134a", "full_charge": "300 lb", "machine_made": "2019-03-01", "opening": "major"}
    found = catalogue.run("recovery_level", asked).values
    assert found["level_pressure_pa"] == pytest.approx(101325 - 15 * INCH_PA)
    assert isinstance(found["reached"], Unknown)
    assert found["pressure_class"] == "medium"
    assert any("Gloves" in sentence for sentence in found["caution"])
    for measured, reached in (("20 inHg vac", "met"), ("15 inHg vac", "cannot tell"), ("10 inHg vac", "not met")):
        assert catalogue.run("recovery_level", asked | {"measured_pressure": measured}).values["reached"] == reached
    small = asked | {"full_charge": "2 lb", "small_appliance": "yes"}
    assert "82.156(b)" in catalogue.run("recovery_level", small).values["row"]
    high = catalogue.run("recovery_level", asked | {"elevation": "5280 ft", "opening": "not_major"})
    assert "level pressure       0.00 psig" in high.as_text()


def test_by_name_time_of_a_recovery():
    found = json.loads(catalogue.run("recovery_time", {"mass": "8 lb", "vapor_rate": "0.5 lb/min"}).as_json())
    assert found["time_s"] == pytest.approx(960)
    assert found["expanded_s"] == pytest.approx(960 * math.hypot(0.2, 0.1 / (8 * LB_KG)), rel=0.02)
    both = {"mass": "8 lb", "vapour_rate": "0.5 lb/min", "liquid_mass": "6 lb", "liquid_rate": "3 lb/min"}
    assert catalogue.run("recovery_time", both).values["time_s"].value == pytest.approx(360)
    assert pytest.approx(200 * LB_KG) == LARGE_CHARGE_KG


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert np.isfinite(time_s(*numbers[:4], numbers[4:]).value)
    with suppress(CalcError):
        assert recovery_level(
            PressureClass.HIGH, numbers[0], machine_made=SINCE, barometric_pressure_pa=numbers[1]
        ).pressure_pa


def test_what_burns_is_recovered_with_its_own_cautions():
    """At most 70 % liquid: common practice, no source; a machine rated for it: public manuals."""
    asked = {"mass": "8 lb", "vapour_rate": "0.5 lb/min"}
    said = " ".join(catalogue.run("recovery_time", asked | {"refrigerant": "R-454B"}).values["caution"])
    assert "70 % liquid" in said
    assert "rated for flammable refrigerant" in said
    assert "70 % liquid" not in " ".join(catalogue.run("recovery_time", asked).values["caution"])


def test_a_level_that_is_too_near_says_what_would_tell():
    asked = {"refrigerant": "R-134a", "full_charge": "300 lb", "machine_made": "2019-03-01", "opening": "major"}
    near, reached = (
        catalogue.run("recovery_level", asked | {"measured_pressure": it}).values for it in ("15inHg vac", "20inHg vac")
    )
    assert "recover further down, or read it with a gauge of a smaller ±" in near["would_tell"]
    assert "would_tell" not in reached
