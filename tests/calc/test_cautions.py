"""Cautions: the flammable and blend ones where they belong, and none of the usual ones lost."""

import json
from collections.abc import Sequence
from itertools import permutations

import pytest

from calc import catalogue
from calc.cautions import Step, at_a_panel, beware_at_steps, cautions, harm, stands_open
from calc.refrigerants import CLASS_NOT_KNOWN, get, names
from calc.vacuum import CAUTIONS as VACUUM


@pytest.mark.parametrize("step", Step)
def test_flammable_refrigerants_are_warned_of_at_every_step_and_only_what_hurts_sooner_comes_before(step):
    """25 % of the lower flammable limit, and no flame: public charging manuals for flammable refrigerants."""
    panel = dict.fromkeys((Step.LOOK, Step.PROVE_DEAD, Step.DISCHARGE, Step.MEGOHMS), 2)
    before = {**panel, Step.MEASURE: 1, Step.TOUCH: 1, Step.BY_A_HEAT_PUMP: 2}.get(step, 0)
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


def test_of_a_blend_it_is_said_once_how_it_leaves_the_cylinder():
    said = beware_at_steps("R-410A", (Step.CHARGE, Step.WEIGH_IN))
    assert sum("is a blend" in str(each) for each in (*said.now, *said.once)) == 1


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
        (Step.BRAZE, "Recover the refrigerant first, purge with nitrogen, and let nitrogen flow through while brazing"),
        (Step.BRAZE, "The test for pressure that counts comes after the last joint; then evacuate and weigh in"),
        (Step.LOOK, "Prove the tester on a known live source, test dead, prove the tester again"),
        (Step.LOOK, "lock out and tag. Try a start at its own controls: nothing starts; controls back off"),
        (Step.LOOK, "Discharge the capacitor through a resistor"),
        (Step.BRAZE, "nitrogen"),
        (Step.CHARGE, "no formula here allows it"),
        (Step.EVACUATE, "in a vacuum"),
        (Step.CONNECT, "Gloves and eye protection"),
        (Step.CONNECT, "rated for this refrigerant's high side, valves shut, face aside"),
        (Step.LOOK, "line side stays live: for those lugs, off and locked at the breaker that feeds it"),
        (Step.PROVE_DEAD, "gloves rated for the volts, with leather over them, eye and face protection, arc-rated"),
        (Step.RECOVER, "evacuated before its first fill: air in it raises the pressure"),
        (Step.RECOVER, "air inside makes a mixture that ignites"),
        (Step.BRAZE, "by regulator, at most 3 psig (20 kPa gauge), the far end open: closed off, it blows the joint"),
        (Step.START, "crankcase heater and was without power for hours, leave the call off"),
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
    """A newer rig may have one that is not known here: it is taken for what may burn."""
    assert cautions("R-0", Step.CHARGE)[0].startswith("Not known: treat it as if it burns.")


@pytest.mark.parametrize("step", Step)
def test_what_holds_for_any_refrigerant_is_said_while_it_is_not_known(step: Step) -> None:
    assert set(cautions(None, step)) <= set(cautions("R-22", step))
    assert "40 CFR 82.161" in " ".join(cautions(None, step))


@pytest.mark.parametrize(
    ("name", "step", "worst"),
    [
        ("R-454B", Step.CHARGE, ("burns", "no live part exposed", "Gloves")),
        ("R-454B", Step.RECOVER, ("burns", "no live part exposed", "Gloves")),
        ("R-454B", Step.LOOK, ("lock out", "prove the tester again", "burns")),
        ("R-454B", Step.MEASURE, ("live parts", "burns")),
        ("R-454B", Step.DISCONNECT, ("burns", "no live part exposed", "Gloves", "Never loosen a hose under pressure")),
        (
            "R-454B",
            Step.BRAZE,
            ("no flame until", "never with air or oxygen", "nothing shut in", "Recover the refrigerant"),
        ),
        ("R-410A", Step.CHARGE, ("Gloves", "Evacuate the hose", "as liquid")),
        (
            "R-22",
            Step.CHARGE,
            ("Gloves", "Evacuate the hose", "Topping up: low side only, compressor running; liquid only slowly"),
        ),
        ("R-410A", Step.RECOVER, ("Gloves", "cylinder in date", "80 %")),
        ("R-410A", Step.LOOK, ("lock out", "prove the tester again", "Keep off edges", "Nameplate")),
    ],
)
def test_the_three_that_harm_most_come_first(name, step, worst):
    """Common practice, no source: fire, shock and freezing before what spoils the unit or the work."""
    assert all(words in said for words, said in zip(worst, cautions(name, step), strict=False))


PROVED = "known live source, test dead, prove the tester again"
BURNS = "R-454B burns (A2L): ventilate throughout, no flame, halide torch or spark"
GLOVES = "Gloves and eye protection"
PANEL = "no live part exposed while refrigerant moves"
FREEZES = f"{GLOVES}. Liquid refrigerant freezes skin"
IN_HAND = {
    Step.CONNECT: (BURNS, PANEL, FREEZES, "valves shut, face aside", "tools and machines rated for flammable"),
    Step.DISCONNECT: (BURNS, PANEL, FREEZES, "Never loosen a hose under pressure"),
    Step.CHARGE: (
        BURNS,
        f"{PANEL}. Ground (earth) the system",
        f"{GLOVES}. No flame on a cylinder",
        "Evacuate the hose; purge nothing that burns",
        "out of the cylinder as liquid, and only slowly, so that it flashes before the compressor",
        "Small steps; after each, wait until it has settled",
    ),
    Step.WEIGH_IN: (
        BURNS,
        f"{PANEL}. Ground (earth) the system",
        f"{GLOVES}. No flame on a cylinder",
        "out of the cylinder as liquid",
    ),
    Step.RECOVER: (
        BURNS,
        PANEL,
        f"{GLOVES}. No flame on a cylinder",
        "in date and rated for its pressure, on a scale",
        "At most 70 % liquid",
        "A recovery machine and cylinder rated for flammable refrigerant",
    ),
    Step.EVACUATE: (BURNS, "nor put voltage to its terminals", "blow off outdoors"),
    Step.BRAZE: (
        "no flame until it is recovered, purged with nitrogen, evacuated, purged again and measured to be gone",
        "with nitrogen, never with air or oxygen",
        "makes poison gas in a flame",
        "let nitrogen flow through while brazing",
        "an extinguisher at hand",
        "that counts comes after the last joint",
    ),
    Step.LOOK: ("lock out and tag", PROVED, BURNS, "Panels closed before refrigerant"),
    Step.SWITCH_OFF: (BURNS, "stand to its side, face away"),
    Step.PROVE_DEAD: ("lock out and tag", PROVED, BURNS, "A non-contact tester proves nothing dead"),
    Step.DISCHARGE: ("lock out and tag", PROVED, BURNS, "many have no bleeder"),
    Step.MEASURE: ("live parts behind its panels",),
    Step.MEGOHMS: ("lock out and tag", PROVED, BURNS, "Megohms only dead"),
    Step.BY_HAND: (BURNS, "never pushed in by hand with power on"),
    Step.START: (
        BURNS,
        "hands and tools out, every wire on its terminal, panel on",
        "stand to its side, face away",
        "nor put voltage to its terminals",
    ),
    Step.PRESSURE_TEST: (
        BURNS,
        "through a regulator set below the lowest test pressure",
        "Nobody in front of caps and gauges",
        "slowly and outdoors",
    ),
    Step.TOUCH: ("Keep hands, sleeves and leads off the fan",),
    Step.BY_A_HEAT_PUMP: ("burn skin", "starts by itself after it"),
}
"""What the hands do at each step with a flammable blend, worst first: the sources of `calc.cautions`."""

ROOM = ("Test for leaks after charging", "How much a room may hold")
ONCE = {
    Step.DISCONNECT: ("must not reach anything that ignites",),
    Step.CHARGE: ("never start it in a vacuum", *ROOM),
    Step.WEIGH_IN: ROOM,
    Step.RECOVER: ("recovered to the level that the law asks for (US: 40 CFR 82.156)",),
    Step.MEASURE: (BURNS,),
    Step.TOUCH: (BURNS,),
    Step.BY_A_HEAT_PUMP: (BURNS,),
}
"""What is read once a visit beside it: common practice, no source."""

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


def are_said(words: Sequence[str], said: Sequence[object]) -> bool:
    return len(words) == len(said) and all(word in str(each) for word, each in zip(words, said, strict=True))


@pytest.mark.parametrize("step", Step)
def test_at_a_step_stands_what_the_hands_do_worst_first_and_the_rest_is_read_once(step: Step) -> None:
    found = beware_at_steps("R-454B", (step,))
    assert are_said(IN_HAND[step], found.now)
    assert are_said(
        (*ONCE.get(step, ()), "Keep off edges", "Nameplate, maker, local codes", "Certified persons only"), found.once
    )
    assert len(found.now) <= 6  # more is not read


@pytest.mark.parametrize("step", Step)
@pytest.mark.parametrize("refrigerant", ["R-410A", "R-22", None])
def test_what_does_not_burn_leaves_out_what_is_said_of_fire_alone(refrigerant: str | None, step: Step) -> None:
    found = beware_at_steps(refrigerant, (step,))
    assert not [it for it in (*found.now, *found.once) if any(words in str(it) for words in ONLY_WHERE_IT_BURNS)]
    of_any = [
        words.replace("70 %", "80 %")
        for words in IN_HAND[step]
        if not any(part in words for part in {*ONLY_WHERE_IT_BURNS, "no flame until"})
    ]
    if step is Step.CHARGE:
        of_any[1:2] = ["Evacuate the hose, or purge it with the least there is", "only slowly, so that it flashes"]
    if step is Step.WEIGH_IN and refrigerant != "R-410A":
        of_any.pop()
    assert are_said(of_any, found.now)


def test_what_a_check_further_down_would_need_is_read_once_and_is_none_of_this_step() -> None:
    """Live parts and a fan were the first thing said to whoever adds refrigerant, for a cause of 3 % further down."""
    alone, beside = (beware_at_steps("R-454B", (Step.CHARGE,), told) for told in ((), (Step.MEASURE, Step.TOUCH)))
    assert beside.now == alone.now
    added = {it.kind for it in beside.once} - {it.kind for it in alone.once}
    assert added == {it.kind for it in beware_at_steps(None, (Step.MEASURE, Step.TOUCH)).now}


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
def test_over_all_steps_live_parts_stored_charge_and_fire_come_before_the_rest(refrigerant: str | None) -> None:
    """Common practice, no source: whoever reads the first four reads all that kills."""
    for steps in permutations(Step, 2):
        said = [str(it) for it in beware_at_steps(refrigerant, steps).now]
        due = [words for words in ELECTRICAL if any(words in each for each in said)]
        assert all(any(words in each for each in said[: len(due)]) for words in due), steps
        if refrigerant in ("R-454B", "R-290") and not {*steps} <= {Step.TOUCH, Step.BY_A_HEAT_PUMP, Step.MEASURE}:
            assert "lower flammable limit" in said[len(due)], steps
            assert len(due) < 4, steps


def test_megohms_and_a_vacuum_have_one_wording_each_at_the_step_and_in_what_is_worked_out() -> None:
    megohms, vacuum = (str(beware_at_steps(None, (step,)).now[-1]) for step in (Step.MEGOHMS, Step.EVACUATE))
    arguments = dict(each.split("=") for each in ["insulation=thermoplastic", "winding_temperature=25degC"])
    read = arguments | {"resistance": "500Mohm", "resistance_accuracy": "25Mohm"}
    assert megohms in catalogue.run("insulation_at_40_degc", read).values["caution"]
    assert all(said.startswith(vacuum) for said in VACUUM.values())


def test_what_burns_is_never_purged() -> None:
    for name in names():
        said = " ".join(cautions(name, Step.CHARGE))
        assert ("or purge it" in said) is not get(name).is_flammable


@pytest.mark.parametrize("step", Step)
@pytest.mark.parametrize("found", ["A2L", "B2L", "A2", "B2", "A3", "B3", CLASS_NOT_KNOWN])
def test_what_was_found_to_burn_rules_over_what_the_unit_is_said_to_hold(found: str, step: Step) -> None:
    """Only class 1 propagates no flame (ASHRAE 34); what nobody knows is taken so: common practice, no source."""
    for refrigerant, alike in (("R-410A", "R-454B"), ("R-22", "R-290"), (None, "R-290")):
        said = [str(it) for part in beware_at_steps(refrigerant, (step,), found=found) for it in part]
        of_what_burns = cautions(alike, step)
        assert len(said) == len(of_what_burns)
        for one, other in zip(said, of_what_burns, strict=True):
            if "burns" in other and "lower flammable limit" in other:
                whole = "Not known: treat it as if it burns. V" if found == CLASS_NOT_KNOWN else f"burns ({found}): v"
                assert f"{whole}entilate" in one
                assert one.partition("entilate")[2] == other.partition("entilate")[2]
            else:
                assert one.replace("R-410A", "R-454B") == other
    worst = [harm(it) for it in beware_at_steps("R-410A", (step,), found=found).now]
    assert worst == sorted(worst)


def test_of_the_unit_and_what_was_found_in_it_the_one_that_burns_worse_is_named() -> None:
    """R-454B is A2L and R-290 is A3 (ASHRAE 34)."""
    for refrigerant, found, named in (
        ("R-454B", "A1", "R-454B burns (A2L)"),
        ("R-454B", "A2L", "R-454B burns (A2L)"),
        ("R-454B", "A3", "What is in it burns (A3)"),
        ("R-454B", CLASS_NOT_KNOWN, "Not known: treat it as if it burns."),
        ("R-290", CLASS_NOT_KNOWN, "R-290 burns (A3)"),
    ):
        assert cautions(refrigerant, Step.RECOVER, found=found)[0].startswith(named)
    for found in ("", "A1", "B1"):
        assert cautions("R-410A", Step.CHARGE, found=found) == cautions("R-410A", Step.CHARGE)


def test_what_was_found_is_as_harmful_as_what_the_unit_is_said_to_hold_and_only_what_kills_at_a_panel_stands() -> None:
    burns = [beware_at_steps("R-454B", (Step.BRAZE,), found=found).now[0] for found in ("", "A3", CLASS_NOT_KNOWN)]
    assert {harm(it) for it in burns} == {harm(burns[0])}
    assert len({it.kind for it in burns}) == 3
    now = beware_at_steps("R-454B", (Step.DISCHARGE, Step.START, Step.MEASURE)).now
    standing = {it.kind.removeprefix("caution.") for it in now if stands_open(it)}
    assert standing == {"lock_out", "prove_dead", "live_parts", "discharge", "power_back", "stand_aside", "vacuum"}
    assert harm(now[0]) == 0 < harm(now[-1])


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (Step.START, "hands and tools out, every wire on its terminal, panel on"),
        (Step.PROVE_DEAD, "Until it is proved dead it is live: gloves rated for the volts"),
        (Step.MEGOHMS, "Terminal cover on: measure at the far ends of the leads, face aside: a terminal can blow out."),
        (Step.SWITCH_OFF, "At a disconnect: its cover shut, stand to its side, face away. Stop the call first"),
        (Step.START, "At a disconnect: its cover shut, stand to its side, face away."),
        (Step.BY_HAND, "a contactor is never pushed in by hand with power on"),
    ],
)
def test_what_kills_as_power_comes_back_at_live_parts_and_at_a_terminal_is_never_folded(step: Step, words: str) -> None:
    """It was folded after one reading. Terminal covers and far ends of the leads: compressor makers, from memory; to
    stand aside of a disconnect that is thrown, and no contactor by hand: common practice, no source."""
    (said,) = (it for it in beware_at_steps("R-410A", (step,)).now if words in str(it))
    assert stands_open(said)


def test_a_flame_needs_the_circuit_open_and_what_is_left_ventilated() -> None:
    """Refrigerant in a flame gives off hydrogen fluoride and phosgene, and oil shut in bursts out: from memory."""
    said = " ".join(map(str, beware_at_steps("R-410A", (Step.BRAZE,)).now))
    assert "cores out, open to the air, nothing shut in; cut out what holds oil." in said
    assert "What is left of refrigerant makes poison gas in a flame: ventilate." in said


def test_several_steps_are_one_list_with_each_caution_once():
    found = beware_at_steps("R-454B", (Step.LOOK, Step.CHARGE))
    said = [str(it) for it in (*found.now, *found.once)]
    assert len(set(said)) == len(said)
    assert {*cautions("R-454B", Step.LOOK), *cautions("R-454B", Step.CHARGE)} == set(said)
    assert "Never vent" in said[-1]
    assert beware_at_steps("R-454B", ()) == ((), ())
    panels = [it for it in beware_at_steps("R-454B", (Step.CHARGE, Step.RECOVER)).now if PANEL in str(it)]
    assert len(panels) == 1  # the longer one says it all


def test_no_compressor_is_started_in_a_vacuum_to_charge_it():
    """Makers forbid it: a first charge goes into the vacuum by weight, with the compressor off."""
    said = " ".join(cautions("R-410A", Step.CHARGE))
    assert "low side only, compressor running." in said
    assert (
        "Into a vacuum: compressor off, weigh it in as liquid on the liquid side; never start it in a vacuum." in said
    )


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
        (
            "expected_amps",
            "return_air_wet_bulb=67degF outdoor_air_temperature=95degF voltage=230V rated_load=18A",
        ),
        (
            "airflow_from_electric_heat",
            "return_air_temperature=74degF supply_air_temperature=110degF voltage=235V current=75A",
        ),
    ],
)
def test_what_is_read_of_a_running_unit_warns_of_live_parts_first(name, written):
    said = catalogue.run(name, dict(each.split("=") for each in written.split())).values["cautions"]
    assert "live parts behind its panels" in said[0]
    assert "lock out and tag" in said[1]


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
