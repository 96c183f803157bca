"""A circuit that is renamed stays what it is: its moves, findings, leaks and probes are under its new name."""

import pytest
from msgspec.structs import replace

from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.describing import describe
from ingest.visit.earlier import history
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Correction,
    DescribeAsk,
    Described,
    Finding,
    Mark,
    Placed,
    Proposed,
    ProposedFinding,
    Recovered,
    Sheet,
    VisitOpened,
    Wording,
)
from ingest.wire.sheet import Circuit, Motor, revision
from tests import wire_rig
from tests.ingest.visit.checks import taken

TIME_S = 1.7e9
HEAD: Head = ("d1", TIME_S + 500, "Sam", "technician")
UNIT = wire_rig.about(started_s=TIME_S).unit
SHEET = Sheet(
    UNIT.tag,
    (Circuit("1", "R-410A", "txv", charge_kg=3.4), Circuit("2", "R-410A", "txv", charge_kg=3.2)),
    parts=(Motor("compressor", drives="compressor", circuit="1"),),
)
WAS = ("1", "2")


def named(first: str, second: str = "2", sheet: Sheet = SHEET) -> Sheet:
    one, two = sheet.circuits
    parts = (replace(sheet.parts[0], circuit=first),)
    return replace(sheet, circuits=(replace(one, name=first), replace(two, name=second)), parts=parts)


def facts(sheet: Sheet = SHEET) -> Facts:
    return Facts(UNIT, {}, frozenset(), frozenset(), sheets={sheet.tag: sheet})


def asked(sheet: Sheet, circuits_were: tuple[str, ...] = WAS) -> DescribeAsk:
    return DescribeAsk("d1", "Sam", sheet=sheet, builds_on=revision(SHEET), circuits_were=circuits_were)


OPENED = VisitOpened("o1", TIME_S, unit=UNIT.tag, circuit="1")
MARKS: list[Mark] = [
    OPENED,
    Added("a1", TIME_S + 1, "Sam", "technician", mass_kg=0.3),
    Added("a2", TIME_S + 2, "Sam", "technician", mass_kg=0.1, circuit="2"),
    Correction("c1", TIME_S + 3, "Sam", "technician", of="a2", mass_kg=0.2, circuit="2"),
    Finding("f1", TIME_S + 4, "Sam", "technician", check="leaks", grade="said", outcome="not_met", circuit="1",
            choices={"cores": "leak"}),
    Placed("p1", TIME_S + 5, "Sam", "technician", on="1", channels=["suction_pressure"]),
    Proposed("s1", TIME_S + 6, what=ProposedFinding("probes_on", circuit="1"), from_s=TIME_S, to_s=TIME_S + 6,
             says=Wording("-", "-")),
    taken("g1", circuit="1"),
    taken("g2", circuit="2"),
]  # fmt: skip


def stood(*marks: Mark) -> Standing:
    standing = Standing("v1", marks)
    standing.moved.know(named("A").circuits, "A")
    return standing


def test_a_circuit_is_renamed_without_a_question_though_the_probes_are_on_it_and_all_of_it_goes_along() -> None:
    described = describe(asked(named("A")), HEAD, Standing("v1", MARKS), facts())
    standing = stood(*MARKS, described)
    said = standing.message()
    assert (said.circuit, said.places["suction_pressure"].on, said.elsewhere) == ("A", "A", {})
    assert {it.circuit: it.added_kg for it in said.circuits} == {"A": 0.3, "2": 0.2}
    assert [(it.check, it.circuit) for it in said.findings] == [("leaks", "A")]
    assert standing.moved.leaks.open == {"A": TIME_S + 4}
    assert [(it.id, it.circuit) for it in said.photographs.newest] == [("g2", "2"), ("g1", "A")]
    assert [it.what.circuit for it in said.proposals if isinstance(it.what, ProposedFinding)] == ["A"]
    later = Recovered("r1", TIME_S + 600, "Sam", "technician", mass_kg=0.1)
    assert standing.take(later) == -0.1
    assert standing.moved.ledgers.sums("A").net_kg == pytest.approx(0.2)
    assert standing.encoded() == stood(*MARKS, described, later).encoded()  # as the record gives it


def test_two_that_change_their_names_are_not_mixed_and_one_may_be_renamed_again() -> None:
    swapped = describe(asked(named("2", "1")), HEAD, Standing("v1", MARKS), facts())
    standing = stood(*MARKS, swapped)
    assert (standing.placing.circuit, standing.moved.ledgers.sums("2").net_kg) == ("2", pytest.approx(0.3))
    assert standing.moved.ledgers.sums("1").net_kg == pytest.approx(0.2)
    again = Described("d2", TIME_S + 700, "Sam", "technician", sheet=named("A", "B"), circuits_were=("2", "1"))
    standing.take(again)
    assert standing.placing.circuit == "A"
    assert standing.moved.ledgers.circuits() == ["A", "B"]


def test_what_was_recorded_at_earlier_visits_is_of_it_under_its_new_name_whenever_it_got_that() -> None:
    described = Described("d1", TIME_S + 500, "Sam", "technician", sheet=named("A"), circuits_were=WAS)
    first, second = MARKS[:5], [replace(OPENED, id="o2"), described, Added("a9", TIME_S + 501, mass_kg=0.05)]
    known = history([("v1", first), ("v2", second)])
    assert [[it.mass_kg for it in visit] for visit in known.of("A")] == [[0.3], [0.05]]
    assert (known.of("1"), known.open_leaks) == ([], {"A": TIME_S + 4})
    now = Standing("v3", [replace(OPENED, id="o3"), described], history([("v1", first)]))  # renamed at this visit
    assert [[it.mass_kg for it in visit] for visit in now.moved.history.of("A")] == [[0.3]]


def test_without_the_names_that_they_had_a_circuit_is_gone_as_before() -> None:
    with pytest.raises(RefusedError, match="the probes are on circuit 1, which this sheet has not"):
        describe(asked(named("A"), ()), HEAD, Standing("v1", MARKS), facts())
    with pytest.raises(DoubtfulError):
        describe(asked(named("1", "B"), ()), HEAD, Standing("v1", MARKS), facts())


def test_names_that_somebody_changed_meanwhile_are_asked_about_and_not_refused() -> None:
    assert describe(asked(SHEET), HEAD, Standing("v1", MARKS), facts()).sheet is SHEET
    with pytest.raises(DoubtfulError, match="somebody changed its sheet after this one was begun"):
        describe(asked(SHEET), HEAD, Standing("v1", MARKS), facts(named("A")))


def test_another_refrigerant_is_asked_about_though_the_circuit_is_renamed_at_once() -> None:
    one, two = named("A").circuits
    other = replace(named("A"), circuits=(replace(one, refrigerant="R-32"), two))
    with pytest.raises(DoubtfulError, match="R-32"):
        describe(asked(other), HEAD, Standing("v1", MARKS), facts())


@pytest.mark.parametrize(
    ("ask", "known", "says"),
    [
        (asked(named("A"), ("1",)), SHEET, "name each of them, in that order"),
        (asked(named("A"), ("2", "1")), SHEET, "name each of them, in that order"),
        (asked(replace(named("A"), circuits=named("A").circuits[:1])), SHEET, "fewer circuits than before"),
        (asked(replace(named("A"), tag="AHU-9")), SHEET, "at the unit at work alone"),
    ],
)
def test_names_that_the_unit_has_not_are_refused(ask: DescribeAsk, known: Sheet, says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        describe(ask, HEAD, Standing("v1", [OPENED]), facts(known))


def test_sent_again_it_is_the_same_and_without_the_names_another_one() -> None:
    described = describe(asked(named("A")), HEAD, Standing("v1", MARKS), facts())
    assert is_repeated(replace(asked(named("A")), circuits_were=[*WAS]), "technician", described)
    assert not is_repeated(asked(named("A"), ()), "technician", described)
