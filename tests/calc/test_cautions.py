"""Cautions: the flammable and blend ones where they belong, and none of the usual ones lost."""

import pytest

from calc.cautions import Step, cautions
from calc.errors import UnknownNameError
from calc.refrigerants import get, names


@pytest.mark.parametrize("step", Step)
def test_flammable_refrigerants_are_warned_of_first_at_every_step(step):
    """25 % of the lower flammable limit, and no flame: public charging manuals for flammable refrigerants."""
    for name in names():
        first, *_ = cautions(name, step)
        assert ("burns" in first) == get(name).is_flammable
        if get(name).is_flammable:
            assert "25 % of the lower flammable limit" in first
            assert get(name).safety_class in first


@pytest.mark.parametrize("step", Step)
def test_the_maker_and_certification_are_named_at_every_step(step):
    said = " ".join(cautions("R-410A", step))
    assert "Nameplate, maker, local codes and licensed practice come first" in said
    assert "40 CFR 82.161" in said


def test_blends_are_charged_as_liquid_and_only_charging_says_so():
    assert "out of the cylinder as liquid" in " ".join(cautions("R-410A", Step.CHARGE))
    assert "as liquid" not in " ".join(cautions("R-32", Step.CHARGE))
    assert "out of the cylinder" not in " ".join(cautions("R-410A", Step.RECOVER))


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (Step.RECOVER, "70 % liquid"),
        (Step.RECOVER, "no live part exposed"),
        (Step.CHARGE, "no live part exposed"),
        (Step.CHARGE, "Test for leaks after charging, and again before leaving"),
        (Step.BRAZE, "no flame until it is recovered, purged with nitrogen"),
        (Step.BRAZE, "never air, never oxygen"),
        (Step.LOOK, "Prove the tester live, dead, live"),
        (Step.LOOK, "lock out and tag"),
        (Step.LOOK, "Discharge the capacitor through a resistor"),
        (Step.BRAZE, "nitrogen"),
        (Step.CHARGE, "no formula here allows it"),
        (Step.EVACUATE, "in a vacuum"),
        (Step.CONNECT, "Gloves and eye protection"),
        (Step.DISCONNECT, "Never loosen a hose under pressure"),
    ],
)
def test_each_step_has_its_own(step, words):
    assert words in " ".join(cautions("R-454B", step))


def test_one_fill_is_said_for_a_recovery_cylinder():
    """80 % by AHRI Guideline K, which covers only what does not burn; 70 % otherwise: common practice, no source."""
    said = {name: " ".join(cautions(name, Step.RECOVER)) for name in names()}
    for name, words in said.items():
        assert ("At most 80 % liquid" in words) is not get(name).is_flammable
        assert ("At most 70 % liquid" in words) is get(name).is_flammable
        assert words.count("% liquid") == 1
    assert "At most 80 % liquid" in " ".join(cautions(None, Step.RECOVER))


def test_steps_go_by_their_names():
    assert cautions("R-32", "charge") == cautions("R-32", Step.CHARGE)
    with pytest.raises(ValueError, match="'weld' is not a valid Step"):
        cautions("R-32", "weld")


def test_unknown_refrigerant():
    with pytest.raises(UnknownNameError):
        cautions("R-0", Step.CHARGE)


@pytest.mark.parametrize("step", Step)
def test_what_holds_for_any_refrigerant_is_said_while_it_is_not_known(step: Step) -> None:
    assert set(cautions(None, step)) <= set(cautions("R-410A", step))
    assert "40 CFR 82.161" in " ".join(cautions(None, step))
