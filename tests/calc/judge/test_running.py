"""Whether the compressor runs. The limits: common practice, no source; the unit here is rated 20 A."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from calc.estimate import Estimate
from calc.judge.running import RunningUnit, is_running
from calc.lift import is_equalized
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
    for now, time_s in ((on, 0.0), (off, 1000.0), (unit(), 1300.0), (off, 1569.0)):
        follower.follow(now, time_s)
    assert follower.at_rest == {}
    assert follower.running_s(1569.0) == 0.0
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


def test_a_unit_that_is_first_seen_as_it_starts_is_starting() -> None:
    """Amps are read first; a second later the pressures are still one, as at rest: liquid counts two minutes on."""
    follower = RunningUnit()
    follower.follow(unit(compressor_current=5.8), 0.0)
    follower.follow(unit(compressor_current=5.8, suction_pressure=1.632e6, liquid_pressure=1.712e6), 1.2)
    assert not follower.ran_on_arrival
    assert follower.since_start_s(3.0) == 3.0
    apart = unit(compressor_current=10.8, suction_pressure=1.2e6, liquid_pressure=2.46e6)
    follower.follow(apart, 9.0)
    assert follower.since_start_s(130.0) == 130.0


def test_pressures_that_come_together_later_are_no_start() -> None:
    follower = RunningUnit()
    follower.follow(unit(compressor_current=15.0, suction_pressure=1e6, liquid_pressure=2.4e6), 0.0)
    follower.follow(unit(compressor_current=15.0, suction_pressure=1.6e6, liquid_pressure=1.65e6), 60.0)
    assert follower.ran_on_arrival
    assert follower.since_start_s(61.0) == math.inf


def rest(liquid_kpa: float, suction_kpa: float, amps: float = 0.0) -> Situation:
    seen = {"liquid_pressure": liquid_kpa * 1e3, "suction_pressure": suction_kpa * 1e3}
    measured = {name: Estimate(value, 5e3) for name, value in seen.items()}
    return Situation(measured={**measured, "compressor_current": Estimate(amps, 0.1)}, compressor_rla_a=20.0)


def followed(*seen: tuple[float, Situation]) -> RunningUnit:
    """Each is what stands from then on, taken every second until the next [s]."""
    follower = RunningUnit()
    for (begin_s, now), (end_s, _) in pairwise((*seen, (seen[-1][0] + 1.0, seen[-1][1]))):
        for time_s in range(int(begin_s), int(end_s)):
            follower.follow(now, float(time_s))
    return follower


def test_what_it_showed_at_rest_is_from_well_before_the_start() -> None:
    """It starts, and the amps come 25 s later: by then the pressures have parted, and would be taken for air."""
    parted = [(1200.0 + second, rest(1620.0 + 20.0 * second, 1620.0 - 15.0 * second)) for second in range(25)]
    started = followed((0.0, rest(1620.0, 1620.0)), *parted, (1225.0, rest(2100.0, 1200.0, amps=15.0)))
    assert started.running_s(1225.0) is not None
    assert {name: found.value for name, found in started.at_rest.items()} == {
        "liquid_pressure": 1620e3,
        "suction_pressure": 1620e3,
    }


@pytest.mark.parametrize(
    ("liquid_kpa", "suction_kpa", "kept"),
    [(1620.0, 1610.0, True), (1620.0, 1600.0, False), (1600.0, 1620.0, False)],
)
def test_only_where_both_sides_are_one_is_it_at_rest(liquid_kpa: float, suction_kpa: float, kept: bool) -> None:
    """Each gauge is good to 5 kPa (k = 1): 10 kPa apart they are one by k = 2, 20 kPa apart they are two."""
    assert bool(followed((0.0, rest(liquid_kpa, suction_kpa)), (1200.0, rest(liquid_kpa, suction_kpa))).at_rest) is kept


def test_while_it_still_moves_it_is_not_at_rest() -> None:
    sinking = [(float(at_s), rest(2000.0 - at_s, 2000.0 - at_s)) for at_s in range(1200)]
    assert followed(*sinking).at_rest == {}


def test_the_time_at_rest_goes_on_in_the_next_run() -> None:
    before = followed((0.0, rest(2100.0, 1200.0, amps=15.0)), (100.0, rest(1620.0, 1620.0)), (400.0, rest(1620, 1620)))
    assert before.rested_s(400.0) == 300.0
    after = RunningUnit(before.compressor)
    assert (after.compressor, after.rested_s(450.0)) == (before.compressor, 350.0)
    after.follow(rest(2100.0, 1200.0, amps=15.0), 500.0)
    assert after.rested_s(500.0) is None
    assert after.since_start_s(560.0) == 60.0  # the start was seen


def test_what_was_read_at_rest_by_another_instrument_is_forgotten_and_read_anew() -> None:
    stood = followed((0.0, rest(1620.0, 1620.0)), (1200.0, rest(1620.0, 1620.0)))
    stood.forget_rest(("suction_line_temperature", "compressor_current"))
    assert stood.at_rest  # by none of these
    stood.forget_rest()
    assert stood.at_rest == {}
    stood.follow(rest(1690.0, 1690.0), 1201.0)
    assert stood.at_rest == {}  # nor is it what stood before the instrument was put right
    stood.follow(rest(1690.0, 1690.0), 1231.0)
    assert stood.at_rest["liquid_pressure"].value == 1690e3
    assert stood.rested_s(1231.0) == 1231.0  # the unit has rested all the while
    for channel in ("liquid_pressure", "outdoor_air_temperature", "barometric_pressure"):
        other = followed((0.0, rest(1620.0, 1620.0)), (1200.0, rest(1620.0, 1620.0)))
        other.forget_rest((channel,))
        assert other.at_rest == {}


def powered(volts: float, amps: float = 0.0) -> Situation:
    now = rest(1620.0, 1620.0, amps=amps)
    return replace(now, measured={**now.measured, "line_voltage_bc": Estimate(volts, 0.5)})


def test_a_timer_may_hold_it_only_from_a_stop_that_was_seen() -> None:
    assert followed((0.0, rest(1620.0, 1620.0)), (900.0, rest(1620.0, 1620.0))).held_s(900.0) is None  # as it was found
    stopped = followed((0.0, rest(2100.0, 1200.0, amps=15.0)), (100.0, rest(1620.0, 1620.0)))
    assert stopped.held_s(160.0) == 60.0
    assert RunningUnit(stopped.compressor).held_s(170.0) == 70.0
    stopped.follow(rest(2100.0, 1200.0, amps=15.0), 400.0)
    assert stopped.held_s(400.0) is None


def test_or_from_the_return_of_its_power() -> None:
    """From 50 V on it is live: common practice, no source."""
    cut = followed((0.0, powered(230.0, amps=15.0)), (100.0, powered(49.9)))
    assert cut.held_s(160.0) is None
    cut = RunningUnit(cut.compressor)
    cut.follow(powered(50.0), 200.0)
    assert cut.held_s(260.0) == 60.0
    cut.follow(powered(230.0), 300.0)
    assert cut.held_s(300.0) == 100.0  # it stood at that
    cut.follow(powered(0.0), 310.0)
    cut.follow(rest(1620.0, 1620.0), 320.0)  # the voltmeter was taken off: nobody saw it come back
    assert cut.held_s(320.0) is None
