"""Channels on circuits and parts, hoses on ports: what is of the circuit in view, and what may be asked."""

import dataclasses

import pytest
from msgspec.structs import replace

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.placing import hose, place
from ingest.visit.plates import read_now
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    ChannelPlace,
    Described,
    Finding,
    HoseAsk,
    HoseSet,
    Mark,
    PlaceAsk,
    Placed,
    Reading,
    Sheet,
    VisitOpened,
)
from ingest.wire.sheet import Circuit
from tests import wire_rig

TIME_S = 1.7e9
HEAD: Head = ("a1", TIME_S, "Sam", "technician")
MEASURED = ("suction_pressure", "liquid_pressure", "suction_line_temperature", "condenser_fan_current", "superheat")


def facts(*names: str) -> Facts:
    readings = {name: Reading(1.0, TIME_S) for name in names or MEASURED}
    unit = wire_rig.about(started_s=TIME_S).unit
    return Facts(unit, readings, frozenset(), frozenset(), circuits=("1", "2"), parts=("condenser fan",))


def opened(*marks: Mark) -> Standing:
    return Standing("v1", [VisitOpened("o1", TIME_S, unit="RTU-4", circuit="1"), *marks])


def test_without_names_all_that_a_circuit_is_read_by_goes_there_and_the_circuit_comes_into_view() -> None:
    placed = place(PlaceAsk("a1", "Sam", on="2"), HEAD, opened(), facts())
    assert placed.channels == ("suction_pressure", "liquid_pressure", "suction_line_temperature")
    standing = opened(placed)
    assert standing.placing.circuit == "2"
    assert standing.message().elsewhere == {}


@pytest.mark.parametrize(
    "channel",
    [
        "suction_pressure", "liquid_pressure", "discharge_pressure", "suction_line_temperature",
        "liquid_line_temperature", "discharge_line_temperature", "vacuum_pressure",
    ],
)  # fmt: skip
def test_each_thing_that_a_circuit_is_read_by_goes_to_it_and_reads_no_other(channel: str) -> None:
    placed = place(PlaceAsk("a1", "Sam", on="2"), HEAD, opened(), facts(channel, "blower_current"))
    assert placed.channels == (channel,)
    standing = opened(placed)
    brings_it_into_view = channel in ("suction_pressure", "liquid_pressure")
    assert standing.placing.circuit == ("2" if brings_it_into_view else "1")
    assert standing.placing.elsewhere() == ({} if brings_it_into_view else {channel: "it is on circuit 2"})


def test_a_line_clamp_left_on_the_other_circuit_does_not_read_the_one_in_view() -> None:
    both = ("suction_pressure", "liquid_pressure", "suction_line_temperature")
    standing = opened(Placed("p1", TIME_S, on="1", channels=both))
    standing.take(Placed("p2", TIME_S, on="2", channels=both[:2]))
    assert standing.placing.circuit == "2"
    assert standing.placing.elsewhere() == {"suction_line_temperature": "it is on circuit 1"}


def test_it_is_known_since_when_which_circuit_has_been_in_view() -> None:
    standing = opened()
    standing.take(Placed("p1", TIME_S + 5.0, on="2", channels=("suction_pressure",)))
    standing.take(Placed("p2", TIME_S + 6.0, on="2", channels=("liquid_pressure",)))
    assert standing.placing.views == [(TIME_S, "1"), (TIME_S + 5.0, "2")]


def test_a_clamp_moved_alone_brings_no_other_circuit_into_view() -> None:
    standing = opened(Placed("p1", TIME_S, on="2", channels=("suction_line_temperature",)))
    assert standing.placing.circuit == "1"
    assert standing.placing.elsewhere() == {"suction_line_temperature": "it is on circuit 2"}


def test_what_was_taken_off_reads_nothing() -> None:
    standing = opened(Placed("p1", TIME_S, on="", channels=("liquid_pressure",)))
    assert standing.placing.circuit == "1"
    assert standing.placing.elsewhere() == {"liquid_pressure": "it is on nothing"}


def test_what_was_taken_off_reads_nothing_at_a_unit_of_which_no_circuit_is_named_either() -> None:
    off = Placed("p1", TIME_S, on="", channels=("liquid_pressure", "suction_line_temperature"))
    assert Standing("v1", [off]).placing.elsewhere() == dict.fromkeys(off.channels, "it is on nothing")


def test_turns_are_of_the_clamp_that_the_lead_was_wound_through() -> None:
    known = dataclasses.replace(facts(), instruments={"condenser_fan_current": "clamp"})
    standing = opened()
    standing.placing.instruments = known.instruments
    ask = PlaceAsk("a1", "Sam", on="condenser fan", channels=["condenser_fan_current"], turns=4)
    standing.take(place(ask, HEAD, standing, known))
    assert standing.placing.turns() == {"condenser_fan_current": 4}
    standing.placing.instruments = {"condenser_fan_current": "another"}
    assert standing.placing.turns() == {}
    assert standing.message().places == {"condenser_fan_current": ChannelPlace("condenser fan")}
    everything = ("suction_pressure", "condenser_fan_current")
    standing.take(Placed("p2", TIME_S, on="2", channels=everything))  # and nobody wound a lead through it
    assert standing.placing.turns() == {}
    known = dataclasses.replace(known, instruments=standing.placing.instruments)
    standing.take(place(replace(ask, turns=3), HEAD, standing, known))
    assert standing.placing.turns() == {"condenser_fan_current": 3}


def test_the_instruments_of_the_rig_stay_known_where_a_circuit_is_renamed() -> None:
    clamp = Placed("p1", TIME_S, on="1", channels=("compressor_current",), turns=4,
                   instruments={"compressor_current": "clamp"})  # fmt: skip
    standing = opened(clamp)
    standing.placing.instruments = {"compressor_current": "another"}
    sheet = Sheet("RTU-4", [Circuit("north", "R-410A", "txv"), Circuit("2", "R-410A", "txv")])
    standing.take(Described("d1", TIME_S, sheet=sheet, circuits_were=["1", "2"]))
    assert standing.placing.turns() == {}


def test_from_hose_on_to_hose_off_the_pressure_at_the_port_is_not_of_the_circuit() -> None:
    standing = opened()
    standing.take(hose(HoseAsk("h1", "Sam", port="suction", on=True), HEAD, standing, facts()))
    assert standing.placing.elsewhere() == {"suction_pressure": "a hose is on the suction port"}
    standing.take(hose(HoseAsk("h2", "Sam", port="suction", on=True), HEAD, standing, facts()))  # simply so
    assert standing.message().hoses == ["suction"]
    standing.take(hose(HoseAsk("h3", "Sam", port="suction", on=False), HEAD, standing, facts()))
    assert standing.message().elsewhere == {}
    standing.take(hose(HoseAsk("h4", "Sam", port="liquid", on=False), HEAD, standing, facts()))
    assert standing.message().elsewhere == {}


def test_a_hose_at_any_port_takes_its_pressure_away() -> None:
    for on in (
        HoseSet("h1", TIME_S, port="suction", on=True), HoseSet("h1", TIME_S, port="liquid", on=True),
        HoseSet("h1", TIME_S, port="discharge", on=True),
    ):  # fmt: skip
        assert opened(on).placing.elsewhere() == {f"{on.port}_pressure": f"a hose is on the {on.port} port"}


def test_a_probe_that_was_found_on_its_port_stays_on_the_circuit_that_it_was_put_on() -> None:
    put = [Placed(f"p{name}", TIME_S, on=name, channels=(of,)) for name, of in (("2", MEASURED[0]), ("1", MEASURED[1]))]
    found = Finding("f1", TIME_S, check="probes_on", grade="measured", outcome="met", values={"pressure.suction": 9e5})
    assert opened(*put, found).placing.elsewhere() == {"suction_pressure": "it is on circuit 2"}


def test_a_start_that_names_no_circuit_leaves_the_one_in_view() -> None:
    assert opened(VisitOpened("o2", TIME_S, unit="RTU-4")).placing.circuit == "1"


@pytest.mark.parametrize(
    ("ask", "why"),
    [
        (PlaceAsk("a1", "Sam", on="3"), "no circuit or part '3'; it has 1, 2, condenser fan"),
        (PlaceAsk("a1", "Sam", on="1", channels=["superheat"]), "no channel superheat"),
        (PlaceAsk("a1", "Sam", on="1", channels=["discharge_pressure"]), "no channel discharge_pressure"),
        (PlaceAsk("a1", "Sam", on="condenser fan", channels=["suction_pressure"]), "condenser fan is a part"),
        (PlaceAsk("a1", "Sam", on="condenser fan", channels=["condenser_fan_current"], turns=0), "turns is 0"),
        (PlaceAsk("a1", "Sam", on="condenser fan", channels=["condenser_fan_current"], turns=51), "turns is 51"),
        (PlaceAsk("a1", "Sam", on="1", channels=["suction_pressure"], turns=2), "channels of current alone"),
    ],
)
def test_what_cannot_be_put_there_is_refused(ask: PlaceAsk, why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        place(ask, HEAD, opened(), facts())


def test_where_nothing_reads_a_circuit_channels_must_be_named() -> None:
    with pytest.raises(RefusedError, match="name those to put there"):
        place(PlaceAsk("a1", "Sam", on="1"), HEAD, opened(), facts("condenser_fan_current"))


def test_ten_turns_are_known_until_the_lead_is_taken_out() -> None:
    ask = PlaceAsk("a1", "Sam", on="condenser fan", channels=["condenser_fan_current"], turns=10)
    standing = opened(place(ask, HEAD, opened(), facts()))
    assert standing.placing.turns() == {"condenser_fan_current": 10}
    standing.take(place(replace(ask, turns=1), HEAD, standing, facts()))
    assert standing.placing.turns() == {}


def test_the_same_marks_give_the_same_state() -> None:
    marks = [HoseSet("h1", TIME_S, port="liquid", on=True), Placed("p1", TIME_S, on="2", channels=("liquid_pressure",))]
    one_by_one = opened()
    for mark in marks:
        one_by_one.take(mark)
    assert one_by_one.message() == opened(*marks).message()


def test_fifty_turns_go_through_a_jaw_and_none_is_one_too_few() -> None:
    ask = PlaceAsk("a1", "Sam", on="condenser fan", channels=["condenser_fan_current"], turns=50)
    assert place(ask, HEAD, opened(), facts()).turns == 50
    assert place(replace(ask, turns=1), HEAD, opened(), facts()).turns == 1


@pytest.mark.parametrize(
    ("names", "named", "expected"), [("12", "", "1"), ("12", "2", "2"), ("1", "", ""), ("1", "1", "1"), ("", "", "")]
)
def test_what_is_read_is_of_the_first_of_several_circuits_until_another_comes_into_view(
    names: str, named: str, expected: str
) -> None:
    """So that readings of one are not kept as those of the next, to which the probes went meanwhile."""
    circuits = [Circuit(name, "R-410A", "txv") for name in names]
    assert read_now(wire_rig.about(started_s=0.0).unit, circuits, named) == expected


CAME = VisitOpened(
    "o2", TIME_S, unit="RTU-9", circuit="1", came_from="RTU-4",
    carried=("suction_pressure", "liquid_pressure", "compressor_current", "return_air_temperature"),
)  # fmt: skip
WHY = "it was on RTU-4, and nobody has said that it moved"


def test_what_was_read_at_the_unit_before_counts_once_somebody_has_said_that_it_moved() -> None:
    standing = opened(CAME)
    assert standing.placing.elsewhere() == dict.fromkeys(sorted(CAME.carried), WHY)
    assert standing.message().came_from == "RTU-4"
    standing.take(place(PlaceAsk("a1", "Sam", on="1"), HEAD, standing, facts(*CAME.carried, "superheat")))
    assert standing.placing.elsewhere() == {}
    assert standing.message().came_from == ""


def test_one_that_is_put_on_counts_and_the_others_wait() -> None:
    standing = opened(CAME, Placed("p1", TIME_S, on="1", channels=("suction_pressure",)))
    assert standing.placing.elsewhere() == dict.fromkeys(sorted({*CAME.carried} - {"suction_pressure"}), WHY)
    on = Finding("f1", TIME_S, check="probes_on", grade="measured", outcome="met", values={"pressure.liquid": 1.6e6})
    standing.take(on)
    assert standing.placing.elsewhere() == dict.fromkeys(["compressor_current", "return_air_temperature"], WHY)


def test_probes_that_were_not_put_on_tell_nothing_of_where_they_are() -> None:
    on = Finding("f1", TIME_S, check="probes_on", grade="measured", outcome="met", values={"pressure.liquid": 1.6e6})
    skipped = replace(on, outcome="skipped")
    assert "liquid_pressure" in opened(CAME, skipped).placing.elsewhere()


def test_a_clamp_that_is_only_wound_otherwise_may_still_be_at_the_other_unit() -> None:
    wound = Placed("p1", TIME_S, on="", channels=("compressor_current",), turns=2)
    assert opened(CAME, wound).placing.elsewhere()["compressor_current"] == WHY


def test_taken_off_it_is_on_nothing_and_no_more_is_asked_of_it() -> None:
    for channel in ("suction_pressure", "compressor_current"):
        off = Placed("p1", TIME_S, on="", channels=(channel,))
        standing = opened(CAME, off)
        assert standing.placing.elsewhere()[channel] == "it is on nothing"
        assert channel not in standing.placing.unsaid
    standing.take(Placed("p2", TIME_S, on="", channels=("compressor_current",), turns=2))
    assert standing.placing.elsewhere()["compressor_current"] == "it is on nothing"
    standing.take(Placed("p3", TIME_S, on="1", channels=("compressor_current",)))
    assert "compressor_current" not in standing.placing.elsewhere()
    assert opened(CAME, off, CAME).placing.elsewhere()["compressor_current"] == WHY


@pytest.mark.parametrize("channel", ["compressor_current", "line_voltage_ab", "return_air_temperature"])
def test_what_is_off_at_the_unit_at_work_reads_nothing_of_it(channel: str) -> None:
    """Leads that hang in the air read no volts, and prove nothing dead."""
    on = Placed("p1", TIME_S, on="condenser fan", channels=(channel,))
    off = Placed("p2", TIME_S, on="", channels=(channel,))
    for marks in ([off], [on, off], [replace(on, turns=10), off]):
        standing = opened(*marks)
        assert standing.placing.elsewhere() == {channel: "it is on nothing"}
        assert standing.placing.nothing() == {channel}
        standing.take(replace(on, id="p3"))
        assert standing.placing.elsewhere() == {}
    wound = [Placed(f"p{turns}", TIME_S, on="", channels=("compressor_current",), turns=turns) for turns in (10, 1)]
    assert opened(*wound).placing.elsewhere() == {}  # round a lead of which nobody has said which it is
    assert opened(Placed("p1", TIME_S, on="", channels=("multimeter_ac_voltage",))).placing.elsewhere() == {}


def test_back_at_a_unit_its_probes_are_asked_about_anew() -> None:
    on = Placed("p1", TIME_S, on="2", channels=("suction_pressure",))
    back = replace(CAME, id="o3", unit="RTU-4", came_from="RTU-9", carried=("suction_pressure",))
    assert opened(on, back).placing.elsewhere() == {
        "suction_pressure": "it was on RTU-9, and nobody has said that it moved"
    }


def test_in_an_older_record_what_was_left_at_a_unit_before_stays_unsaid_when_another_is_left() -> None:
    back = replace(CAME, id="o3", came_from="RTU-7", carried=("suction_pressure",))
    on = Placed("p1", TIME_S, on="1", channels=("suction_pressure", "liquid_pressure"))
    assert opened(CAME, on, back).placing.elsewhere() == {
        "compressor_current": WHY,
        "return_air_temperature": WHY,
        "suction_pressure": "it was on RTU-7, and nobody has said that it moved",
    }


def test_taken_off_without_names_is_what_a_circuit_is_read_by_and_not_what_may_still_be_elsewhere() -> None:
    known = facts(*CAME.carried)
    off = place(PlaceAsk("a1", "Sam", on=""), HEAD, opened(CAME), known)
    assert off.channels == ("suction_pressure", "liquid_pressure")
    on = place(PlaceAsk("a1", "Sam", on="1"), HEAD, opened(CAME), known)
    assert {*on.channels} == {*CAME.carried}


def test_a_clamp_that_is_put_on_and_wound_in_one_is_here() -> None:
    wound = Placed("p1", TIME_S, on="condenser fan", channels=("compressor_current",), turns=2)
    assert "compressor_current" not in opened(CAME, wound).placing.elsewhere()
