"""Alarms: raised at the very tick, gone only when their reason has been for a while, and not for what a start does."""

import math
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from calc.estimate import Estimate
from calc.judge.guidance import AlarmKind
from ingest.advice.alarms import CLEAR_S, AlarmWatch, alarm_message, find_alarms
from ingest.advice.running import RESTED_S, RunningUnit
from ingest.rig import RecoveryCylinder
from ingest.wire.messages import Reading, UnitAbout
from tests.rigs import make_rig

RUNS_FOR_LONG_S = 3600.0
PSI = 6894.757  # NIST SP 811, B.8
LB = 0.45359237


@pytest.fixture
def unit(tmp_path: Path) -> UnitAbout:
    return msgspec.structs.replace(make_rig(tmp_path).unit, high_side_design_pressure_pa=(550 + 14.696) * PSI)


def known(**values: float) -> dict[str, Reading]:
    return {name: Reading(value, 0.0, "ok", "", 0.01 * abs(value)) for name, value in values.items()}


def kinds(
    readings: dict[str, Reading],
    unit: UnitAbout,
    since_start_s: float | None = RUNS_FOR_LONG_S,
    cylinder: RecoveryCylinder | None = None,
) -> list[AlarmKind]:
    return [alarm.kind for alarm in find_alarms(readings, unit, cylinder, since_start_s)]


@pytest.mark.parametrize(
    ("values", "kind"),
    [
        ({"superheat": 0.3}, AlarmKind.FLOODBACK),
        ({"liquid_pressure": (530 + 14.696) * PSI}, AlarmKind.HEAD_PRESSURE),
        ({"condensing_over_ambient": 50 / 1.8}, AlarmKind.HEAD_PRESSURE),
        ({"compressor_load_ratio": 1.1}, AlarmKind.COMPRESSOR_CURRENT),
    ],
)
def test_each_reason_to_stop(values: dict[str, float], kind: AlarmKind, unit: UnitAbout) -> None:
    fresh = {name: Reading(value, 0.0, "ok", "", 0.01 * value) for name, value in values.items()}
    late = {name: msgspec.structs.replace(reading, quality="stale") for name, reading in fresh.items()}
    assert kinds(fresh, unit) == [kind]
    assert kinds(late, unit) == []


def test_a_cylinder_is_full_at_four_fifths(unit: UnitAbout) -> None:
    """A cylinder of 47.7 lb of water holds 47.7 x 1.06 x 0.8 = 40.4 lb of R-410A.

    AHRI Guideline K; the density of liquid R-410A at 77 °F over that of water is 1.06; both from memory.
    """
    cylinder = RecoveryCylinder(water_capacity_kg=47.7 * LB, tare_kg=27.5 * LB)
    for refrigerant_lb, full in ((35.0, False), (42.5, True)):
        gross = known(cylinder_mass=(27.5 + refrigerant_lb) * LB)
        assert kinds(gross, unit, cylinder=cylinder) == ([AlarmKind.CYLINDER] if full else [])
        assert kinds(gross, unit) == []


@pytest.mark.parametrize(
    ("since_start_s", "expected"),
    [
        (0.0, []),
        (5.0, []),
        (60.0, [AlarmKind.COMPRESSOR_CURRENT]),
        (300.0, [AlarmKind.FLOODBACK, AlarmKind.COMPRESSOR_CURRENT]),
        (math.inf, [AlarmKind.FLOODBACK, AlarmKind.COMPRESSOR_CURRENT]),
        (None, [AlarmKind.FLOODBACK, AlarmKind.COMPRESSOR_CURRENT]),
    ],
)
def test_a_start_floods_and_draws_its_inrush(
    since_start_s: float | None, expected: list[AlarmKind], unit: UnitAbout
) -> None:
    assert kinds(known(superheat=0.2, compressor_load_ratio=4.0), unit, since_start_s) == expected


def test_an_alarm_comes_at_once_and_goes_when_its_reason_has_been_gone_for_a_while(unit: UnitAbout) -> None:
    watch = AlarmWatch()
    (alarm,) = find_alarms(known(superheat=0.2), unit, None, RUNS_FOR_LONG_S)
    assert watch.follow([alarm], 100.0).raised == [alarm]
    worse = replace(alarm, measured=Estimate(0.1, 0.1))
    assert watch.follow([worse], 100.25) == ([], [])
    assert watch.standing() == [worse]
    assert watch.follow([], 100.5) == ([], [])
    assert watch.standing() == [worse]
    assert watch.follow([], 100.25 + CLEAR_S).ended == [worse]
    assert watch.standing() == []
    assert watch.follow([alarm], 200.0).raised == [alarm]


def test_an_alarm_tells_its_figures_in_either_system(unit: UnitAbout) -> None:
    readings = known(compressor_load_ratio=1.1, condensing_over_ambient=50 / 1.8)
    said = [alarm_message(alarm, 101_325.0) for alarm in find_alarms(readings, unit, None, RUNS_FOR_LONG_S)]
    assert [(it.measured.us, it.measured.si) for it in said] == [
        ("50.0 ± 1.0 °F; at most 45 °F", "27.8 ± 0.6 K; at most 25 K"),
        ("1.10 ± 0.02; at most 1", "1.10 ± 0.02; at most 1"),
    ]
    high = find_alarms(known(liquid_pressure=(540 + 14.696) * PSI), unit, None, None)
    assert alarm_message(high[0], 101_325.0).measured.us.endswith("at most 522 psig")  # 95 % of 550 psig, from vacuum


def test_since_when_it_runs_and_what_it_showed_at_rest(unit: UnitAbout) -> None:
    follower = RunningUnit()
    assert follower.running_s(0.0) is None
    at_rest = {
        "compressor_current": Estimate(0.0, 0.05),
        "liquid_pressure": Estimate(1.6e6, 7e3),
        "outdoor_air_temperature": Estimate(298.0, 0.3),
    }
    follower.follow(at_rest, unit, 0.0)
    assert follower.at_rest == {}
    follower.follow(at_rest, unit, RESTED_S)
    assert set(follower.at_rest) == {"liquid_pressure", "outdoor_air_temperature"}
    assert follower.since_start_s(RESTED_S) == 0.0
    follower.follow({"compressor_current": Estimate(8.0, 0.1)}, unit, 700.0)
    assert follower.running_s(760.0) == follower.since_start_s(760.0) == 60.0
    assert follower.at_rest["liquid_pressure"].value == 1.6e6


def test_a_unit_that_ran_before_anyone_looked_is_not_starting(unit: UnitAbout) -> None:
    follower = RunningUnit(speed=10.0)
    follower.follow({"compressor_current": Estimate(8.0, 0.1)}, unit, 100.0)
    assert follower.running_s(101.0) == 10.0  # at least, as far as was seen
    assert follower.since_start_s(101.0) == math.inf
