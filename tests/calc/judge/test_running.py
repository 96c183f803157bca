"""Whether the compressor runs. The limits: common practice, no source; the unit here is rated 20 A."""

import math

import pytest

from calc.estimate import Estimate
from calc.judge.running import RunningUnit, is_equalized, is_running
from calc.situation import Situation


def unit(rla_a: float | None = 20.0, **values: float) -> Situation:
    return Situation(measured={name: Estimate(value, 0.1) for name, value in values.items()}, compressor_rla_a=rla_a)


@pytest.mark.parametrize(
    ("amps", "rla_a", "runs"),
    [
        (2.9, 20.0, False),
        (3.0, 20.0, False),
        (3.1, 20.0, True),
        (0.9, None, False),
        (1.0, None, False),
        (1.1, None, True),
    ],
)
def test_a_compressor_draws_more_than_a_crankcase_heater(amps: float, rla_a: float | None, runs: bool) -> None:
    """A heater draws 15 % of the rated amps at most, and 1 A."""
    assert is_running(unit(rla_a, compressor_current=amps)) is runs


def test_one_phase_that_draws_is_enough() -> None:
    one_clamped = {"compressor_current_a": 0.0, "compressor_current_b": 15.0, "compressor_current_c": 0.1}
    assert is_running(unit(**one_clamped)) is True


@pytest.mark.parametrize(
    ("suction_kpa", "liquid_kpa", "runs"),
    [
        (1000.0, 2500.0, True),
        (1000.0, 1600.0, True),
        (1000.0, 1500.0, None),  # it starts or stops: nobody can tell
        (1000.0, 1400.0, None),
        (1000.0, 1200.0, None),
        (1000.0, 1150.0, None),
        (1000.0, 1100.0, False),
        (1100.0, 1000.0, False),  # two gauges at rest, neither exact
        (1150.0, 1000.0, None),
        (2000.0, 1000.0, None),  # hoses swapped, it may well run
    ],
)
def test_without_amps_the_pressures_tell(suction_kpa: float, liquid_kpa: float, runs: bool | None) -> None:
    now = unit(suction_pressure=suction_kpa * 1e3, liquid_pressure=liquid_kpa * 1e3)
    assert is_running(now) is runs
    assert is_equalized(now) is (liquid_kpa < 1.15 * suction_kpa)


def test_one_pressure_alone_tells_nothing() -> None:
    assert is_running(unit(suction_pressure=1e6)) is None
    assert not is_equalized(unit(suction_pressure=1e6))


def test_the_time_at_rest_counts_from_the_stop_and_the_run_from_the_start() -> None:
    follower = RunningUnit()
    on, off = unit(compressor_current=15.0), unit(compressor_current=0.0, outdoor_air_temperature=300.0)
    for now, time_s in ((on, 0.0), (off, 1000.0), (unit(), 1300.0), (off, 1599.0)):
        follower.follow(now, time_s)
    assert follower.at_rest == {}
    assert follower.running_s(1599.0) == 0.0
    follower.follow(off, 1600.0)
    assert set(follower.at_rest) == {"outdoor_air_temperature"}
    assert not follower.ran_on_arrival
    follower.follow(on, 2000.0)
    follower.follow(on, 2600.0)
    assert follower.at_rest["outdoor_air_temperature"].value == 300.0
    assert follower.running_s(2700.0) == follower.since_start_s(2700.0) == 700.0


def test_whoever_comes_to_a_unit_that_runs_has_seen_no_start() -> None:
    follower = RunningUnit()
    follower.follow(unit(suction_pressure=1e6, liquid_pressure=1.3e6), 0.0)  # nothing tells
    assert follower.running_s(10.0) is None
    follower.follow(unit(compressor_current=15.0), 20.0)
    assert follower.ran_on_arrival
    assert follower.since_start_s(30.0) == math.inf
    follower.follow(unit(compressor_current=15.0, outdoor_air_temperature=300.0), 900.0)
    assert follower.at_rest == {}
