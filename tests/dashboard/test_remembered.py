"""What is remembered of a unit, on the Visit page: its visits before this one, and the readings of its parts."""

import json
from dataclasses import replace
from typing import Any

from dashboard.hub import Hub
from dashboard.visit.remembered import cards, last_readings
from dashboard.visit.told import Known, checks_told
from ingest.visit.checklist import checklists
from ingest.wire.messages import (
    Baseline,
    CircuitMoved,
    FindingStands,
    PartHistory,
    PartReading,
    UnitHistory,
    Visit,
    VisitBefore,
    Wording,
    encode,
    topic,
)
from tests import wire_rig
from tests.wire_rig import RIG

T0_S, DAY_S = 1.7e9, 86_400.0
BEFORE = VisitBefore(
    "v1", T0_S, "Sam", "Sam Example", T0_S + 7200, "Warm since Monday", "better", "concern",
    found=[FindingStands("panels", "not_met", "typed", T0_S + 60, "f1", says=Wording("11 of 12.", "11 von 12."))],
    moved=[CircuitMoved("1", added_kg=0.17009714)],
    next_person="The fan bearing hums.",
    next_reading="in 30 days",
    open_questions=["Is that bearing worth it?"],
)  # fmt: skip


def read(name: str, day: float, herm_f: float, **more: Any) -> PartReading:
    known = {"grade": "typed", "outcome": "met", "accuracy": 0.9e-6} | more
    at_s = T0_S + day * DAY_S
    what = ("capacitor_measured", "herm", "Measured, each section to common: Herm to common", "capacitance")
    return PartReading(f"v{name}", name, at_s, *what, herm_f, **known)


CHANGED_S = T0_S + 300 * DAY_S
NOW = PartHistory("capacitor", [read("f2", 600, 45.2e-6, grade="measured")], "run capacitor", since_s=CHANGED_S)
WAS = PartHistory("capacitor", [read("f1", 0, 41e-6, outcome="not_met")], "run capacitor", until_s=CHANGED_S)
HISTORY = UnitHistory("RTU-K7Q-4", [BEFORE], [NOW, WAS])


def test_a_visit_reads_as_the_next_person_wants_it() -> None:
    (visits, _) = cards(HISTORY, {"panels": "Panels"}, "us")
    (table,) = visits.tables
    assert (table.title, table.time_s, table.is_open) == ("Sam", T0_S, True)
    assert table.rows == (
        ("Complaint", "Warm since Monday"),
        ("It was", "better, left running with a concern"),
        ("Found", "Panels: not met. 11 of 12."),
        ("Refrigerant", "Circuit 1: added 6 oz, recovered 0 oz."),
        ("You must know", "The fan bearing hums."),
        ("Read again", "in 30 days"),
        ("Nobody replied to", "Is that bearing worth it?"),
        ("Signed", "Sam Example"),
    )


def test_a_visit_that_was_left_says_that_nobody_signed_and_older_ones_are_counted() -> None:
    many = [VisitBefore(f"v{number}", T0_S - number * DAY_S) for number in range(20)]
    (visits,) = cards(UnitHistory("RTU-K7Q-4", many, more_visits=5), {}, "us")
    assert [table.rows for table in visits.tables] == [(("Signed", "by nobody"),)] * 12
    assert [table.is_open for table in visits.tables] == [True] + [False] * 11
    assert visits.says == ("13 older ones are in the record.",)
    assert cards(None, {}, "us") == cards(UnitHistory("RTU-K7Q-4"), {}, "us") == []


def test_every_reading_of_a_part_stands_with_its_day_plus_minus_and_grade() -> None:
    (_, parts) = cards(HISTORY, {}, "us")
    now, was = parts.tables
    assert (now.title, now.head, now.is_open) == ("Run capacitor", ("Day", "Reading", "How known"), True)
    assert now.rows == (
        (T0_S + 600 * DAY_S, "Herm to common: 45.2 ± 0.9 µF", "measured"),
        (CHANGED_S, "fitted", ""),
    )
    assert (was.title, was.is_open) == ("Run capacitor, taken out", False)
    assert was.rows == ((T0_S, "Herm to common: 41.0 ± 0.9 µF", "typed, not met"),)


def test_what_stands_on_a_can_is_shown_before_its_readings() -> None:
    label = {"hertz": 60.0, "herm": 45e-6, "fan": 5e-6, "tolerance": 0.06, "volts": 370.0}
    can = PartHistory("capacitor", [read("f1", 0, 45.2e-6)], label=label)
    (parts,) = cards(UnitHistory("RTU-K7Q-4", parts=[can]), {}, "us")
    assert parts.tables[0].rows[0] == (
        "Label", "Herm: 45 µF · Fan: 5 µF · Tolerance ±: 6 % · Volts: 370 V · Hertz: 60 Hz", "",
    )  # fmt: skip
    assert len(parts.tables[0].rows) == 2


def test_a_part_that_nobody_named_is_named_by_what_it_is() -> None:
    fan = PartHistory("motor", [], drives="condenser_fan")
    (parts,) = cards(UnitHistory("RTU-K7Q-4", parts=[fan, PartHistory("contactor", [])]), {}, "us")
    assert [table.title for table in parts.tables] == ["Condenser fan", "Contactor"]


def test_at_the_check_stands_what_the_part_that_is_in_measured_last() -> None:
    assert [table.title for table in last_readings(HISTORY, "capacitor_measured", "us")] == ["Run capacitor"]
    assert last_readings(HISTORY, "motor_amps", "us") == last_readings(None, "motor_amps", "us") == ()


def test_what_was_found_last_time_is_shown_with_its_day_offered_and_never_stands_by_itself() -> None:
    feeds = {"disconnect": "Left of the unit", "other_feeds": "none"}
    others = (
        "Other feeds: control circuit, crankcase heater, electric heat, convenience outlet, second feed, solar, "
        "generator"
    )
    visits = [VisitBefore("v3", T0_S), VisitBefore("v2", T0_S - DAY_S, "Sam", isolated=feeds, screws={"panels": 8.0})]
    history = UnitHistory("RTU-K7Q-4", visits)
    known = Known(wire_rig.about(started_s=T0_S), None, checklists(), past=history)
    told = checks_told(known, "us")["cards"]
    (last,) = told["isolate"]["tables"]
    assert (last["title"], last["time"], last["rows"]) == (
        "As last time, by Sam",
        T0_S - DAY_S,
        [
            ["Which disconnect", "Left of the unit"],
            [others, "Looked for each: none"],
        ],
    )
    (screws,) = told["panels"]["tables"]
    assert screws["rows"] == [["Screws that came out", "8"]]
    assert told["close_panel"]["tables"] == []
    for check, name, offer in (("isolate", "disconnect", "Left of the unit"), ("panels", "screws.out", "8")):
        (field,) = (it for it in told[check]["fields"] if it["to"] == name)
        assert (field["offers"][0], field["value"], field["usual"]) == (offer, "", "")
        assert field["offers"].count(offer) == 1
    fresh = checks_told(replace(known, past=None), "us")["cards"]
    assert fresh["isolate"]["tables"] == []


async def test_the_page_shows_what_the_rig_retains_of_this_unit_and_of_no_other() -> None:
    hub = Hub()
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=T0_S)))
    for group in checklists():
        hub.receive(topic(RIG, f"checklist/{group.group.lower()}"), encode(group))
    hub.receive(topic(RIG, "visit"), encode(Visit("visit-1", 0.0, 0.0, 0)))
    for tag, shown in (("RTU-9", False), ("RTU-K7Q-4", True)):
        hub.receive(topic(RIG, "history"), encode(UnitHistory(tag, HISTORY.visits, HISTORY.parts)))
        text = (await hub.join("us", "visit").take()).decode()
        blocks = (block.split("\ndata: ", 1) for block in text.strip().split("\n\n"))
        told = {kind.removeprefix("event: "): json.loads(data) for kind, data in blocks}
        (units,) = [form for form in told["visit"]["forms"] if form["id"] == "units"]
        assert ({"visits-before", "part-readings"} <= {card["id"] for card in units["cards"]}) is shown
        for check in ("complaint", "capacitor_measured"):
            assert bool(told["checklist"]["cards"][check]["tables"]) is shown
    assert told["checklist"]["cards"]["complaint"]["tables"][0]["rows"][2] == ["Found", "Panels: not met. 11 of 12."]
    assert told["checklist"]["cards"]["panels"]["tables"] == []


def test_baselines_are_told_with_what_ended_them_and_what_counts_can_be_withdrawn() -> None:
    kept = [
        Baseline("s3", "v3", T0_S + 2 * DAY_S),
        Baseline("s2", "v2", T0_S + DAY_S, ended="moved"),
        Baseline("s1", "v1", T0_S, ended="withdrawn", by="Robin", ended_s=T0_S + DAY_S, text="The coil was fouled."),
    ]
    (card,) = cards(UnitHistory("RTU-K7Q-4", baselines=kept), {}, "us")
    assert [row[0] for row in card.tables[0].rows] == [it.time_s for it in kept]
    counts, moved, withdrawn = (str(row[1]) for row in card.tables[0].rows)
    assert (counts, moved) == ("counts", "counts no more: refrigerant was moved after it")
    assert withdrawn.startswith("counts no more: withdrawn by Robin on ")
    assert withdrawn.endswith(": The coil was fouled.")
    which, why = card.fields
    assert ([value for value, _ in which.options], which.value, why.needed) == (["s3"], "s3", True)
    assert [key.ask for key in card.keys] == ["withdraw_baseline"]
    (over,) = cards(UnitHistory("RTU-K7Q-4", baselines=kept[1:]), {}, "us")
    assert (over.fields, over.keys) == ((), ())
