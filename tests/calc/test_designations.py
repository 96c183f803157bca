"""How refrigerants are written, and which are ones of their own: against the list of CoolProp."""

import json
from importlib.resources import files
from pathlib import Path

import pytest

from calc.data import build_other_refrigerants
from calc.designations import designation_among, letters
from calc.errors import UnknownNameError
from calc.saturation import names

SHIPPED = json.loads(files("calc.data").joinpath("other_refrigerants.json").read_text("utf-8"))


def told(written: str) -> str:
    with pytest.raises(UnknownNameError) as caught:
        designation_among(names(), written)
    return caught.value.briefly()


@pytest.mark.parametrize("written", ["R-41A0", "R-4110A", "R-410", "R-410C"])
def test_a_slip_of_one_letter_is_told_what_may_be_meant(written: str) -> None:
    """Two exchanged, one too many, the last ones missing, and a series without it."""
    assert told(written) == f"unknown refrigerant '{written}': did you mean R-410A?"


@pytest.mark.parametrize(("written", "may_be"), [
    ("R-41OA", "R-410A or R-417A"),  # one for another
    ("R-41A", "R-410A or R-417A or R-421A"),  # one too few
    ("R-1234ze", "R-1234ze(E)"),  # the form is missing
])  # fmt: skip
def test_of_several_that_may_be_meant_all_are_told(written: str, may_be: str) -> None:
    assert told(written) == f"unknown refrigerant '{written}': did you mean {may_be}?"


@pytest.mark.parametrize("written", ["R-401A", "r401a", "401 A", "R-410B", "R-143a", "HFC-23", "R-12", "R-1233zd"])
def test_what_is_a_refrigerant_of_its_own_is_no_slip(written: str) -> None:
    assert told(written) == f"unknown refrigerant '{written}', a refrigerant of its own"


def test_all_that_would_do_is_named() -> None:
    with pytest.raises(UnknownNameError, match=r"a refrigerant of its own: known are R-32, R-410A$"):
        designation_among(["R-32", "R-410A"], "R-401A")


@pytest.mark.parametrize(("written", "designated"), [
    ("410A", "R-410A"), ("r410a", "R-410A"), ("R410A", "R-410A"), ("R 410 A", "R-410A"), ("22", "R-22"),
    ("HFC-134a", "R-134a"), ("HCFC-22", "R-22"), ("HFO-1234yf", "R-1234yf"), ("1234yf", "R-1234yf"), ("454b", "R-454B"),
    ("propane", "R-290"), ("CO2", "R-744"), ("R-744", "R-744"), ("carbon dioxide", "R-744"), ("HC-290", "R-290"),
])  # fmt: skip
def test_refrigerants_go_by_what_the_trade_calls_them(written: str, designated: str) -> None:
    """Designations of ANSI/ASHRAE 34, with the prefixes that it allows for composition."""
    assert designation_among(names(), written) == designated


@pytest.mark.parametrize("written", ["R-23X", "", "R", "410", "A410", "10A", "R-999"])
def test_what_is_no_refrigerant(written: str) -> None:
    assert "of its own" not in told(written)


def test_the_others_are_those_that_coolprop_has_beside_ours(tmp_path: Path) -> None:
    build_other_refrigerants.main(tmp_path / "others.json")
    assert json.loads((tmp_path / "others.json").read_text("utf-8"))["names"] == SHIPPED["names"]
    assert not {letters(name) for name in SHIPPED["names"]} & {letters(name) for name in names()}
