"""Figures in words: conversions from print, no finer than known, and no nought with a sign."""

import pytest

from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.wording import (
    as_fine_as_known,
    difference,
    limit,
    limits,
    mass,
    mass_between,
    mass_to_move,
    measured,
    percent,
)

ATMOSPHERE_PA = 101_325.0


@pytest.mark.parametrize(
    ("value", "quantity", "us", "si"),
    [
        # NIST SP 811, B.8: 1 psi = 6.894 757 kPa; 1 °F of difference = 1/1.8 K; 0 °C = 32 °F
        (
            Estimate(ATMOSPHERE_PA + 118 * 6894.757, 6894.757 / 2),
            Quantity.PRESSURE,
            "118 ± 1 psig",
            "814 ± 7 kPa gauge",
        ),
        (Estimate(273.15, 0.5), Quantity.TEMPERATURE, "32.0 ± 1.8 °F", "0.0 ± 1.0 °C"),
        (Estimate(-5.0, 0.25), Quantity.TEMPERATURE_DIFFERENCE, "−9.0 ± 0.9 °F", "−5.0 ± 0.5 K"),
        (Estimate(-0.01, 0.25), Quantity.TEMPERATURE_DIFFERENCE, "0.0 ± 0.9 °F", "0.0 ± 0.5 K"),
        (Estimate(0.92, 0.0), Quantity.RATIO, "0.92", "0.92"),
        (Estimate(0.17009714, 0.0141747615), Quantity.MASS, "6 oz ± 1 oz", "170 g ± 28 g"),
        # a scale accurate to 0.5 oz: NIST SP 811, B.8: 1 oz = 28.349 52 g, and 16 of them are 1 lb
        (Estimate(13.94343, 0.00708738), Quantity.MASS, "30 lb 11.8 oz ± 0.5 oz", "13.94 kg ± 0.01 kg"),
    ],
)
def test_a_measured_value(value: Estimate, quantity: Quantity, us: str, si: str) -> None:
    assert measured(value, quantity, "us", ATMOSPHERE_PA) == us
    assert measured(value, quantity, "si", ATMOSPHERE_PA) == si


@pytest.mark.parametrize(
    ("value", "quantity", "us"),
    [
        (25.0, Quantity.TEMPERATURE_DIFFERENCE, "45 °F"),
        (-0.001, Quantity.TEMPERATURE_DIFFERENCE, "0 °F"),
        (-1.0, Quantity.TEMPERATURE_DIFFERENCE, "−1.8 °F"),
        (1.0, Quantity.RATIO, "1"),
        (9.5, Quantity.MASS, "20 lb 15 oz"),
    ],
)
def test_a_limit(value: float, quantity: Quantity, us: str) -> None:
    assert limit(value, quantity, "us", ATMOSPHERE_PA) == us


@pytest.mark.parametrize(
    ("value", "expanded", "kind", "us", "si"),
    [
        (5.02e-6, 0.18e-6, "capacitance", "5.02 ± 0.18 µF", "5.02 ± 0.18 µF"),
        (0.03131, 0.0021, "voltage", "0.0313 ± 0.0021 V", "0.0313 ± 0.0021 V"),
        (238.0, 7.1, "voltage", "238.0 ± 7.1 V", "238.0 ± 7.1 V"),
        (238.0, 71.0, "voltage", "238 ± 71 V", "238 ± 71 V"),
        (-0.5, 0.5, "voltage", "−0.5 ± 0.5 V", "−0.5 ± 0.5 V"),
        (2.0, 0.2, "", "2.0 ± 0.2", "2.0 ± 0.2"),
        (50e6, None, "resistance", "50 MΩ", "50 MΩ"),
        (0.3, 0.0, "ratio", "0.3", "0.3"),
        (101_325.0 + 689_475.7, 6_894.757, "pressure", "100 ± 1 psig", "689.5 ± 6.9 kPa gauge"),
        (285.92777, 0.5, "temperature", "55.0 ± 0.9 °F", "12.8 ± 0.5 °C"),
        (285.92777, None, "temperature", "55 °F", "12.78 °C"),
    ],
)
def test_a_value_of_any_kind_is_as_fine_as_it_is_known(
    value: float, expanded: float | None, kind: str, us: str, si: str
) -> None:
    """To the second figure of its ±, as JCGM 100, 7.2.6 asks for, and no trailing zero of it."""
    assert as_fine_as_known(value, expanded, kind, "us", 101_325.0) == us
    assert as_fine_as_known(value, expanded, kind, "si", 101_325.0) == si


def test_differences_masses_and_chances() -> None:
    assert difference(5.0, "us") == "9 °F"
    assert limits(5.0, 0.5, "us") == "9.0 ± 0.9 °F"
    assert mass(-0.17009714, "us") == "6 oz"
    assert [percent(chance) for chance in (0.0, 0.5, 1.0)] == ["under 5 %", "50 %", "over 95 %"]


@pytest.mark.parametrize(
    ("ounces", "us", "weighed"),
    [  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg, 1 lb = 4.535 924 E-01 kg, which is 16 of them
        (0.0, "0 oz", "0 oz"),
        (0.04, "0 oz", "0 oz"),
        (6.4, "6.4 oz", "6.4 oz"),
        (15.94, "15.9 oz", "15.9 oz"),
        (15.96, "1 lb", "1 lb"),
        (16.0, "1 lb", "1 lb"),
        (16.4, "1 lb", "1 lb 0.4 oz"),
        (20.0, "1 lb 4 oz", "1 lb 4 oz"),
        (116.0, "7 lb 4 oz", "7 lb 4 oz"),
        (119.93, "7 lb 8 oz", "7 lb 7.9 oz"),  # a nameplate of 3.4 kg
        (127.4, "7 lb 15 oz", "7 lb 15.4 oz"),
        (127.6, "8 lb", "7 lb 15.6 oz"),
        (127.97, "8 lb", "8 lb"),
        (500.0, "31 lb 4 oz", "31 lb 4 oz"),
    ],
)
def test_a_mass_is_written_in_pounds_and_ounces(ounces: float, us: str, weighed: str) -> None:
    """Whole ounces from a pound on, as on a nameplate: common practice, no source."""
    assert mass(ounces * 0.02834952, "us") == us
    assert mass(-ounces * 0.02834952, "us") == us
    assert mass(ounces * 0.02834952, "us", weighed=True) == weighed


def test_a_mass_to_move_stands_still_while_the_figures_behind_it_flicker() -> None:
    flickering_kg = [0.111, 0.1134, 0.116, 0.119]  # 3.9 to 4.2 oz; NIST SP 811, B.8: 1 oz = 2.834 952 E-02 kg
    assert {mass_to_move(mass_kg, "us") for mass_kg in flickering_kg} == {"4 oz"}
    assert {mass_to_move(mass_kg, "si") for mass_kg in (0.1155, 0.119, 0.1245)} == {"120 g"}
    assert mass_to_move(-1e-4, "us") == "0.5 oz"
    assert [mass_to_move(mass_kg, "us") for mass_kg in (0.7, 1.4, 3.2885)] == ["1 lb 9 oz", "3 lb 2 oz", "7 lb 4 oz"]


@pytest.mark.parametrize(
    ("least_kg", "most_kg", "us", "si"),
    [
        (0.1644, 0.8664, "6 oz to 1 lb 15 oz", "160 to 870 g"),  # 5.8 oz and 1.91 lb
        (0.0, 0.0567, "0 to 2 oz", "0 to 55 g"),
        (-0.5, -1.36077711, "1 lb 2 oz to 3 lb", "0.50 to 1.36 kg"),  # 3 lb
    ],
)
def test_both_ends_of_a_range_of_masses_are_as_fine_as_the_larger(
    least_kg: float, most_kg: float, us: str, si: str
) -> None:
    assert mass_between(least_kg, most_kg, "us") == us
    assert mass_between(least_kg, most_kg, "si") == si
