"""Alarms: raised at the very tick, gone only when their reason has been for a while, and not for what a start does."""

import math
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from calc.estimate import Estimate
from calc.judge.alarms import Alarm, AlarmKind, AlarmWatch, alarms
from calc.judge.running import RunningUnit
from calc.situation import Situation
from ingest.advice.messages import alarm_message
from ingest.advice.situation import known_of, situate
from ingest.advice.wording import Voice
from ingest.rig import RecoveryCylinder, Rig
from ingest.wire.messages import Reading
from tests.rigs import make_rig

RUNS_FOR_LONG_S = 3600.0
PSI = 6894.757  # NIST SP 811, B.8
LB = 0.45359237


@pytest.fixture
def rig(tmp_path: Path) -> Rig:
    rig = make_rig(tmp_path)
    return replace(rig, unit=msgspec.structs.replace(rig.unit, high_side_design_pressure_pa=(550 + 14.696) * PSI))


def known(**values: float) -> dict[str, Reading]:
    return {name: Reading(value, 0.0, "ok", "", 0.01 * abs(value)) for name, value in values.items()}


def kinds(
    readings: dict[str, Reading],
    rig: Rig,
    since_start_s: float | None = RUNS_FOR_LONG_S,
    cylinder: RecoveryCylinder | None = None,
) -> list[AlarmKind]:
    return [alarm.kind for alarm in find(readings, rig, cylinder, since_start_s)]


def find(
    readings: dict[str, Reading], rig: Rig, cylinder: RecoveryCylinder | None, since_start_s: float | None
) -> tuple[Alarm, ...]:
    with_cylinder = replace(rig, recovery_cylinder=cylinder)
    known = known_of(with_cylinder, 101_325.0, {})
    return alarms(situate(known, readings, cylinder=cylinder).fresh(), since_start_s)


@pytest.mark.parametrize(
    ("values", "kind"),
    [
        ({"superheat": 0.3}, AlarmKind.FLOODBACK),
        ({"liquid_pressure": (530 + 14.696) * PSI}, AlarmKind.HEAD_PRESSURE),
        ({"condensing_over_ambient": 50 / 1.8}, AlarmKind.HEAD_PRESSURE),
        ({"compressor_load_ratio": 1.5}, AlarmKind.COMPRESSOR_CURRENT),
    ],
)
def test_each_reason_to_stop(values: dict[str, float], kind: AlarmKind, rig: Rig) -> None:
    fresh = {name: Reading(value, 0.0, "ok", "", 0.01 * value) for name, value in values.items()}
    late = {name: msgspec.structs.replace(reading, quality="stale") for name, reading in fresh.items()}
    assert kinds(fresh, rig) == [kind]
    assert kinds(late, rig) == []


def test_a_cylinder_is_full_at_four_fifths(rig: Rig) -> None:
    """A cylinder of 47.7 lb of water holds 47.7 x 1.06 x 0.8 = 40.4 lb of R-410A.

    AHRI Guideline K; the density of liquid R-410A at 77 °F over that of water is 1.06; both from memory.
    """
    cylinder = RecoveryCylinder(water_capacity_kg=47.7 * LB, tare_kg=27.5 * LB)
    for refrigerant_lb, full in ((35.0, False), (42.5, True)):
        gross = known(cylinder_mass=(27.5 + refrigerant_lb) * LB)
        assert kinds(gross, rig, cylinder=cylinder) == ([AlarmKind.CYLINDER] if full else [])
        assert kinds(gross, rig) == []


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
def test_a_start_floods_and_draws_its_inrush(since_start_s: float | None, expected: list[AlarmKind], rig: Rig) -> None:
    assert kinds(known(superheat=0.2, compressor_load_ratio=4.0), rig, since_start_s) == expected


def test_an_alarm_comes_at_once_and_goes_when_its_reason_has_been_gone_for_a_while(rig: Rig) -> None:
    watch = AlarmWatch()
    (alarm,) = find(known(superheat=0.2), rig, None, RUNS_FOR_LONG_S)
    assert watch.follow([alarm], 100.0).raised == [alarm]
    worse = replace(alarm, measured=Estimate(0.1, 0.1))
    assert watch.follow([worse], 100.25) == ([], [])
    assert watch.standing() == (worse,)
    assert watch.follow([], 100.5) == ([], [])
    assert watch.standing() == (worse,)
    assert watch.follow([], 110.0).ended == []
    assert watch.follow([], 110.25).ended == [worse]  # ten seconds after it was last seen: common practice, no source
    assert watch.standing() == ()
    assert watch.follow([alarm], 200.0).raised == [alarm]


def test_an_alarm_tells_its_figures_in_either_system(rig: Rig) -> None:
    readings = known(compressor_load_ratio=1.5, condensing_over_ambient=50 / 1.8)
    said = [alarm_message(alarm, Voice(101_325.0)) for alarm in find(readings, rig, None, RUNS_FOR_LONG_S)]
    assert [(it.measured.us, it.measured.si) for it in said] == [
        ("50.0 ± 1.0 °F; at most 45 °F", "27.8 ± 0.6 K; at most 25 K"),
        ("1.50 ± 0.03; at most 1.4", "1.50 ± 0.03; at most 1.4"),
    ]
    high = find(known(liquid_pressure=(540 + 14.696) * PSI), rig, None, None)
    told = alarm_message(high[0], Voice(101_325.0)).measured.us
    assert told.endswith("at most 522 psig")  # 95 % of 550 psig, from vacuum


def test_since_when_it_runs_and_what_it_showed_at_rest(rig: Rig) -> None:
    follower = RunningUnit()
    assert follower.running_s(0.0) is None
    at_rest = {
        "compressor_current": Estimate(0.0, 0.05),
        "liquid_pressure": Estimate(1.6e6, 7e3),
        "outdoor_air_temperature": Estimate(298.0, 0.3),
    }
    follower.follow(Situation(measured=at_rest), 0.0)
    assert follower.at_rest == {}
    follower.follow(Situation(measured=at_rest), 600.0)  # ten minutes: common practice, no source
    assert set(follower.at_rest) == {"liquid_pressure", "outdoor_air_temperature"}
    assert follower.since_start_s(600.0) == 0.0
    follower.follow(Situation(measured={"compressor_current": Estimate(8.0, 0.1)}), 700.0)
    assert follower.running_s(760.0) == follower.since_start_s(760.0) == 60.0
    assert follower.at_rest["liquid_pressure"].value == 1.6e6


def test_a_unit_that_ran_before_anyone_looked_is_not_starting(rig: Rig) -> None:
    follower = RunningUnit()
    follower.follow(Situation(measured={"compressor_current": Estimate(8.0, 0.1)}), 100.0)
    assert follower.ran_on_arrival
    assert follower.running_s(110.0) == 10.0  # at least, as far as was seen
    assert follower.since_start_s(101.0) == math.inf
