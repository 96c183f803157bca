"""Like conditions: 5 °F outdoors and 3 °F of the air that comes back; common practice, no source."""

import pytest

from calc.judge.alike import apart
from calc.units import parse

BEFORE = {"outdoor": parse("85 degF", "temperature"), "return_air": parse("75 degF", "temperature")}


@pytest.mark.parametrize(
    ("outdoor", "return_air", "differs"),
    [
        ("85 degF", "75 degF", []),
        ("89.9 degF", "72.1 degF", []),
        ("80.1 degF", "77.9 degF", []),
        ("90.1 degF", "75 degF", ["outdoor"]),
        ("79.9 degF", "75 degF", ["outdoor"]),
        ("85 degF", "71.9 degF", ["return_air"]),
        ("91 degF", "78.1 degF", ["outdoor", "return_air"]),
    ],
)
def test_what_is_further_apart_than_that_differs(outdoor: str, return_air: str, differs: list[str]) -> None:
    after = {"outdoor": parse(outdoor, "temperature"), "return_air": parse(return_air, "temperature")}
    assert apart(BEFORE, after) == differs
    assert apart(after, BEFORE) == differs


def test_without_a_reading_of_either_nothing_is_told() -> None:
    for name in BEFORE:
        one = {name: BEFORE[name]}
        assert apart(one, BEFORE) is None
        assert apart(BEFORE, one | {"wet_bulb": 290.0}) is None
