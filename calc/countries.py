"""Countries by their codes (ISO 3166-1 alpha-2), and in which of them which law on leaks of refrigerant holds.

Source of codes and names: iso3166.tab of the IANA time zone database, which is in the public domain; of the countries
of a zone its zone1970.tab, else zone.tab, of an older name those of the zone that it is linked to.
"""

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

_MEMBERS = "AT BE BG HR CY CZ DK EE FI FR DE GR HU IE IT LV LT LU MT NL PL PT RO SK SI ES SE"
"""Treaty on European Union, Article 52, as of 2020; from memory."""
_UNION_TOO = "AX GF GP MF MQ RE YT"
"""Parts of members with a code of their own: Treaty on the Functioning of the Union, Article 355; from memory."""
_IN_UNION = frozenset(f"{_MEMBERS} {_UNION_TOO}".split())
_IN_STATES = frozenset(["US", "AS", "GU", "MP", "PR", "VI"])
"""The Clean Air Act counts these among its States: 42 USC 7602(d); from memory."""


@cache
def countries() -> Mapping[str, str]:
    """Give the name of every country by its code.

    >>> countries()["FI"]
    'Finland'
    """
    found: dict[str, str] = json.loads(files("calc.data").joinpath("countries.json").read_text("utf-8"))
    return found


@cache
def zones() -> Mapping[str, tuple[str, ...]]:
    """Give the codes of the countries whose clocks a time zone tells, by its name; a zone of no country has none.

    >>> zones()["Europe/Zurich"], "UTC" in zones()
    (('CH', 'DE', 'LI'), False)
    """
    found: dict[str, str] = json.loads(files("calc.data").joinpath("zones.json").read_text("utf-8"))
    return {zone: tuple(codes.split()) for zone, codes in found.items()}


def is_in_union(code: str) -> bool:
    """Tell whether Regulation (EU) 2024/573 holds in a country.

    >>> is_in_union("FI"), is_in_union("CH")
    (True, False)
    """
    return code in _IN_UNION


def is_in_states(code: str) -> bool:
    """Tell whether 40 CFR holds in a country.

    >>> is_in_states("PR"), is_in_states("CA")
    (True, False)
    """
    return code in _IN_STATES
