"""The advisor: learns from the moves of a visit, records what is news, and can be worked out again from the record."""

import dataclasses
import math
import sqlite3
from contextlib import closing
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest

from calc.estimate import Estimate
from calc.judge.moves import Moves
from calc.situation import Move
from dashboard.opinion import opinion
from ingest.advice.advisor import Advisor, _gist
from ingest.advice.memory import Earlier
from ingest.advice.rerun import Grounds, rerun
from ingest.derive import derive
from ingest.record.errors import RecordError
from ingest.rig import Rig
from ingest.wire.held_back import held_back
from ingest.wire.messages import (
    Advice,
    Calibration,
    CarriedOver,
    CauseMessage,
    Corrected,
    Finding,
    Line,
    Mark,
    Pack,
    Placed,
    Reading,
    Reloaded,
    VerificationMessage,
    VisitOpened,
    Wording,
)
from tests import wire_rig
from tests.ingest.advice.visits import T0_S, Visit, pack, pack_at
from tests.wire_rig import UNCERTAINTIES, said


def test_a_visit_is_learnt_from_recorded_and_comes_out_again_as_it_was(visit: Visit) -> None:
    before, after = visit.charge_a_little()
    assert [given[-1].settled for given in (before, after)] == ["subcooling", "subcooling"]
    assert [given[0].settled for given in (before, after)] == ["", ""]
    (move,) = msgspec.json.decode(after[-1].grounds, type=Grounds).known.situation.moves
    assert move.mass_kg == 0.17
    settled = [pack(visit.rig, 0.0, subcooling_df).readings["subcooling"].value for subcooling_df in (4.0, 6.0)]
    assert [move.before_dk.value, move.after_dk.value] == [pytest.approx(value, abs=0.05) for value in settled]

    answered = next(given for given in after if given.settled)  # what it did counts in the very first word after it
    assert msgspec.json.decode(answered.grounds, type=Grounds).known.situation.moves == (move,)
    assert msgspec.json.decode(answered.payload, type=Advice).sentence.kind == "headline.add"

    told = msgspec.json.decode(before[-1].payload, type=Advice).steadiness["subcooling"]
    assert told.expanded_dk is not None
    assert (move.before_dk.value, move.before_dk.standard_uncertainty) == (told.value_dk, told.expanded_dk / 2)  # k = 2

    # 0.5 °F for 1 % of the charge is usual (common practice, no source); this unit answered, so less is left open
    first, next_one = (msgspec.json.decode(given[-1].payload, type=Advice).next_step for given in (before, after))
    assert first is not None
    assert next_one is not None
    spread_before = (first.needed_most_kg - first.needed_least_kg) / first.needed_kg
    spread_after = (next_one.needed_most_kg - next_one.needed_least_kg) / next_one.needed_kg
    assert spread_after < spread_before

    assert len(Visit(visit.rig, visit.record).advisor._moves.made) == 1  # a session after a crash knows it too

    found = list(rerun(visit.rig.record))
    assert len(found) == sum(given.is_news for given in (*before, *after)) > 20
    assert all(it.same for it in found)
    assert {"Wait. Not steady yet.", "Wait. Still settling."} < {it.given.sentence.us for it in found}


def test_moves_in_a_row_are_one_and_one_without_a_start_is_none() -> None:
    moves = Moves()
    moves.moved("m1", 0.1)
    moves.settled(Estimate(3.0, 0.1))
    assert moves.made == []
    moves.moved("m2", 0.5)
    moves.moved("m3", -0.25)
    moves.settled(Estimate(3.5, 0.1))
    moves.settled(Estimate(3.6, 0.1))
    assert moves.made == [Move(0.25, Estimate(3.0, 0.1), Estimate(3.5, 0.1))]
    moves.forget()
    moves.moved("m1", 0.1)
    moves.settled(Estimate(5.0, 0.1))
    assert len(moves.made) == 1


@pytest.mark.hours
def test_what_says_the_same_is_recorded_twice_a_minute(visit: Visit) -> None:
    """Common practice, no source."""
    visit.watch(range(300), lambda _second: 4.0)
    news_s = []
    for second in range(300, 400):
        now = pack(visit.rig, float(second), 4.0)
        visit.advisor.follow(now, visit.rig, 101_325.0)
        if visit.advisor.advise(now, visit.rig, 101_325.0, {}).is_news:
            news_s.append(second)
    assert {later_s - earlier_s for earlier_s, later_s in pairwise(news_s)} == {30}


def test_figures_that_move_and_causes_that_come_second_are_no_news() -> None:
    """What is recorded beyond twice a minute is what a person would call another opinion."""

    def advice(*causes: CauseMessage, margin_dk: float = -3.1, state: str = "may be judged") -> Advice:
        verified = VerificationMessage("subcooling", state, None, margin_dk, 0.6, [], said(""))
        return msgspec.structs.replace(wire_rig.advice(time_s=T0_S), causes=list(causes), verification=verified)

    def cause(fault: str, probability: float, held_back: str | None = None) -> CauseMessage:
        waits = None if held_back is None else Wording("First.", "First.", held_back)
        return CauseMessage(fault, probability, [], [], [], said(""), waits)

    usual = _gist(advice(cause("undercharge", 0.5), cause("non-condensables", 0.2)))
    assert _gist(advice(cause("undercharge", 0.6), cause("overcharge", 0.1), margin_dk=-2.9)) == usual
    assert _gist(advice(cause("overcharge", 0.5), cause("undercharge", 0.2))) != usual
    assert _gist(advice(cause("undercharge", 0.5, "held_back.airflow"))) != usual
    assert _gist(advice(cause("undercharge", 0.5), state="may not be judged")) != usual
    assert _gist(msgspec.structs.replace(advice(cause("undercharge", 0.5)), verification=None)) != usual


@pytest.mark.hours
def test_an_amount_stands_still_while_the_figure_does(visit: Visit) -> None:
    """Here 7.5 oz are needed, and a tenth of a °F moves that by some hundredths of an ounce; what is said stays."""
    visit.check_clamp("liquid_line_temperature")
    given = visit.watch(range(900), lambda second: 3.95 + 0.06 * math.sin(second / 60))
    told = [msgspec.json.decode(it.payload, type=Advice) for it in given]
    amounts = {it.sentence.us for it in told if it.state == "move"}
    assert len(amounts) == 1


def test_an_alarm_is_no_fact_once_its_readings_contradict_each_other(rig: Rig) -> None:
    """Pressures exchanged: the superheat that follows is none, and a doubt tells of it after half a minute."""
    advisor = Advisor(1.0, None)
    seen = []
    for second in range(60):
        now = pack(rig, float(second), 8.0)
        swapped = {
            **now.readings,
            "suction_pressure": now.readings["liquid_pressure"],
            "liquid_pressure": now.readings["suction_pressure"],
            "superheat": Reading(0.1, T0_S + second, "ok", "", 0.3),
        }
        now = msgspec.structs.replace(now, readings=swapped)
        change = advisor.follow(now, rig, 101_325.0)
        advisor.advise(now, rig, 101_325.0, {})
        seen += [(second, alarm.kind.value, alarm.in_doubt) for alarm in change.raised]
    kinds = [(kind, in_doubt) for _, kind, in_doubt in seen if kind == "floodback"]
    assert kinds == [("floodback", False), ("floodback", True)]
    assert {"suction_pressure", "liquid_pressure", "superheat"} <= advisor.in_doubt
    assert [alarm.in_doubt for alarm in advisor._alarms.standing() if alarm.kind.value == "floodback"] == [True]


def test_a_clamp_without_amps_is_doubted_once_a_stop_would_show_in_the_pressures(rig: Rig) -> None:
    """R-410A at 118 and 345 psig: 40 °F and 106 °F (CoolProp 8.0.0), in a room of 75 °F and 86 °F outdoors."""
    low, high = rig.instruments
    names = ("compressor_current", "return_air_temperature", "outdoor_air_temperature")
    more = tuple(dataclasses.replace(low.channels[1], name=name) for name in names)
    rig = dataclasses.replace(rig, instruments=(dataclasses.replace(low, channels=(*low.channels, *more)), high))
    advisor = Advisor(1.0, None)
    doubted = []
    for second in range(100):
        now = pack(rig, float(second), 8.0)
        values = {
            "compressor_current": 0.0,
            "suction_pressure": 914_906.0,
            "liquid_pressure": 2_480_016.0,
            "return_air_temperature": 297.04,
            "outdoor_air_temperature": 303.15,
        }
        readings = {name: Reading(value, T0_S + second, "ok", "", 0.0) for name, value in values.items()}
        now = msgspec.structs.replace(now, readings={**now.readings, **readings})
        advisor.follow(now, rig, 101_325.0)
        advisor.advise(now, rig, 101_325.0, {})
        doubted.append("compressor_current" in advisor.in_doubt)
    assert (doubted.count(True), doubted.index(True)) == (10, 90)


def test_another_record_gives_other_advice(visit: Visit) -> None:
    """Readings that are changed in the record afterwards are found out by the advice that rested on them."""
    visit.watch(range(300), lambda _second: 4.0)
    database = sqlite3.connect(visit.rig.record)
    with closing(database), database:
        database.execute(
            """UPDATE packs SET payload = CAST(replace(
                   CAST(payload AS TEXT), '"n":"subcooling","u":"K","v":2.', '"n":"subcooling","u":"K","v":4.'
               ) AS BLOB)"""
        )
    differing = {part for it in rerun(visit.rig.record) for part in it.differing}
    assert {"steadiness", "verification"} <= differing


def test_an_advice_whose_readings_were_not_saved_says_so(visit: Visit) -> None:
    visit.watch(range(1), lambda _second: 4.0, saved=False)
    (found,) = rerun(visit.rig.record)
    assert found.again is None
    assert not found.same


def test_what_is_no_record_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"nothing\.sqlite cannot be read"):
        list(rerun(tmp_path / "nothing.sqlite"))


def test_a_correction_makes_the_step_what_it_was() -> None:
    moves = Moves()
    moves.settled(Estimate(3.0, 0.1))
    moves.moved("m1", 0.5)
    moves.corrected("m1", -0.45)  # 0.05 kg, and not 0.5: before it has settled again
    moves.settled(Estimate(3.5, 0.1))
    moves.moved("m2", 0.2)
    moves.settled(Estimate(4.5, 0.1))
    assert [move.mass_kg for move in moves.made] == pytest.approx([0.05, 0.2])
    moves.corrected("m2", -0.1)  # and after it has
    assert [move.mass_kg for move in moves.made] == pytest.approx([0.05, 0.1])
    moves.corrected("m1", -0.05)  # it was nothing at all
    assert [move.mass_kg for move in moves.made] == pytest.approx([0.1])


def test_after_a_restart_a_correction_takes_back_what_was_learnt_with_it() -> None:
    before = Moves()
    before.settled(Estimate(3.0, 0.1))
    before.moved("m1", 0.5)
    before.settled(Estimate(3.5, 0.1))
    moves = Moves(before.made)
    moves.corrected("m1", -0.45)
    assert moves.made == []


def without_power(pack: Pack) -> Pack:
    """The same, as no supply is read, and no motor draws."""
    power = {name: it for name, it in pack.readings.items() if name.startswith("line_") or name.endswith("_current")}
    off = {name: msgspec.structs.replace(it, value=0.0) for name, it in power.items()}
    return msgspec.structs.replace(pack, readings={**pack.readings, **off})


def follow(
    advisor: Advisor, rig: Rig, seconds: range, suction_pa: float, liquid_pa: float, *, is_off: bool = False
) -> Advice:
    """Watch a unit at these pressures; gives the last advice. is_off: without power."""
    for second in seconds:
        now = pack_at(rig, second, suction_pa, liquid_pa)
        if is_off:
            now = without_power(now)
        advisor.follow(now, rig, 101_325.0)
    return msgspec.json.decode(advisor.advise(now, rig, 101_325.0, {}).payload, type=Advice)


def test_of_a_unit_that_is_found_at_rest_nobody_says_that_an_alarm_stopped_it(rig: Rig) -> None:
    rests = follow(Advisor(1.0, None), rig, range(60), 1.5e6, 1.5e6)
    assert rests.sentence.kind == "headline.at_rest"
    assert rests.details == []  # nor for how long a timer may hold it: it may have stood for weeks
    assert rests.awaited is None  # nor that it waits for a check that nobody asked for


LINE = Line(1.0, 0.0, 1e3)


@pytest.mark.parametrize(
    ("mark", "is_kept"),
    [
        (Corrected("c1", T0_S, calibration=Calibration("liquid_pressure", LINE, LINE, ["k1"])), False),
        (Corrected("c1", T0_S, calibration=Calibration("suction_line_temperature", LINE, LINE, ["k1"])), True),
        (Placed("c1", T0_S, on="2", channels=["suction_pressure", "liquid_pressure"]), False),
        (Placed("c1", T0_S, on="blower", channels=["compressor_current"]), True),
        (Reloaded("c1", T0_S, text="another gauge"), False),
    ],
)
def test_what_a_gauge_read_at_rest_is_forgotten_once_it_reads_otherwise(rig: Rig, mark: Mark, is_kept: bool) -> None:
    advisor = Advisor(1.0, None)
    for second in range(0, 645, 15):
        advisor.follow(pack_at(rig, second, 1.5e6, 1.5e6), rig, 101_325.0)

    def read_at_rest() -> set[str]:
        given = advisor.advise(pack_at(rig, 645, 1.5e6, 1.5e6), rig, 101_325.0, {})
        return {*msgspec.json.decode(given.grounds, type=Grounds).known.situation.at_rest}

    assert {"suction_pressure", "liquid_pressure"} <= read_at_rest()
    advisor.take(mark, 0.0)
    assert bool(read_at_rest()) is is_kept


@pytest.mark.parametrize("is_of_here", [True, False])
def test_of_a_unit_that_is_locked_out_nobody_says_that_a_timer_may_start_it(rig: Rig, *, is_of_here: bool) -> None:
    advisor = Advisor(1.0, None)
    follow(advisor, rig, range(20), 0.9e6, 2.5e6)
    assert [it.kind for it in follow(advisor, rig, range(20, 60), 1.5e6, 1.5e6).details] == ["detail.start_delay"]
    lock = Finding("i1", T0_S, check="isolate", grade="said", outcome="cannot_tell", choices={"locked_by": "Sam"})
    advisor.take(lock, 0.0)
    assert follow(advisor, rig, range(60, 80), 1.5e6, 1.5e6, is_off=True).details == []
    later = Advisor(1.0, None)
    over = VisitOpened("o1", T0_S, unit=rig.unit.tag, carried_over=CarriedOver(locks=("Sam",)))
    later.go_on(Earlier(marks=[lock if is_of_here else over]), rig, 101_325.0)
    follow(later, rig, range(20), 0.9e6, 2.5e6)
    assert follow(later, rig, range(20, 60), 1.5e6, 1.5e6, is_off=True).details == []


def test_power_that_the_rig_reads_under_a_lock_is_told_at_once_and_that_a_timer_may_start_it(rig: Rig) -> None:
    """Whoever closed the disconnect, nobody has said that the lock is off: told before anything draws."""
    advisor = Advisor(1.0, None)
    follow(advisor, rig, range(20), 0.9e6, 2.5e6)
    lock = Finding("i1", T0_S, check="isolate", grade="seen", outcome="met", choices={"locked_by": "Sam"})
    advisor.take(lock, 0.0)
    assert follow(advisor, rig, range(20, 400), 1.5e6, 1.5e6, is_off=True).details == []
    back = follow(advisor, rig, range(400, 402), 1.5e6, 1.5e6)
    assert [it.kind for it in back.details][:2] == ["detail.live_under_lock", "detail.start_delay"]
    assert opinion(back, "us")["leads"] == [back.details[0].us]  # on the Visit page above all else
    blind = held_back(back)
    assert [it.kind for it in blind.details] == ["detail.live_under_lock", "detail.until_verdict"]
    stopped = advisor.advise(pack_at(rig, 402, 1.5e6, 1.5e6), rig, 101_325.0, {}, stopped_by="Robin")
    assert [it.kind for it in msgspec.json.decode(stopped.payload, type=Advice).details] == ["detail.live_under_lock"]


def test_a_unit_that_stopped_in_an_alarm_is_not_started_before_its_cause_is_found(rig: Rig) -> None:
    advisor = Advisor(1.0, None)
    high = follow(advisor, rig, range(20), 0.9e6, 3.75e6)  # 529 psig: above 95 % of a design pressure of 550 psig
    assert [it.kind for it in high.alarms] == ["head pressure"]
    rests = follow(advisor, rig, range(20, 60), 1.5e6, 1.5e6)
    assert rests.sentence.kind == "headline.at_rest"
    assert [it.kind for it in rests.details] == ["detail.stopped_in_alarm", "detail.start_delay"]
    follow(advisor, rig, range(60, 80), 0.9e6, 2.5e6)  # it was started again, and no alarm came
    again = follow(advisor, rig, range(80, 120), 1.5e6, 1.5e6)
    assert [it.kind for it in again.details] == ["detail.start_delay"]


def test_what_stopped_on_its_amps_starts_again_as_its_protector_cools(rig: Rig) -> None:
    """It outlives a start of the daemon, as what is told beside it does."""
    advisor = Advisor(1.0, None)
    far_above_a = 1.46 * 12.0  # of its RLA
    for second in range(20):
        hums = pack_at(rig, second, 0.92e6, 2.5e6)
        measured = {name: it for name, it in hums.readings.items() if name in UNCERTAINTIES}
        measured["compressor_current"] = msgspec.structs.replace(measured["compressor_current"], value=far_above_a)
        advisor.follow(
            msgspec.structs.replace(hums, readings={**measured, **derive(measured, rig.unit)}), rig, 101_325.0
        )
    rests = follow(advisor, rig, range(20, 60), 1.5e6, 1.5e6)
    assert [it.kind for it in rests.details] == ["detail.stopped_in_alarm", "detail.protector", "detail.start_delay"]
    grounds = advisor.advise(pack_at(rig, 59, 1.5e6, 1.5e6), rig, 101_325.0, {}).grounds
    later = Advisor(1.0, grounds)
    later.go_on(Earlier(grounds=grounds, packs=[pack_at(rig, 59, 1.5e6, 1.5e6)]), rig, 101_325.0)
    assert "detail.protector" in [it.kind for it in follow(later, rig, range(60, 70), 1.5e6, 1.5e6).details]
    later.take(Finding("i1", T0_S, check="isolate", grade="seen", outcome="met", choices={"locked_by": "Sam"}), 0.0)
    live = pack_at(rig, 70, 1.5e6, 1.5e6)  # whatever was locked: its supply reads so, and its fan draws
    power = {name: it for name, it in live.readings.items() if name.startswith("line_") or name.endswith("_current")}
    off = {name: msgspec.structs.replace(it, value=0.0) for name, it in power.items()}
    dead = msgspec.structs.replace(live, readings={**live.readings, **off})
    for stands, told in ((live, True), (dead, False)):
        payload = later.advise(stands, rig, 101_325.0, {}).payload
        details = msgspec.json.decode(payload, type=Advice).details
        assert ("detail.protector" in [it.kind for it in details]) is told


def test_nobody_is_sent_to_find_out_why_a_unit_stands_that_was_to_be_stopped(rig: Rig) -> None:
    """The page asks for the check at rest; a start, and only that, ends what was asked."""
    advisor = Advisor(1.0, None)
    asks = follow(advisor, rig, range(400), 0.92e6, 2.85e6)
    assert any(it.kind == "check.non_condensables" for it in asks.details)
    advisor.follow(pack_at(rig, 400, 0.92e6, 2.85e6), rig, 101_325.0)  # it runs on until somebody is at the switch
    rests = follow(advisor, rig, range(401, 460), 1.5e6, 1.5e6)
    assert rests.sentence.kind == "headline.at_rest_waited"
    assert [it.kind for it in rests.details] == ["detail.rest_waited_indoors"]
    assert rests.cautions == []
    follow(advisor, rig, range(460, 480), 0.9e6, 2.5e6)
    assert follow(advisor, rig, range(480, 540), 1.5e6, 1.5e6).sentence.kind == "headline.at_rest"


@pytest.mark.parametrize(
    ("amps", "suction_pa", "liquid_pa", "settled"),
    [
        (9.0, 0.92e6, 2.5e6, "subcooling"),
        (17.5, 0.92e6, 2.5e6, ""),  # it hums at 1.46 times its 12 A: an alarm stands
        (17.5, 1.40e6, 2.0e6, ""),  # likewise, and the pressures have not come to one yet
        (60.0, 1.50e6, 1.5e6, ""),
        (9.0, 0.92e6, 3.75e6, ""),  # 529 psig: above 95 % of a design pressure of 550 psig
        (4.0, 1.50e6, 1.6e6, ""),  # it turns backwards
    ],
)
def test_nothing_is_settled_of_a_circuit_that_is_not_at_work(
    rig: Rig, amps: float, suction_pa: float, liquid_pa: float, settled: str
) -> None:
    """Whatever stands still beside it."""
    advisor = Advisor(1.0, None)
    for second in range(330):
        now = pack_at(rig, second, suction_pa, liquid_pa)
        measured = {name: it for name, it in now.readings.items() if name in wire_rig.UNCERTAINTIES}
        measured["compressor_current"] = Reading(amps, now.time_s, "ok", "", 0.06)
        now = msgspec.structs.replace(now, readings={**measured, **derive(measured, rig.unit)})
        advisor.follow(now, rig, 101_325.0)
    assert advisor.advise(now, rig, 101_325.0, {}).settled == settled
