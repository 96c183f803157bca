"""Refrigerants against the mixtures of CoolProp 8.0.0, made up after ANSI/ASHRAE 34."""

import pytest
from CoolProp.CoolProp import AbstractState

from calc.data.equations import state_of
from calc.errors import UnknownNameError
from calc.refrigerants import get, names
from calc.saturation import names as names_with_curves

BLENDS = [name for name in names() if get(name).kind != "pure"]
WITHOUT_MIXING_RULE = [name for name in names() if not get(name).equation_of_state.endswith(".mix")]
COOLPROP_NAMES = {"R-744": "CO2", "R-600a": "IsoButane", "R-1234ze(E)": "R1234ze(E)", "R-290": "n-Propane"}


def coolprop_name(designation: str) -> str:
    return COOLPROP_NAMES.get(designation, designation.replace("-", ""))


def test_every_curve_has_its_refrigerant():
    assert names() == names_with_curves()
    assert [get(name).designation for name in names()] == list(names())


@pytest.mark.parametrize("name", BLENDS)
def test_composition_by_mass_matches_the_mole_fractions_of_coolprop(name):
    mixture = state_of(f"{coolprop_name(name)}.mix")  # CoolProp itself lacks pairs of some
    masses = {
        component: fraction * AbstractState("HEOS", component).molar_mass()
        for component, fraction in zip(mixture.fluid_names(), mixture.get_mole_fractions(), strict=True)
    }
    composition = get(name).composition
    assert sum(composition.values()) == pytest.approx(1)
    assert len(masses) == len(composition)
    for component, mass_fraction in composition.items():
        state = AbstractState("HEOS", coolprop_name(component))
        assert masses[state.fluid_names()[0]] / sum(masses.values()) == pytest.approx(mass_fraction, abs=1e-3)


@pytest.mark.parametrize("name", WITHOUT_MIXING_RULE)
def test_critical_point_is_that_of_the_equation_of_state(name):
    state = AbstractState("HEOS", get(name).equation_of_state)
    assert get(name).critical_pressure_pa == pytest.approx(state.p_critical(), rel=1e-5)
    assert get(name).critical_temperature_k == pytest.approx(state.T_critical(), abs=1e-3)


@pytest.mark.parametrize("name", ["R-454B", "R-454C", "R-513A"])  # the others take seconds each
def test_critical_point_of_a_mixture_is_its_one_stable_one(name):
    points = AbstractState("HEOS", get(name).equation_of_state).all_critical_points()
    (point,) = [point for point in points if point.stable and point.p > 0]
    assert get(name).critical_pressure_pa == pytest.approx(point.p, rel=1e-5)
    assert get(name).critical_temperature_k == pytest.approx(point.T, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "suction_kpa", "suction_dk", "liquid_kpa", "liquid_dk"),
    [  # computed with CoolProp 8.0.0 at 70 and 250 psig
        ("R-407C", 583.96, 6.1, 1825.0, 4.8),
        ("R-448A", 583.96, 6.0, 1825.0, 5.0),
        ("R-455A", 583.96, 12.7, 1825.0, 10.6),
        ("R-454B", 583.96, 1.43, 1825.0, 1.51),
        ("R-404A", 583.96, 0.52, 1825.0, 0.33),
        ("R-410A", 583.96, 0.10, 1825.0, 0.12),
        ("R-22", 583.96, 0.0, 1825.0, 0.0),
    ],
)
def test_glide(name, suction_kpa, suction_dk, liquid_kpa, liquid_dk):
    assert get(name).glide_dk(suction_kpa * 1e3) == pytest.approx(suction_dk, abs=0.06)
    assert get(name).glide_dk(liquid_kpa * 1e3) == pytest.approx(liquid_dk, abs=0.06)


def test_zeotropes_alone_must_be_charged_as_liquid():
    must = {name for name in names() if get(name).charge_as_liquid}
    assert {"R-410A", "R-407C", "R-454B", "R-448A"} <= must
    assert must.isdisjoint({"R-22", "R-32", "R-134a", "R-507A", "R-513A", "R-744"})


def test_flammable_refrigerants_and_only_they_have_a_limit_with_its_basis():
    for name in names():
        refrigerant = get(name)
        assert bool(refrigerant.lower_flammable_limits) == (refrigerant.safety_class != "A1")
        assert all(limit.basis for limit in refrigerant.lower_flammable_limits)
    limits = {limit.basis: limit.limit_kg_per_m3 for limit in get("R-454B").lower_flammable_limits}
    assert limits["ANSI/ASHRAE 34"] == pytest.approx(0.353, abs=1e-3)


@pytest.mark.parametrize(
    ("name", "ar4", "ar5", "ar6"),
    [  # IPCC assessment reports; blends by mass fraction of ANSI/ASHRAE 34, computed apart from this project
        ("R-22", 1810, 1760, 1960),
        ("R-32", 675, 677, 771),
        ("R-134a", 1430, 1300, 1530),
        ("R-1234yf", 4, 1, 0.5),
        ("R-290", 3, 3, 0),
        ("R-744", 1, 1, 1),
        ("R-404A", 3921.6, 3942.8, 4728.0),
        ("R-407A", 2107.0, 1923.4, 2262.2),
        ("R-407C", 1773.8, 1624.2, 1907.9),
        ("R-407F", 1824.5, 1674.1, 1965.3),
        ("R-410A", 2087.5, 1923.5, 2255.5),
        ("R-422D", 2729.1, 2473.3, 2916.7),
        ("R-448A", 1387.0, 1273.5, 1494.4),
        ("R-449A", 1397.0, 1281.9, 1504.5),
        ("R-452B", 698.3, 675.8, 778.5),
        ("R-454A", 238.8, 237.6, 270.2),
        ("R-454B", 466.3, 466.8, 531.4),
        ("R-454C", 148.3, 146.3, 166.2),
        ("R-455A", 148.2, 146.3, 166.2),
        ("R-507A", 3985.0, 3985.0, 4775.0),
        ("R-513A", 631.4, 572.6, 673.5),
    ],
)
def test_global_warming_potential_of_each_report(name, ar4, ar5, ar6):
    for report, printed in (("AR4", ar4), ("AR5", ar5), ("AR6", ar6)):
        assert get(name).global_warming_potential(report) == pytest.approx(printed, abs=0.06)


def test_every_refrigerant_has_a_warming_potential():
    assert all(get(name).global_warming_potential("AR6") >= 0 for name in names())


def test_of_those_shipped_only_hcfc_22_depletes_ozone():
    """40 CFR 82, subpart A, appendix B."""
    assert [name for name in names() if get(name).is_ozone_depleting] == ["R-22"]


def test_model_uncertainty_says_where_it_comes_from():
    assert get("R-410A").model_standard_uncertainty_k == 0.16
    assert "Lemmon" in get("R-410A").model_basis
    assert all(get(name).model_standard_uncertainty_k > 0 and get(name).model_basis for name in names())


def test_unknown_refrigerant():
    with pytest.raises(UnknownNameError, match="unknown refrigerant 'R-466A'"):
        get("R-466A")


@pytest.mark.parametrize(
    ("refrigerant", "flammable"),
    [("R-22", False), ("R-410A", False), ("R-744", False), ("R-32", True), ("R-454B", True), ("R-290", True)],
)
def test_what_is_of_class_1_does_not_burn(refrigerant, flammable):
    """ANSI/ASHRAE 34: class 1 is no flame propagation; R-32 and R-454B are A2L, propane A3."""
    assert get(refrigerant).is_flammable is flammable


def test_which_models_err_in_pressure():
    """Lemmon 2003 states those of HFC mixtures in pressure; those of HFO blends are stated in kelvin."""
    assert [get(name).model_errs_in_pressure for name in ("R-32", "R-410A", "R-454B")] == [True, True, False]
