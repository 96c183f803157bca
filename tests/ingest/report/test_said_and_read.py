"""What was said is held against what was read: no page says that a unit runs which its instruments saw at rest.

That a word yields to a reading, and that a figure of running has no value at rest: common practice, no source.
"""

from typing import Any

import pytest
from msgspec.structs import replace

from ingest.report.compose import compose
from ingest.report.document import Report
from ingest.wire.messages import Dismissed, Placed, Proposed, ProposedFinding, Wording
from tests.ingest.report.claims import contradictions
from tests.ingest.report.journal import Journal
from tests.ingest.report.reading import section
from tests.rigs import make_pack

DEAD = {"compressor_current": 0.0, "line_voltage_ab": 0.0}
RESTS = Wording("The compressor does not run.", "The compressor does not run.", "finding.rig_rests")


def read_at(it: Journal, *moments: tuple[str, dict[str, float]]) -> Report:
    """The report of a visit of which the instruments read this at these marks."""
    shelf = it.shelf()
    for number, (mark, values) in enumerate(moments, 1):
        (time_s,) = (each.time_s for each in it.marks if each.id == mark)
        shelf.packs["v1"].append(replace(make_pack(time_s, **values), sequence=number))
    return compose(shelf, "v1", system="us", zone="UTC")


def first_line(report: Report) -> str:
    return section(report, "Outcome").splitlines()[0]


@pytest.mark.parametrize("left", ["running", "concern"])
@pytest.mark.parametrize(
    ("values", "read"),
    [(DEAD, "0.0 A and 0 V"), ({"suction_pressure": 9e5, "liquid_pressure": 9.1e5}, "it at rest")],
)
def test_what_the_instruments_read_at_rest_is_only_said_to_run(left: str, values: dict[str, float], read: str) -> None:
    it = Journal()
    told = read_at(it, (it.handed_over(left), values))
    assert first_line(told) == f"Said to run; the instruments read {read}."
    assert section(told, "Start here").startswith(f"Said to run; the instruments read {read}; the complaint")
    assert not list(contradictions(told))


def test_what_runs_by_its_amps_runs() -> None:
    it = Journal()
    assert first_line(read_at(it, (it.handed_over(), {"compressor_current": 14.0}))) == "It runs."


def test_where_the_rig_said_no_to_it_runs_it_does_not_run_on_either_side() -> None:
    it = Journal()
    it.found("as_it_was", "not_met", choices={"runs": "own_call", "power": "on"}, says=RESTS)
    it.handed_over()
    told = it.report()
    assert first_line(told) == "It does not run."
    assert section(told, "Start here").startswith("It does not run; the complaint")
    assert not list(contradictions(told))


def test_what_was_seen_to_run_runs_though_the_clamps_are_off_by_the_handover() -> None:
    it = Journal()
    it.found("as_it_was", choices={"runs": "own_call", "power": "on"})
    assert first_line(read_at(it, (it.handed_over(), DEAD))) == "It runs."


@pytest.mark.parametrize(("left", "locked"), [("running", True), ("concern", True), ("off", False)])
def test_a_lock_that_stands_is_on_the_first_line_with_what_to_do(left: str, *, locked: bool) -> None:
    """Each lock is taken off by whoever put it on: 29 CFR 1910.147(e)(3), from memory."""
    it = Journal()
    it.found("isolate", choices={"disconnect_state": "locked_by_me", "locked_by": "Sam"})
    it.handed_over(left)
    told = it.report()
    assert ("a lock is still on it" in first_line(told)) is locked
    assert ("take no lock off yourself" in section(told, "What to do, and by when")) is locked
    it.found("power_back", choices={"lock_removed_by": "Sam"})
    assert "a lock is still on it" not in first_line(it.report())


def figures(it: Journal, *moments: tuple[str, dict[str, float]]) -> dict[str, list[str]]:
    tables: list[Any] = [
        block for each in read_at(it, *moments).back if each.title == "Figures" for block in each.blocks
    ]
    return {row[0].text: [cell.text for cell in row[1:3]] for table in tables for row in getattr(table, "rows", ())}


def test_a_unit_at_rest_has_no_superheat_and_no_subcooling() -> None:
    rests = {"superheat": -1.6, "subcooling": -6.2, "suction_pressure": 9e5, "liquid_pressure": 9.1e5}
    it = Journal()
    first = it.add_reading()
    it.added(4.0)
    told = figures(it, (first, rests), (it.handed_over(), rests | {"compressor_current": 14.0}))
    assert told["Superheat"][0] == told["Subcooling"][0] == "none at rest"
    assert told["Superheat"][1].startswith("−2.9 °F")
    assert told["Suction pressure"][0] != ""


RUNS = {
    "superheat": 6.0,
    "subcooling": 5.4,
    "suction_pressure": 9.2e5,
    "liquid_pressure": 2.7e6,
    "compressor_current": 14.0,
}
OPEN_AIR = {**RUNS, "superheat": 61.0, "subcooling": -70.0, "suction_pressure": 1.013e5, "liquid_pressure": 1.013e5}


def came_off(it: Journal, how: str) -> None:
    if how == "it was recorded":
        it.found("probes_off", choices={"cores": "bubbles"})
    elif how == "it was put on nothing":
        it.add(Placed, on="", channels=["suction_pressure", "liquid_pressure"])
    else:
        what, says = ProposedFinding("probes_off"), Wording("Off.", "Off.")
        seen = it.add(
            Proposed, from_s=it.now_s + 30.0, to_s=it.now_s + 50.0, what=what, says=says, by="", role="technician"
        )
        if how == "the instruments saw it, and it was no such thing":
            it.add(Dismissed, of=seen)


@pytest.mark.parametrize(
    ("how", "is_off"),
    [
        ("it was recorded", True),
        ("it was put on nothing", True),
        ("the instruments saw it", True),
        ("the instruments saw it, and it was no such thing", False),
    ],
)
def test_a_probe_in_open_air_leaves_no_figure_of_the_circuit_at_the_end(how: str, *, is_off: bool) -> None:
    """A gauge in open air reads the air's own pressure: what it then gives is of no circuit."""
    it = Journal()
    first = it.add_reading()
    it.added(4.0)
    last = it.add_reading()
    came_off(it, how)
    told = figures(it, (first, RUNS), (last, RUNS), (it.handed_over(), OPEN_AIR))
    assert told["Superheat"][1].startswith("10.8 °F") is is_off
    assert told["Suction pressure"][1].startswith("119 psig") is is_off
    assert told["Compressor"][1] == "14 A"


def test_of_probes_that_came_off_and_were_read_on_no_circuit_after_the_work_nothing_is_told() -> None:
    it = Journal()
    first = it.add_reading()
    it.added(4.0)
    came_off(it, "it was recorded")
    told = figures(it, (first, RUNS), (it.handed_over(), OPEN_AIR))
    assert told["Superheat"][1] == told["Suction pressure"][1] == ""
    again = Journal()
    first = again.add_reading()
    again.added(4.0)
    came_off(again, "it was recorded")
    again.found("probes_on", values={"pressure.suction": 9.2e5})
    assert figures(again, (first, RUNS), (again.handed_over(), RUNS))["Superheat"][1].startswith("10.8 °F")


def test_two_moments_of_one_minute_are_not_compared() -> None:
    outdoors = {"outdoor_air_temperature": 305.0, "compressor_current": 14.0}
    for apart_s, says in ((40.0, "Both were read within one minute"), (600.0, "like conditions")):
        it = Journal()
        first = it.add_reading()
        it.now_s += apart_s - 60.0
        told = section(read_at(it, (first, outdoors), (it.handed_over(), outdoors)), "Before and after")
        assert says in told
        assert ("like conditions" in told) is (apart_s > 60.0)


@pytest.mark.parametrize(
    ("grade", "says"), [("typed", "8.0 A (as typed)"), ("said", "8.0 A (as said)"), ("measured", "8.0 A")]
)
def test_amps_that_nobody_but_a_person_told_are_marked_so(grade: str, says: str) -> None:
    it = Journal()
    it.found("motor_amps", grade=grade, choices={"motor": "compressor"}, values={"amps.a": 8.0})
    it.added(4.0)
    it.handed_over()
    assert says in section(it.report(), "Before and after").splitlines()


@pytest.mark.parametrize(("grade", "says"), [("typed", " (as typed)"), ("said", " (as said)"), ("measured", "")])
def test_what_a_person_typed_of_the_readings_is_marked_so_on_both_sides(grade: str, says: str) -> None:
    """None was linked; of a figure with a grade of its own that one counts."""
    it = Journal()
    values = {"return_air": 297.0, "supply_air": 287.0, "subcooling": 5.4, "superheat": 6.0}
    grades = dict.fromkeys(values, grade) | {"superheat": "measured"}
    it.found("readings_before", grade=grade, values=values, grades=grades)
    it.handed_over()
    report = it.report()
    front, back = section(report, "Before and after").splitlines(), section(report, "Figures").splitlines()
    assert {f"75 °F, 57 °F{says}", f"right{says}"} < {*front}
    assert {f"9.7 °F{says}", f"74.9 °F{says}", f"56.9 °F{says}", "10.8 °F"} < {*back}


def test_air_that_was_typed_is_not_called_measured() -> None:
    for grade, says in (("measured", "comes out at 57 °F (we measured)."), ("typed", "comes out at 57 °F (as typed).")):
        it = Journal()
        it.found("air", grade=grade, values={"return_air": 297.0, "supply_air": 287.0})
        it.handed_over(complaint="better")
        assert says in section(it.report(), "You told us, and now")
