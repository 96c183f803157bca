"""The times and shares of judging, by figures that stand here: common practice, no source, unless a line says so."""

from pathlib import Path

import pytest

from calc.diagnosis import RULED_OUT
from calc.estimate import Estimate
from calc.judge.alarms import AlarmWatch, alarms
from calc.judge.running import RunningUnit
from calc.settling import mean_of_last
from calc.situation import Situation
from calc.symptoms import departures
from ingest.advice.advisor import Advisor
from ingest.advice.history import History
from ingest.wire.messages import Reading, Recovered
from tests.rigs import make_rig


def test_causes_are_weighed_by_the_mean_of_the_last_minute() -> None:
    """Ten minutes at 4 K, then one minute at 8 K: the minute counts."""
    assert mean_of_last([0.0, 539.0, 541.0, 600.0], [4.0, 4.0, 8.0, 9.0], now_s=600.0) == 8.5
    history = History()
    for second in range(601):
        history.add(float(second), {"superheat": Reading(8.0 if second >= 540 else 4.0, 0.0)})
    assert history.mean("superheat", 600.0) == 8.0
    assert history.mean("superheat", 700.0) is None


@pytest.mark.parametrize(("rested_s", "known"), [(599.0, False), (600.0, True)])
def test_a_unit_has_rested_after_ten_minutes(rested_s: float, known: bool) -> None:
    unit, off = RunningUnit(), Situation(measured={"compressor_current": Estimate(0.0, 0.1)})
    off = Situation(measured={**off.measured, "outdoor_air_temperature": Estimate(300.0, 0.1)})
    unit.follow(off, 0.0)
    unit.follow(off, rested_s)
    assert bool(unit.at_rest) is known


def test_what_is_first_seen_to_run_does_not_rest() -> None:
    unit = RunningUnit()
    unit.follow(Situation(measured={"compressor_current": Estimate(9.0, 0.1)}), 5.0)
    assert unit.running_s(5.0) == 0.25  # a tick; 0 would say that it stands


@pytest.mark.parametrize(("gone_s", "ended"), [(9.9, False), (10.0, True)])
def test_an_alarm_ends_ten_seconds_after_its_reason(gone_s: float, ended: bool) -> None:
    watch = AlarmWatch()
    watch.follow(alarms(Situation(measured={"superheat": Estimate(0.1, 0.1)})), 0.0)
    assert bool(watch.follow([], gone_s).ended) is ended


def test_a_cause_is_ruled_out_below_one_in_ten() -> None:
    assert RULED_OUT == 0.1


def test_what_is_recovered_is_taken_off_and_everything_settles_anew(tmp_path: Path) -> None:
    advisor, rig = Advisor(1.0, None), make_rig(tmp_path)
    assert rig.unit.metering_device == "txv"
    advisor._moves.settled(Estimate(8.0, 0.1))
    advisor.take(Recovered("m1", 0.0, mass_kg=0.2), -0.2)
    assert advisor._history.because == "since.moved"
    advisor._moves.settled(Estimate(6.0, 0.1))
    (move,) = advisor._moves.made
    assert move.mass_kg == -0.2


def test_of_three_phases_the_largest_current_counts() -> None:
    phases = {"compressor_current_a": 8.0, "compressor_current_b": 9.0, "compressor_current_c": 7.0}
    measured = {name: Estimate(amps, 0.1) for name, amps in phases.items()}
    measured["outdoor_air_temperature"] = Estimate(308.15, 0.1)
    seen = Situation(refrigerant="R-410A", metering_device="txv", measured=measured, compressor_rla_a=10.0)
    (load,) = [found for found in departures(seen).found if found.name == "compressor_load"]
    assert load.measured.value == pytest.approx(0.9)
