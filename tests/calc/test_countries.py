"""Countries by their codes, against the table of the time zone database as the tzdata package ships it."""

from importlib.resources import files

import pytest

from calc.countries import countries, is_in_states, is_in_union


def test_codes_and_names_are_those_of_the_time_zone_database() -> None:
    lines = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text("utf-8").splitlines()
    assert dict(countries()) == dict(line.split("\t") for line in lines if not line.startswith("#"))


def test_the_union_has_27_members_and_parts_of_them_that_have_codes() -> None:
    """27 since 1 February 2020, and the parts as the Treaty on the Functioning of the Union has them; from memory."""
    there = {code for code in countries() if is_in_union(code)}
    assert len(there) == 27 + 7
    assert {"RE", "AX"} < there


@pytest.mark.parametrize(
    ("code", "union", "states"),
    [
        ("DE", True, False),
        ("US", False, True),
        ("PR", False, True),
        ("CA", False, False),
        ("GB", False, False),
        ("", False, False),
    ],
)
def test_one_law_holds_in_a_country_or_neither(code: str, union: bool, states: bool) -> None:
    assert (is_in_union(code), is_in_states(code)) == (union, states)
