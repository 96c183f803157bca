"""Refrigerants that are added: their curves against CoolProp by another way than they were made; what is refused."""

from collections.abc import Iterator

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from calc import caloric, liquid, refrigerants, saturation, shelf
from calc.data import making
from calc.data.asking import AskedWronglyError, as_wanted
from calc.data.build_saturation import BuildError
from calc.data.wanted import Wanted
from calc.errors import UnknownNameError
from calc.molar_mass import molar_mass_kg_per_mol

R_13I1 = {"R-13I1": {"AR4": 0.4, "AR5": 1.0, "AR6": 0.0}}  # trifluoroiodomethane; from memory
R_152A = {"R-152a": {"AR4": 124.0, "AR5": 138.0, "AR6": 164.0}}  # IPCC, from memory
SIX = {
    "R-452A": Wanted("R-452A", {"R-32": 0.11, "R-125": 0.59, "R-1234yf": 0.30}, "A1"),
    "R-450A": Wanted("R-450A", {"R-134a": 0.42, "R-1234ze(E)": 0.58}, "A1"),
    "R-466A": Wanted("R-466A", {"R-32": 0.49, "R-125": 0.115, "R-13I1": 0.395}, "A1", warming=R_13I1),
    "R-444A": Wanted(
        "R-444A",
        {"R-32": 0.12, "R-152a": 0.05, "R-1234ze(E)": 0.83},
        "A2L",
        limits=[(0.299, "ASHRAE 34, from memory")],
        warming=R_152A,
    ),
    "R-152a": Wanted("R-152a", {"R-152a": 1.0}, "A2", limits=[(0.130, "ASHRAE 34, from memory")], warming=R_152A),
    "R-600": Wanted("R-600", {"R-600": 1.0}, "A3", limits=[(0.038, "ASHRAE 34, from memory")]),
}


@pytest.fixture(autouse=True)
def own_shelf() -> Iterator[None]:
    """What a test adds is gone after it."""
    yield
    for remembered in (shelf._curves, shelf._facts, refrigerants.get, saturation._dew_curve, saturation._bubble_curve):
        remembered.cache_clear()


@pytest.mark.parametrize("name", SIX)
def test_made_within_a_millikelvin_of_coolprop(name):
    """By flashes through another door, PropsSI, at pressures that are no node; those of a mixture may find none."""
    made = making.make(SIX[name])
    assert made.worst_k <= 1e-3
    equation, curves = refrigerants.get(name).equation_of_state, made.tables["saturation"][name]
    critical_k = refrigerants.get(name).critical_temperature_k
    compared = 0
    for pressure_pa in np.geomspace(curves["low_pa"] * 1.01, curves["high_pa"] * 0.8, 23):
        for quality, point in ((0, saturation.bubble_point), (1, saturation.dew_point)):
            try:
                flashed_k = PropsSI("T", "P", pressure_pa, "Q", quality, equation)
            except ValueError:
                continue
            if flashed_k < critical_k:
                compared += 1
                assert point(name, float(pressure_pa)) == pytest.approx(flashed_k, abs=1e-3)
    assert compared >= 38


def test_what_was_added_works_everywhere():
    making.make(SIX["R-452A"])
    facts = refrigerants.get("r452a")
    assert (facts.kind, facts.charge_as_liquid, facts.is_flammable, facts.is_ozone_depleting) == (
        "zeotrope",
        True,
        False,
        False,
    )
    assert facts.global_warming_potential("AR4") == pytest.approx(2140.4, abs=0.1)  # 40 CFR 84, from memory: 2140
    assert 1e3 * molar_mass_kg_per_mol("R-452A") == pytest.approx(103.5, abs=0.1)  # ASHRAE 34, from memory
    density = PropsSI("D", "T", 298.15, "Q", 0, facts.equation_of_state)
    assert liquid.liquid_density("R-452A", 298.15) == pytest.approx(density, rel=1e-4)
    pressure_pa = saturation.dew_pressure("R-452A", 278.15)
    vapour = PropsSI("D", "P|gas", pressure_pa, "T", 284.15, facts.equation_of_state)
    assert caloric.vapour_density("R-452A", pressure_pa, temperature_k=284.15) == pytest.approx(vapour, rel=2e-3)


def test_boils_where_print_has_it():
    """R-452A from -47.0 to -43.2 °C at one atmosphere: ASHRAE 34, from memory; within its ±."""
    making.make(SIX["R-452A"])
    twice_k = 2 * refrigerants.get("R-452A").model_standard_uncertainty_k
    assert saturation.bubble_point("R-452A", 101_325.0) - 273.15 == pytest.approx(-47.0, abs=twice_k)
    assert saturation.dew_point("R-452A", 101_325.0) - 273.15 == pytest.approx(-43.2, abs=twice_k)


def test_what_depletes_ozone_is_known_by_its_make_up():
    """R-22 and R-142b are HCFCs of 40 CFR 82, subpart A, appendix B."""
    warming = {"R-142b": {"AR4": 2310.0, "AR5": 1980.0, "AR6": 2300.0}}
    limits = [(0.3, "an example")]
    making.make(Wanted("R-142b", {"R-142b": 1.0}, "A2", limits=limits, warming=warming))
    assert refrigerants.get("R-142b").is_ozone_depleting


def test_what_has_chlorine_and_a_double_bond_is_in_neither_list():
    """40 CFR 82, subpart A, appendices A and B: R-1233zd(E) stands in none of them (from memory, as its warming)."""
    warming = {"R-1233zd(E)": {"AR4": 1.0, "AR5": 1.0, "AR6": 3.88}}
    making.make(Wanted("R-1233zd(E)", {"R-1233zd(E)": 1.0}, "A1", warming=warming))
    assert not refrigerants.get("R-1233zd(E)").is_ozone_depleting


@pytest.mark.parametrize(
    ("wanted", "because"),
    [
        (Wanted("R-X1", {"R-32": 0.5, "R-125": 0.4}, "A1"), "make 90 % and not 100"),
        (Wanted("R-X2", {"R-32": 1.0}, "A2L"), "give its lower flammable limit"),
        (Wanted("R-X3", {"R-152a": 1.0}, "A1"), "nothing is known here of how R-152a warms"),
        (Wanted("R-X4", {"R-99": 1.0}, "A1", warming={"R-99": {"AR4": 1, "AR5": 1, "AR6": 1}}), "CoolProp has no R-99"),
        (Wanted("R-409A", {"R-22": 0.6, "R-600": 0.4}, "A1"), "Could not match the binary pair"),
    ],
)
def test_what_cannot_be_made_is_refused_and_leaves_nothing(wanted, because):
    """A pair that CoolProp lacks is not made up: the last."""
    with pytest.raises(BuildError, match=because):
        making.make(wanted)
    with pytest.raises(UnknownNameError):
        refrigerants.get(wanted.designation)


def test_a_flash_that_fails_refuses_the_mixture(monkeypatch):
    def fails(equation, *_):
        raise BuildError(f"{equation} at 30000 Pa: no solution")

    monkeypatch.setattr(making, "curves", fails)
    with pytest.raises(BuildError, match="no solution"):
        making.make(SIX["R-450A"])
    assert "R-450A" not in saturation.names()


def test_a_curve_that_is_off_is_refused(monkeypatch):
    """As if the series were of a mixture of slightly other shares."""
    made = making.make(SIX["R-450A"])
    off = {**made.tables["saturation"]["R-450A"]}
    off["dew"] = [off["dew"][0] * (1 + 1e-5), *off["dew"][1:]]
    own = shelf.known("saturation")
    monkeypatch.setitem(own, "R-450A", off)
    with pytest.raises(BuildError, match=r"the dew curve of R-450A is off by 0\.00"):
        making.recheck("R-450A")


def test_the_same_twice_is_once_and_another_of_that_name_is_refused():
    making.make(SIX["R-450A"])
    making.make(SIX["R-450A"])
    with pytest.raises(shelf.AlreadyKnownError, match="R-450A is known already"):
        making.make(Wanted("R-450A", {"R-134a": 0.43, "R-1234ze(E)": 0.57}, "A1"))
    with pytest.raises(shelf.AlreadyKnownError, match="R-410A"):
        making.make(Wanted("R-410A", {"R-32": 0.4, "R-125": 0.6}, "A1"))
    assert refrigerants.get("R-410A").composition == {"R-32": 0.5, "R-125": 0.5}  # ASHRAE 34


@pytest.mark.parametrize(
    ("change", "because"),
    [
        ({"name": "452A"}, "no name of a refrigerant"),
        ({"of": "R-32 11, R-32 89"}, "no component once"),
        ({"of": "R-32, R-125"}, "no component once"),
        ({"limits": ["0.3 kg/m3"]}, "say behind a comma where it stands"),
        ({"limits": ["30 %, ASHRAE 34"]}, "no limit in kg/m3"),
        ({"warming": ["R-32 675"]}, "write"),
        ({"uncertainty": "9 K, a guess"}, "between 0 and 5 K"),
    ],
)
def test_what_is_written_wrongly_says_how(change, because):
    asked = {"name": "R-452A", "of": "R-32 11, R-125 89", "limits": [], "warming": [], "uncertainty": None} | change
    name, of = asked.pop("name"), asked.pop("of")
    with pytest.raises(AskedWronglyError, match=because):
        as_wanted(name, of, "A1", **asked)


def test_an_uncertainty_in_fahrenheit_is_taken_with_its_source():
    wanted = as_wanted(
        "R-450A", "R-134a=42 %, R-1234ze(E)=58 %", "A1", limits=[], warming=[], uncertainty="0.9 degF, a maker's table"
    )
    assert wanted.model_uncertainty_k == pytest.approx(0.5)
    making.make(wanted)
    assert refrigerants.get("R-450A").model_basis == "a maker's table"


@pytest.mark.parametrize(
    ("composition", "safety_class"),
    [
        ({"R-290": 1.0}, "A1"),
        ({"R-290": 1.0}, "A2L"),
        ({"R-32": 0.689, "R-1234yf": 0.311}, "A1"),  # R-454B by make-up: A2L (ASHRAE 34)
        ({"R-290": 0.5, "R-600a": 0.5}, "A2L"),
    ],
)
def test_a_class_milder_than_all_it_is_made_of_is_refused(composition, safety_class):
    """Propane and isobutane are A3, R-32 and R-1234yf A2L (ASHRAE 34)."""
    limits = [(0.3, "a label")]
    with pytest.raises(BuildError, match=f"cannot be of class {safety_class}: .* is A[23]"):
        making.make(Wanted("R-999", composition, safety_class, limits=limits))


def test_what_does_not_burn_may_hold_what_does_and_a_class_that_nothing_holds_is_told():
    """R-448A, R-449A and R-452A hold R-32 and R-1234yf and are A1 (ASHRAE 34); of R-125 alone no class is kept here."""
    assert making._check_class(Wanted("R-999", {"R-32": 0.3, "R-134a": 0.7}, "A1")) == ()
    assert making._check_class(SIX["R-452A"]) == ("R-125",)
