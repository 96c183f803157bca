"""Terminals against the torque table in print, and joints against Ohm's law."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.errors import ArgumentError, CalcError, UnknownNameError
from calc.wiring import Fit, Joint, Slot, terminal_fit, torque
from calc.wiring.terminal import joint as joint_of
from tests.edges import check_edges
from tests.fuzzing import fuzz

LBF_IN_N_M = 0.112984829


def joint(drop_v, current_a, drop_u_v=0.0, current_u_a=0.0) -> Joint:
    return joint_of(drop_v, current_a, drop_standard_uncertainty_v=drop_u_v, current_standard_uncertainty_a=current_u_a)


@pytest.mark.parametrize(("gauge", "narrow", "wide"), [
    ("18", 20, 35), ("14", 20, 35), ("10", 20, 35), ("8", 25, 40), ("6", 35, 45), ("4", 35, 45), ("3", 35, 50),
    ("2", 40, 50),
])  # fmt: skip
def test_torque_as_printed(gauge, narrow, wide):
    """NEC informative annex I, table I.1, slotted screws No. 10 and larger [lbf in]."""
    assert torque(gauge, Slot.NARROW).torque_n_m == pytest.approx(narrow * LBF_IN_N_M, rel=1e-6)
    assert torque(gauge, Slot.WIDE).torque_n_m == pytest.approx(wide * LBF_IN_N_M, rel=1e-6)
    assert "annex I" in torque(gauge, Slot.WIDE).source


def test_the_maker_wins():
    tight = torque("10", Slot.WIDE, maker_n_m=2.5)
    assert (tight.torque_n_m, tight.source) == (2.5, "the maker")


def test_gauges_beyond_the_table():
    with pytest.raises(UnknownNameError, match="wire gauge of the torque table"):
        torque("1/0", Slot.WIDE)


@pytest.mark.parametrize(("gauge", "conductors", "marked_for", "fit"), [
    ("14", 1, 1, Fit.FITS), ("10", 1, 1, Fit.FITS), ("4", 1, 1, Fit.FITS), ("16", 1, 1, Fit.TOO_THIN),
    ("3", 1, 1, Fit.TOO_THICK), ("1/0", 1, 1, Fit.TOO_THICK), ("10", 2, 1, Fit.TOO_MANY), ("10", 2, 2, Fit.FITS),
])  # fmt: skip
def test_a_terminal_for_14_to_4_awg(gauge, conductors, marked_for, fit):
    """By definition; one conductor unless marked for more: NEC 110.14(A)."""
    found = terminal_fit(gauge, thinnest="14", thickest="4", conductors=conductors, marked_for=marked_for)
    assert found is fit
    if conductors == marked_for == 1:
        assert terminal_fit(gauge, thinnest="14", thickest="4") is fit
    assert terminal_fit("10", thinnest="10", thickest="10") is Fit.FITS  # of one size alone
    assert terminal_fit("10", thinnest="14", thickest="4", conductors=2) is Fit.TOO_MANY


def test_a_range_the_wrong_way_round():
    with pytest.raises(ArgumentError, match="4 is thicker than 14"):
        terminal_fit("10", thinnest="4", thickest="14")


def test_a_joint_in_print():
    """An article on terminations: near 16 A, 0.7 V across a loose receptacle and 0.5 V across a splice."""
    receptacle, splice, sound = joint(0.7, 16.0), joint(0.5, 16.0), joint(0.03, 16.0)
    assert receptacle.resistance.value == pytest.approx(0.0438, abs=1e-4)
    assert receptacle.heat.value == pytest.approx(11.2)
    assert (receptacle.is_suspect, splice.is_suspect, sound.is_suspect) == (True, True, False)


def test_both_instruments_count_as_in_forty_thousand_trials():
    """JCGM 101: voltage and current drawn anew each time; the spread of quotient and product, within 3 %."""
    draw = np.random.default_rng(3).normal
    drops_v, currents_a = draw(0.06, 0.002, 40_000), draw(16.0, 0.4, 40_000)
    found = joint(0.06, 16.0, 0.002, 0.4)
    assert found.resistance.standard_uncertainty == pytest.approx((drops_v / currents_a).std(), rel=0.03)
    assert found.heat.standard_uncertainty == pytest.approx((drops_v * currents_a).std(), rel=0.03)


def test_limits():
    usual = {"drop_v": 0.05, "current_a": 16.0, "drop_u_v": 0.01, "current_u_a": 0.1}
    names = {"drop_u_v": "drop_standard_uncertainty_v", "current_u_a": "current_standard_uncertainty_a"}
    for given_as, low, high in (("drop_v", 0.0, 50.0), ("current_a", 0.1, 1e4), ("drop_u_v", 0.0, 50.0),
                                ("current_u_a", 0.0, 1e4)):  # fmt: skip
        name = names.get(given_as, given_as)
        check_edges(lambda value, of=given_as: joint(**{**usual, of: value}), name, low, high)
    check_edges(lambda maker_n_m: torque("10", Slot.WIDE, maker_n_m=maker_n_m), "maker_n_m", 0.01, 1000.0)
    for name in ("conductors", "marked_for"):
        check_edges(lambda count, of=name: terminal_fit("10", thinnest="14", thickest="4", **{of: count}), name, 1, 100)


@fuzz
@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_give_an_answer_or_a_calc_error(first, second, third, fourth):
    for function in (
        lambda: joint(first, second, third, fourth).heat.standard_uncertainty,
        lambda: torque("10", Slot.WIDE, maker_n_m=first).torque_n_m,
        lambda: float(terminal_fit("10", thinnest="14", thickest="4", conductors=first, marked_for=second) is Fit.FITS),
    ):
        try:
            answer = function()
        except CalcError:
            continue
        assert math.isfinite(answer)


@pytest.mark.parametrize(
    ("drop_v", "suspect"), [(0.05, False), (0.095, False), (0.1, True), (0.105, True), (0.3, True)]
)
def test_a_good_joint_drops_hundredths_of_a_volt_and_a_bad_one_tenths(drop_v, suspect):
    """A tutorial of the trade; no standard."""
    assert joint(drop_v, 16.0).is_suspect is suspect
