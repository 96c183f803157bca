"""A daemon that was started anew in the middle of a visit: judging goes on from the record, or says why it does not."""

import dataclasses
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
import pytest

from calc.estimate import Estimate
from calc.judge.moves import OpenStep
from calc.situation import Move
from ingest.advice.advisor import Advisor, Given
from ingest.advice.memory import Earlier
from ingest.advice.rerun import Grounds, rerun
from ingest.record.store import Record
from ingest.rig import Rig
from ingest.wire.messages import Added, Advice, Correction, Recovered
from tests.ingest.advice.visits import T0_S, Visit, pack, pack_at
from tests.rigs import with_unit

FIFTEEN_MINUTES_S = 900.0
"""After every change of charge, before a reading counts: California Title 24, 2008, RA3.2.2.5."""


@contextmanager
def session(rig: Rig, boot: str = "boot", *, every_s: int = 10) -> Iterator[Visit]:
    """One run of the daemon, in the visit that is open, with an advice every so many seconds."""
    record = Record(rig.record)
    record.begin_session(rig, boot=boot, new_visit="visit-1", time_s=T0_S)
    yield Visit(rig, record, every_s=every_s)
    record.close()


def steadily(_second: int) -> float:
    return 4.0


def told(given: Given) -> Advice:
    return msgspec.json.decode(given.payload, type=Advice)


def undisturbed_s(given: Given) -> float:
    """How long the protocol counts the charge as left alone."""
    return waited_s(given, "undisturbed_time")


def waited_s(given: Given, name: str) -> float:
    verification = told(given).verification
    assert verification is not None
    (condition,) = [it for it in verification.conditions if it.name == name]
    assert condition.measured is not None
    return condition.measured.parts[0].value


def worked_out_again(rig: Rig) -> bool:
    found = list(rerun(rig.record))
    return len(found) > 3 and all(it.same for it in found)


@pytest.mark.hours
def test_after_a_short_gap_it_says_what_it_said_before(rig: Rig) -> None:
    with session(rig) as visit:
        before = visit.watch(range(400), steadily)[-1]
    with session(rig) as visit:
        after = visit.watch(range(420, 431), steadily)[0]
    assert (before.settled, after.settled) == ("subcooling", "subcooling")
    assert told(after).sentence == told(before).sentence
    assert [(it.fault, it.probability) for it in told(after).causes] == [
        (it.fault, it.probability) for it in told(before).causes
    ]
    assert worked_out_again(rig)


@pytest.mark.hours
def test_after_some_minutes_it_waits_for_an_unbroken_window_and_says_how_long(rig: Rig) -> None:
    """The plain rule looks back over 180 s, at each moment of 60 s (calc.settling): 240 s behind the gap."""
    with session(rig) as visit:
        visit.watch(range(400), steadily)
    with session(rig) as visit:
        given = visit.watch(range(520, 800), steadily)
    awaited = told(given[0]).awaited
    assert awaited is not None
    assert (awaited.what, awaited.seconds_left) == ("subcooling", 240.0)
    settled_s = [it.time_s - T0_S for it in given if it.settled]
    assert settled_s[0] == 760.0
    assert worked_out_again(rig)


@pytest.mark.hours
def test_after_a_long_gap_it_judges_anew_and_says_why_and_what_is_awaited(rig: Rig) -> None:
    with session(rig) as visit:
        visit.watch(range(400), steadily)
    with session(rig) as visit:
        given = visit.watch(range(700, 1100), steadily)
    first = told(given[0])
    assert "reading was interrupted for too long, so it is judged anew" in first.details[0].us
    assert first.awaited is not None
    assert (first.awaited.what, first.awaited.seconds_left) == ("first_forecast", 60.0)
    assert given[-1].settled == "subcooling"
    assert worked_out_again(rig)


@pytest.mark.parametrize("gap_s", [20, pytest.param(350, marks=pytest.mark.hours)])
def test_the_fifteen_minutes_after_an_addition_go_on(rig: Rig, gap_s: int) -> None:
    with session(rig, every_s=30) as visit:
        visit.watch(range(400), steadily)
        visit.take(Added("m1", T0_S + 399.5, mass_kg=0.1, phase="liquid"))
        visit.watch(range(400, 700), steadily)
    with session(rig, every_s=30) as visit:
        back_s = 700 + gap_s
        given = visit.watch(range(back_s, 1321), steadily)
    assert undisturbed_s(given[0]) == back_s - 400
    assert waited_s(given[0], "running_time") == (back_s if gap_s == 20 else 0.25)
    assert undisturbed_s(given[-1]) == 920 > FIFTEEN_MINUTES_S
    assert worked_out_again(rig)


@pytest.mark.parametrize("back_s", [pytest.param(it, marks=pytest.mark.hours) for it in (420, 520, 800)])
def test_a_move_just_before_the_end_is_heard_of(rig: Rig, back_s: int) -> None:
    """No advice was given after it: only the mark tells of it."""
    with session(rig, every_s=20) as visit:
        visit.watch(range(395), steadily)
        visit.take(Recovered("m1", T0_S + 396, mass_kg=0.1))
        visit.take(Correction("m2", T0_S + 397, of="m1", mass_kg=0.12))
    with session(rig, every_s=20) as visit:
        given = visit.watch(range(back_s, 1200), lambda _second: 3.0)
    assert not given[0].settled
    assert undisturbed_s(given[0]) == pytest.approx(back_s - 396)
    (move,) = msgspec.json.decode(given[-1].grounds, type=Grounds).known.situation.moves
    assert move.mass_kg == pytest.approx(-0.12)
    assert worked_out_again(rig)


def test_moves_between_packs_that_came_after_the_last_advice_are_taken_in_their_order(rig: Rig, tmp_path: Path) -> None:
    """As by a daemon that was never stopped: of one step, left alone since the last of its moves."""
    again: list[Given] = []
    for name, stops in (("stopped", True), ("never", False)):
        its = dataclasses.replace(rig, record=tmp_path / f"{name}.sqlite")
        with session(its, every_s=60) as visit:
            visit.watch(range(40), steadily)  # with an advice at its beginning
            visit.take(Added("m1", T0_S + 39.25, mass_kg=0.1, phase="liquid"))
            visit.take(Recovered("m2", T0_S + 39.5, mass_kg=0.04))
            visit.watch(range(40, 45), steadily)
            visit.take(Added("m3", T0_S + 45.0, mass_kg=0.02, phase="liquid"))  # before the pack of that moment
            visit.watch(range(45, 60), steadily)
            visit.take(Correction("m4", T0_S + 59.5, of="m3", mass_kg=0.03))
            if not stops:
                again.append(visit.watch(range(60, 61), steadily)[0])
        if stops:
            with session(its, every_s=60) as visit:
                again.append(visit.watch(range(60, 61), steadily)[0])
    stopped, never = (msgspec.json.decode(given.grounds, type=Grounds) for given in again)
    assert stopped.memory is not None
    assert stopped.memory.newest_mark == "m4"
    assert stopped.memory == never.memory
    assert stopped.history_since_s == never.history_since_s == 45.0
    assert undisturbed_s(again[0]) == pytest.approx(undisturbed_s(again[1]), abs=0.5)


@pytest.mark.hours
def test_a_move_that_had_not_settled_is_learnt_from_once_it_has(rig: Rig) -> None:
    with session(rig) as visit:
        settled = told(visit.watch(range(400), steadily)[-1]).steadiness["subcooling"]
        visit.take(Added("m1", T0_S + 399.5, mass_kg=0.1, phase="liquid"))
        visit.watch(range(400, 440), steadily)
    with session(rig) as visit:
        given = visit.watch(range(450, 900), lambda _second: 5.0)
    (move,) = msgspec.json.decode(given[-1].grounds, type=Grounds).known.situation.moves
    assert move.mass_kg == pytest.approx(0.1)
    assert (move.before_dk.value, move.before_dk.expanded()) == pytest.approx((settled.value_dk, settled.expanded_dk))


def test_a_machine_that_was_started_anew_waits_from_the_time_of_the_mark(rig: Rig) -> None:
    """Its monotonic clock counts from another zero: what was read before has no place in the course."""
    with session(rig) as visit:
        visit.watch(range(400), steadily)
        visit.take(Added("m1", T0_S + 399.5, mass_kg=0.1, phase="liquid"))
        visit.watch(range(400, 500), steadily)
    with session(rig, boot="another") as visit:
        now = msgspec.structs.replace(pack(rig, 560.0, 4.0, visit.record.session.number), monotonic_s=30.0)
        visit.advisor.follow(now, rig, 101_325.0)
        given = visit.advisor.advise(now, rig, 101_325.0, {})
    assert undisturbed_s(given) == pytest.approx(560 - 399.5)
    assert "interrupted" in told(given).details[0].us


@pytest.mark.parametrize(("moved_s", "ago_s"), [(559.75, 0.25), (575.0, 0.0)])
def test_judged_anew_it_waits_from_the_move_though_a_clock_was_set_back(rig: Rig, moved_s: float, ago_s: float) -> None:
    move = Added("m1", T0_S + moved_s, mass_kg=0.1, phase="liquid")
    advisor, now = Advisor(1.0, None), pack(rig, 560.0, 4.0)
    advisor.go_on(Earlier(grounds=b"{}", marks=[move], changes_kg={"m1": 0.1}), rig, 101_325.0)
    advisor.follow(now, rig, 101_325.0)
    assert undisturbed_s(advisor.advise(now, rig, 101_325.0, {})) == ago_s


def test_a_move_after_the_only_pack_is_heard_of(rig: Rig) -> None:
    with session(rig) as visit:
        visit.watch(range(1), steadily)
        visit.take(Added("m1", T0_S + 0.5, mass_kg=0.1, phase="liquid"))
    with session(rig) as visit:
        assert undisturbed_s(visit.watch(range(2, 11), steadily)[0]) == pytest.approx(9.5)


def test_a_machine_that_slept_between_the_sessions_judges_anew(rig: Rig) -> None:
    """Its monotonic clock stood still, its wall clock did not."""
    with session(rig) as visit:
        visit.watch(range(400), steadily)
    with session(rig) as visit:
        now = msgspec.structs.replace(pack(rig, 4000.0, 4.0, visit.record.session.number), monotonic_s=401.0)
        visit.advisor.follow(now, rig, 101_325.0)
        given = visit.advisor.advise(now, rig, 101_325.0, {})
    assert not given.settled
    assert "interrupted" in told(given).details[0].us


def test_what_is_measured_otherwise_is_judged_anew(rig: Rig) -> None:
    with session(rig) as visit:
        visit.watch(range(20), steadily)
    with session(with_unit(rig, refrigerant="R-32")) as visit:
        given = visit.watch(range(30, 41), steadily)
    assert "it is measured otherwise now" in told(given[0]).details[0].us


def test_a_correction_just_before_it_is_measured_otherwise_is_heard_of(rig: Rig) -> None:
    """It is of a step that was learnt from, nobody knows which."""
    with session(rig) as visit:
        visit.take(Added("m1", T0_S - 60.0, mass_kg=0.2, phase="liquid"))
        given = visit.watch(range(11), steadily)[-1]
        grounds = msgspec.json.decode(given.grounds, type=Grounds)
        assert grounds.memory is not None
        memory = msgspec.structs.replace(grounds.memory, open_step=OpenStep())
        learnt = dataclasses.replace(
            grounds.known.situation, moves=(Move(0.2, Estimate(3.0, 0.1), Estimate(4.0, 0.1)),)
        )
        known = msgspec.structs.replace(grounds.known, situation=learnt)
        grounds = msgspec.structs.replace(grounds, known=known, memory=memory)
        visit.record.add_advice(T0_S + 11, msgspec.json.encode(grounds), given.payload)
        visit.take(Correction("m2", T0_S + 12, of="m1", mass_kg=0.02))
    with session(with_unit(rig, refrigerant="R-32")) as visit:
        given = visit.watch(range(20, 31), steadily)[0]
    assert msgspec.json.decode(given.grounds, type=Grounds).known.situation.moves == ()


@pytest.mark.parametrize(("gap_s", "because"), [(300.0, ""), (300.5, "since.interrupted")])
def test_five_minutes_without_a_pack_are_no_interruption_yet(rig: Rig, gap_s: float, because: str) -> None:
    """Common practice, no source: as long as calc.settling bridges a gap."""
    advisor = Advisor(1.0, None)
    for second in (0.0, gap_s):
        now = pack(rig, second, 4.0)
        advisor.follow(now, rig, 101_325.0)
    given = advisor.advise(now, rig, 101_325.0, {})
    assert msgspec.json.decode(given.grounds, type=Grounds).history_because == because


@pytest.mark.parametrize(
    ("slept_s", "because"), [(3600.0, "since.interrupted"), (60.0, ""), (-3600.0, "")], ids=["hour", "minute", "back"]
)
def test_a_machine_that_slept_for_long_judges_anew(rig: Rig, slept_s: float, because: str) -> None:
    """Its monotonic clock stood still, so that it looks as if the wall clock had been set: a new epoch."""
    advisor = Advisor(1.0, None)
    before, awake = pack(rig, 0.0, 4.0), pack(rig, 0.25, 4.0)
    awake = msgspec.structs.replace(awake, epoch=before.epoch + 1, time_s=awake.time_s + slept_s)
    for now in (before, awake):
        advisor.follow(now, rig, 101_325.0)
    given = advisor.advise(awake, rig, 101_325.0, {})
    assert msgspec.json.decode(given.grounds, type=Grounds).history_because == because


def test_an_alarm_that_stood_is_none_that_comes(rig: Rig) -> None:
    with session(rig) as visit:
        raised = _amps(visit, 200, 18.0)
        assert [alarm.kind.value for alarm in raised] == ["compressor current"]
    with session(rig) as visit:
        assert _amps(visit, 205, 18.0) == []
        assert [alarm.kind.value for alarm in visit.advisor._alarms.standing()] == ["compressor current"]


def _amps(visit: Visit, second: int, amps: float) -> list[object]:
    """One tick with so many amps, of a nameplate with 12 A; gives the alarms that are new."""
    raised = []
    for at_s in (second - 2, second):
        usual = pack(visit.rig, float(at_s), 4.0, visit.record.session.number)
        high = {"compressor_current": amps, "compressor_load_ratio": amps / 12}
        readings = {name: msgspec.structs.replace(usual.readings[name], value=it) for name, it in high.items()}
        now = msgspec.structs.replace(usual, readings={**usual.readings, **readings})
        raised += visit.advisor.follow(now, visit.rig, 101_325.0).raised
        visit.record.commit([now])
    given = visit.advisor.advise(now, visit.rig, 101_325.0, {})
    visit.record.add_advice(given.time_s, given.grounds, given.payload)
    return raised


def see(visit: Visit, seconds: range, suction_pa: float, liquid_pa: float) -> Given:
    """Watch a unit at these pressures; gives the advice that would be given at the end, which is not recorded."""
    packs = [pack_at(visit.rig, second, suction_pa, liquid_pa, visit.record.session.number) for second in seconds]
    for now in packs:
        visit.advisor.follow(now, visit.rig, 101_325.0)
    visit.record.commit(packs)
    return visit.advisor.advise(packs[-1], visit.rig, 101_325.0, {})


def test_a_stop_after_the_newest_advice_is_heard_of(rig: Rig) -> None:
    with session(rig) as visit:
        runs = see(visit, range(3), 0.9e6, 2.5e6)
        visit.record.add_advice(runs.time_s, runs.grounds, runs.payload)
        see(visit, range(3, 9), 1.5e6, 1.5e6)
    with session(rig) as visit:
        rests = see(visit, range(12, 13), 1.5e6, 1.5e6)
    assert msgspec.json.decode(rests.grounds, type=Grounds).known.situation.rested_s == 12 - 3


def test_grounds_of_another_version_are_judged_anew(rig: Rig) -> None:
    with session(rig) as visit:
        visit.watch(range(20), steadily)
        visit.record.add_advice(T0_S + 20, b'{"known": {"situation": {}}}', b"{}")
    with session(rig) as visit:
        now = pack(rig, 30.0, 4.0, visit.record.session.number)
        visit.advisor.follow(now, rig, 101_325.0)
        assert "interrupted" in told(visit.advisor.advise(now, rig, 101_325.0, {})).details[0].us


def test_grounds_that_remember_nothing_are_judged_anew(rig: Rig) -> None:
    with session(rig) as visit:
        given = visit.watch(range(20), steadily)[-1]
        grounds = msgspec.json.decode(given.grounds)
        assert grounds.pop("memory")
        visit.record.add_advice(T0_S + 20, msgspec.json.encode(grounds), b"{}")
    with session(rig) as visit:
        assert "interrupted" in told(visit.watch(range(30, 41), steadily)[0]).details[0].us


def test_packs_before_one_that_cannot_be_read_are_left_out(rig: Rig) -> None:
    with session(rig) as visit:
        visit.watch(range(10), steadily)
        visit.record._database.execute("UPDATE packs SET payload = x'00' WHERE sequence = 4")
        assert [it.sequence for it in visit.record.packs_of_late()] == [5, 6, 7, 8, 9, 10]
