"""How people write a refrigerant, and how ASHRAE 34 does."""

import json
import re
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from calc.errors import UnknownNameError

_SUBSTANCES = {"propane": "r290", "co2": "r744", "carbondioxide": "r744"}


def designation_among(known: Iterable[str], refrigerant: str) -> str:
    """Give that of the designations that is meant: by "r410a", "R 410A", "410A", "HFC-134a", "CO2".

    Raises:
        UnknownNameError: none of them is. What is a refrigerant of its own is taken for no slip of the pen.

    >>> designation_among(["R-32", "R-410A"], "r410a")
    'R-410A'

    """
    wanted = re.sub(r"^(?:hcfc|hfc|hfo|hc)?-?r?(?=\d)", "r", letters(refrigerant))
    wanted = _SUBSTANCES.get(wanted, wanted)
    among = tuple(known)
    for name in among:
        if letters(name) == wanted:
            return name
    if wanted in _others() and not any(letters(name.partition("(")[0]) == wanted for name in among):
        raise UnknownNameError("refrigerant", refrigerant, among, near=(), because="a refrigerant of its own")
    raise UnknownNameError("refrigerant", refrigerant, among, near=[it for it in among if _is_near(wanted, it)])


def letters(name: str) -> str:
    """Leave of a name what tells it from others.

    >>> letters("R-1234ze(E)")
    'r1234zee'
    """
    return "".join(letter for letter in name.casefold() if letter.isalnum())


@cache
def _others() -> frozenset[str]:
    """Read the refrigerants beside ours; where two are alike but for a form, such as (E), the name without it too."""
    shipped = json.loads(files("calc.data").joinpath("other_refrigerants.json").read_text("utf-8"))
    return frozenset(letters(form) for name in shipped["names"] for form in (name, name.partition("(")[0]))


def _is_near(wanted: str, name: str) -> bool:
    """Tell whether a name may be meant: of the same series, and one letter, two exchanged, or its last ones away.

    More would lead astray: nobody who has R-12 in the unit means R-22.
    """
    known = letters(name)
    lacks_its_letters = known.startswith(wanted) and known[len(wanted) :].isalpha()
    return known[:2] == wanted[:2] and (lacks_its_letters or _is_one_edit_apart(wanted, known))


def _is_one_edit_apart(one: str, other: str) -> bool:
    same = next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    rest, rest_of_other = one[same:], other[same:]
    exchanged = rest[1::-1] + rest[2:] == rest_of_other
    return exchanged or rest[1:] == rest_of_other[1:] or rest[1:] == rest_of_other or rest == rest_of_other[1:]
