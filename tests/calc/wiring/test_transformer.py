"""The control transformer: worked examples in print, the table of the code, and the definition of regulation."""

import json
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError
from calc.wiring import control_transformer, transformer_volts
from tests.fuzzing import fuzz


def volts(load_va, rating_va=40.0, regulation=0.1, supply=1.0, u=(0.0, 0.0), secondary_v=24.0, primary_v=240.0):
    return transformer_volts(
        load_va,
        rating_va,
        secondary_v=secondary_v,
        regulation_ratio=regulation,
        supply_v=supply * primary_v,
        primary_v=primary_v,
        regulation_standard_uncertainty_ratio=u[0],
        supply_standard_uncertainty_v=u[1] * primary_v,
    )


@pytest.mark.parametrize(("rating_va", "amps"), [(40, 1.67), (75, 3.12)])
def test_secondary_amps_in_print(rating_va, amps):
    """Two articles of the trade: 40 VA at 24 V are 1.67 A, 75 VA 3.12 A."""
    assert control_transformer(rating_va, 24.0, primary_v=120.0).secondary_a == pytest.approx(amps, abs=6e-3)


@pytest.mark.parametrize(
    ("rating_va", "primary_v", "secondary_v", "primary_a", "alone_a", "beside_a", "fuse_a"),
    [
        (40, 240, 24, 1 / 6, 0.5, 0.41667, 2.78333),  # below 2 A: 300 %; below 9 A: 167 %
        (
            239.9,
            120,
            24,
            1.99917,
            5.9975,
            4.99792,
            12.5,
        ),  # just below 2 A; the secondary of 9.996 A: 125 % is 12.5 A, up
        (240, 120, 24, 2.0, 3.34, 5.0, 15.0),  # from 2 A on: 167 %; 10 A at 125 % is 12.5 A, next up 15 A
        (1079, 120, 120, 8.99167, 15.0161, 22.4792, 15.0161),  # just below 9 A
        (1080, 120, 120, 9.0, 15.0, 22.5, 15.0),  # from 9 A on: 125 % is 11.25 A, next up 15 A
        (2880, 120, 240, 24.0, 30.0, 60.0, 15.0),  # 125 % is 30 A, a standard rating itself
    ],
)
def test_fuses_by_the_table(rating_va, primary_v, secondary_v, primary_a, alone_a, beside_a, fuse_a):
    """NEC table 450.3(B), in two public transcriptions: 125, 167 and 300 %, and 250 % beside a secondary fuse."""
    found = control_transformer(rating_va, secondary_v, primary_v=primary_v)
    assert found.primary_a == pytest.approx(primary_a, abs=1e-4)
    assert found.primary_alone_a == pytest.approx(alone_a, abs=1e-4)
    assert found.primary_a_with_secondary == pytest.approx(beside_a, abs=1e-4)
    assert found.secondary_fuse_a == pytest.approx(15.0 if fuse_a == 12.5 else fuse_a, abs=1e-4)


@pytest.mark.parametrize(
    ("load_va", "supply", "secondary_v"), [(0, 1, 26.4), (20, 1, 25.2), (40, 1, 24), (60, 1, 22.8), (40, 0.9, 21.6)]
)
def test_volts_by_the_definition_of_regulation(load_va, supply, secondary_v):
    """(volts without load - volts at full load) / volts at full load; a straight line between; the supply's share."""
    assert volts(load_va, supply=supply).value == pytest.approx(secondary_v)


def test_both_doubts_count_as_in_forty_thousand_trials():
    """JCGM 101, within 3 %."""
    draw = np.random.default_rng(2).normal
    regulation, supply = draw(0.1, 0.02, 40_000), draw(0.95, 0.01, 40_000)
    spread = (supply * 24 * (1 + regulation * 0.75)).std()
    assert volts(10, supply=0.95, u=(0.02, 0.01)).standard_uncertainty == pytest.approx(spread, rel=0.03)


@pytest.mark.parametrize(
    ("rating_va", "secondary_v", "primary_v", "name"),
    [(0.9, 24, 120, "rating_va"), (5001, 24, 120, "rating_va"), (40, 4.9, 120, "secondary_v"),
     (40, 1001, 120, "secondary_v"), (40, 24, 4.9, "primary_v"), (40, 24, 1001, "primary_v")],
)  # fmt: skip
def test_limits(rating_va, secondary_v, primary_v, name):
    with pytest.raises(CalcRangeError, match=name):
        control_transformer(rating_va, secondary_v, primary_v=primary_v)
    control_transformer(1.0, 1000.0, primary_v=1000.0)
    control_transformer(5000.0, 5.0, primary_v=5.0)


@pytest.mark.parametrize(
    ("given_values", "name"),
    [({"load_va": -1}, "load_va"), ({"load_va": 60.1}, "load_va"), ({"load_va": 1, "rating_va": 0.9}, "rating_va"),
     ({"load_va": 1, "rating_va": 5001}, "rating_va"), ({"load_va": 1, "secondary_v": 4.9}, "secondary_v"),
     ({"load_va": 1, "secondary_v": 1001}, "secondary_v"), ({"load_va": 1, "primary_v": 4.9}, "primary_v"),
     ({"load_va": 1, "primary_v": 1001}, "primary_v"), ({"load_va": 1, "regulation": -0.01}, "regulation_ratio"),
     ({"load_va": 1, "regulation": 0.51}, "regulation_ratio"), ({"load_va": 1, "supply": 0.49}, "supply_v"),
     ({"load_va": 1, "supply": 1.51}, "supply_v")],
)  # fmt: skip
def test_limits_of_volts(given_values, name):
    with pytest.raises(CalcRangeError, match=name):
        volts(**given_values)
    for edges in ((1.0, 0.0, 0.5, 5.0), (5000.0, 0.5, 1.5, 1000.0)):
        volts(0.0, edges[0], edges[1], edges[2], secondary_v=edges[3], primary_v=edges[3])


def test_by_name_a_coil_is_held_against_what_it_takes():
    """85 to 110 % of its rating: from memory."""
    given_values = {"load": "40 VA", "rating": "40 VA", "supply": "216 V", "primary_voltage": "240 V"}
    found = json.loads(catalogue.run("transformer_volts", given_values).as_json())
    assert found["secondary_v"] == pytest.approx(21.6)
    assert found["expanded_v"] == pytest.approx(24 * 5 / 240)
    assert (found["coil_least_v"], found["coil_greatest_v"]) == (pytest.approx(20.4), pytest.approx(26.4))
    assert (found["within_what_a_coil_takes"], found["overloaded"], found["load_a"]) == ("met", False, 40 / 24)
    low = catalogue.run("transformer_volts", given_values | {"supply": "190 V", "load": "50 VA"}).values
    assert (low["within_what_a_coil_takes"], low["overloaded"]) == ("not met", True)
    fuses = catalogue.run("control_transformer", {"rating": "40 VA", "primary_voltage": "240 V"}).values
    assert fuses["greatest_primary_fuse_alone_a"] == pytest.approx(0.5)
    assert fuses["greatest_primary_fuse_beside_a_secondary_one_a"] == pytest.approx(0.41667, abs=1e-5)
    assert fuses["greatest_secondary_fuse_a"] == pytest.approx(2.7833, abs=1e-4)
    assert "never fit a greater one" in fuses["caution"]


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        assert np.isfinite(control_transformer(*numbers[:2], primary_v=numbers[2]).secondary_fuse_a)
    with suppress(CalcError):
        assert np.isfinite(volts(*numbers[:4], numbers[4:]).value)
