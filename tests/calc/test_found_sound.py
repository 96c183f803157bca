"""What a unit departed by when it was sound, and what that tells of it today: Bayes' rule by weighing drawn units.

A unit is drawn of the population, and counts by how well it explains what it was found to depart by: what it shows
today then has this mean and this spread, up to chance.
"""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from calc.diagnosis import explain
from calc.estimate import Estimate
from calc.refrigerants import get
from calc.saturation import bubble_pressure
from calc.situation import Situation
from calc.sound_unit import MODELLED, known_conditions, sound_units
from calc.symptoms import departures
from tests.fahrenheit import DDEGF, kelvin

DRAWN = 400_000
NAMES = ("condensing_over_outdoor", "compressor_load")
DIRTY_THEN = ((0.76, (0.0, 0.0)), (0.12, (6.0 * DDEGF, 0.05)), (0.12, (-1.5 * DDEGF, -0.02)))
"""How often, and what it moves: nothing; a slightly fouled condenser; a little indoor air (docs/calculations.md)."""


def sure(value: float) -> Estimate:
    return Estimate(value, 0.0)


def at(outdoor_f: float, over_f: float, load: float) -> Situation:
    """A unit on R-22, which has no glide, of 10 °F of subcooling on its plate, read by exact instruments."""
    return Situation(
        refrigerant="R-22",
        metering_device="txv",
        target_subcooling_dk=10 * DDEGF,
        compressor_rla_a=10.0,
        measured={
            "liquid_pressure": sure(bubble_pressure("R-22", kelvin(outdoor_f + over_f))),
            "outdoor_air_temperature": sure(kelvin(outdoor_f)),
            "return_air_temperature": sure(kelvin(80.0)),
            "return_air_wet_bulb": sure(kelvin(67.0)),
            "compressor_current": sure(10.0 * load),
        },
    )


def drawn(now: Situation, departed: Mapping[str, Estimate]) -> tuple[np.ndarray, np.ndarray]:
    """Mean and spread of head [K] and load today, by drawing units and weighing each by what it departed by."""
    chance = np.random.default_rng(1)
    rows = [MODELLED.index(name) for name in NAMES]
    aside = np.array([math.hypot(0.6 * DDEGF, get("R-22").model_standard_uncertainty_k), 0.06])
    charge = np.array([0.3 * 1.1 * DDEGF, 0.0])  # how far charges differ that all count as right: test_symptoms
    populations = sound_units(known_conditions(now.measured))
    middle = sum(it.share * it.values[rows] for it in populations)
    shown, weights = [], []
    for population in populations:
        unknown = chance.standard_normal((DRAWN, population.by_unknown.shape[1]))
        own = chance.standard_normal((DRAWN, 1)) * charge + chance.standard_normal((DRAWN, 2)) * aside
        figures = population.values[rows] + unknown @ population.by_unknown[rows].T + own
        for share, moved in DIRTY_THEN:  # then, and clean today
            read = figures + (0.7 + 0.4 * chance.standard_normal((DRAWN, 1))) * np.array(moved)
            off = [
                (read[:, index] - middle[index] - departed[name].value) / departed[name].standard_uncertainty
                for index, name in enumerate(NAMES)
                if name in departed
            ]
            shown.append(figures)
            weights.append(population.share * share * np.exp(-sum(it**2 for it in off) / 2))
    weight, all_shown = np.concatenate(weights), np.concatenate(shown)
    mean = weight @ all_shown / weight.sum()
    return mean, np.sqrt(weight @ (all_shown - mean) ** 2 / weight.sum())


@pytest.mark.parametrize(
    "departed",
    [
        {"condensing_over_outdoor": Estimate(0.0, 0.6), "compressor_load": Estimate(0.0, 0.03)},
        {"condensing_over_outdoor": Estimate(4.0, 0.8), "compressor_load": Estimate(0.1, 0.03)},
        {"condensing_over_outdoor": Estimate(-3.0, 0.6)},
        {"compressor_load": Estimate(-0.08, 0.02)},
    ],
)
def test_what_is_expected_is_what_units_show_that_departed_so(departed: Mapping[str, Estimate]) -> None:
    """Some thousand of them count: a twentieth of the spread is more than chance."""
    now = at(95.0, 20.0, 0.78)
    seen = {it.name: it for it in departures(replace(now, found_sound=departed)).found}
    mean, spread = drawn(now, departed)
    for index, name in enumerate(NAMES):
        expected = seen[name].expected
        assert expected.value == pytest.approx(mean[index], abs=0.05 * spread[index])
        assert expected.standard_uncertainty == pytest.approx(spread[index], rel=0.05)
        assert (seen[name].source == "this unit when it was last found sound") is (name in departed)


def test_of_what_was_not_read_before_something_is_known_by_what_was() -> None:
    """A large condenser lowers head and amps together."""
    now = at(95.0, 20.0, 0.78)
    known = replace(now, found_sound={"condensing_over_outdoor": Estimate(0.0, 0.6)})
    unknown, told = (next(it for it in departures(unit).found if it.name == "compressor_load") for unit in (now, known))
    assert told.expected.standard_uncertainty < 0.99 * unknown.expected.standard_uncertainty


@pytest.mark.parametrize("departed", [{}, {"superheat": Estimate(1.0, 0.5)}])
def test_what_is_not_read_today_tells_nothing(departed: Mapping[str, Estimate]) -> None:
    now = at(95.0, 20.0, 0.78)
    assert departures(replace(now, found_sound=departed)).found == departures(now).found


def test_however_odd_a_unit_was_when_it_was_sound_probabilities_stay_whole() -> None:
    odd = at(95.0, 70.0, 2.5)
    departed = {it.name: Estimate(it.departure.value, 0.5) for it in departures(odd).found}
    told = explain(replace(odd, found_sound=departed))
    assert sum(it.probability for it in told) == pytest.approx(1.0)
