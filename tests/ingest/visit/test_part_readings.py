"""What was measured of a part over the visits: whose it is, what a new part begins, and what a check makes of it."""

import dataclasses
import math
from typing import Any

import pytest

from ingest.visit.deciding import Facts
from ingest.visit.finding import finding
from ingest.visit.part_readings import PartReadings
from ingest.visit.standing import Standing
from ingest.wire.messages import Finding, FindingAsk, PartHistory, Sheet
from ingest.wire.sheet import Capacitor, Circuit, Contactor, Motor
from tests.ingest.visit.checks import HEAD, TIME_S, facts

UF, DAY_S = 1e-6, 86_400.0
DUAL = Capacitor("run capacitor", herm_f=45 * UF, fan_f=5 * UF, tolerance_share=0.06)
MOTORS = (Motor("compressor", drives="compressor", circuit="1"), Motor("condenser fan", drives="condenser_fan"))
SHEET = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")], parts=(*MOTORS, DUAL, Contactor("contactor")))


def kept(name: str, check: str, day: int, values: dict[str, float], **fields: Any) -> Finding:
    """A mark as the record has it, each ± limit 0.5 µF or 0.5 A."""
    spreads = {name: 0.25 * (UF if value < 1e-3 else 1.0) for name, value in values.items()}
    known = {"grade": "typed", "outcome": "met", "standard_uncertainties": spreads} | fields
    return Finding(name, TIME_S + day * DAY_S, "Sam", "technician", check=check, values=values, **known)


def cold(name: str, day: int, herm_uf: float, **fields: Any) -> Finding:
    return kept(
        name, "capacitor_measured", day, {"measured.herm": herm_uf * UF}, plated={"label.herm": 45 * UF}, **fields
    )


def told(*marks: tuple[str, Finding], sheet: Sheet | None = SHEET) -> list[PartHistory]:
    known = PartReadings(sheet)
    for visit, mark in marks:
        known.take(visit, mark)
    return known.message()


def test_every_reading_of_a_part_stands_with_its_day_grade_and_plus_minus_newest_first() -> None:
    (can,) = told(("v1", cold("f1", 0, 45.2)), ("v2", cold("f2", 300, 44.1, grade="measured")))
    assert (can.kind, can.part, can.since_s, can.until_s) == ("capacitor", "run capacitor", None, None)
    assert [(it.visit, it.time_s, it.grade) for it in can.readings] == [
        ("v2", TIME_S + 300 * DAY_S, "measured"),
        ("v1", TIME_S, "typed"),
    ]
    newest = can.readings[0]
    assert (newest.of, newest.quantity, newest.label_value) == ("herm", "capacitance", 45 * UF)
    mixed = kept("f3", "contactor", 0, {"coil_volts": 25.1, "drop.pole_1": 0.04}, grades={"coil_volts": "measured"})
    assert [it.grade for it in told(("v1", mixed))[0].readings] == ["measured", "typed"]
    assert newest.label == "Measured, each section to common: Herm to common"
    assert (newest.value, newest.accuracy) == pytest.approx((44.1 * UF, 0.5 * UF))


def test_a_part_that_nobody_named_is_the_only_one_of_its_kind_and_among_several_none() -> None:
    fan = kept("f1", "motor_amps", 0, {"amps.a": 1.4}, choices={"motor": "condenser_fan"})
    (motor,) = told(("v1", fan))
    assert (motor.kind, motor.part, [it.of for it in motor.readings]) == ("motor", "condenser fan", ["a"])
    two = Sheet("RTU-9", [], parts=(DUAL, Capacitor("second capacitor")))
    assert [it.part for it in told(("v1", cold("f1", 0, 45.0)), sheet=two)] == [""]
    assert [(it.part, it.drives) for it in told(("v1", fan), sheet=None)] == [("", "condenser_fan")]


def test_a_motor_and_a_contactor_have_theirs_and_turns_of_the_lead_are_divided_out() -> None:
    ten = kept("f1", "motor_amps", 0, {"amps.a": 5.0, "turns": 10.0, "rated": 1.5}, part="condenser fan")
    poles = kept("f2", "contactor_live", 0, {"coil_volts": 25.1, "drop.pole_1": 0.04, "coil_rated": 24.0})
    motor, contactor = told(("v1", ten), ("v1", poles))
    assert [(it.value, it.accuracy) for it in motor.readings] == [(0.5, 0.05)]  # 5 A through ten turns, ±0.5 A
    assert [it.of for it in contactor.readings] == ["coil_volts", "pole_1"]  # and no rating, which is no reading


def test_a_section_under_load_is_what_its_amps_and_volts_come_to() -> None:
    """C = I / (2 pi f V): 2652.58 uF V/A at 60 Hz (computed); 6.3 A at 370 V are 45.2 uF."""
    values = {"amps": 6.3, "volts": 370.0}
    load = kept("f1", "capacitor_under_load", 0, values, choices={"section": "herm"}, plated={"hertz": 60.0})
    (can,) = told(("v1", load))
    (reading,) = can.readings
    assert (reading.of, reading.label, reading.quantity) == ("herm", "Under load: Herm", "capacitance")
    assert reading.value == pytest.approx(2652.58e-6 * 6.3 / 370.0, rel=1e-5)
    assert told(("v1", kept("f1", "capacitor_under_load", 0, values, choices={"section": "herm"}))) == []


@pytest.mark.parametrize("check", ["capacitor_measured", "replacement"])
def test_each_section_of_a_can_has_its_own_outcome(check: str) -> None:
    """5 µF ± 6 % is 4.7 to 5.3: the label's tolerance, common practice, no source. A sound fan stood as not met, for
    its herm section."""
    label = "new_label" if check == "replacement" else "label"
    values = {"measured.herm": 9 * UF, "measured.fan": 5 * UF, f"{label}.herm": 45 * UF, f"{label}.fan": 5 * UF}
    spreads = {"measured.herm": 0.15 * UF, "measured.fan": 0.1 * UF}
    both = kept("f1", check, 0, values, outcome="not_met", standard_uncertainties=spreads)
    can = told(("v1", both))[0]
    assert {it.of: it.outcome for it in can.readings} == {"herm": "not_met", "fan": "met"}
    wide = kept("f1", check, 0, values, outcome="not_met", standard_uncertainties={"measured.fan": 0.2 * UF})
    assert {it.of: it.outcome for it in told(("v1", wide))[0].readings} == {"herm": "not_met", "fan": "cannot_tell"}
    tight = kept("f1", check, 0, {**values, "measured.fan": 4.8 * UF, "tolerance": 0.03}, standard_uncertainties={})
    assert told(("v1", tight))[0].readings[1].outcome == "not_met"
    bare = {name: it for name, it in values.items() if not name.startswith(label)}
    unlabelled = kept("f1", check, 0, bare, outcome="cannot_tell")
    assert {it.outcome for it in told(("v1", unlabelled))[0].readings} == {"cannot_tell"}


def test_what_goes_on_from_a_finding_takes_its_place_and_what_was_skipped_is_no_reading() -> None:
    on = kept("f2", "capacitor_measured", 0, {"measured.herm": 45.2 * UF, "measured.fan": 5.0 * UF}, builds_on="f1")
    (can,) = told(("v1", cold("f1", 0, 45.2)), ("v1", on))
    assert [(it.id, it.of) for it in can.readings] == [("f2", "herm"), ("f2", "fan")]
    assert told(("v1", cold("f1", 0, 45.2, outcome="skipped"))) == []


def test_a_part_that_was_replaced_begins_a_history_of_its_own() -> None:
    new = kept(
        "f2", "replacement", 300, {"measured.herm": 45.3 * UF, "new_label.herm": 45 * UF, "old_label.herm": 45 * UF}
    )
    now, before = told(("v1", cold("f1", 0, 41.0)), ("v2", new), ("v3", cold("f3", 600, 45.0)))
    changed_s = TIME_S + 300 * DAY_S
    assert (now.since_s, now.until_s, [it.id for it in now.readings]) == (changed_s, None, ["f3", "f2"])
    assert (before.since_s, before.until_s, [it.id for it in before.readings]) == (None, changed_s, ["f1"])


def test_a_new_can_whose_label_was_seen_to_be_as_the_old_one_has_that_label() -> None:
    values = {"measured.herm": 45.3 * UF, "old_label.herm": 45 * UF}
    now, before = told(
        ("v1", cold("f1", 0, 41.0)),
        ("v2", kept("f2", "replacement", 300, values, recalled={"new_label.herm": 45 * UF})),
    )
    assert (now.label, now.readings[0].label_value) == ({"herm": 45 * UF}, 45 * UF)
    assert before.until_s == TIME_S + 300 * DAY_S


def test_another_date_code_on_the_can_is_another_can_whoever_put_it_in() -> None:
    def eye(name: str, day: int, code: str) -> Finding:
        return kept(name, "capacitor_by_eye", day, {}, choices={"date_code": code})

    marks = [("v1", eye("e1", 0, "2219")), ("v1", cold("f1", 0, 45.2)), ("v2", eye("e2", 300, "2219"))]
    (can,) = told(*marks, ("v2", cold("f2", 300, 45.0)))
    assert [it.id for it in can.readings] == ["f2", "f1"]
    now, before = told(*marks, ("v3", eye("e3", 600, "2548")), ("v3", cold("f3", 600, 45.1)))
    assert ([it.id for it in now.readings], [it.id for it in before.readings]) == (["f3"], ["f1"])


def test_each_can_has_its_own_days_however_often_one_was_changed() -> None:
    def changed(name: str, day: int, **more: Any) -> Finding:
        return kept(name, "replacement", day, {"measured.herm": 45 * UF}, **more)

    on = changed("r3", 21, builds_on="r2")
    cans = told(("v1", cold("f1", 0, 41.0)), ("v2", changed("r1", 10)), ("v3", changed("r2", 20)), ("v3", on))
    days = [(can.since_s, can.until_s, [it.id for it in can.readings]) for can in cans]
    first_s, second_s = TIME_S + 10 * DAY_S, TIME_S + 20 * DAY_S
    assert days == [(second_s, None, ["r3"]), (first_s, second_s, ["r1"]), (None, first_s, ["f1"])]


def test_a_date_code_is_held_against_that_of_the_can_before_it() -> None:
    def eye(name: str, day: int, **choices: str) -> tuple[str, Finding]:
        return name, kept(name, "capacitor_by_eye", day, {}, choices=choices)

    marks = [
        eye("e1", 0, date_code="2219"), ("v1", cold("f1", 0, 45.0)),
        eye("e2", 10, date_code="2548"), ("v2", cold("f2", 10, 45.0)),
        eye("e3", 20), eye("e4", 21, date_code="2548"), ("v3", cold("f3", 21, 45.0)),
        eye("e5", 30, date_code="2219"), ("v4", cold("f4", 30, 45.0)),
    ]  # fmt: skip
    cans = told(*marks)
    assert [[it.id for it in can.readings] for can in cans] == [["f4"], ["f3", "f2"], ["f1"]]
    assert [can.until_s for can in cans] == [None, TIME_S + 30 * DAY_S, TIME_S + 10 * DAY_S]


def test_a_date_code_of_a_new_can_counts_though_nobody_had_read_that_of_the_old_one() -> None:
    def eye(name: str, day: int, code: str) -> Finding:
        return kept(name, "capacitor_by_eye", day, {}, choices={"date_code": code})

    fitted = kept("r1", "replacement", 10, {"measured.herm": 45 * UF})
    cans = told(
        ("v1", cold("f1", 0, 41.0)), ("v2", fitted), ("v2", eye("e1", 10, "2548")),
        ("v3", eye("e2", 20, "2601")), ("v3", cold("f3", 20, 45.0)),
    )  # fmt: skip
    assert [[it.id for it in can.readings] for can in cans] == [["f3"], ["r1"], ["f1"]]


def test_turns_that_cannot_be_are_one_and_those_of_a_section_under_load_are_divided_out() -> None:
    values = {"turns": 0.0, "amps.a": 5.0}
    (fan,) = told(("v1", kept("f1", "motor_amps", 0, values, part="blower")))
    assert [it.value for it in fan.readings] == [5.0]
    values = {"amps": 7.0, "turns": 10.0, "volts": 370.0, "hertz": 60.0}
    (can,) = told(("v1", kept("f2", "capacitor_under_load", 0, values, choices={"section": "fan"})))
    (reading,) = can.readings
    assert reading.value == pytest.approx(2652.58e-6 * 0.7 / 370.0, rel=1e-5)
    # ±0.5 A of 7 A and ±0.5 V of 370 V, in quadrature (JCGM 100, 5.1.2)
    assert reading.accuracy == pytest.approx(reading.value * math.hypot(0.5 / 7.0, 0.5 / 370.0), rel=1e-3)
    bare = kept("f3", "capacitor_under_load", 0, values, choices={"section": "fan"}, standard_uncertainties={})
    assert told(("v1", bare))[0].readings[0].accuracy is None


# --- 5 % of the label lost since the last reading of the same can: common practice, no source


def knowing(*marks: tuple[str, Finding], sheet: Sheet = SHEET) -> Facts:
    known = PartReadings(sheet)
    for visit, mark in marks:
        known.take(visit, mark)
    return dataclasses.replace(facts(sheet=sheet), part_readings=known)


def measured(known: Facts, herm_uf: float, within_uf: float = 0.5, **values: float) -> Finding:
    figures = {"measured.herm": herm_uf * UF, **values}
    ask = FindingAsk(
        "f9", "Sam", check="capacitor_measured", grade="typed", values=figures, choices={"sections": "herm"},
        accuracies={"measured.herm": within_uf * UF}, confirmed=True,
    )  # fmt: skip
    return finding(ask, HEAD, Standing("v9"), known)


@pytest.mark.parametrize(
    ("earlier_uf", "herm_uf", "kind"),
    [
        (45.2, 44.9, "finding.met"),  # 0.7 % ±1.6 %: it has not
        (45.2, 43.1, "finding.may_go_next"),  # 4.7 % ±1.6 %
        (
            46.0,
            43.1,
            "finding.may_go_next",
        ),  # 6.4 % ±1.6 %: by one meter's ±0.5 uF (1.1 %) alone it would
        (46.7, 43.1, "finding.goes_next"),  # 8.0 % ±1.6 %
    ],
)
def test_the_last_reading_is_looked_up_and_the_plus_minus_of_both_counts(
    earlier_uf: float, herm_uf: float, kind: str
) -> None:
    """±0.5 uF twice is ±0.71 uF (JCGM 100, 5.1.2), 1.6 % of a label of 45 uF."""
    known = knowing(("v1", cold("f1", 0, earlier_uf)))
    found = measured(known, herm_uf)
    assert (found.outcome, found.says and found.says.kind) == ("met", kind)
    assert found.recalled == {"earlier.herm": pytest.approx(earlier_uf * UF)}
    assert found.standard_uncertainties["earlier.herm"] == pytest.approx(0.25 * UF)


def test_a_reading_of_which_no_plus_minus_is_known_and_no_label_was_read_still_counts() -> None:
    """3.6 uF of 45 uF lost are 8 %; the ±0.5 uF of now alone are ±1.1 %."""
    bare = kept("f1", "capacitor_measured", 0, {"measured.herm": 46.7 * UF}, standard_uncertainties={})
    found = measured(knowing(("v1", bare)), 43.1)
    assert (found.says and found.says.kind, "earlier.herm" in found.standard_uncertainties) == (
        "finding.goes_next", False,
    )  # fmt: skip


def test_what_goes_next_is_said_to_the_owner_and_what_cannot_be_told_is_said_so() -> None:
    goes = measured(knowing(("v1", cold("f1", 0, 46.7))), 43.1).says
    assert goes is not None
    assert goes.si.endswith(
        "8.0 ± 1.6 % of its label is lost since the last reading, 46.7 ± 0.5 µF: it goes next, say so to the owner."
    )
    may = measured(knowing(("v1", cold("f1", 0, 45.2))), 43.1).says
    assert may is not None
    assert may.si.endswith("whether that is the 5 % at which it goes next, these meters cannot tell.")


def test_what_somebody_read_themselves_is_taken_before_what_is_remembered() -> None:
    found = measured(knowing(("v1", cold("f1", 0, 46.7))), 44.9, **{"earlier.herm": 45.0 * UF})
    assert (found.recalled, found.says and found.says.kind) == ({}, "finding.met")


@pytest.mark.parametrize(
    "marks",
    [
        [("v9", cold("f1", 300, 46.7))],  # of this visit: minutes ago
        [("v1", cold("f1", 0, 46.7)), ("v9", kept("f2", "replacement", 300, {"new_label.herm": 45 * UF}))],
        [("v1", kept("f1", "capacitor_measured", 0, {"measured.herm": 46.7 * UF, "label.herm": 50 * UF}))],
        [("v1", cold("f1", 0, 46.7, part="another capacitor"))],
        [],
    ],
    ids=["this visit", "replaced", "another label", "another part", "nothing"],
)
def test_another_can_is_not_held_against_this_one(marks: list[tuple[str, Finding]]) -> None:
    found = measured(knowing(*marks), 43.1)
    assert (found.recalled, found.says and found.says.kind) == ({}, "finding.met")


def test_the_first_reading_of_a_new_can_is_what_the_next_visit_is_held_against() -> None:
    new = kept("f2", "replacement", 300, {"measured.herm": 46.7 * UF, "new_label.herm": 45 * UF})
    found = measured(knowing(("v1", cold("f1", 0, 43.2)), ("v2", new)), 43.1)
    assert (found.recalled["earlier.herm"], found.says and found.says.kind) == (
        pytest.approx(46.7 * UF), "finding.goes_next",
    )  # fmt: skip


# --- a label is typed once


BARE = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "txv")])
"""A unit of whose parts its sheet says nothing."""
LABEL = {"label.herm": 45 * UF, "label.fan": 5 * UF, "tolerance": 0.05, "rated_volts": 370.0, "hertz": 60.0}


def asked(check: str, known: Facts, values: dict[str, float], **choices: str) -> Finding:
    ask = FindingAsk("f9", "Sam", check=check, grade="typed", values=values, choices=choices, confirmed=True)
    return finding(ask, HEAD, Standing("v9"), known)


def test_what_was_read_off_a_can_is_asked_for_no_more_and_its_own_tolerance_counts() -> None:
    """44.0 uF of 45 uF ±5 % (from 42.75) is met; 42.5 uF, within ±6 %, is not."""
    known = knowing(("v9", kept("e", "capacitor_by_eye", 0, LABEL)), sheet=BARE)
    found = measured(known, 44.0)
    assert (found.outcome, found.recalled) == (
        "met", {"label.herm": 45 * UF, "label.fan": 5 * UF, "tolerance": 0.05},
    )  # fmt: skip
    assert measured(known, 42.5, 0.1).outcome == "not_met"
    load = asked("capacitor_under_load", known, {"amps": 6.3, "volts": 370.0, "hertz": 60.0}, section="fan", drive="no")
    assert load.recalled == {"label": 5 * UF, "tolerance": 0.05}
    assert measured(knowing(sheet=BARE), 44.0).outcome == "cannot_tell"  # nobody has read it yet


def test_what_is_typed_is_taken_before_what_was_read_and_the_sheet_before_that() -> None:
    known = knowing(("v1", kept("e", "capacitor_by_eye", 0, LABEL)), sheet=BARE)
    found = measured(known, 44.0, **{"label.herm": 40 * UF})
    assert (found.outcome, found.recalled["label.fan"], "label.herm" in found.recalled) == ("not_met", 5 * UF, False)
    assert (
        measured(knowing(("v1", kept("e", "capacitor_by_eye", 0, LABEL))), 44.0).recalled == {}
    )  # 6 %, as in the sheet


def test_a_new_can_is_held_against_the_label_of_the_one_that_came_out_however_often_it_is_gone_on_with() -> None:
    old = ("v1", kept("e", "capacitor_by_eye", 0, LABEL))
    new = {"new_label.herm": 40 * UF, "rated_volts.new": 440.0, "hertz.new": 50.0, "tolerance": 0.06}
    fitted = ("v9", kept("f1", "replacement", 1, new))
    known = knowing(old, fitted, sheet=BARE)
    again = asked("replacement", known, {"new_label.herm": 40 * UF})
    assert again.recalled == {
        "old_label.herm": 45 * UF, "old_label.fan": 5 * UF, "rated_volts.old": 370.0, "hertz.old": 60.0,
    }  # fmt: skip
    assert again.outcome == "not_met"
    assert measured(known, 39.9).recalled == {"label.herm": 40 * UF, "tolerance": 0.06}  # the new one's


def test_no_other_check_recalls_anything() -> None:
    known = knowing(("v1", kept("e", "capacitor_by_eye", 0, LABEL)), sheet=BARE)
    assert asked("capacitor_by_eye", known, {"label.herm": 45 * UF}).recalled == {}
    assert measured(facts(sheet=BARE), 44.0).recalled == {}
