"""Findings: who decides the outcome, what evidence is worth, and what a visit asks for next."""

from dataclasses import replace
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace as changed

from ingest.visit.answers import AnswerError
from ingest.visit.checklist import guided
from ingest.visit.circumstances import Place, place_of
from ingest.visit.deciding import Facts, RefusedError
from ingest.visit.finding import _outcome, finding
from ingest.visit.findings import needs_hands
from ingest.visit.leading import Now
from ingest.visit.plated import plated
from ingest.visit.power import believed, power_in
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Circuit,
    Finding,
    FindingAsk,
    LeftAlone,
    Mark,
    MessageError,
    Note,
    Outcome,
    PowerRead,
    Proposed,
    ProposedFinding,
    Reading,
    SessionBegan,
    Sheet,
    Visit,
    VisitOpened,
    Wording,
    decode,
    decode_ask,
    encode,
)
from ingest.wire.sheet import Capacitor, Contactor, Motor
from tests.cases import case
from tests.ingest.visit.checks import HEAD, THREE_PHASES, TIME_S, course, facts, find, taken

SEALED = {"hoses": "emptied", "cores": "bubbles", "caps": "sealed"}


def kept(name: str, check: str, outcome: str = "met", **fields: Any) -> Finding:
    """A mark as the record has it."""
    fields = {"grade": "said", "check": check, "outcome": outcome} | fields
    return Finding(name, TIME_S, "Sam", "technician", **fields)


# --- who decides


def test_the_rule_decides_and_says_why() -> None:
    found = find("probes_off", {}, SEALED | {"caps": "missing"}, text=" The left one. ")
    assert (found.outcome, found.said, found.text) == ("not_met", "", "The left one.")
    assert found.says == Wording("Each cap: Missing.", "Each cap: Missing.", "finding.chosen", found.says.parts)
    assert (found.id, found.by, found.role, found.time_s) == ("f1", "Sam", "technician", TIME_S)


@pytest.mark.parametrize("outcome", ["not_met", "cannot_tell"])
def test_nobody_overrules_a_rule_that_tells(outcome: str) -> None:
    with pytest.raises(RefusedError, match=f"outcome is {outcome}, and by its rule the check is met"):
        find("probes_off", {}, SEALED, outcome=outcome)
    assert find("probes_off", {}, SEALED, outcome="met").said == "met"


def test_nobody_says_met_where_a_rule_lacks_something_but_not_met_is_believed() -> None:
    without = {"hoses": "emptied", "cores": "bubbles"}
    with pytest.raises(RefusedError, match="cannot tell: Still missing: Each cap"):
        find("probes_off", {}, without, outcome="met")
    found = find("probes_off", {}, without, outcome="not_met")
    assert (found.outcome, found.said) == ("not_met", "not_met")
    with pytest.raises(RefusedError):
        find("which_unit", {}, {"told_by": "said"}, outcome="not_met")  # a rule tells that it cannot be told


def test_a_check_is_skipped_for_a_reason() -> None:
    with pytest.raises(RefusedError, match="reason is empty"):
        find("windings", outcome="skipped")
    with pytest.raises(RefusedError, match="text is empty"):
        find("windings", outcome="skipped", reason="other")
    with pytest.raises(RefusedError, match="the check is not skipped"):
        find("probes_off", {}, SEALED, reason="weather")
    found = find("windings", outcome="skipped", reason="not_reachable")
    assert (found.outcome, found.reason, found.says) == ("skipped", "not_reachable", None)


# --- evidence


def test_measured_is_by_a_linked_instrument_whose_spread_counts() -> None:
    values = {"volts.herm_common": 0.4}
    choices = {"means": "resistor", "sections": "single"}
    known = facts("multimeter_dc_voltage", spread=0.05)
    found = find("discharge", values, choices, grade="measured", known=known)
    assert (found.grade, found.standard_uncertainties) == ("measured", {"volts.herm_common": 0.05})
    with pytest.raises(RefusedError, match="none here measures it"):
        find("discharge", values, choices, grade="measured", known=facts("suction_pressure"))
    doubted = facts("multimeter_dc_voltage", in_doubt=["multimeter_dc_voltage"])
    with pytest.raises(RefusedError, match="beyond doubt"):
        find("discharge", values, choices, grade="measured", known=doubted)


def with_quality(quality: Any, silent_s: float = 0.0, **readings: float) -> Facts:
    """Channels of one quality, of which nothing came for so long."""
    why = "it was on RTU-A" if quality == "elsewhere" else ""
    read = {name: Reading(value, TIME_S, quality, why, standard_uncertainty=0.05) for name, value in readings.items()}
    heard = dict.fromkeys(read, 1000.0 - silent_s)
    return replace(facts(), readings=read, steady_s=1000.0, read_s=heard)


def test_a_clamp_that_was_left_at_another_unit_measures_nothing_here() -> None:
    values, motor = {"amps.a": 12.0, "rated": 17.3}, {"motor": "compressor"}
    grades = {"rated": "typed"}
    ask = {"grade": "measured", "grades": grades}
    here = with_quality("ok", compressor_current=12.0)
    assert find("motor_amps", values, motor, known=here, **ask).grades["amps.a"] == "measured"
    left = with_quality("elsewhere", compressor_current=12.0, suction_pressure=9e5)
    with pytest.raises(RefusedError, match=r"none here measures it: compressor current: it was on RTU-A$"):
        find("motor_amps", values, motor, known=left, **ask)
    both = replace(here, readings={**here.readings, "line_voltage_ab": Reading(230.0, TIME_S, "elsewhere")})
    with pytest.raises(RefusedError, match="none here measures it"):
        find("supply", {"running.a_b": 230.0}, known=both, grade="measured")


def test_what_is_elsewhere_is_not_kept_beside_what_is_measured_here() -> None:
    """It was taken from the link all the same: nobody read it off a display at this unit."""
    here = {"superheat": Reading(5.0, TIME_S, "ok"), "outdoor_air_temperature": Reading(305.0, TIME_S, "ok")}
    values = {"superheat": 5.0, "outdoor": 305.0}
    ask = {"grade": "measured", "choices": {"settled": "yes"}}
    assert find("readings_before", values, known=replace(facts(), readings=here), **ask).grades["outdoor"] == "measured"
    away = Reading(305.0, TIME_S, "elsewhere", "it was on RTU-A, and nobody has said that it moved")
    known = replace(facts(), readings={**here, "outdoor_air_temperature": away})
    why = "outdoor is measured, and not here: outdoor air temperature: it was on RTU-A"
    with pytest.raises(RefusedError, match=why):
        find("readings_before", values, known=known, **ask)
    with pytest.raises(RefusedError, match="it was on RTU-A"):
        find("readings_before", values, known=known, **ask | {"grade": "typed", "grades": {"outdoor": "measured"}})
    typed = find("readings_before", values, known=known, **ask | {"grades": {"outdoor": "typed"}})
    assert typed.grades["outdoor"] == "typed"  # read off another one, which is here


def test_who_finds_a_probe_on_its_port_measures_there_though_nobody_had_said_that_it_moved() -> None:
    left = with_quality("elsewhere", liquid_pressure=2.3e6)
    found = find("probes_on", {"pressure.liquid": 2.3e6}, known=left, grade="measured")
    assert found.grades == {"pressure.liquid": "measured"}


def test_an_instrument_that_has_been_silent_for_more_than_a_minute_measures_nothing() -> None:
    """The time is common practice, without a source: hands turn a dial, and write a figure down."""
    values, motor = {"amps.a": 12.0, "rated": 17.3}, {"motor": "compressor"}
    just = with_quality("stale", silent_s=60.0, compressor_current=12.0)
    assert find("motor_amps", values, motor, known=just, grade="measured").grades["amps.a"] == "measured"
    known = with_quality("stale", silent_s=60.1, compressor_current=12.0)
    with pytest.raises(RefusedError, match="none here measures it"):
        find("motor_amps", values, motor, known=known, grade="measured")


def test_one_measured_figure_among_typed_ones_does_not_make_the_finding_measured() -> None:
    """The weakest of those that the rule needs: measured > typed > seen > said."""
    values = {"compressor": 10.0, "rated": 12.0, "since_stop": 400.0}
    choices = {"call": "present", "contactor": "in", "lock_removed_by": "Sam"}
    found = find("power_back", values, choices, grade="measured", known=facts("compressor_current"))
    assert (found.outcome, found.grade) == ("met", "typed")
    assert found.grades == {"compressor": "measured", "rated": "typed", "since_stop": "typed"}
    with pytest.raises(RefusedError, match="none here measures it"):
        find("power_back", values, choices, grade="measured", known=facts("suction_pressure"))


def test_what_the_rule_does_not_need_weakens_nothing() -> None:
    linked = facts("multimeter_dc_voltage")
    values, choices = {"volts.herm_common": 0.4}, {"means": "resistor", "sections": "single"}
    found = find("discharge", values | {"resistor": 20e3}, choices, grade="measured", known=linked)
    assert (found.grade, found.grades) == ("measured", {"volts.herm_common": "measured", "resistor": "typed"})
    dual = {"means": "resistor", "sections": "dual"}
    live = {"volts.herm_common": 400.0, "volts.fan_common": 0.1, "volts.herm_fan": 0.1}
    said = find("discharge", live, dual, grade="said", grades={"volts.herm_common": "measured"}, known=linked)
    assert (said.outcome, said.grade) == ("not_met", "measured")  # one pair that is charged is enough
    empty = find("discharge", live | {"volts.herm_common": 0.1}, dual, grade="said", known=linked,
                 grades={"volts.herm_common": "measured", "volts.fan_common": "typed"})  # fmt: skip
    assert (empty.outcome, empty.grade) == ("met", "said")
    by_tool = find("discharge", live, {"means": "screwdriver", "sections": "dual"}, grade="measured", known=linked)
    assert (by_tool.outcome, by_tool.grade) == ("not_met", "measured")


def test_the_grade_of_one_figure_is_refused_where_it_cannot_be() -> None:
    values, choices = {"volts.herm_common": 0.4}, {"means": "resistor", "sections": "single"}
    with pytest.raises(RefusedError, match=r"'volts.herm_fan' was expected to be one of the values"):
        find("discharge", values, choices, grades={"volts.herm_fan": "typed"})
    with pytest.raises(RefusedError, match=r"volts.herm_common is measured, and no linked instrument beyond doubt"):
        find("discharge", values, choices, grades={"volts.herm_common": "measured"})
    found = find("discharge", values, choices, grades={"volts.herm_common": "said"})
    assert (found.grade, found.grades) == ("said", {"volts.herm_common": "said"})


def test_a_finding_of_an_earlier_version_has_one_grade_for_all_its_figures() -> None:
    first = kept("f1", "panels", "cannot_tell", grade="typed", values={"screws.out": 8.0})
    second = find("panels", {"screws.back": 8.0}, {}, grade="said", standing=course(first), builds_on="f1",
                  photographs=["p1"], head=("f2", *HEAD[1:]))  # fmt: skip
    assert (second.outcome, second.grade) == ("met", "said")
    assert second.grades == {"screws.out": "typed", "screws.back": "said"}


def test_seen_is_by_a_photograph_and_typed_by_a_value() -> None:
    with pytest.raises(RefusedError, match="seen is by a photograph"):
        find("probes_off", {}, SEALED, grade="seen")
    assert find("probes_off", {}, SEALED, grade="seen", photographs=["p1", "p1"]).photographs == ("p1",)
    with pytest.raises(RefusedError, match="typed is read off a display"):
        find("probes_off", {}, SEALED, grade="typed")


def test_a_photograph_that_is_not_of_this_visit_is_refused_by_its_name() -> None:
    ask = FindingAsk("f1", "Sam", check="probes_off", grade="seen", choices=SEALED, photographs=["p1", "p2"])
    assert finding(ask, HEAD, course(taken("p1"), taken("p2")), facts()).photographs == ("p1", "p2")
    with pytest.raises(RefusedError, match="there is no photograph 'p2' in this visit; take it"):
        finding(ask, HEAD, course(taken("p1")), facts())
    skipped = msgspec.structs.replace(ask, outcome="skipped", reason="weather")
    with pytest.raises(RefusedError, match="no photograph 'p1'"):
        finding(skipped, HEAD, Standing("v2"), facts())


def test_without_a_grade_there_is_no_finding() -> None:
    with pytest.raises(MessageError, match="grade"):
        decode_ask(b'{"kind":"finding","id":"f1","by":"Sam","check":"tag"}')


def test_a_proposal_that_is_kept_is_measured_whatever_the_instruments_show_now() -> None:
    ask = FindingAsk("f1", "Sam", check="joint_drop", grade="measured", values={"drop.a": 0.03, "amps": 9.0})
    assert finding(ask, HEAD, Standing("v1"), facts(), seen=True).outcome == "met"


# --- what cannot be asked


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"check": "prove_alive"}, "there is no check 'prove_alive'"),
        ({"check": "panels", "values": {"bolts": 3.0}}, "panels has no figure 'bolts'; it has screws.back, screws.out"),
        ({"check": "panels", "values": {"screws.out": float("nan")}}, "no sound number"),
        ({"check": "tag", "choices": {"kind": "gold"}}, "one of engraved, durable, marker, none was expected"),
        ({"check": "tag", "choices": {"colour": "red"}}, "tag has no 'colour'; it has kind, readable, tag"),
        ({"check": "tag", "choices": {"tag": "x" * 501}}, "has 501 letters; at most 500 are kept"),
        ({"check": "tag", "choices": {"tag": " "}}, "tag is empty"),
        ({"check": "tag", "part": "fan"}, "part: tag is of the unit"),
        ({"check": "discharge", "circuit": "1"}, "circuit: discharge is of part"),
        ({"check": "panels", "accuracies": {"screws.out": 1.0}}, "expected to be a value"),
        ({"check": "panels", "values": {"screws.out": 3.0}, "accuracies": {"screws.out": -1.0}}, "0 or more"),
        ({"check": "panels", "values": {"screws.out": 3.0}, "accuracies": {"screws.out": 1e12}}, "0 or more"),
        ({"check": "tag", "photographs": [f"p{number}" for number in range(21)]}, "at most 20 are kept"),
        ({"check": "motor_amps", "values": {"amps.a": 1.0, "turns": 0.5}, "choices": {"motor": "blower"}}, "FLA|turns"),
    ],
)
def test_what_no_check_asks_for_is_refused_with_what_would_do(asked: dict[str, Any], told: str) -> None:
    known = facts(blower_fla_a=4.0)
    with pytest.raises(RefusedError, match=told):
        find(**{"values": {}, "choices": {}} | asked, known=known)


def test_a_part_that_the_unit_has_not_is_refused() -> None:
    known = replace(facts(), parts=("run capacitor",))
    assert find("discharge", {"volts.herm_common": 0.1}, known=known, part="run capacitor").part == "run capacitor"
    with pytest.raises(RefusedError, match="no 'can'; it has run capacitor"):
        find("discharge", {"volts.herm_common": 0.1}, known=known, part="can")


# --- what it builds on


def test_what_was_interrupted_goes_on_with_what_was_entered() -> None:
    dead = {"source_before": 238.0, "source_after": 238.0, "volts.a_b": 0.1, "volts.a_earth": 0.1, "control": 0.0}
    first = find("prove_dead", dead, {"phases": "single", "tester_kind": "meter"})
    assert first.outcome == "cannot_tell"
    choices = {"at_place_of_work": "yes", "tester": "meter", "known_source": "receptacle"}
    head = ("f2", *HEAD[1:])
    second = find(
        "prove_dead", {"volts.b_earth": 0.2}, choices, standing=course(first), head=head, builds_on="f1"
    )  # fmt: skip
    assert (second.outcome, second.builds_on, second.grade) == ("met", "f1", "typed")
    assert second.values == dead | {"volts.b_earth": 0.2}
    third = find("prove_dead", {}, {"tester": "another"}, standing=course(second), head=head, builds_on="f2")
    assert (third.grade, third.values) == ("typed", second.values)  # of the figures, which are typed
    with pytest.raises(RefusedError, match="'f2' is the newest"):
        find("prove_dead", {}, {}, standing=course(first, second), builds_on="f1")
    with pytest.raises(RefusedError, match="none stands"):
        find("panels", {}, {}, standing=course(first), builds_on="f1")


# --- what the sheet says

DUAL = Capacitor("run capacitor", herm_f=45e-6, fan_f=5e-6, tolerance_share=0.05, volts=440.0, hertz=60.0)
SHEET = Sheet(
    "RTU-K7Q-4", (Circuit("1", "R-410A", "txv"),), volts=460.0, phases=3, hertz=60.0, mca_a=20.0,
    parts=(
        DUAL, Contactor("contactor", coil_volts=24.0),
        Motor("condenser fan", drives="condenser_fan", rated_current_a=1.5),
    ),
)  # fmt: skip


@pytest.mark.parametrize(
    ("check", "values", "choices", "plated", "outcome"),
    [
        (
            "capacitor_measured",
            {"measured.herm": 44.9e-6, "measured.fan": 4.6e-6},  # -8 % of 5 µF
            {"sections": "dual"},
            {"label.herm": 45e-6, "label.fan": 5e-6, "tolerance": 0.05},
            "not_met",
        ),
        (
            "capacitor_under_load",
            {"amps": 6.28, "volts": 370.0},
            {"drive": "no", "section": "herm"},
            {"label": 45e-6, "tolerance": 0.05, "hertz": 60.0},
            "met",
        ),
        ("contactor_live", {"coil_volts": 24.5}, {"when_called": "in"}, {"coil_rated": 24.0}, "met"),
        ("motor_amps", {"amps.a": 1.9}, {"motor": "condenser_fan"}, {"rated": 1.5}, "not_met"),
    ],
)
def test_nobody_types_a_label_twice(
    check: str, values: dict[str, float], choices: dict[str, str], plated: dict[str, float], outcome: str
) -> None:
    known = facts(sheet=SHEET)
    accuracies = {name: 0.002 * value for name, value in values.items()}
    found = find(check, values, choices, known=known, accuracies=accuracies)
    assert (found.plated, found.outcome) == (plated, outcome)
    assert found.values == values


def test_what_a_person_reads_wins_over_the_sheet() -> None:
    values = {"measured.herm": 39.9e-6, "label.herm": 40e-6}
    accuracies = {"measured.herm": 1e-7}
    found = find("capacitor_measured", values, {"sections": "herm"}, known=facts(sheet=SHEET), accuracies=accuracies)
    assert (found.outcome, "label.herm" in found.plated) == ("met", False)


def test_a_label_that_is_typed_off_the_can_makes_a_measured_capacitor_no_worse_known() -> None:
    values = {"measured.herm": 44.9e-6, "label.herm": 45e-6, "tolerance": 0.06}
    known = facts("capacitance_herm", spread=1e-7)
    found = find("capacitor_measured", values, {"sections": "herm"}, known=known, grade="measured")
    assert (found.outcome, found.grade) == ("met", "measured")
    assert found.grades == {"measured.herm": "measured", "label.herm": "typed", "tolerance": "typed"}
    read_off = find("capacitor_measured", values, {"sections": "herm"})
    assert read_off.grade == "typed"  # the reading itself is
    can = {"top": "flat", "can": "dry", "terminals": "sound", "strap": "strapped"}
    assert find("capacitor_by_eye", {"label.herm": 45e-6}, can).grade == "typed"  # nothing else was read


def test_of_a_motor_nobody_says_both_which_part_it_is_and_what_it_drives() -> None:
    known = facts(sheet=SHEET)
    fan = Motor("fan 2", drives="condenser_fan")
    two_fans = facts(sheet=changed(SHEET, parts=(*SHEET.parts, fan)))
    for check in ("start", "motor_amps"):
        with case(check):
            by_part = find(check, {}, known=known, part="condenser fan")
            assert (by_part.part, by_part.choices) == ("condenser fan", {"motor": "condenser_fan"})
            by_motor = find(check, {}, {"motor": "condenser_fan"}, known=known)
            assert (by_motor.part, by_motor.choices) == ("condenser fan", {"motor": "condenser_fan"})
            assert find(check, {}, {"motor": "condenser_fan"}, known=two_fans).part == ""  # of two nobody guesses
            assert find(check, {}, {"motor": "blower"}, known=known).part == ""
            with pytest.raises(RefusedError, match="motor is blower, and condenser fan drives condenser_fan"):
                find(check, {}, {"motor": "blower"}, known=known, part="condenser fan")
    for ask in (
        FindingAsk("f1", "Sam", check="start", grade="said", part="condenser fan"),
        FindingAsk("f1", "Sam", check="start", grade="said", choices={"motor": "condenser_fan"}),
    ):
        assert is_repeated(ask, "technician", finding(ask, HEAD, course(), known))


def test_the_sheet_says_of_how_many_phases_the_unit_is() -> None:
    values = {"source_before": 238.0, "source_after": 238.0}
    found = find("prove_dead", values, {"tester_kind": "meter"}, known=facts(sheet=SHEET))
    assert "0 of 6 pairs" in found.says.us


# --- how they stand


def test_the_newest_of_each_check_and_part_stands() -> None:
    standing = course(
        kept("f1", "discharge", part="run capacitor"),
        kept("f2", "discharge", "not_met", part="fan capacitor"),
        kept("f3", "discharge", "cannot_tell", part="run capacitor"),
    )
    said = standing.message().findings
    assert [(it.id, it.outcome, it.part) for it in said] == [
        ("f2", "not_met", "fan capacitor"),
        ("f3", "cannot_tell", "run capacitor"),
    ]


def test_the_same_marks_stand_alike_from_the_record() -> None:
    marks = [kept(f"f{number}", word) for number, word in enumerate(("complaint", "isolate", "prove_dead"))]
    standing = Standing("v1")
    for mark in marks:
        standing.take(decode(encode(mark), Finding))
    assert standing.encoded() == course(*marks).encoded()


def test_as_many_findings_as_there_can_be_leave_room_for_all_else() -> None:
    said = Wording("ü" * 300, "ü" * 300)
    many = [kept(f"f{number}", "discharge", part=f"capacitor {number}", says=said) for number in range(300)]
    notes = [Note(f"n{number}", TIME_S, "R" * 64, "lead", "ü" * 500) for number in range(60)]
    payload = course(*many, *notes).encoded()
    assert len(payload) < 65_536  # what a message may have: docs/asyncapi.yaml
    findings = decode(payload, Visit).findings
    assert len(encode(findings[0])) * 40 < 10 * 1024 + 2000
    assert findings[-1].id == "f299"
    assert findings[-1].says is not None
    assert findings[0].says is None


# --- what is next: advice


def following(*marks: Any, place: Place | None = None) -> list[str]:
    standing = course(*marks)
    standing.findings.at(place or Place())
    return list(standing.message().next)


def test_the_order_is_that_of_the_list_to_its_end() -> None:
    """All of it: what cannot be answered yet holds nothing up, and what is open at the end is named whole."""
    assert following()[-1] == "handover"
    assert following()[:8] == [
        "complaint", "which_unit", "look_first", "what_is_in_it", "isolate", "prove_dead", "discharge",
        "close_panel",
    ]  # fmt: skip  # no hands in the panel yet


def done(*words: str, **fields: Any) -> list[Finding]:
    return [kept(f"d{number}", word, **fields) for number, word in enumerate(words)]


BEFORE = ("complaint", "which_unit", "look_first", "what_is_in_it")
DEAD = ("isolate", "prove_dead", "discharge", "wiring_photograph")


def test_who_goes_to_the_circuit_alone_is_not_sent_into_the_panel() -> None:
    work = kept("w1", "complaint", choices={"work": "circuit"})
    asked = following(work, *done("which_unit", "look_first", "what_is_in_it"))
    assert "isolate" not in asked
    assert asked[:3] == ["supply", "motor_amps", "probes_on"]  # nobody took the power away
    panel = ("capacitor_by_eye", "connections", "contactor", "close_panel")
    back = following(work, *done("which_unit", "look_first", "what_is_in_it", *DEAD, *panel))
    assert {"power_back", "start"} <= set(back)  # and here somebody did


@pytest.mark.parametrize("place", [Place(is_flammable=True), None])
def test_the_cover_goes_on_before_the_first_hose_where_it_burns(place: Place | None) -> None:
    """Servicing clauses after IEC 60335-2-40: told by the plate, or by what was found in it."""
    work = kept("w1", "complaint", choices={"work": "circuit"})
    in_it = kept("w2", "what_is_in_it", choices={} if place else {"safety_class": "A2L"})
    found = [*done("which_unit", "look_first"), in_it]
    asked = following(work, *found, place=place)
    assert asked[0] == "close_panel"
    assert asked.index("close_panel") < asked.index("probes_on")
    again = following(work, *found, kept("w3", "close_panel"), place=place)
    assert "close_panel" not in again
    opened = following(work, *found, kept("w3", "close_panel"), kept("w4", "contactor"), place=place)
    assert "close_panel" in opened
    assert opened.index("close_panel") < opened.index("probes_on")


def test_a_unit_of_which_one_circuit_burns_is_one_that_burns() -> None:
    """Its circuits share a panel."""
    one, other = (
        kept(f"w{number}", "what_is_in_it", choices={"safety_class": found}, circuit=number)
        for number, found in (("1", "A2L"), ("2", "A1"))
    )
    assert "flammable" in course(one, other).findings.facts()
    assert "flammable" in course(other, one).findings.facts()
    assert "flammable" not in course(other).findings.facts()
    assert course(other, one).message().safety_class == course(one, other).message().safety_class == "A2L"
    assert course().message().safety_class == ""


def test_what_nobody_knows_is_asked_about_as_what_burns() -> None:
    """Common practice, no source: without a label it may be anything."""
    unknown = kept("w1", "what_is_in_it", "cannot_tell", choices={"safety_class": "not_known"})
    assert "flammable" in course(unknown).findings.facts()
    assert course(unknown).message().safety_class == "not_known"


def test_what_hands_depend_on_is_asked_for_until_it_is_met() -> None:
    marks = done(*BEFORE, "isolate", "discharge")
    assert "prove_dead" in following(*marks, kept("p1", "prove_dead", "cannot_tell"))
    assert "prove_dead" in following(*marks, kept("p1", "prove_dead", "not_met"))
    assert "prove_dead" not in following(*marks, kept("p1", "prove_dead"))
    assert "prove_dead" not in following(*marks, kept("p1", "prove_dead", "skipped", reason="not_fitted"))
    for outcome in ("cannot_tell", "not_met"):
        assert following(*done("complaint", "which_unit"), kept("w1", "what_is_in_it", outcome))[1] == "what_is_in_it"
        assert "isolate" in following(*done(*BEFORE, *DEAD[1:]), kept("i1", "isolate", outcome))
        assert "discharge" in following(*done(*BEFORE, *DEAD), kept("x1", "discharge", outcome))
        assert "close_panel" in following(*done(*BEFORE, *DEAD, "connections"), kept("c1", "close_panel", outcome))
    closed = [*done(*BEFORE, *DEAD, "connections"), kept("c1", "close_panel")]
    assert not {"isolate", "discharge", "close_panel"} & {*following(*closed)}


def test_a_domed_capacitor_is_replaced_and_not_measured() -> None:
    marks = done(*BEFORE, *DEAD)
    eye = kept("e1", "capacitor_by_eye", "not_met", choices={"top": "domed"})
    asked = following(*marks, eye)
    assert "capacitor_measured" not in asked
    assert {"replacement", "cause"} <= {*asked}
    sound = following(*marks, kept("e1", "capacitor_by_eye"))
    assert sound[0] == "capacitor_measured"
    assert "replacement" not in sound
    failed = following(*marks, kept("e1", "capacitor_by_eye"), kept("m1", "capacitor_measured", "not_met"))
    assert failed[:2] == ["replacement", "conductor"]  # its leads were off


def test_windings_are_asked_for_where_the_start_points_there() -> None:
    marks = done(*BEFORE, *DEAD, "capacitor_by_eye", "capacitor_measured")
    assert "windings" not in following(*marks)
    failed = kept("s1", "start", "not_met")
    assert "windings" not in following(*marks, failed)  # it was live: dead first
    assert "windings" in following(*marks, failed, *done("isolate", "prove_dead", "discharge"))
    assert "windings" in following(*marks, kept("l1", "look_first", choices={"trips": "trips"}))


def test_it_is_made_dead_again_before_every_hand_in_the_panel_once_there_was_power() -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it, and not once a visit."""
    marks = done(*BEFORE, *DEAD, "capacitor_by_eye", "capacitor_measured", "conductor", "connections", "contactor")
    running = [*marks, *done("close_panel", "power_back", "start", "supply", "motor_amps")]
    assert "isolate" not in following(*running)
    weak = [*running, kept("u1", "capacitor_under_load", "not_met")]
    assert following(*weak)[:3] == ["isolate", "prove_dead", "discharge"]
    assert "replacement" not in following(*weak)
    again = done("isolate", "prove_dead", "discharge")
    assert following(*weak, *again)[0] == "replacement"
    work = kept("w1", "complaint", choices={"work": "circuit"})
    stalled = [work, *done(*BEFORE[1:]), kept("s1", "start", "not_met")]
    assert following(*stalled)[:3] == ["isolate", "prove_dead", "discharge"]
    assert "capacitor_measured" not in following(*stalled)
    assert "capacitor_measured" in following(*stalled, *again)


@pytest.mark.parametrize("check", [word for word in guided() if word not in DEAD])
def test_after_whatever_is_found_while_there_is_power_nothing_counts_as_dead(check: str) -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it. Air and readings are of a compressor that runs."""
    place = guided()[check].check.place
    anew = ["isolate", "prove_dead", "discharge"] if place.startswith("D") or place in ("E1", "E2", "E6") else []
    for outcome in ("met", "not_met", "cannot_tell"):
        findings = course(*done(*BEFORE, *DEAD), kept("x1", check, outcome)).findings
        assert findings.before_hands("connections") == anew, outcome


@pytest.mark.parametrize("word", ["prove_dead", "discharge"])
@pytest.mark.parametrize(
    ("outcome", "reason"),
    [("not_met", ""), ("cannot_tell", ""), ("skipped", "not_reachable"), ("skipped", "not_fitted")],
)
def test_no_hand_goes_in_on_what_was_made_and_is_not_dead(word: str, outcome: str, reason: str) -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it. What has no capacitor has nothing to discharge."""
    dead = done(*BEFORE, *(it for it in DEAD if it != word))
    findings = course(*dead, kept("x1", word, outcome, reason=reason)).findings
    assert findings.before_hands("connections") == ([] if (word, reason) == ("discharge", "not_fitted") else [word])
    assert findings.before_hands("supply") == []


def test_each_capacitor_is_discharged_before_a_hand_goes_in() -> None:
    dead = done(*BEFORE, "isolate", "prove_dead")
    first, second = kept("x1", "discharge", part="C1"), kept("x2", "discharge", "not_met", part="C2")
    assert course(*dead, first, second).findings.before_hands("connections") == ["discharge"]
    assert course(*dead, second, first).findings.before_hands("connections") == ["discharge"]
    assert course(*dead, first, second, changed(second, outcome="met")).findings.before_hands("connections") == []


def test_what_is_left_open_is_what_was_not_made_not_met_or_not_told_and_making_dead_that_was_skipped() -> None:
    whole = done(*guided())
    assert course(*whole).findings.left_open() == []
    assert course(*whole[:-1]).findings.left_open() == ["handover"]
    for outcome in ("not_met", "cannot_tell"):
        assert course(*whole, kept("t1", "tag", outcome)).findings.left_open() == ["tag"]
    skipped = [changed(it, outcome="skipped") if it.check in ("tag", "isolate") else it for it in whole]
    assert course(*skipped).findings.left_open() == ["isolate"]


def test_a_unit_that_nobody_opened_is_made_dead_before_what_needs_power_and_one_that_was_opened_after_it() -> None:
    as_found = following(*done(*BEFORE, "supply"))
    assert as_found.index("isolate") < as_found.index("start")
    opened = following(kept("i1", "isolate"), kept("p1", "power_back"))  # before anything else was recorded
    assert opened.index("start") < opened.index("prove_dead")


def test_who_goes_to_the_circuit_alone_is_not_sent_into_the_panel_after_a_pause_either() -> None:
    left = LeftAlone("b1", TIME_S, idle_s=13 * 3600.0)
    work = kept("w1", "complaint", choices={"work": "circuit"})
    asked = following(left, work, *done("which_unit", "look_first", "what_is_in_it"))
    assert not {"isolate", "prove_dead", "discharge"} & {*asked}


HANDS = ("capacitor_by_eye", "capacitor_measured", "conductor", "connections", "contactor")


def test_once_power_is_back_and_all_is_well_what_needs_it_comes_before_making_dead_anew() -> None:
    """What is open while nobody closed the panel is made dead for at the end: it is not proved dead as it starts."""
    unproved = [*done(*BEFORE, "isolate"), kept("d1", "prove_dead", "cannot_tell"), *done("discharge", "power_back")]
    asked = following(*unproved)
    assert asked.index("start") < asked.index("prove_dead") < asked.index("as_it_was")
    back = [*done(*BEFORE, *DEAD, "capacitor_by_eye", "power_back")]
    asked = following(*back)
    assert asked[:2] == ["start", "supply"]
    assert asked.index("readings_before") < asked.index("isolate") < asked.index("as_it_was")
    assert asked.index("isolate") + 1 == asked.index("prove_dead")
    stalled = following(*back, kept("s1", "start", "not_met"))
    assert stalled[:3] == ["isolate", "prove_dead", "discharge"]
    assert "isolate" not in following(*back, kept("a1", "air", "not_met"))[:2]  # that is no fault of the panel's


RENEWED = [
    *done(*BEFORE, *DEAD, "capacitor_by_eye"), kept("m1", "capacitor_measured", "not_met"),
    *done("replacement", "connections", "contactor", "cause"),
]  # fmt: skip
"""A capacitor was renewed, and nobody has looked at the conductors that were taken off for it."""
CLOSED, BACK = kept("c1", "close_panel"), kept("p1", "power_back")


def test_what_was_open_as_the_panel_was_closed_asks_for_no_lock_anew_once_it_has_run_and_is_named() -> None:
    """Who closes a panel ends the work in it: to open it again is a job of its own; common practice, no source."""
    assert following(*RENEWED)[:2] == ["conductor", "close_panel"]
    assert following(*RENEWED, CLOSED)[:2] == ["conductor", "power_back"]  # still dead: now it costs no other lock
    ran = course(*RENEWED, CLOSED, BACK)
    assert not {"isolate", "prove_dead", "discharge", "conductor"} & {*ran.message().next}
    assert ran.message().left_in_the_panel == ["conductor"]
    assert "conductor" in ran.findings.left_open()
    anew = ["isolate", "prove_dead", "discharge"]
    assert ran.findings.before_hands("conductor") == anew  # who opens it all the same is asked first


def test_nor_does_what_of_making_dead_was_open_then() -> None:
    """It proves nothing of work that is over, and stands open where the visit is signed."""
    unproved = [*done(*BEFORE, "isolate"), kept("d1", "prove_dead", "cannot_tell"), *done("discharge", *HANDS)]
    ran = course(*unproved, CLOSED, BACK)
    assert "prove_dead" not in ran.message().next
    assert ran.message().left_in_the_panel == ["prove_dead", "wiring_photograph"]
    assert "prove_dead" in ran.findings.left_open()


SKIPPED = kept("s1", "supply", "skipped", reason="not_asked_for")
NEVER_OFF = kept("c1", "close_panel", choices={"cover": "never_off"})
LOCKED_ALONE = [*done(*BEFORE, "isolate")]


@pytest.mark.parametrize(
    "marks",
    [
        [*RENEWED, BACK],  # nobody said that it is closed
        [*RENEWED, CLOSED],  # nothing tells that it has power
        [*RENEWED, CLOSED, SKIPPED],
        [*RENEWED, kept("c1", "close_panel", "not_met"), BACK],
        [*RENEWED, CLOSED, BACK, kept("s1", "start", "not_met")],
        [*RENEWED, CLOSED, BACK, kept("s1", "joint_drop", "not_met")],
        [*RENEWED, CLOSED, BACK, kept("l1", "look_first", choices={"trips": "trips"})],
        [*RENEWED, CLOSED, BACK, kept("w1", "complaint", choices={"work": "panel"})],
        [*RENEWED, CLOSED, BACK, kept("i2", "isolate")],
        [*RENEWED, CLOSED, BACK, kept("o2", "connections")],  # a hand was in it again
        [*LOCKED_ALONE, NEVER_OFF, BACK],  # what was to be made in it was not begun
    ],
)
def test_work_in_a_panel_that_is_not_closed_and_running_well_is_led_to_as_before(marks: list[Mark]) -> None:
    """29 CFR 1910.333(b)(2), from memory: and dead first, each time."""
    standing = course(*marks)
    assert standing.message().left_in_the_panel == []
    assert {"isolate", "prove_dead", "discharge", "conductor"} & {*standing.message().next}


def test_what_was_seen_before_the_panel_was_opened_points_into_it_no_more_whenever_it_is_kept() -> None:
    """It stalled for the capacitor that came out: kept later, that is told as it was, and asks for no other look."""
    seen = ProposedFinding("start")
    stalled = Proposed("s0", TIME_S, from_s=TIME_S, to_s=TIME_S, says=Wording("-", "-"), what=seen)
    kept_late = kept("s1", "start", "not_met", proposal="s0")
    ran = course(stalled, *RENEWED, kept_late, CLOSED, BACK)
    assert not {"isolate", "prove_dead", "discharge"} & {*ran.message().next}
    assert ran.message().left_in_the_panel == ["windings", "conductor"]
    assert "start" in ran.findings.left_open()
    again = course(*RENEWED, CLOSED, BACK, changed(kept_late, proposal=""))
    assert again.message().next[0] == "isolate"


def test_after_a_lock_anew_what_was_left_in_the_panel_is_asked_for() -> None:
    again = [kept("i2", "isolate"), kept("d2", "prove_dead"), kept("x2", "discharge")]
    assert following(*RENEWED, CLOSED, BACK, *again)[0] == "conductor"


def test_only_what_was_said_found_in_it_or_found_with_the_power_on_sends_a_hand_into_the_panel() -> None:
    """Each of these facts comes of such a check: a new one is to be thought of where the panel is left."""
    known = {"panel", "capacitor_in_question", "capacitor_failed", "winding_in_question", "touched_wires"}
    by_hands = [one.check for one in guided().values() if needs_hands(one.check.word)]
    assert {fact for check in by_hands for fact in check.asked_when} <= known


def test_what_runs_by_the_rig_is_not_proved_dead_and_no_hand_is_sent_into_it() -> None:
    standing = course(*done(*BEFORE, "isolate"))
    assert standing.findings.next()[0] == "prove_dead"
    asked = standing.findings.next(is_live=True)
    assert asked.index("power_back") < asked.index("isolate") < asked.index("prove_dead")
    proved = course(*done(*BEFORE, *DEAD))
    assert proved.findings.next()[0] == "capacitor_by_eye"
    asked = proved.findings.next(is_live=True)
    assert "capacitor_by_eye" not in asked
    assert asked.index("power_back") < asked.index("isolate")
    assert course(*done(*BEFORE)).findings.next(is_live=True)[0] == "isolate"  # as it is found, it runs
    proved.judged("", TIME_S, now=Now(runs=True))
    assert "capacitor_by_eye" not in proved.message().next


def test_power_that_was_read_and_not_recorded_leads_to_making_dead_anew_once_it_is_off_again() -> None:
    """And while it is on to recording that it is back, as before."""
    powered = PowerRead("b1", TIME_S, channel="line_voltage_ab", value=230.0)
    standing = course(*done(*BEFORE, *DEAD), powered)
    assert standing.findings.made_dead_by == ""
    asked = standing.findings.next(is_live=True)
    assert "capacitor_by_eye" not in asked
    assert asked.index("power_back") < asked.index("isolate") < asked.index("prove_dead")
    assert standing.findings.next()[:3] == ["isolate", "prove_dead", "discharge"]
    standing.take(kept("x2", "discharge"))
    assert standing.findings.made_dead_by == "x2"
    standing.take(kept("p2", "prove_dead", "cannot_tell"))  # begun
    assert standing.findings.made_dead_by == "p2"
    standing.take(kept("p3", "prove_dead", "not_met"))
    assert standing.findings.made_dead_by == "x2"


@pytest.mark.parametrize("check", ["isolate", "prove_dead", "discharge"])
def test_nothing_goes_on_from_what_made_dead_before_there_was_power(check: str) -> None:
    part = "run capacitor" if check == "discharge" else ""
    begun = kept("b1", check, "cannot_tell", part=part)
    (stands,) = course(begun).message().findings
    assert not stands.past
    assert find(check, {}, standing=course(begun), part=part, builds_on="b1").builds_on == "b1"
    for power in (
        PowerRead("x1", TIME_S, channel="line_voltage_ab", value=230.0),
        LeftAlone("x1", TIME_S, idle_s=13 * 3600.0),
        kept("x1", "power_back"),
    ):
        standing = course(begun, power)
        assert standing.message().findings[0].past
        with pytest.raises(RefusedError, match="proves nothing any more: since it was recorded there was power"):
            find(check, {}, standing=standing, part=part, builds_on="b1")


def test_that_power_is_back_is_not_gone_on_with_once_it_was_isolated_again() -> None:
    """Or the answer of whose lock is off would end a lock that was put on later."""
    back = kept("p1", "power_back", "cannot_tell", choices={"lock_removed_by": "Sam"})
    assert find("power_back", {}, standing=course(back), builds_on="p1").builds_on == "p1"
    with pytest.raises(RefusedError, match="proves nothing any more"):
        find("power_back", {}, standing=course(back, kept("i1", "isolate")), builds_on="p1")


def test_a_lock_is_seen_in_a_photograph_of_after_there_was_power() -> None:
    choices = {"disconnect_state": "locked_by_me", "tried": "nothing", "other_feeds": "none", "locked_by": "Sam"}
    standing = course(taken("p1", check="isolate"), kept("x1", "power_back"), taken("p2", check="isolate"))
    ask = FindingAsk("f1", "Sam", check="isolate", grade="seen", choices=choices, photographs=["p1"])
    assert finding(ask, HEAD, standing, facts()).outcome == "cannot_tell"
    assert finding(changed(ask, photographs=["p2"]), HEAD, standing, facts()).outcome == "met"


TWO_CANS = Place(capacitors=("fan capacitor", "run capacitor"))


@pytest.mark.parametrize("place", [TWO_CANS, Place()])
def test_every_capacitor_is_discharged_and_each_of_them_anew_once_there_was_power(place: Place) -> None:
    """29 CFR 1910.333(b)(2)(iii)(B), from memory: stored energy is released."""
    one, other = (kept(f"c-{part}", "discharge", part=part) for part in ("run capacitor", "fan capacitor"))
    marks = [*done(*BEFORE, "isolate", "prove_dead"), one]
    if place is TWO_CANS:
        assert following(*marks, place=place)[0] == "discharge"
        assert following(*marks, kept("c0", "discharge"), place=place)[0] == "discharge"  # of one nobody named
    assert "discharge" not in following(*marks, other, place=place)
    none = kept("c0", "discharge", "skipped", reason="not_fitted")
    assert "discharge" not in following(*marks, none, place=place)
    again = [*marks, other, kept("p1", "power_back"), kept("i2", "isolate"), kept("d2", "prove_dead")]
    standing = course(*again, changed(one, id="c3"))
    standing.findings.at(place)
    assert "discharge" in standing.findings.next()
    assert standing.findings.before_hands("capacitor_measured") == ["discharge"]
    standing.take(changed(other, id="c4"))
    assert standing.findings.before_hands("capacitor_measured") == []


def test_the_capacitors_of_a_unit_are_those_of_its_sheet() -> None:
    unit = facts().unit
    cans = (Capacitor("run capacitor"), Motor("blower"), Capacitor("fan capacitor"))
    assert place_of(unit, (), Sheet("RTU-4", (), parts=cans)).capacitors == ("run capacitor", "fan capacitor")
    assert place_of(unit, (), None).capacitors == ()


def test_power_that_was_seen_before_the_lock_and_is_kept_after_it_asks_for_no_other_lock() -> None:
    """A proposal counts for the moment at which it was seen, as everywhere."""
    amps = ProposedFinding("motor_amps", {"amps.a": 1.0})
    seen = Proposed("a1", TIME_S, from_s=TIME_S, to_s=TIME_S, what=amps, says=Wording("Amps.", "Amps."))
    before, lock = done(*BEFORE), [kept("i1", "isolate"), kept("d1", "prove_dead")]
    amps_kept = kept("m1", "motor_amps", proposal="a1")
    assert following(*before, seen, *lock, amps_kept)[0] == "discharge"
    assert following(seen, *before, *lock, amps_kept)[0] == "discharge"  # before anything was found
    assert "isolate" not in following(*before, seen, *lock, amps_kept)
    assert "isolate" in following(*before, *lock, seen, amps_kept)  # seen after it there is power
    assert "isolate" in following(*before, *lock, kept("m1", "motor_amps"))  # as a person says it, it is of now
    hands = [*lock, kept("x1", "discharge"), kept("c1", "contactor")]
    assert "isolate" not in following(*before, seen, *hands, amps_kept)


@pytest.mark.parametrize(
    ("channel", "value", "live"),
    [
        ("line_voltage_bc", 50.0, True),
        ("line_voltage_bc", 49.9, False),
        ("blower_current", 0.3, True),
        ("compressor_current_c", 0.2, False),  # within its ±
    ],
)
def test_power_that_is_back_while_a_timer_holds_it_leads_no_hand_into_the_panel(
    channel: str, value: float, live: bool
) -> None:
    """50 V or more is live: common practice, no source. A timer holds it: nothing runs yet."""
    proved = course(*done(*BEFORE, *DEAD))
    readings = {channel: Reading(value, TIME_S, standard_uncertainty=0.1)}
    powered = power_in(believed(readings)) is not None
    proved.judged("", TIME_S, now=Now(runs=False, powered=powered))
    assert ("capacitor_by_eye" not in proved.message().next, powered) == (live, live)


@pytest.mark.parametrize(
    ("left", "again"),
    [
        (SessionBegan("b1", TIME_S), False),
        (LeftAlone("b1", TIME_S, idle_s=13 * 3600.0), True),
        (PowerRead("b1", TIME_S, channel="line_voltage_ab", value=230.0), True),
    ],
)
def test_what_was_made_dead_counts_no_more_where_the_visit_was_left_or_power_was_read(left: Mark, again: bool) -> None:
    """29 CFR 1910.333(b)(2), from memory: before work on it."""
    marks = [*done(*BEFORE, *DEAD), left]
    anew = ["isolate", "prove_dead", "discharge"]
    assert ([*following(*marks)[:3]] == anew) is again
    findings = course(*marks).findings
    assert findings.before_hands("capacitor_by_eye") == (anew if again else [])
    assert {it.check: it.outcome for it in findings.message()}["prove_dead"] == "met"  # it stays in the record
    closed = [*done(*BEFORE, *DEAD, *HANDS), left]  # nothing is left but to close it
    assert (anew == [word for word in following(*closed) if word in anew]) is again
    asked_again = [kept("i2", "isolate"), kept("d2", "prove_dead"), kept("x2", "discharge")]
    assert following(*marks, *asked_again)[0] == "capacitor_by_eye"
    running = [*done(*BEFORE, *DEAD, *HANDS, "close_panel", "power_back", "start"), left]
    assert not {*anew} & {*following(*running)}  # nothing there was dead any more


def test_once_the_panel_was_opened_again_it_is_made_dead_closed_and_powered_again() -> None:
    """29 CFR 1910.147(d) and (e), from memory: each time anew, from shutting down to restoring the power."""
    first = [*done(*BEFORE, *DEAD, *HANDS), kept("c1", "close_panel"), kept("p1", "power_back")]
    running = [*first, *done("start", "supply", "motor_amps", "capacitor_under_load")]
    assert not {"isolate", "prove_dead", "discharge", "close_panel", "power_back"} & {*following(*running)}
    for opening in ("isolate", "capacitor_by_eye", "wiring_photograph"):
        opened = [*running, kept("o1", opening)]
        due = [word for word in ("isolate", "prove_dead", "discharge") if word != opening]
        assert following(*opened)[: len(due) + 2] == [*due, "close_panel", "power_back"], opening
    dead = [*running, kept("i2", "isolate"), kept("d2", "prove_dead"), kept("x2", "discharge")]
    assert following(*dead)[:2] == ["close_panel", "power_back"]
    closed = [*dead, kept("r2", "connections"), kept("c2", "close_panel")]
    assert following(*closed)[0] == "power_back"
    assert not {"close_panel", "power_back"} & {*following(*closed, kept("p2", "power_back"))}
    stands = course(*closed).message().findings
    assert [(it.id, it.time_s) for it in stands if it.check == "power_back"] == [("p1", TIME_S)]


def test_a_finding_of_a_check_that_is_no_more_stands_and_asks_for_nothing() -> None:
    """As in a record that another version wrote: the daemon starts on it all the same."""
    other = [kept("x1", "smell", "not_met"), kept("x2", "sound", "skipped", reason="weather")]
    running = [*done(*BEFORE, *DEAD, "close_panel", "power_back"), *other]
    standing = course(*running)
    assert [it.id for it in standing.message().findings if it.check in ("smell", "sound")] == ["x1", "x2"]
    assert "power_back" not in standing.findings.next()
    assert not {"smell", "sound"} & {*standing.findings.left_open()}


def test_what_was_skipped_or_is_measured_live_is_no_second_opening() -> None:
    running = done(
        *BEFORE, *DEAD, "capacitor_by_eye", "capacitor_measured", "conductor", "connections", "contactor",
        "close_panel", "power_back", "start", "supply", "motor_amps", "capacitor_under_load",
    )  # fmt: skip
    for mark in (
        kept("i2", "isolate", "skipped", reason="not_asked_for"),
        kept("c2", "contactor_live"),
        kept("w2", "cause"),
        kept("c3", "close_panel"),
    ):
        assert not {"prove_dead", "power_back"} & {*following(*running, mark)}, mark.check


def test_a_leak_is_looked_for_once_something_was_added_and_an_opened_circuit_is_closed_by_its_own_check() -> None:
    most = done(
        *BEFORE, *DEAD, "capacitor_by_eye", "capacitor_measured", "conductor", "connections", "contactor",
        "close_panel", "power_back", "start", "supply", "motor_amps", "capacitor_under_load", "probes_on", "air",
    )  # fmt: skip
    before = kept("b1", "readings_before")
    assert following(*most, before)[:2] == ["probes_off", "as_it_was"]
    move = kept("b1", "readings_before", choices={"then": "move"})
    assert following(*most, move)[:2] == ["moving", "readings_after"]
    added = Added("a1", TIME_S, mass_kg=0.1, phase="liquid")
    assert following(*most, move, kept("m1", "moving"), added)[:2] == ["leaks", "readings_after"]
    opened = kept("b1", "readings_before", choices={"then": "open"})
    assert following(*most, opened)[:3] == ["moving", "opened", "readings_after"]


def test_the_end_is_the_handover() -> None:
    assert following(*done(*guided())) == []
    assert following(*done(*(word for word in guided() if word != "handover"))) == ["handover"]


def test_a_second_pair_that_is_measured_tells_of_three_phases_where_no_sheet_does() -> None:
    unit = facts().unit
    assert place_of(unit, THREE_PHASES, None).is_three_phase
    assert not place_of(unit, ["line_voltage_ab"], None).is_three_phase
    assert not place_of(unit, THREE_PHASES, Sheet("RTU-4", (), phases=1)).is_three_phase


def test_of_two_circuits_each_is_asked_for_and_who_names_none_means_the_one_in_view() -> None:
    standing = course(VisitOpened("o1", TIME_S, circuit="1"), *done(*(word for word in guided() if word != "air")))
    assert standing.findings.next("1") == ["air"]
    values, choices = {"outdoor": 300.0}, {"mode": "cooling", "dampers": "closed", "stages": "all", "coil": "dry"}
    found = find("air", values, choices | {"condition": "met"}, standing=standing)
    assert found.circuit == "1"
    standing.take(found)
    assert list(standing.message().next) == []
    assert standing.findings.next("2") == ["air"]


def test_each_part_is_proved_empty() -> None:
    marks = done(*BEFORE, "isolate", "prove_dead")
    one = kept("c1", "discharge", "cannot_tell", part="run capacitor")
    other = kept("c2", "discharge", part="fan capacitor")
    assert "discharge" in following(*marks, one, other)
    assert "discharge" not in following(*marks, one, other, kept("c3", "discharge", part="run capacitor"))


@pytest.mark.parametrize(
    ("check", "part", "choices", "said"),
    [
        ("supply", "", {}, {"nameplate.low": 460.0}),
        ("conductor", "", {}, {"load": 20.0}),
        ("replacement", "run capacitor", {}, {
            "old_label.herm": 45e-6, "old_label.fan": 5e-6, "rated_volts.old": 440.0, "hertz.old": 60.0,
        }),
        ("capacitor_under_load", "", {"section": "fan"}, {"label": 5e-6, "tolerance": 0.05, "hertz": 60.0}),
        ("motor_amps", "", {"motor": "blower"}, {}),
        ("power_back", "", {}, {}),
        ("capacitor_measured", "condenser fan", {}, {}),
        ("panels", "", {}, {}),
    ],
)  # fmt: skip
def test_what_a_sheet_says_of_each_check(
    check: str, part: str, choices: dict[str, str], said: dict[str, float]
) -> None:
    assert plated(check, part, choices, SHEET) == said


def test_of_two_capacitors_one_is_named_or_nothing_is_said_of_either() -> None:
    two = msgspec.structs.replace(SHEET, parts=(DUAL, Capacitor("fan capacitor", herm_f=7.5e-6)))
    assert plated("capacitor_measured", "", {}, two) == {}
    assert plated("capacitor_measured", "fan capacitor", {}, two) == {"label.herm": 7.5e-6}


@pytest.mark.parametrize("outcome", ["met", "not_met", "cannot_tell"])
def test_where_no_rule_tells_the_person_does(outcome: Outcome) -> None:
    """No check is without a rule that tells now; one may be."""
    ask = FindingAsk("f1", "Sam", check="tag", grade="said", outcome=outcome)
    assert _outcome(ask, None) == outcome
    with pytest.raises(AnswerError, match="outcome is empty: no rule tells here"):
        _outcome(msgspec.structs.replace(ask, outcome=""), None)


def test_what_was_skipped_is_nothing_to_go_on_from() -> None:
    skipped = kept("f1", "panels", "skipped", reason="weather")
    with pytest.raises(RefusedError, match="was skipped, and holds nothing"):
        find("panels", {}, standing=course(skipped), builds_on="f1")


def test_what_is_of_the_unit_or_a_part_is_of_no_circuit() -> None:
    standing = course(VisitOpened("o1", TIME_S, circuit="1"))
    assert find("which_unit", {}, {"told_by": "said"}, standing=standing).circuit == ""
    assert find("discharge", {"volts.herm_common": 0.1}, standing=standing, part="run capacitor").circuit == ""


def test_what_was_interrupted_goes_on_at_the_same_part() -> None:
    choices = {"means": "resistor"}
    marks = [
        find("discharge", {"volts.herm_common": 0.1}, choices, head=(name, *HEAD[1:]), part=part)
        for name, part in (("f1", "run capacitor"), ("f2", "fan capacitor"))
    ]
    more = find(
        "discharge", {}, {"sections": "single"}, standing=course(*marks), head=("f3", *HEAD[1:]),
        part="run capacitor", builds_on="f1", grade="typed",
    )  # fmt: skip
    assert (more.builds_on, more.part, more.outcome) == ("f1", "run capacitor", "met")
    assert more.values == {"volts.herm_common": 0.1}
    with pytest.raises(RefusedError, match="'f2' is the newest"):
        find("discharge", {}, {}, standing=course(*marks), part="fan capacitor", builds_on="f1")


def test_what_was_interrupted_goes_on_at_the_same_circuit() -> None:
    first = [find("probes_off", {}, {"hoses": "emptied", "cores": "bubbles"}, head=("f1", *HEAD[1:]), circuit="1")]
    second = [*first, find("probes_off", {}, SEALED, head=("f2", *HEAD[1:]), circuit="2")]
    more = find("probes_off", {}, {"caps": "sealed"}, standing=course(*second), circuit="1", builds_on="f1")
    assert (more.circuit, more.outcome) == ("1", "met")


def so(*marks: Any) -> set[str]:
    return set(course(*marks).findings.facts())


def test_what_was_done_tells_what_is_so_beside_what_was_said() -> None:
    panel = kept("w1", "complaint", choices={"work": "panel"})
    circuit = kept("w1", "complaint", choices={"work": "circuit"})
    added = Added("a1", TIME_S, mass_kg=0.1, phase="liquid")
    assert {"circuit", "moving", "added"}.isdisjoint(so(panel))
    assert {"circuit", "moving", "added"} <= so(panel, added)
    assert "circuit" in so(panel, kept("p1", "probes_on"))
    assert "circuit" not in so(panel, kept("p1", "probes_on", "skipped", reason="weather"))
    assert {"panel", "cover_needed"}.isdisjoint(so(circuit))
    assert {"panel", "cover_needed"} <= so(circuit, kept("i1", "isolate"))


def test_a_loose_strap_or_a_burnt_terminal_is_no_failed_capacitor() -> None:
    loose = kept("e1", "capacitor_by_eye", "not_met", choices={"strap": "loose", "top": "flat", "can": "dry"})
    assert {"capacitor_failed", "part_failed"}.isdisjoint(so(loose))
    assert "capacitor_in_question" in so(loose)
    domed = kept("e1", "capacitor_by_eye", "not_met", choices={"top": "domed"})
    assert {"capacitor_failed", "part_failed"} <= so(domed)


def test_a_cover_that_was_closed_again_after_the_last_hand_in_the_panel_stays_closed() -> None:
    marks = [kept("c1", "close_panel"), kept("c2", "contactor"), kept("c3", "close_panel"), kept("c4", "supply")]
    assert "close_panel" not in following(*done(*BEFORE, *DEAD), *marks)
    assert "close_panel" in following(*done(*BEFORE, *DEAD, "capacitor_by_eye", "connections"), *marks[:2])


def test_a_limit_is_twice_a_standard_uncertainty_said_or_usual() -> None:
    """A limit of an expanded uncertainty of k = 2: JCGM 100, 6.3. A meter's usual one: 0.2 V and 2 % of the reading."""
    values, choices = {"volts.herm_common": 2.0}, {"means": "resistor", "sections": "single"}
    said = find("discharge", values, choices, accuracies={"volts.herm_common": 0.1})
    assert said.standard_uncertainties == {"volts.herm_common": 0.05}
    assert find("discharge", values, choices).standard_uncertainties == {"volts.herm_common": 0.12}


def test_what_goes_on_keeps_how_sure_it_was() -> None:
    values, choices = {"volts.herm_common": 2.0, "volts.fan_common": 1.0}, {"means": "resistor"}
    first = find("discharge", values, choices, accuracies={"volts.herm_common": 0.1, "volts.fan_common": 0.0})
    head = ("f2", *HEAD[1:])
    second = find(
        "discharge", {"volts.herm_fan": 2.0}, {"sections": "dual"}, standing=course(first), head=head, builds_on="f1",
        known=facts("multimeter_dc_voltage", spread=0.07), grade="measured",
    )  # fmt: skip
    assert second.standard_uncertainties == {"volts.herm_common": 0.05, "volts.herm_fan": 0.07}
    assert (first.grade, second.grade) == ("typed", "typed")
    assert second.grades == {
        "volts.herm_common": "typed", "volts.fan_common": "typed", "volts.herm_fan": "measured",
    }  # fmt: skip


def test_what_is_written_may_have_several_lines() -> None:
    found = find("tag", {}, {"kind": "engraved", "readable": "yes", "tag": "RTU-K7Q-4\nbehind the hatch"})
    assert found.choices["tag"] == "RTU-K7Q-4\nbehind the hatch"


def test_as_many_photographs_as_are_kept_are_taken_and_a_number_beyond_reason_is_not() -> None:
    many = [f"p{number}" for number in range(20)]
    assert len(find("probes_off", {}, SEALED, grade="seen", photographs=many).photographs) == 20
    for value in (1e12, float("inf")):
        with pytest.raises(RefusedError, match="no sound number"):
            find("panels", {"screws.out": value})


def test_what_was_found_and_not_put_right_stands_whatever_else_was_looked_for() -> None:
    standing = Standing("v1")

    def look(mark_id: str, cause: str, seen: str) -> None:
        outcome = "not_met" if seen == "found" else "met"
        choices = {"cause": cause, "seen": seen}
        said = {"check": "looked_for", "grade": "said", "outcome": outcome}
        standing.take(Finding(mark_id, TIME_S, choices=choices, **said))

    look("f1", "airflow", "found")
    look("f2", "rejection", "nothing")
    assert "cause_in_question" in standing.findings.facts()
    look("f3", "airflow", "mended")
    assert "cause_in_question" not in standing.findings.facts()
