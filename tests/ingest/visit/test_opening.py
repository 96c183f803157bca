"""Another unit opened: which may be, and what of it comes into view."""

import pytest

from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.opening import open_visit
from ingest.visit.standing import Standing
from ingest.wire.messages import HoseSet, OpenAsk, Placed, Reading, Signed, VisitOpened
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


def test_what_was_read_where_the_rig_was_is_named_but_what_a_hand_takes_along() -> None:
    there = Facts(HERE, READ, frozenset(), frozenset(), sheets=SHEETS)
    opened = open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, STANDING, there)
    assert (opened.came_from, opened.carried) == (HERE.tag, ["suction_pressure", "compressor_current"])


def test_another_visit_to_the_same_unit_finds_its_probes_where_they_were() -> None:
    signed = Standing("v1", [Signed("s1", TIME_S, "Sam", "technician", name="Sam", digest="00")])
    there = Facts(HERE, READ, frozenset(), frozenset(), sheets=SHEETS)
    opened = open_visit(OpenAsk("a1", "Sam", unit=HERE.tag), HEAD, signed, there)
    assert (opened.came_from, opened.carried) == ("", [])


def test_what_nobody_has_moved_yet_is_still_where_it_was() -> None:
    """Whoever only looked in at another unit and comes back finds the probes as they left them."""
    there = Facts(HERE, READ, frozenset(), frozenset(), sheets=SHEETS | {"RTU-7": SHEETS["RTU-9"]})
    came = VisitOpened(
        "o2", TIME_S, unit=HERE.tag, came_from="RTU-9", carried=("suction_pressure", "compressor_current")
    )
    unsaid = Standing("v1", [came])
    back = open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, unsaid, there)
    assert (back.came_from, back.carried) == ("", [])
    on = open_visit(OpenAsk("a1", "Sam", unit="RTU-7"), HEAD, unsaid, there)
    assert (on.came_from, on.carried) == ("RTU-9", ["suction_pressure", "compressor_current"])
    unsaid.take(Placed("p1", TIME_S, on="1", channels=("suction_pressure",)))
    back = open_visit(OpenAsk("a1", "Sam", unit="RTU-9"), HEAD, unsaid, there)
    assert (back.came_from, back.carried) == (HERE.tag, ["suction_pressure"])
