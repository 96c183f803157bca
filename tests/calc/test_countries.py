"""Countries by their codes, against the table of the time zone database as the tzdata package ships it."""

from importlib.resources import files

import pytest

from calc.countries import countries, is_in_states, is_in_union, zones


def test_codes_and_names_are_those_of_the_time_zone_database() -> None:
    lines = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text("utf-8").splitlines()
    assert dict(countries()) == dict(line.split("\t") for line in lines if not line.startswith("#"))


def lines_of(name: str) -> list[str]:
    lines = files("tzdata").joinpath("zoneinfo", name).read_text("utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def test_the_countries_of_a_zone_are_those_of_the_time_zone_database() -> None:
    tables = {
        name: {line.split("\t")[2]: tuple(line.split("\t")[0].split(",")) for line in lines_of(name)}
        for name in ("zone.tab", "zone1970.tab")
    }
    known = tables["zone.tab"] | tables["zone1970.tab"]
    links = {line.split()[2]: line.split()[1] for line in lines_of("tzdata.zi") if line.startswith("L ")}
    older = {name: known[target] for name, target in links.items() if target in known}
    assert dict(zones()) == older | known
    assert {code for codes in zones().values() for code in codes} <= countries().keys()


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
