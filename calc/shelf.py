"""What is known of refrigerants: what is shipped, and what a program has put beside it as it started."""

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from calc.errors import CalcError

Table = Literal["saturation", "liquid_density", "caloric", "refrigerants", "components", "sources"]
"""By the designation of a refrigerant or, the last two, of a component and the short name of a source."""

_OF_FACTS = ("refrigerants", "components", "sources")


class AlreadyKnownError(CalcError):
    """A refrigerant of this name is there already, with other facts."""


def known(table: Table) -> dict[str, Any]:
    """Give a table: what is shipped, and what was put beside it."""
    return _facts()[table] if table in _OF_FACTS else _curves(table)


def put_beside(added: Mapping[Table, Mapping[str, Any]]) -> None:
    """Put refrigerants beside those shipped, for as long as this program runs; the same twice is once.

    added: entries of tables, as they are shipped. What is there already is never changed by it.

    Raises:
        AlreadyKnownError: an entry of that name is there, and is another. Then nothing was added.

    """
    for table, entries in added.items():
        for name, entry in entries.items():
            if known(table).get(name, entry) != entry:
                raise AlreadyKnownError(f"{name} is known already, with other {table}")
    for table, entries in added.items():
        known(table).update(entries)


@cache
def _curves(table: str) -> dict[str, Any]:
    curves: dict[str, Any] = json.loads(files("calc.data").joinpath(f"{table}.json").read_text("utf-8"))
    return curves


@cache
def _facts() -> dict[str, Any]:
    facts: dict[str, Any] = json.loads(files("calc.data").joinpath("refrigerants.json").read_text("utf-8"))
    return facts
