"""The rise test against the two ways a vacuum rises: evaporation, which has an end, and a leak, which has none."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import SeriesError
from calc.vacuum import CAUTIONS, Finding, rise_test

MICRON_PA = 0.1333224
MINUTES_S = [60.0 * minute for minute in range(21)]


def leak(start_micron, micron_per_minute):
    """Air through an opening under which the pressure is far below the atmosphere's: a constant flow."""
    return [(start_micron + micron_per_minute * time_s / 60) * MICRON_PA for time_s in MINUTES_S]


def moisture(start_micron, final_micron, time_constant_min):
    """Water evaporating at a rate proportional to what is missing to its vapour pressure."""
    share = [1 - math.exp(-time_s / 60 / time_constant_min) for time_s in MINUTES_S]
    return [(start_micron + (final_micron - start_micron) * gone) * MICRON_PA for gone in share]


@pytest.mark.parametrize(
    ("pressures_pa", "finding"),
    [
        (leak(300, 50), Finding.LEAK),
        (leak(100, 2000), Finding.LEAK),
        (moisture(300, 1500, 3), Finding.MOISTURE),
        (moisture(200, 4500, 5), Finding.MOISTURE),
        (moisture(300, 1500, 20), Finding.UNCLEAR),
        (leak(300, 5), Finding.TIGHT),
        (moisture(300, 480, 3), Finding.TIGHT),
    ],
)
def test_evaporating_moisture_levels_off_and_a_leak_climbs(pressures_pa, finding):
    """Installation manuals: at most 500 micron after 20 min; levelling off is moisture, a steady climb a leak."""
    assert rise_test(MINUTES_S, pressures_pa).finding is finding


@pytest.mark.parametrize(("pressures_pa", "finding"), [(leak(300, 50), "leak"), (moisture(300, 1500, 4), "moisture")])
def test_noise_of_a_gauge_does_not_change_it(pressures_pa, finding):
    noise = random.Random(7)
    noisy = [pressure_pa + noise.gauss(0, 5 * MICRON_PA) for pressure_pa in pressures_pa]
    assert rise_test(MINUTES_S, noisy).finding == finding


def test_the_slowing_of_an_exponential_is_known():
    """Between thirds of equal length a rise with time constant T slows by exp(-2/3 duration / T), by its formula."""
    times_s = [float(second) for second in range(1201)]
    pressures_pa = [100 * (1 - math.exp(-time_s / 800)) for time_s in times_s]
    slowing = rise_test(times_s, pressures_pa).slowing_factor
    assert slowing == pytest.approx(math.exp(-800 / 800), rel=1e-2)


@pytest.mark.parametrize(
    ("times_s", "pressures_pa", "reason"),
    [
        (MINUTES_S[:11], leak(300, 5)[:11], "held so far: watch it for 10 min more"),
        (MINUTES_S, leak(600, 20), "above the limit as the pump was isolated"),
        (MINUTES_S, [40.0] * 14 + [40.0 + 10 * n for n in range(7)], "it rose only later"),
        (MINUTES_S, moisture(300, 1500, 20), "watch it longer"),
    ],
)
def test_what_cannot_be_told_says_what_to_do(times_s, pressures_pa, reason):
    test = rise_test(times_s, pressures_pa)
    assert test.finding is Finding.UNCLEAR
    assert reason in test.reason


@pytest.mark.parametrize(
    ("pressures_pa", "finding", "says"),
    [
        (leak(300, 9.5), Finding.LEAK, "a steady climb"),  # 300 to 490 micron
        (moisture(300, 490, 20), Finding.UNCLEAR, "watch it longer"),
        (leak(300, -15), Finding.UNCLEAR, "read nothing at all"),  # 300 to 0
        ([0.0] * 21, Finding.UNCLEAR, "read nothing at all"),
        (leak(400, -15), Finding.UNCLEAR, "it fell"),  # 400 to 100
        ([*leak(300, 50)[:14], *leak(900, -40)[14:]], Finding.UNCLEAR, "it fell"),
    ],
)
def test_what_was_held_only_so_far_or_cannot_be_is_not_tight_and_dry(pressures_pa, finding, says):
    """A steady climb is a leak (installation manuals); an isolated system does not lose pressure by itself."""
    test = rise_test(MINUTES_S, pressures_pa)
    assert (test.finding, says in test.reason) == (finding, True)


@pytest.mark.parametrize(
    ("slowing", "finding"),
    [(0.32, Finding.MOISTURE), (0.35, Finding.UNCLEAR), (0.65, Finding.UNCLEAR), (0.68, Finding.LEAK)],
)
def test_from_a_third_of_its_rate_it_has_levelled_off_and_up_to_two_thirds_it_has_not(slowing, finding):
    """Common practice, no source; the slowing between the outer thirds of an exponential is exp(-2/3 duration / T)."""
    times_s = [float(second) for second in range(0, 1201, 5)]
    constant_s = -800 / math.log(slowing)
    pressures_pa = [40 + 200 * (1 - math.exp(-time_s / constant_s)) for time_s in times_s]
    assert rise_test(times_s, pressures_pa, limit_pa=45.0).finding is finding


def test_the_limits_of_what_a_rise_test_takes():
    """Air has never pressed with more than 110 kPa anywhere people live; a micron is 0.133 322 Pa (NIST SP 811)."""
    with pytest.raises(SeriesError, match="is no vacuum"):
        rise_test(MINUTES_S, [110.1e3] * 21)
    assert rise_test(MINUTES_S, [109e3] * 21).finding is Finding.UNCLEAR
    assert "read nothing" in rise_test(MINUTES_S, [0.13] * 21).reason
    assert "read nothing" not in rise_test(MINUTES_S, [0.14] * 21).reason
    with pytest.raises(SeriesError, match="at most a week"):
        rise_test([0.0, 300.0, 7.1 * 86400], [40.0] * 3)


def test_a_makers_limit_counts_instead():
    assert rise_test(MINUTES_S, leak(200, 5), limit_pa=250 * MICRON_PA).finding is Finding.LEAK
    assert rise_test(MINUTES_S[:11], leak(200, 5)[:11], hold_s=600.0).finding is Finding.TIGHT


@pytest.mark.parametrize(
    ("times_s", "pressures_pa", "message"),
    [
        ([], [], "0 times and 0 pressures"),
        ([0.0, 60.0], [40.0], "2 times and 1 pressures do not make a series"),
        ([0.0, 60.0], [40.0, 41.0], "need two readings each"),
        ([0.0, 60.0, 60.0], [40.0, 41.0, 42.0], "times of a rise test have to rise"),
        ([0.0, math.nan], [40.0, 41.0], "times of a rise test have to rise"),
        ([0.0, math.inf], [40.0, 41.0], "times of a rise test have to rise"),
        ([0.0, 60.0], [40.0, 2e5], "200000 Pa is no vacuum"),
        ([0.0, 60.0], [math.nan, 41.0], "nan Pa is no vacuum"),
        ([0.0, 60.0], [-1.0, 41.0], "-1 Pa is no vacuum"),
    ],
)
def test_a_series_that_cannot_be_judged(times_s, pressures_pa, message):
    with pytest.raises(SeriesError, match=message):
        rise_test(times_s, pressures_pa)


@given(st.lists(st.tuples(st.floats(0, 700000), st.floats(0, 1e5)), min_size=1, max_size=12).map(sorted))
def test_any_rise_is_judged_by_finite_numbers(readings):
    try:
        test = rise_test(*zip(*readings, strict=True))
    except SeriesError:
        return
    assert test.slowing_factor is None or math.isfinite(test.slowing_factor)


@given(st.lists(st.tuples(st.floats(), st.floats()), max_size=12))
def test_any_series_is_judged_or_refused(readings):
    times_s, pressures_pa = [time_s for time_s, _ in readings], [pressure_pa for _, pressure_pa in readings]
    try:
        test = rise_test(times_s, pressures_pa)
    except SeriesError:
        return
    assert test.reason


def by_name(pressures, times="0min,5min,10min,15min,20min"):
    return catalogue.run("rise_test", {"times": times, "pressures": pressures}).values


def test_nitrogen_breaks_a_vacuum_only_after_moisture_or_a_leak():
    """Installation manuals: a tight circuit takes the refrigerant in."""
    tight = by_name("300micron,320micron,330micron,335micron,340micron")
    assert tight["finding"] == "tight"
    assert "nitrogen" not in tight["caution"]
    assert "break the vacuum with the refrigerant" in tight["caution"]
    leaks = by_name("300micron,800micron,1300micron,1800micron,2300micron")
    assert leaks["finding"] == "leak"
    assert "dry nitrogen through a pressure regulator" in leaks["caution"]
    boils = by_name("300micron,1100micron,1300micron,1350micron,1360micron")
    assert boils["finding"] == "moisture"
    assert "dry nitrogen through a pressure regulator" in boils["caution"]
    assert all("Never run the compressor" in caution for caution in CAUTIONS.values())
    assert "nitrogen" not in CAUTIONS[Finding.UNCLEAR]


def test_it_says_how_many_readings_and_when():
    with pytest.raises(SeriesError, match="five or more in all, such as one every 5 min over 20 min"):
        by_name("300micron,320micron", "0min,20min")
    assert "five or more" in catalogue.describe("rise_test")
