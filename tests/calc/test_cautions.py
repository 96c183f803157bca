"""Cautions: the flammable and blend ones where they belong, and none of the usual ones lost."""

import json
from itertools import permutations

import pytest

from calc import catalogue
from calc.cautions import Step, at_a_panel, beware_at_steps, cautions
from calc.errors import UnknownNameError
from calc.refrigerants import get, names


@pytest.mark.parametrize("step", Step)
def test_flammable_refrigerants_are_warned_of_at_every_step_and_only_live_parts_come_before(step):
    """25 % of the lower flammable limit, and no flame: public charging manuals for flammable refrigerants."""
    before = {Step.LOOK: 2, Step.MEASURE: 1}.get(step, 0)
    for name in names():
        first = cautions(name, step)[before]
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
    assert "out of the cylinder" not in " ".join(cautions("R-32", Step.CHARGE))
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


@pytest.mark.parametrize(
    ("name", "step", "worst"),
    [
        ("R-454B", Step.CHARGE, ("burns", "no live part exposed", "Gloves")),
        ("R-454B", Step.RECOVER, ("burns", "no live part exposed", "Gloves")),
        ("R-454B", Step.LOOK, ("lock out", "live, dead, live", "burns")),
        ("R-454B", Step.MEASURE, ("live parts", "burns")),
        ("R-454B", Step.DISCONNECT, ("burns", "Gloves", "Never loosen a hose under pressure")),
        ("R-454B", Step.BRAZE, ("no flame until", "never with air or oxygen", "Recover the refrigerant first")),
        ("R-410A", Step.CHARGE, ("Gloves", "low side only", "as liquid")),
        ("R-22", Step.CHARGE, ("Gloves", "low side only", "only slowly, so that it flashes")),
        ("R-410A", Step.RECOVER, ("Gloves", "cylinder in date", "80 %")),
        ("R-410A", Step.LOOK, ("lock out", "live, dead, live", "Nameplate")),
    ],
)
def test_the_three_that_harm_most_come_first(name, step, worst):
    """Common practice, no source: fire, shock and freezing before what spoils the unit or the work."""
    assert all(words in said for words, said in zip(worst, cautions(name, step), strict=False))


BURNS = "R-454B burns (A2L): ventilate throughout, no flame, halide torch or spark"
GLOVES = "Gloves and eye protection"
THREATENS = {
    Step.CONNECT: (BURNS, f"{GLOVES}. Liquid refrigerant freezes skin", "tools and machines rated for flammable"),
    Step.DISCONNECT: (
        BURNS,
        f"{GLOVES}. Liquid refrigerant freezes skin",
        "Never loosen a hose under pressure",
        "must not reach anything that ignites",
    ),
    Step.CHARGE: (
        BURNS,
        "no live part exposed while refrigerant moves. Ground (earth) the system",
        f"{GLOVES}. No flame on a cylinder",
        "never start it in a vacuum",
        "out of the cylinder as liquid",
        "only slowly, so that it flashes before it",
        "Small steps",
        "Evacuate the hose; purge nothing that burns",
        "Test for leaks after charging",
        "How much a room may hold",
    ),
    Step.WEIGH_IN: (
        BURNS,
        "no live part exposed while refrigerant moves. Ground (earth) the system",
        f"{GLOVES}. No flame on a cylinder",
        "out of the cylinder as liquid",
        "Test for leaks after charging",
        "How much a room may hold",
    ),
    Step.RECOVER: (
        BURNS,
        "no live part exposed while refrigerant moves",
        f"{GLOVES}. No flame on a cylinder",
        "in date and rated for its pressure, on a scale",
        "At most 70 % liquid",
        "A recovery machine and cylinder rated for flammable refrigerant",
    ),
    Step.EVACUATE: (BURNS, "nor put voltage to its terminals", "blow off outdoors"),
    Step.BRAZE: (
        "no flame until it is recovered, purged with nitrogen and measured to be gone",
        "with nitrogen, never with air or oxygen",
        "let nitrogen flow through while brazing",
        "an extinguisher at hand",
    ),
    Step.LOOK: ("lock out and tag", "Prove the tester live, dead, live", BURNS, "Panels closed before refrigerant"),
    Step.MEASURE: ("live parts behind its panels", BURNS),
    Step.TOUCH: (BURNS, "Keep hands, sleeves and leads off the fan"),
}
"""All that threatens at each step with a flammable blend, worst first: the sources of `calc.cautions`."""

ONLY_WHERE_IT_BURNS = {
    "burns",
    "Ground (earth)",
    "no live part",
    "rated for flammable",
    "ignites",
    "Test for leaks after charging",
    "How much a room",
    "blow off outdoors",
    "never with air or oxygen",
    "Panels closed before",
    "purge nothing that burns",
}


@pytest.mark.parametrize("step", Step)
def test_with_a_flammable_blend_all_that_threatens_is_said_worst_first_and_nothing_else(step: Step) -> None:
    said = cautions("R-454B", step)
    always = ("Nameplate, maker, local codes", "Certified persons only")
    assert [words in each for words, each in zip((*THREATENS[step], *always), said, strict=True)].count(False) == 0


@pytest.mark.parametrize("step", Step)
@pytest.mark.parametrize("refrigerant", ["R-410A", "R-22", None])
def test_what_does_not_burn_leaves_out_what_is_said_of_fire_alone(refrigerant: str | None, step: Step) -> None:
    said = cautions(refrigerant, step)
    assert not [each for each in said if any(words in each for words in ONLY_WHERE_IT_BURNS)]
    of_any = [
        words.replace("70 %", "80 %")
        for words in THREATENS[step]
        if not any(part in words for part in {*ONLY_WHERE_IT_BURNS, "no flame until"})
        and not ("as liquid" in words and refrigerant != "R-410A")
    ]
    if step is Step.CHARGE:
        of_any += ["Evacuate the hose, or purge it with the least there is"]
    assert [words in each for words, each in zip(of_any, said, strict=False)] == [True] * (len(said) - 2)


def test_a_panel_where_no_refrigerant_is_concerned_is_locked_out_and_proved_dead() -> None:
    locked, dead, maker = at_a_panel()
    assert "Before a panel is opened: lock out and tag" in locked
    assert "Discharge the capacitor through a resistor, and measure that it is gone" in dead
    assert "Nameplate, maker, local codes" in maker


@pytest.mark.parametrize("step", Step)
def test_what_holds_always_comes_last(step):
    said = cautions("R-454B", step)
    assert "Nameplate" in said[-2]
    assert "Never vent" in said[-1]


ELECTRICAL = ("lock out and tag", "Discharge the capacitor", "live parts behind its panels")


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-454B", "R-290", None])
@pytest.mark.parametrize("steps", list(permutations(Step, 2)), ids="+".join)
def test_over_all_steps_live_parts_stored_charge_and_fire_come_before_the_rest(
    refrigerant: str | None, steps: tuple[Step, Step]
) -> None:
    """Common practice, no source: whoever reads the first four reads all that kills."""
    said = [str(it) for it in beware_at_steps(refrigerant, steps)]
    due = [words for words in ELECTRICAL if any(words in each for each in said)]
    assert all(any(words in each for each in said[: len(due)]) for words in due)
    if refrigerant in ("R-454B", "R-290"):
        assert "lower flammable limit" in said[len(due)]
        assert len(due) < 4


def test_what_burns_is_never_purged() -> None:
    for name in names():
        said = " ".join(cautions(name, Step.CHARGE))
        assert ("or purge it" in said) is not get(name).is_flammable


def test_several_steps_are_one_list_with_each_caution_once():
    said = [str(it) for it in beware_at_steps("R-454B", (Step.LOOK, Step.CHARGE))]
    assert len(set(said)) == len(said)
    assert {*cautions("R-454B", Step.LOOK), *cautions("R-454B", Step.CHARGE)} == set(said)
    assert "Never vent" in said[-1]
    assert beware_at_steps("R-454B", ()) == ()


def test_no_compressor_is_started_in_a_vacuum_to_charge_it():
    """Makers forbid it: a first charge goes into the vacuum by weight, with the compressor off."""
    said = " ".join(cautions("R-410A", Step.CHARGE))
    assert "To top up: low side only, compressor running." in said
    assert "Into a vacuum: compressor off, weigh it in as liquid; never start it in a vacuum." in said


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("line_set", "refrigerant=R-454B liquid_tube=3/8in vapour_tube=7/8in length=80ft included_length=15ft"),
        ("line_set_charge", "refrigerant=R-454B tube=3/8in length=30ft"),
        ("a2l_room", "refrigerant=R-454B charge=7lb mounted=wall"),
    ],
)
def test_what_is_weighed_is_not_told_to_be_topped_up(name, written):
    arguments = dict(each.split("=") for each in written.split())
    said = " ".join(json.loads(catalogue.run(name, arguments).as_json())["cautions"])
    assert "compressor running" not in said
    assert "burns (A2L)" in said
    assert "no formula here allows it" in said


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("airflow_from_static", "static=0.5inWC table_static=0.3inWC,0.6inWC table_airflow=1340cfm,1175cfm"),
        ("fan_laws", "airflow=1200cfm static=0.5inWC shaft_power=0.5hp speed=900rpm other_speed=1000rpm"),
        (
            "airflow_from_electric_heat",
            "return_air_temperature=74degF supply_air_temperature=110degF voltage=235V current=75A",
        ),
    ],
)
def test_air_is_moved_without_a_certificate_for_refrigerant(name, written):
    said = " ".join(catalogue.run(name, dict(each.split("=") for each in written.split())).values["cautions"])
    assert "Never vent" not in said
    assert "lock out and tag" in said
    assert "Nameplate, maker, local codes" in said
