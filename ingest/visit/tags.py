"""Tags: what is engraved on a unit. Most are what somebody chose; a new unit may get a code that betrays a mistake.

Such a code has five signs and a check character by ISO/IEC 7064, MOD 37,36, which betrays every single sign that is
wrong, in two groups: KX7-7PM. Only signs are issued that are not mistaken for each other when they are engraved, read
upside down or faded (common practice, no source), and no vowels, so that no code is a word.
"""

import re
from collections.abc import Callable, Collection
from functools import lru_cache
from typing import Literal

from stdnum.iso7064 import mod_37_36

from ingest.wire.texts import as_seen

ALPHABET = "379CHKMPTWXY"
"""What codes are made of. Left out is each sign that looks like another: 0DOQ, 1IJL, 2Z, 4A, 5S, 68BG, EF, N, R, UV."""

_LENGTH = 6
_GROUP = 3
_READ_AS = str.maketrans("OQDILZSGBV", "000112568U")
"""One sign for those that look most alike, to compare what was typed with what is engraved."""
_FURTHEST = 2
"""How many mistakes a tag may have to be taken for another one."""

_NEW = re.compile(r"[^\W_]+(?:-+[^\W_]+)*")

Kind = Literal["issued", "mistyped", "foreign"]


def issue(taken: Collection[str], choose: Callable[[str], str]) -> str:
    """Make up a code that nobody has yet. taken: the tags that there are. choose: one of some signs, at random.

    A code whose check character is none of the alphabet is thrown away, and another tried.
    """
    used = {_bare(tag) for tag in taken}
    while True:
        code = "".join(choose(ALPHABET) for _ in range(_LENGTH - 1))
        code += mod_37_36.calc_check_digit(code)
        if code[-1] in ALPHABET and code not in used:
            return f"{code[:_GROUP]}-{code[_GROUP:]}"


def kind_of(tag: str) -> Kind:
    """Tell whether a tag is a code of ours, one with a mistake in it, or of another form, which is as good.

    Of our form is what has six signs, at most one of which we would not issue.

    >>> kind_of("KX7-7PM"), kind_of("KX7-9PM"), kind_of("RTU-104")
    ('issued', 'mistyped', 'foreign')
    """
    code = _bare(tag)
    strangers = [sign for sign in code if sign not in ALPHABET]
    if len(code) != _LENGTH or len(strangers) > 1 or not code.isascii() or not code.isalnum():
        return "foreign"
    return "issued" if not strangers and mod_37_36.is_valid(code) else "mistyped"


def fault(tag: str) -> str:
    """Say what is wrong with the tag of a new unit; empty where nothing is. Those that a register has stay as they are.

    A tag stands in addresses, in topics and in tables, where other signs mean something else.

    >>> fault("RTU-104"), fault("a/#+") == fault("=cmd|x") == fault("-1") != ""
    ('', True)
    """
    if _NEW.fullmatch(tag):
        return ""
    return "letters and digits were expected, with dashes between them: write a dash for any other sign"


def nearest(tag: str, known: Collection[str]) -> str:
    """Give the known tag that was most likely meant; empty where none is near, or several are equally near.

    >>> nearest("RTU-1O4", ["RTU-104", "RTU-204"]), nearest("AHU 9", ["RTU-104"])
    ('RTU-104', '')
    """
    typed = _as_read(tag)
    distances = sorted((distance(typed, _as_read(other)), other) for other in known)
    if not distances or distances[0][0] > min(_FURTHEST, len(typed) // 3):
        return ""
    is_alone = len(distances) == 1 or distances[0][0] < distances[1][0]
    return distances[0][1] if is_alone else ""


def looks_like(tag: str, other: str) -> bool:
    """Say whether two tags that differ would be read as one on a faded plate.

    >>> looks_like("RTU-1O4", "rtu 104"), looks_like("RTU-4", "RTU-9")
    (True, False)
    """
    return _as_read(tag) == _as_read(other)


def distance(one: str, other: str) -> int:
    """Count the mistakes between two texts: a sign wrong, missing, too many, or two beside each other exchanged.

    The optimal string alignment distance.

    >>> distance("kitten", "sitting"), distance("CA", "ABC"), distance("KX77PM", "K7X7PM")
    (3, 3, 1)
    """
    before: list[int] = []
    row = list(range(len(other) + 1))
    for index, sign in enumerate(one, start=1):
        last, before, row = before, row, [index]
        for place, its in enumerate(other, start=1):
            least = min(before[place] + 1, row[place - 1] + 1, before[place - 1] + (sign != its))
            if index > 1 < place and sign == other[place - 2] and one[index - 2] == its:
                least = min(least, last[place - 2] + 1)
            row.append(least)
    return row[-1]


@lru_cache(10_000)
def _as_read(tag: str) -> str:
    return _bare(tag).translate(_READ_AS)


@lru_cache(10_000)
def _bare(tag: str) -> str:
    return "".join(sign for sign in as_seen(tag).upper() if sign not in " -")
