"""Tags: codes that betray a mistake, told from what somebody else engraved."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from ingest.visit.tags import distance, issue, kind_of, looks_like, nearest

SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def check_character(text: str) -> str:
    """ISO/IEC 7064 hybrid system MOD 37,36, written here from the standard's recursion, from memory.

    P(1) = 36; S = P + a; P = 2 (S mod 36, and 36 for 0) mod 37; the check character makes P + a be 1 mod 36.
    """
    product = 36
    for sign in text:
        total = (product + SIGNS.index(sign)) % 36 or 36
        product = total * 2 % 37
    return SIGNS[(1 - product) % 36]


def test_the_check_character_is_that_of_the_standard() -> None:
    """GRid Standard 2.1 (IFPI), whose example A1-2425G-ABC1234002-M ends with one by ISO 7064, MOD 37,36."""
    assert mod_37_36.calc_check_digit("A12425GABC1234002") == check_character("A12425GABC1234002") == "M"
    assert mod_37_36.is_valid("A12425GABC1234002M")


@given(st.integers(0, 10**9).map(random.Random))
def test_a_code_is_ours_and_betrays_every_sign_that_is_wrong(chance: random.Random) -> None:
    """Every single substitution is found, which ISO/IEC 7064 promises of its systems."""
    code = issue([], chance.choice)
    assert (len(code), code[3]) == (7, "-")
    bare = code.replace("-", "")
    assert check_character(bare[:-1]) == bare[-1]
    assert kind_of(code) == kind_of(bare.lower()) == kind_of(f" {code} ") == "issued"
    for place in range(6):
        for sign in set(SIGNS) - {bare[place]}:
            assert kind_of(bare[:place] + sign + bare[place + 1 :]) == "mistyped"


@given(st.integers(0, 10**9).map(random.Random))
def test_no_sign_of_a_code_is_mistaken_for_another(chance: random.Random) -> None:
    """The pairs that look alike: common practice, no source. A vowel is missing, so that none is a word."""
    signs = set(issue([], chance.choice)) - {"-"}
    assert not signs & set("AEIOU")
    for alike in ("0ODQ", "1IJL", "2Z", "4A", "5S", "68BG9", "EF", "MN", "PR", "UVW"):
        assert len(signs & set(alike)) <= 1


def test_a_code_that_is_taken_or_whose_check_character_is_ambiguous_is_not_issued() -> None:
    assert [check_character(code) for code in ("33333", "KX77P", "KX779")] == ["0", "M", "H"]
    chosen = iter("33333" + "KX77P" + "KX779")

    def choose(_: str) -> str:
        return next(chosen)

    assert issue(["kx7-7pm", "RTU-4"], choose) == "KX7-79H"


def test_a_thousand_codes_are_a_thousand_different_ones() -> None:
    chance, codes = random.Random(7), list[str]()
    for _ in range(1000):
        codes.append(issue(codes, chance.choice))
    assert len(set(codes)) == 1000


@pytest.mark.parametrize("tag", ["RTU-104", "AHU-003", "RTU-K7Q-4", "4", "North 2", "CU 17/b", "КХ7-7РМ", "ﬁ77-7PM"])
def test_a_tag_of_another_form_is_as_good(tag: str) -> None:
    assert kind_of(tag) == "foreign"


@pytest.mark.parametrize(
    ("tag", "meant"),
    [
        ("RTU-1O4", "RTU-104"),
        ("rtu 104", "RTU-104"),
        ("KX7-9PM", "KX7-7PM"),
        ("XK7-7PM", "KX7-7PM"),
        ("RTU-10", ""),  # both RTU-104 and RTU-103 are one sign away
        ("AHU-9", ""),
        ("", ""),
    ],
)
def test_the_nearest_known_tag_is_suggested_where_it_is_alone(tag: str, meant: str) -> None:
    assert nearest(tag, ["RTU-104", "RTU-103", "KX7-7PM"]) == meant


def test_of_a_short_tag_another_short_one_is_not_meant() -> None:
    assert nearest("4", ["5"]) == nearest("A1", ["A2"]) == ""


def test_what_looks_alike_on_a_faded_plate() -> None:
    assert looks_like("RTU-1O4", "RTU-I04")
    assert not looks_like("RTU-104", "RTU-103")


@pytest.mark.parametrize(
    ("one", "other", "mistakes"),
    # Damerau 1964 and Levenshtein 1966 count such mistakes; the first is the usual example of the latter's distance,
    # the second the one by which the optimal string alignment distance is told from Damerau's, 2. From memory.
    [("kitten", "sitting", 3), ("CA", "ABC", 3), ("", "ab", 2), ("ab", "", 2), ("ab", "ba", 1), ("same", "same", 0)],
)
def test_mistakes_are_counted(one: str, other: str, mistakes: int) -> None:
    assert distance(one, other) == distance(other, one) == mistakes


def test_a_tag_with_a_letter_that_nobody_sees_looks_like_the_one_without() -> None:
    assert looks_like("RTU-9\u200b", "RTU-9")
