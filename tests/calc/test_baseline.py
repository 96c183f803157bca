"""What a unit showed when it was sound is what is expected of it: tried on a unit that was measured in a laboratory.

tests/published/sound_split_unit_measured.csv: NISTIR 7350, 16 points without a fault. How well figures return was set
after a look at them; what the two tests ask of them is beyond that.
"""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.baseline import baseline, faded, is_usual
from calc.diagnosis import Fault, explain
from calc.estimate import Estimate
from calc.saturation import bubble_pressure
from calc.situation import Situation
from calc.symptoms import departures
from tests.calc.test_sound_units_met import POINTS, measured_unit
from tests.fahrenheit import DDEGF

UNITS = [measured_unit(row, 4.25).relied_on() for row in POINTS]


def sound(unit: Situation) -> float:
    return next(cause.probability for cause in explain(unit) if cause.fault is Fault.NOTHING_WRONG)


def test_known_from_one_sound_visit_it_is_found_sound_in_all_other_weather_and_more_surely() -> None:
    first = [sound(unit) for unit in UNITS]
    again = {
        (known, now): replace(UNITS[now], found_sound=baseline(UNITS[known]))
        for known, now in product(range(0, len(UNITS), 3), range(len(UNITS)))
        if known != now
    }
    for pair, unit in again.items():
        assert explain(unit)[0].fault is Fault.NOTHING_WRONG, pair
    surer = [sound(unit) for unit in again.values()]
    assert 1.0 - sum(surer) / len(surer) < 0.5 * (1.0 - sum(first) / len(first))


@pytest.mark.parametrize("known", range(0, len(UNITS), 5))
def test_a_fault_that_came_since_is_found_by_how_far_it_moved_the_unit_itself(known: int) -> None:
    """A condenser that rejects less: 8 °F higher condensing; of the trade, from memory."""
    now = UNITS[(known + 3) % len(UNITS)]
    liquid = now.measured["liquid_pressure"]
    slope_pa_per_k = 0.022 * liquid.value  # R-410A about 110 °F, from memory
    moved = dict(now.measured)
    moved["liquid_pressure"] = Estimate(liquid.value + 8.0 * DDEGF * slope_pa_per_k, liquid.standard_uncertainty)
    line = moved["liquid_line_temperature"]
    moved["liquid_line_temperature"] = Estimate(line.value + 8.0 * DDEGF, line.standard_uncertainty)
    hot = replace(now, measured=moved)
    assert sound(replace(hot, found_sound=baseline(UNITS[known]))) < 0.1 < sound(hot)


def test_what_was_read_is_kept_with_what_instruments_err_and_how_well_a_unit_returns() -> None:
    unit = UNITS[0]
    kept, seen = baseline(unit), {it.name: it for it in departures(unit).found}
    assert kept.keys() == seen.keys() - {"subcooling"}  # of that the plate says what is right
    assert kept["superheat"].value == seen["superheat"].departure.value
    exact = replace(unit, measured={name: Estimate(it.value, 0.0) for name, it in unit.measured.items()})
    for name, within_f in (("superheat", 3.0), ("condensing_over_outdoor", 1.0), ("air_split", 1.0)):
        assert baseline(exact)[name].standard_uncertainty == pytest.approx(within_f * DDEGF, rel=1e-6)
        assert kept[name].standard_uncertainty > within_f * DDEGF


def test_it_is_of_the_population_even_where_an_earlier_one_was_known() -> None:
    unit = UNITS[3]
    assert baseline(replace(unit, found_sound=baseline(UNITS[7]))) == baseline(unit)


def test_what_amps_and_pressure_at_rest_say_is_kept_of_the_amps_alone() -> None:
    """Air that was let in since would be taken for the unit's own."""
    unit = replace(
        UNITS[0],
        compressor_rla_a=12.0,
        measured={**UNITS[0].measured, "compressor_current": Estimate(8.0, 0.0)},
        at_rest={
            "liquid_pressure": Estimate(bubble_pressure("R-410A", 301.0), 3e3),
            "outdoor_air_temperature": Estimate(300.0, 0.2),
        },
    )
    assert "rest_over_outdoor" in [it.name for it in departures(unit).found]
    kept = baseline(unit)
    assert "rest_over_outdoor" not in kept
    assert kept["compressor_load"].standard_uncertainty >= 0.02


def test_a_unit_with_a_figure_beyond_what_units_show_is_no_baseline() -> None:
    unit = UNITS[3]
    assert is_usual(unit)
    hot = unit.measured["liquid_pressure"]
    assert not is_usual(
        replace(
            unit, measured={**unit.measured, "liquid_pressure": Estimate(1.35 * hot.value, hot.standard_uncertainty)}
        )
    )


@pytest.mark.parametrize("known", range(0, len(UNITS), 5))
@pytest.mark.parametrize("dirt_f", [3.0, 4.0])
def test_what_was_a_little_dirty_when_it_was_found_sound_is_sound_when_it_is_clean(known: int, dirt_f: float) -> None:
    """A dirty condenser moves head and liquid line alike and leaves the rest about as it is: the trade, from memory."""
    before, now = UNITS[known], UNITS[(known + 3) % len(UNITS)]
    liquid, line = before.measured["liquid_pressure"], before.measured["liquid_line_temperature"]
    higher_pa = 0.022 * liquid.value * dirt_f * DDEGF  # R-410A about 110 °F, from memory
    dirty = {
        "liquid_pressure": Estimate(liquid.value + higher_pa, liquid.standard_uncertainty),
        "liquid_line_temperature": Estimate(line.value + dirt_f * DDEGF, line.standard_uncertainty),
    }
    was = replace(before, measured={**before.measured, **dirty})
    cleaned = explain(replace(now, found_sound=baseline(was)))
    assert cleaned[0].fault is Fault.NOTHING_WRONG
    assert cleaned[0].probability > 0.5


YEAR_S = 365.25 * 86400.0


@given(
    st.dictionaries(
        st.sampled_from(["condensing_over_outdoor", "superheat", "air_split", "compressor_load"]),
        st.builds(Estimate, st.floats(-20.0, 20.0), st.floats(0.01, 5.0)),
    ),
    st.floats(-YEAR_S, 20 * YEAR_S),
    st.floats(0.0, 20 * YEAR_S),
)
def test_the_longer_ago_the_less_a_baseline_tells(departed: dict[str, Estimate], age_s: float, more_s: float) -> None:
    sooner, later = faded(departed, age_s), faded(departed, age_s + more_s)
    for name, it in departed.items():
        assert sooner[name].value == later[name].value == it.value
        assert it.standard_uncertainty <= sooner[name].standard_uncertainty <= later[name].standard_uncertainty
    assert faded(departed, min(age_s, 0.0)) == departed  # a clock that was wrong makes nothing surer


@pytest.mark.parametrize("known", range(0, len(UNITS), 5))
def test_a_unit_that_was_found_sound_three_years_ago_is_known_less_well_and_better_than_at_a_first_visit(
    known: int,
) -> None:
    now, kept = UNITS[(known + 3) % len(UNITS)], baseline(UNITS[known])
    ages = [departures(replace(now, found_sound=faded(kept, years * YEAR_S))).found for years in (0, 1, 3, 10)]
    for name in kept:
        spreads = [next(it for it in found if it.name == name).expected.standard_uncertainty for found in ages]
        assert spreads == sorted(spreads), name
    head = [
        next(it for it in found if it.name == "condensing_over_outdoor") for found in (*ages, departures(now).found)
    ]
    assert head[0].expected.standard_uncertainty < 0.8 * head[2].expected.standard_uncertainty
    assert head[2].expected.standard_uncertainty < head[4].expected.standard_uncertainty
