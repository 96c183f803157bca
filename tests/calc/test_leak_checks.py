"""How often the European Union has a circuit checked for leaks, against tables in print."""

import pytest

from calc.leak_checks import check_interval_months, co2_equivalent_t

POTENTIALS = {"R-134a": 1430.0, "R-404A": 3922.0, "R-407C": 1774.0, "R-410A": 2088.0}
"""As a service company prints them beside its table, to the next whole number."""

PRINTED_KG = [
    ("R-134a", 3.5, 34.96, 349.65),
    ("R-404A", 1.27, 12.75, 127.49),
    ("R-407C", 2.82, 28.18, 281.85),
    ("R-410A", 2.39, 23.95, 239.46),
]
"""Kilograms at 5, 50 and 500 t in the same table, of Regulation (EU) 517/2014; (EU) 2024/573 has the same limits. The
guidance of gov.uk has 3.5, 1.3 and 2.4 kg for 5 t of R-134a, R-404A and R-410A."""


@pytest.mark.parametrize("printed", PRINTED_KG, ids=lambda row: row[0])
def test_the_kilograms_at_each_limit_are_those_in_print(printed: tuple[str, float, float, float]) -> None:
    refrigerant, *kilograms = printed
    for tonnes, mass_kg in zip((5.0, 50.0, 500.0), kilograms, strict=True):
        last_digit_t = 0.005 * POTENTIALS[refrigerant] / 1000
        whole_number = 1 + 0.5 / POTENTIALS[refrigerant]
        assert co2_equivalent_t(refrigerant, mass_kg) == pytest.approx(
            tonnes, abs=last_digit_t + tonnes * (whole_number - 1)
        )


@pytest.mark.parametrize(
    ("tonnes", "months"),
    [(4.999, None), (5.0, 12), (49.999, 12), (50.0, 6), (499.99, 6), (500.0, 3), (5000.0, 3)],
)
def test_a_limit_is_reached_by_what_is_exactly_at_it(tonnes: float, months: int | None) -> None:
    """From 5 t at least every 12 months, from 50 t every 6, from 500 t every 3: the same table, and gov.uk."""
    charge_kg = tonnes * 1000 / 675  # R-32 alone, by the IPCC's fourth report
    assert check_interval_months("R-32", charge_kg) == months
    twice = None if months is None else 2 * months  # 24, 12 and 6 months with a detection system, in the same table
    assert check_interval_months("R-32", charge_kg, has_leak_detection=True) == twice


def test_a_sealed_unit_is_checked_from_ten_tonnes() -> None:
    """A worked example in print: 1.4 kg of R-404A is 5.5 t; sealed and labelled so, only 10 t bring the duty."""
    assert check_interval_months("R-404A", 1.4) == 12
    assert check_interval_months("R-404A", 1.4, is_sealed=True) is None
    assert check_interval_months("R-404A", 10_000 / 3921.6, is_sealed=True) == 12
    assert check_interval_months("R-404A", 9_999 / 3921.6, is_sealed=True) is None


def test_what_warms_little_is_counted_by_its_kilograms_where_annex_ii_names_it() -> None:
    """1, 10 and 100 kg, and 2 kg where sealed: from memory."""
    found = [check_interval_months("R-1234yf", mass_kg) for mass_kg in (0.99, 1.0, 9.99, 10.0, 99.9, 100.0)]
    assert found == [None, 12, 12, 6, 6, 3]
    assert [check_interval_months("R-1234yf", mass_kg, is_sealed=True) for mass_kg in (1.99, 2.0)] == [None, 12]
    assert check_interval_months("R-290", 3.0) is None
