"""A unit that heats is told from one that cools, and from one that cools behind two exchanged air probes."""

import pytest

from calc.estimate import Estimate
from calc.heating import may_condense_indoors, may_defrost, mode_of
from calc.mode import Mode
from calc.saturation import bubble_pressure
from calc.situation import Situation

RUNS, RESTS = {"compressor_current": 9.0}, {"compressor_current": 0.1}
COOLED = {"return_air_temperature": 297.0, "supply_air_temperature": 286.0}
EXCHANGED = {"return_air_temperature": 286.0, "supply_air_temperature": 297.0}
HEATED = {"return_air_temperature": 294.0, "supply_air_temperature": 308.0}
HOT, MILD, COLD = ({"outdoor_air_temperature": value} for value in (308.0, 289.0, 275.0))
FAN, NO_FAN = {"condenser_fan_current": 1.4}, {"condenser_fan_current": 0.0}
AT_THE_TRUE_PORT = {"suction_pressure": 7e5, "liquid_pressure": bubble_pressure("R-410A", 314.0)}
AT_THE_VAPOUR_VALVE = {"suction_pressure": 25e5, "liquid_pressure": bubble_pressure("R-410A", 314.0)}
AMONG_ICE = {"suction_pressure": 5e5, "liquid_pressure": bubble_pressure("R-410A", 283.0)}


def seen(*readings: dict[str, float], spread_k: float = 0.25) -> Situation:
    measured = {
        name: Estimate(value, 2e4 if "pressure" in name else 0.1 if "current" in name else spread_k)
        for each in readings
        for name, value in each.items()
    }
    return Situation(refrigerant="R-410A", compressor_rla_a=16.0, measured=measured)


@pytest.mark.parametrize(
    ("readings", "mode"),
    [
        ((RUNS, COOLED, HOT), Mode.COOLING),
        ((RUNS, COOLED, HOT, AT_THE_TRUE_PORT), Mode.COOLING),
        ((RUNS, COOLED, COLD, FAN), Mode.COOLING),
        ((COOLED, MILD, AT_THE_TRUE_PORT), Mode.COOLING),  # no clamp: pressures so far apart say that it runs
        ((COOLED, COLD, AT_THE_TRUE_PORT), Mode.CANNOT_TELL),  # or a defrost
        ((MILD, AT_THE_TRUE_PORT), Mode.CANNOT_TELL),
        ((RUNS, HEATED, COLD, AT_THE_TRUE_PORT), Mode.HEATING),
        ((RUNS, HEATED, COLD, AT_THE_TRUE_PORT, FAN), Mode.HEATING),
        ((RUNS, HEATED, COLD, AT_THE_TRUE_PORT, NO_FAN), Mode.HEATING),  # its fan has failed: that is no defrost
        ((RUNS, HEATED, MILD, AT_THE_TRUE_PORT), Mode.HEATING),
        ((RUNS, HEATED, COLD, AT_THE_VAPOUR_VALVE), Mode.HEATING),
        ((RUNS, HEATED, COLD, FAN), Mode.HEATING),
        ((RUNS, HEATED, COLD), Mode.CANNOT_TELL),  # or a defrost beside electric heat
        ((RUNS, HEATED, COLD, AMONG_ICE), Mode.CANNOT_TELL),
        ((RUNS, HEATED, COLD, AMONG_ICE, NO_FAN), Mode.DEFROST),
        ((RUNS, COLD, AMONG_ICE, NO_FAN), Mode.DEFROST),
        ((RUNS, COLD, AT_THE_TRUE_PORT, FAN), Mode.CANNOT_TELL),  # either, for all that the pressures tell
        ((RUNS, EXCHANGED, HOT, AT_THE_TRUE_PORT, FAN), Mode.CANNOT_TELL),
        ((RUNS, EXCHANGED, MILD, AT_THE_TRUE_PORT, FAN), Mode.CANNOT_TELL),
        ((RUNS, EXCHANGED, COLD, AT_THE_TRUE_PORT, FAN), Mode.CANNOT_TELL),
        ((RUNS, HEATED, HOT, AT_THE_TRUE_PORT, FAN), Mode.CANNOT_TELL),  # reheat
        ((RUNS,), Mode.CANNOT_TELL),
        ((RESTS, HEATED, COLD), Mode.OFF),
        ((RUNS, COOLED, {"outdoor_air_temperature": 900.0}), Mode.CANNOT_TELL),  # beyond all physics
        ((RUNS, EXCHANGED, MILD, FAN), Mode.CANNOT_TELL),
        ((RUNS, EXCHANGED, COLD, FAN, {"suction_pressure": 10e5, "liquid_pressure": 12e5}), Mode.CANNOT_TELL),
        ((RUNS, EXCHANGED, COLD, FAN, {"liquid_pressure": 12e5}), Mode.CANNOT_TELL),
        ((RUNS, EXCHANGED, COLD, FAN, {"suction_pressure": 12e5}), Mode.CANNOT_TELL),
        (
            (RUNS, {"return_air_temperature": 290.0, "supply_air_temperature": 297.0}, COLD, FAN, AT_THE_VAPOUR_VALVE),
            Mode.HEATING,
        ),  # it has just begun: the air is not warm yet
    ],
)
def test_by_its_signs(readings: tuple[dict[str, float], ...], mode: Mode) -> None:
    """Heating: the air leaves warmer than it came, and the coil that warms it is warmer still (second law). Defrost:
    the outdoor fan stands (trade press), and what condenses among melting ice is near 0 °C.
    """
    assert mode_of(seen(*readings)) is mode


@pytest.mark.parametrize("phase", ["compressor_current_a", "compressor_current_b", "compressor_current_c"])
def test_one_leg_of_three_tells_that_it_runs(phase: str) -> None:
    legs = dict.fromkeys(("compressor_current_a", "compressor_current_b", "compressor_current_c"), 0.0)
    assert mode_of(seen(legs | {phase: 9.0}, COOLED, HOT)) is Mode.COOLING
    assert mode_of(seen(legs, COOLED, HOT)) is Mode.OFF


@pytest.mark.parametrize(
    ("supply_k", "condenses_k", "spread_k", "mode"),
    [
        (300.0, 314.0, 0.25, Mode.CANNOT_TELL),  # as warm as a room may be
        (300.3, 314.0, 0.25, Mode.HEATING),
        (308.0, 307.9, 0.25, Mode.CANNOT_TELL),
        (308.0, 308.1, 0.25, Mode.HEATING),
        (308.0, 314.0, 12.0, Mode.CANNOT_TELL),  # these probes cannot tell
    ],
)
def test_a_hair_to_either_side(supply_k: float, condenses_k: float, spread_k: float, mode: Mode) -> None:
    air = {"return_air_temperature": 294.0, "supply_air_temperature": supply_k}
    head = {"suction_pressure": 7e5, "liquid_pressure": bubble_pressure("R-410A", condenses_k)}
    assert mode_of(seen(RUNS, air, COLD, head, spread_k=spread_k)) is mode


def test_no_refrigerant_is_taken_for_none() -> None:
    """Without a plate no bubble point follows, and the outdoor fan is left to tell."""
    for fan, mode in ((FAN, Mode.HEATING), (NO_FAN, Mode.DEFROST), ({}, Mode.CANNOT_TELL)):
        now = seen(RUNS, HEATED, COLD, AT_THE_TRUE_PORT, fan)
        assert mode_of(Situation(compressor_rla_a=16.0, measured=now.measured)) is mode


@pytest.mark.parametrize(
    ("readings", "may"),
    [
        ((RUNS, COOLED, COLD, FAN), False),
        ((RUNS, HEATED, COLD, AT_THE_TRUE_PORT), True),
        ((RUNS, {"return_air_temperature": 294.0}, COLD), True),
        ((RUNS, {"return_air_temperature": 294.0}, {"outdoor_air_temperature": 294.4}), False),
        ((RUNS, {"return_air_temperature": 294.0}, HOT), False),
        ((RUNS, COLD), False),  # there is nothing to hold it against
    ],
)
def test_where_the_condenser_may_stand(readings: tuple[dict[str, float], ...], may: bool) -> None:
    assert may_condense_indoors(seen(*readings)) is may


@pytest.mark.parametrize(
    ("readings", "may"),
    [
        ((RUNS, COLD, NO_FAN), True),
        ((RUNS, {"outdoor_air_temperature": 283.1}, NO_FAN), True),
        ((RUNS, {"outdoor_air_temperature": 283.2}, NO_FAN), False),  # no coil frosts above 10 °C
        ((RUNS, COLD, FAN), False),
        ((RUNS, COLD, {"condenser_fan_current": 0.3}), False),
        ((RUNS, COLD), False),
        ((RUNS, NO_FAN), False),
    ],
)
def test_it_may_defrost_where_the_outdoor_fan_stands_in_the_cold(
    readings: tuple[dict[str, float], ...], may: bool
) -> None:
    """The trade press: the outdoor fan stands in defrost."""
    assert may_defrost(seen(*readings)) is may


@pytest.mark.parametrize(
    ("over_dk", "told"),
    [(1.9, False), (2.0, False), (2.1, True)],
)
def test_air_is_warmer_than_other_air_beyond_twice_what_both_are_known_by(over_dk: float, told: bool) -> None:
    """k = 2: about 95 % (JCGM 100, G.1.3). A split of 0.6 and 0.8 K is known by 1 K."""
    measured = {
        "return_air_temperature": Estimate(290.0 + over_dk, 0.6),
        "outdoor_air_temperature": Estimate(290.0, 0.8),
    }
    assert may_condense_indoors(Situation(measured=measured)) is told


@pytest.mark.parametrize(
    ("supply_k", "fan_a", "mode"),
    [
        (300.15, 1.4, Mode.HEATING),
        (300.14, 1.4, Mode.CANNOT_TELL),
        (308.0, 0.26, Mode.HEATING),
        (308.0, 0.25, Mode.CANNOT_TELL),  # what a clamp may show of a fan that stands
    ],
)
def test_at_each_bound(supply_k: float, fan_a: float, mode: Mode) -> None:
    air = {"return_air_temperature": 294.0, "supply_air_temperature": supply_k}
    assert mode_of(seen(RUNS, air, COLD, {"condenser_fan_current": fan_a})) is mode


def test_a_fan_at_its_bound_stands_and_no_coil_frosts_at_10_degc() -> None:
    assert may_defrost(seen(RUNS, COLD, {"condenser_fan_current": 0.25}))
    assert not may_defrost(seen(RUNS, {"outdoor_air_temperature": 283.15}, NO_FAN))
    assert mode_of(seen(RUNS, HEATED, COLD, AMONG_ICE, {"condenser_fan_current": 0.25})) is Mode.DEFROST
    assert mode_of(seen(RUNS, HEATED, COLD, AMONG_ICE, {"condenser_fan_current": 0.26})) is not Mode.DEFROST
