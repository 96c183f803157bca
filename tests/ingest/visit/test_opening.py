"""Another unit opened: which may be, and what of it comes into view."""

import dataclasses

import pytest
from msgspec.structs import replace

from calc.quantities import CHANNELS
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.opening import open_visit
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Acknowledged,
    CarriedOver,
    ChannelPlace,
    Described,
    Finding,
    HoseSet,
    LeftAt,
    Mark,
    OpenAsk,
    Placed,
    Reading,
    Signed,
    Stop,
    VisitOpened,
    decode_mark,
    encode,
)
from ingest.wire.sheet import Circuit, Sheet
from tests import wire_rig

TIME_S = 1.7e9
HEAD: Head = ("a1", TIME_S, "Sam", "technician")
HERE = wire_rig.about(started_s=TIME_S).unit
SHEETS = {
    tag: Sheet(tag, [Circuit("1", "R-410A", "txv"), Circuit("2", "R-410A", "txv")]) for tag in (HERE.tag, "RTU-9")
}
FACTS = Facts(HERE, {}, frozenset(), frozenset(), sheets=SHEETS)
STANDING = Standing("v1", [VisitOpened("o1", TIME_S, unit=HERE.tag, circuit="1")])


def test_the_first_circuit_of_its_sheet_comes_into_view() -> None:
    opened = open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, STANDING, FACTS)
    assert (opened.unit, opened.circuit, opened.grade, opened.by) == ("RTU-9", "1", "seen", "Sam")
    named = open_visit(OpenAsk("a1", "Sam", unit="RTU-9", circuit="2", grade="measured"), HEAD, STANDING, FACTS)
    assert (named.circuit, named.grade) == ("2", "measured")


@pytest.mark.parametrize(
    ("ask", "why"),
    [
        (OpenAsk("a1", "Sam", unit="RTU-8"), "no unit 'RTU-8' in the register: did you mean RTU-9"),
        (OpenAsk("a1", "Sam", unit="chiller"), "no unit 'chiller' in the register: describe it first"),
        (OpenAsk("a1", "Sam", unit="RTU-9", circuit="3"), "RTU-9 has no circuit '3'; it has 1, 2"),
    ],
)
def test_what_cannot_be_opened_is_refused(ask: OpenAsk, why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        open_visit(ask, HEAD, STANDING, FACTS)


def test_locks_come_along_into_another_visit_at_the_same_unit_and_come_back_with_one_that_is_opened_again() -> None:
    """29 CFR 1910.147(e)(3), from memory: they hang there whatever the visit."""
    lock = Finding(
        "i1", TIME_S, "Sam", "technician", check="isolate", grade="seen", outcome="met", choices={"locked_by": "Sam"}
    )
    first = Standing("v1", [lock, Signed("s1", TIME_S, "Sam", "technician", name="Sam", digest="00")])
    anew = open_visit(OpenAsk("a1", "Kim", unit=HERE.tag), HEAD, first, FACTS)
    assert Standing("v2", [anew]).message().locks == ("Sam",)
    elsewhere = open_visit(OpenAsk("a1", "Kim", unit="RTU-9"), HEAD, first, FACTS)
    assert Standing("v3", [elsewhere]).message().locks == ()
    assert Standing("v1", [lock, replace(elsewhere, id="o9", unit=HERE.tag)]).message().locks == ("Sam",)


def test_after_the_signature_the_same_unit_is_opened_for_another_visit() -> None:
    signed = Standing("v1", [Signed("s1", TIME_S, "Sam", "technician", name="Sam", digest="00")])
    assert open_visit(OpenAsk("a1", "Sam", unit=HERE.tag), HEAD, signed, FACTS).unit == HERE.tag


def test_to_open_the_unit_at_work_again_is_to_end_its_visit_and_is_asked_about() -> None:
    with pytest.raises(DoubtfulError, match="nobody has signed it"):
        open_visit(OpenAsk("a1", "Sam", unit=HERE.tag), HEAD, STANDING, FACTS)
    again = open_visit(OpenAsk("a1", "Sam", unit=HERE.tag, confirmed=True), HEAD, STANDING, FACTS)
    assert (again.unit, again.circuit) == (HERE.tag, "1")


def test_a_hose_left_open_is_asked_about_before_anybody_goes() -> None:
    hose = HoseSet("h1", TIME_S, "Sam", "technician", port="liquid", on=True)
    left_open = Standing("v1", [VisitOpened("o1", TIME_S, unit=HERE.tag, circuit="1"), hose])
    with pytest.raises(DoubtfulError, match=f"A hose still stands open at the liquid port of {HERE.tag}"):
        open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, left_open, FACTS)
    assert open_visit(OpenAsk("a1", "Sam", unit="RTU-9", confirmed=True), HEAD, left_open, FACTS).unit == "RTU-9"


READ = {name: Reading(1.0, TIME_S) for name in ("suction_pressure", "compressor_current", "cylinder_mass", "superheat")}


def known(at: str = HERE.tag) -> Facts:
    sheets = {tag: replace(SHEETS["RTU-9"], tag=tag) for tag in (HERE.tag, "RTU-9", "RTU-7")}
    return Facts(replace(HERE, tag=at), READ, frozenset(), frozenset(), sheets=sheets)


def gone(standing: Standing, at: str, to: str) -> VisitOpened:
    """Send the rig on to a unit, or into another visit to the same one."""
    return replace(
        open_visit(OpenAsk("a1", "Sam", unit=to, confirmed=True), HEAD, standing, known(at)), id=f"{at}-{to}"
    )


def begun(*marks: Mark) -> Standing:
    return Standing("v1", [VisitOpened("o1", TIME_S, unit=HERE.tag, circuit="1"), *marks])


def was_on(**units: str) -> dict[str, str]:
    return {name: f"it was on {unit}, and nobody has said that it moved" for name, unit in units.items()}


SUCTION = Placed("p1", TIME_S, on="1", channels=("suction_pressure",))
SIGNED = Signed("s1", TIME_S, "Sam", "technician", name="Sam", digest="00")


def test_what_was_read_where_the_rig_was_is_named_but_what_a_hand_takes_along() -> None:
    opened = gone(STANDING, HERE.tag, "RTU-9")
    left = {"suction_pressure": LeftAt(HERE.tag), "compressor_current": LeftAt(HERE.tag)}
    assert opened.carried_over == CarriedOver(left, [], {}, [])


def test_what_was_read_stays_left_though_it_was_not_configured_while_the_rig_moved() -> None:
    without = {name: it for name, it in READ.items() if name != "compressor_current"}
    facts = dataclasses.replace(known(), readings=without, was_read=frozenset(READ))
    opened = open_visit(OpenAsk("a1", "Sam", unit="RTU-9", confirmed=True), HEAD, STANDING, facts)
    there = Standing("v2", [opened, replace(SUCTION, id="p9")])
    there.placing.instruments = {"suction_pressure": "low"}
    assert (there.placing.elsewhere(), there.placing.unsaid, there.message().came_from) == ({}, frozenset(), "")
    there.placing.instruments = {"suction_pressure": "low", "compressor_current": "clamp"}  # put in again
    assert there.placing.elsewhere() == was_on(compressor_current=HERE.tag)
    assert there.placing.unsaid == {"compressor_current"}
    assert there.message().came_from == HERE.tag


def test_the_clamp_that_a_lead_was_wound_through_is_known_in_the_next_visit() -> None:
    of = {"compressor_current": "clamp"}
    wound = begun(Placed("p2", TIME_S, on="1", channels=("compressor_current",), turns=10, instruments=of))
    there = Standing("v2", [gone(wound, HERE.tag, "RTU-9")])
    assert there.placing.places["compressor_current"] == ChannelPlace("", 10, "clamp")
    there.placing.instruments = {"compressor_current": "another"}
    assert there.placing.turns() == {}


def test_another_visit_to_the_same_unit_finds_its_probes_where_they_were() -> None:
    opened = gone(begun(SIGNED), HERE.tag, HERE.tag)
    assert opened.carried_over == CarriedOver({}, [], {}, [])


@pytest.mark.parametrize("marks", [(), (SIGNED,)])
def test_another_visit_to_the_same_unit_counts_nothing_that_was_left_at_the_one_before(marks: tuple[Mark, ...]) -> None:
    first = Standing("v2", [gone(begun(), HERE.tag, "RTU-9"), *marks])
    again = Standing("v3", [gone(first, "RTU-9", "RTU-9")])
    left = was_on(suction_pressure=HERE.tag, compressor_current=HERE.tag)
    assert again.placing.elsewhere() == first.placing.elsewhere() == left
    assert again.message().came_from == HERE.tag


@pytest.mark.parametrize("to", [HERE.tag, "RTU-9"])
def test_off_a_hose_and_turns_are_so_in_the_next_visit_until_somebody_says_otherwise(to: str) -> None:
    clamp = Placed("p2", TIME_S, on="1", channels=("compressor_current",), turns=10)
    hose = HoseSet("h1", TIME_S, "Sam", "technician", port="liquid", on=True)
    left = begun(replace(SUCTION, on=""), clamp, hose)
    there = Standing("v2", [gone(left, HERE.tag, to)])
    assert there.placing.turns() == {"compressor_current": 10}
    away = there.placing.elsewhere()
    assert (away["suction_pressure"], away["liquid_pressure"]) == ("it is on nothing", "a hose is on the liquid port")
    assert ("compressor_current" in away) is (to != HERE.tag)
    everything = ("suction_pressure", "compressor_current")
    there.take(Placed("p3", TIME_S, on="1", channels=everything))  # all came along, and nobody unwound a lead
    there.take(replace(hose, id="h2", on=False))
    assert (there.placing.elsewhere(), there.placing.turns()) == ({}, {"compressor_current": 10})
    there.take(replace(clamp, id="p4", turns=1))
    assert there.placing.turns() == {}


def test_a_probe_on_nothing_counts_once_it_was_found_on_its_port() -> None:
    there = Standing("v2", [gone(begun(replace(SUCTION, on="")), HERE.tag, "RTU-9")])
    on = Finding("f1", TIME_S, check="probes_on", grade="measured", outcome="met", values={"pressure.suction": 8e5})
    there.take(on)
    assert "suction_pressure" not in there.placing.elsewhere()


def test_a_clamp_said_to_be_off_is_off_at_the_next_unit_too() -> None:
    off = Placed("p2", TIME_S, on="", channels=("compressor_current",))
    second = Standing("v2", [gone(begun(), HERE.tag, "RTU-9"), off])
    third = Standing("v3", [gone(second, "RTU-9", "RTU-7")])
    assert third.placing.elsewhere() == {"compressor_current": "it is on nothing"} | was_on(suction_pressure=HERE.tag)


def test_the_mark_keeps_what_was_so_as_the_visit_was_opened() -> None:
    first = begun(SUCTION)
    opened = gone(first, HERE.tag, HERE.tag)
    first.take(replace(SUCTION, id="p2", on="2"))
    assert opened.carried_over == CarriedOver({}, [], {"suction_pressure": ChannelPlace("1")}, [])


def test_what_nobody_has_moved_yet_is_still_where_it_was() -> None:
    """Whoever only looked in at another unit and comes back finds the probes as they left them."""
    on_2 = replace(SUCTION, on="2")
    looked_in = Standing("v2", [gone(begun(on_2), HERE.tag, "RTU-9")])
    back = Standing("v3", [gone(looked_in, "RTU-9", HERE.tag)])
    assert back.placing.elsewhere() == {"suction_pressure": "it is on circuit 2"}
    assert back.placing.places == {"suction_pressure": ChannelPlace("2")}
    on = Standing("v3", [gone(looked_in, "RTU-9", "RTU-7")])
    assert on.placing.elsewhere() == was_on(suction_pressure=HERE.tag, compressor_current=HERE.tag)


def test_with_three_units_each_channel_stays_unsaid_with_the_unit_at_which_it_was_read() -> None:
    second = Standing("v2", [gone(begun(), HERE.tag, "RTU-9"), SUCTION])
    third = Standing("v3", [gone(second, "RTU-9", "RTU-7"), replace(SUCTION, id="p2")])
    assert third.placing.elsewhere() == was_on(compressor_current=HERE.tag)
    second.take(gone(third, "RTU-7", "RTU-9"))  # the visit goes on that was left open there
    assert second.placing.elsewhere() == was_on(compressor_current=HERE.tag, suction_pressure="RTU-7")
    assert second.message().came_from == f"RTU-7, {HERE.tag}"


def test_back_in_a_new_visit_what_never_was_put_on_there_stays_unsaid() -> None:
    second = Standing("v2", [gone(begun(), HERE.tag, "RTU-9"), SUCTION, SIGNED])
    third = Standing("v3", [gone(second, "RTU-9", "RTU-7")])
    assert third.placing.elsewhere() == was_on(suction_pressure="RTU-9", compressor_current=HERE.tag)
    back = Standing("v4", [gone(third, "RTU-7", "RTU-9")])
    assert back.placing.elsewhere() == was_on(compressor_current=HERE.tag)


def test_where_a_probe_was_left_is_read_by_the_name_that_its_circuit_has_now() -> None:
    again = Standing("v2", [gone(begun(replace(SUCTION, on="2")), HERE.tag, HERE.tag)])
    sheet = Sheet(HERE.tag, [Circuit("1", "R-410A", "txv"), Circuit("north", "R-410A", "txv")])
    again.take(Described("d1", TIME_S, sheet=sheet, circuits_were=["1", "2"]))
    assert again.placing.places == {"suction_pressure": ChannelPlace("north")}


def test_what_is_in_a_hand_or_beside_the_person_goes_along_and_nothing_else_does() -> None:
    everything = dataclasses.replace(known(), readings={name: Reading(1.0, TIME_S) for name in CHANNELS})
    over = open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, STANDING, everything).carried_over
    assert over is not None
    assert {*CHANNELS} - {*over.left} == {
        "barometric_pressure", "capacitance_herm", "capacitance_fan", "cylinder_mass", "multimeter_ac_voltage",
        "multimeter_dc_voltage", "multimeter_resistance", "multimeter_capacitance", "refrigerant_in_air",
    }  # fmt: skip


def test_a_probe_that_reads_nothing_as_its_unit_is_opened_again_is_where_it_was() -> None:
    silent = Placed("p1", TIME_S, on="2", channels=("discharge_pressure",))
    opened = gone(begun(silent, SIGNED), HERE.tag, HERE.tag)
    assert opened.carried_over == CarriedOver({}, [], {"discharge_pressure": ChannelPlace("2")}, [])


def stopped(count: int, text: str = "Wait for me.") -> Standing:
    """A visit at which so many stops stand, each acknowledged."""
    asked = [Stop(f"s{number}", TIME_S, "Robin", "lead", text=text) for number in range(count)]
    read = [Acknowledged(f"r{it.id}", TIME_S, "Sam", "technician", of=it.id) for it in asked]
    return Standing("v1", [VisitOpened("o1", TIME_S, unit=HERE.tag, circuit="1"), *asked, *read])


def test_so_many_stops_go_along_as_one_message_holds_and_no_unit_is_opened_with_more() -> None:
    ask = OpenAsk("a1", "Sam", unit="RTU-9")
    longest = "\U0001f6d1" * 500  # of four bytes each (RFC 3629), as many as a text may have
    opened = open_visit(ask, HEAD, stopped(12, longest), FACTS)
    assert len(opened.stops) == 12
    assert decode_mark(encode(opened)) == replace(opened, stops=list(opened.stops))
    with pytest.raises(RefusedError, match=r"13 stops stand .* at most 12 go along .* say go on to the others first"):
        open_visit(ask, HEAD, stopped(13), FACTS)
