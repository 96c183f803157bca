"""A trainee's verdict and the way there: what it is worth, by hand, and that nothing is told before."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.wire.bench_acts import BenchState, BlockMotor, SetSupply
from ingest.wire.bench_messages import BenchPoints
from ingest.wire.messages import MessageError, decode, encode, topic
from simulators.bench import scenario
from simulators.bench.bench import RIG_NAME, SimulatedRig
from simulators.bench.scenario import load_scenario
from simulators.bench.settled import SinceChange
from simulators.bench.training import FAULTS, Move, Score, Truth, score
from simulators.errors import SimulatorError
from tests.simulators.bench.test_bench import mark
from tests.simulators.bench.test_scenario import WHOLE

LOW = Truth("undercharge", 3.4, "Subcooling is low.")
DIRTY = Truth("condenser_airflow", 3.4, "The head is high.")


def judged(
    truth: Truth,
    verdict: str,
    *,
    minutes: float,
    charge_kg: float = 3.4,
    moves: list[Move] | None = None,
    has_settled: bool = False,
) -> Score:
    return score(truth, verdict, time_s=60.0 * minutes, charge_kg=charge_kg, moves=moves or [], has_settled=has_settled)


def added(minutes: float, kg: float, *, has_settled: bool = False) -> Move:
    return Move("added", 60.0 * minutes, kg, has_settled)


def recovered(minutes: float, kg: float) -> Move:
    return Move("recovered", 60.0 * minutes, kg, has_settled=False)


# --- the score: six points for the fault, two each for the charge, the time and the way


def test_a_perfect_way_is_worth_all_twelve() -> None:
    result = judged(LOW, "undercharge", minutes=29, charge_kg=3.38, moves=[added(5, 0.2)])
    assert result == Score(
        right=True,
        points=12,
        parts=tuple(BenchPoints(part.what, of, of) for part, of in zip(result.parts, (6, 2, 2, 2), strict=True)),
        time_s=1740.0,
        added_kg=0.2,
        recovered_kg=0.0,
        charge_error_kg=pytest.approx(-0.02),
        wrong_moves=(),
    )
    assert judged(DIRTY, "condenser_airflow", minutes=10).points == 12


def test_a_wrong_verdict_keeps_only_what_the_charge_is_worth() -> None:
    assert judged(DIRTY, "overcharge", minutes=10).points == 2
    spoiled = judged(DIRTY, "overcharge", minutes=40, charge_kg=3.1, moves=[recovered(10, 0.3)])
    assert (spoiled.right, spoiled.points) == (False, 0)
    assert [part.points for part in spoiled.parts] == [0, 0, 0, 0]
    assert spoiled.wrong_moves == ("refrigerant was moved, but charge was not the fault",)


def test_time_costs_from_half_an_hour_to_one_and_a_half() -> None:
    assert [judged(DIRTY, "condenser_airflow", minutes=minutes).points for minutes in (30, 60, 90, 300)] == [
        12,
        11,
        10,
        10,
    ]


def test_the_charge_left_wrong_costs() -> None:
    """Two points up to 3 %, none from 15 %, one of them at 9 %."""
    moves = [added(5, 0.1)]
    points = [
        judged(LOW, "undercharge", minutes=25, charge_kg=3.4 * (1 - off), moves=moves).points
        for off in (0.03, 0.09, 0.15)
    ]
    assert points == [12, 11, 10]


def test_haste_after_a_change_of_charge_is_a_wrong_move() -> None:
    """California Title 24 RA3.2: 15 min of running after every change of the charge, for whoever cannot tell sooner."""
    hasty = judged(LOW, "undercharge", minutes=29, moves=[added(5, 0.2), added(10, 0.2)])
    assert hasty.wrong_moves == ("after a change of the charge neither had it settled nor were 15 min over",)
    assert hasty.points == 11
    again = judged(LOW, "undercharge", minutes=15, moves=[added(5, 0.2), added(10, 0.2)])
    assert again.wrong_moves == ("after a change of the charge neither had it settled nor were 15 min over, 2 times",)


def test_who_waits_until_it_has_settled_as_the_page_says_makes_no_wrong_move() -> None:
    """The rule of the advice: "wait until it has settled"; the first move has none before it."""
    early = [added(5, 0.2), added(12, 0.2, has_settled=True)]
    assert judged(LOW, "undercharge", minutes=20, moves=early, has_settled=True).points == 12
    only_once = judged(LOW, "undercharge", minutes=20, moves=early)
    assert only_once.wrong_moves == ("after a change of the charge neither had it settled nor were 15 min over",)
    just_enough = judged(LOW, "undercharge", minutes=20, moves=[added(5, 0.2)])
    assert just_enough.wrong_moves == ()


def test_the_first_step_the_wrong_way_is_a_wrong_move_and_a_correction_is_none() -> None:
    assert judged(LOW, "undercharge", minutes=60, moves=[recovered(5, 0.1), added(21, 0.5)]).wrong_moves == (
        "the first move was the wrong way: refrigerant was recovered",
    )
    assert judged(LOW, "undercharge", minutes=60, moves=[added(5, 0.5), recovered(21, 0.1)]).wrong_moves == ()


def test_only_a_known_fault_is_judged() -> None:
    with pytest.raises(SimulatorError, match="fault 'gremlins' is none of none, undercharge, overcharge"):
        judged(LOW, "gremlins", minutes=1)
    with pytest.raises(SimulatorError, match="fault 'gremlins'"):
        Truth("gremlins", 3.4, "")


@given(
    truth=st.sampled_from(list(FAULTS)),
    verdict=st.sampled_from(list(FAULTS)),
    time_s=st.floats(0.0, 1e6),
    charge_kg=st.floats(0.5, 6.0),
    moves=st.lists(
        st.builds(
            Move, st.sampled_from(["added", "recovered"]), st.floats(0.0, 1e6), st.floats(0.0, 3.0), st.booleans()
        )
    ),
    has_settled=st.booleans(),
)
def test_points_stay_within_nought_and_twelve_and_being_right_is_never_worth_less(
    truth: str, verdict: str, time_s: float, charge_kg: float, moves: list[Move], *, has_settled: bool
) -> None:
    hidden = Truth(truth, 3.4, "")
    result, right = (
        score(hidden, said, time_s=time_s, charge_kg=charge_kg, moves=moves, has_settled=has_settled)
        for said in (verdict, truth)
    )
    assert 0 <= result.points <= right.points <= 12


# --- on the bench


@pytest.fixture
def rig(tmp_path: Path) -> SimulatedRig:
    return SimulatedRig(load_scenario("low_charge"), directory=tmp_path, blind=True)


def commit(rig: SimulatedRig, fault: str) -> list[dict[str, object]]:
    answers = rig.receive(topic(RIG_NAME, "bench/verdict"), json.dumps({"fault": fault}).encode())
    return [{"topic": answer.topic, "retain": answer.retain, **json.loads(answer.payload)} for answer in answers]


def test_blind_tells_nothing_until_the_verdict_and_then_the_truth(rig: SimulatedRig) -> None:
    before = rig.about()
    assert before.blind
    assert before.scenario == ""
    assert set(before.faults) == set(FAULTS)
    rig.advance(300.0)
    revealed, about = commit(rig, "restriction")
    assert revealed["topic"] == "dewline/1/bench/bench/reveal"
    assert revealed["scenario"] == "A little low"
    assert (revealed["fault"], revealed["verdict"], revealed["right"]) == ("undercharge", "restriction", False)
    assert "Subcooling is far below" in str(revealed["reading"])
    assert about["topic"] == "dewline/1/bench/bench/about"
    assert (about["retain"], about["blind"], about["scenario"]) == (True, False, "A little low")


def test_what_was_arranged_is_told_with_the_verdict_and_not_before(rig: SimulatedRig) -> None:
    act = SetSupply(sag_ratio=0.1)
    rig.receive(topic(RIG_NAME, "bench/act"), encode(act))
    commit(rig, "supply")
    hidden, told = (decode(waiting.payload, BenchState) for waiting in rig._outbox._waiting)
    assert (hidden.supply, hidden.last) == (SetSupply(), ())
    assert (told.supply, told.last) == (act, (act,))


def test_why_something_could_not_be_arranged_is_told_with_the_verdict_and_not_before(rig: SimulatedRig) -> None:
    with pytest.raises(SimulatorError, match="there is no motor 'door'"):
        rig.receive(topic(RIG_NAME, "bench/act"), encode(BlockMotor(motor="door", blocked=True)))
    commit(rig, "none")
    hidden, told = (decode(waiting.payload, BenchState) for waiting in rig._outbox._waiting)
    assert (hidden.refused, hidden.refused_act) == ("", "")
    assert told.refused_act == "block"


def test_what_was_added_on_the_way_is_judged(rig: SimulatedRig) -> None:
    rig.advance(120.0)
    rig.receive(topic(RIG_NAME, "marks"), encode(mark("added", 14.0)))
    rig.advance(1200.0)
    revealed, _ = commit(rig, "undercharge")
    assert revealed["right"]
    assert revealed["points"] == 12
    assert revealed["added_kg"] == pytest.approx(14 * 0.0283495, rel=1e-4)
    assert revealed["time_s"] == pytest.approx(1320.0)
    assert abs(float(str(revealed["charge_error_kg"]))) < 0.03 * 3.4


def test_the_unit_is_seen_to_settle_as_the_advice_sees_it(tmp_path: Path) -> None:
    """Soon after a change it has not settled; once calc.settling says so it has, well within 15 min."""
    wrong = {}
    for wait_s in (120, 780):
        rig = SimulatedRig(load_scenario("low_charge"), directory=tmp_path, blind=True)
        rig.advance(60.0)
        rig.receive(topic(RIG_NAME, "marks"), encode(mark("added", 6.0)))
        for _ in range(wait_s):
            rig.advance(1.0)
        wrong[wait_s] = commit(rig, "undercharge")[0]["wrong_moves"]
    assert wrong == {120: ["after a change of the charge neither had it settled nor were 15 min over"], 780: []}


def test_a_unit_whose_pressure_no_refrigerant_has_is_not_settled() -> None:
    since = SinceChange("R-410A", "fixed_orifice")
    running = {"suction_line_temperature": 283.15, "suction_pressure": 915e3}
    running |= {"liquid_line_temperature": 308.15, "liquid_pressure": 2500e3}
    for without in ("suction_pressure", "liquid_pressure"):
        for second in range(1200):
            since.note(float(second), running)
        assert since.has_settled()
        since.note(1201.0, running | {without: 1.0})
        assert not since.has_settled()
        since.begin()
        assert not since.has_settled()


def test_the_first_verdict_counts_and_the_broker_keeps_what_it_told(rig: SimulatedRig) -> None:
    first, _ = commit(rig, "restriction")
    rig.advance(60.0)
    again, _ = commit(rig, "undercharge")
    assert again == first
    assert first["retain"]


def test_what_is_no_verdict_is_refused_and_tells_nothing(rig: SimulatedRig) -> None:
    with pytest.raises(MessageError):
        rig.receive(topic(RIG_NAME, "bench/verdict"), b'{"fault": 3}')
    with pytest.raises(SimulatorError, match="fault 'gremlins' is none of"):
        commit(rig, "gremlins")
    assert rig.about().blind


def test_a_scenario_without_a_truth_cannot_be_blind(tmp_path: Path) -> None:
    plain = scenario.parse_scenario(WHOLE.encode(), "trial.toml")
    with pytest.raises(SimulatorError, match=r"scenario 'A trial' has no \[truth\] to hide"):
        SimulatedRig(plain, directory=tmp_path, blind=True)
    open_rig = SimulatedRig(plain, directory=tmp_path)
    assert open_rig.about().faults == {}
    with pytest.raises(SimulatorError, match="has no hidden fault"):
        commit(open_rig, "none")
