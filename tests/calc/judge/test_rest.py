"""What a unit at rest shows, against CoolProp's equation of state for R-32, which has no glide.

The refrigerant at rest takes the outdoor temperature, to 2 °F at k = 1 for sun and wind; what is beyond twice the
uncertainty is told: both common practice, no source. Air adds to the pressure, so that saturation reads higher.
"""

import math

import pytest
from CoolProp.CoolProp import PropsSI

from calc.estimate import Estimate
from calc.judge.rest import Found, Rest, check_at_rest, shows_no_air
from calc.situation import Situation

FAHRENHEIT = 5 / 9
OUTDOOR_K = 305.0
SUN_AND_WIND_F = 2.0
LONG_ENOUGH_S = 700.0


def saturation_pa(temperature_k: float) -> float:
    return float(PropsSI("P", "T", temperature_k, "Q", 0, "R32"))


def saturation_k(pressure_pa: float) -> float:
    return float(PropsSI("T", "P", pressure_pa, "Q", 0, "R32"))


def rested(
    over_f: float, *, outdoor_f: float = 0.0, pressure_pa: float = 0.0, side: str = "liquid_pressure"
) -> Rest | None:
    """The check of a unit at rest whose saturation is so far above the air. outdoor_f, pressure_pa: standard ones."""
    outdoor = Estimate(OUTDOOR_K, outdoor_f * FAHRENHEIT)
    measured = {side: Estimate(saturation_pa(OUTDOOR_K + over_f * FAHRENHEIT), pressure_pa)}
    seen = {**measured, "outdoor_air_temperature": outdoor}
    return check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=LONG_ENOUGH_S, at_rest=seen))


def found(over_f: float, **uncertain: float) -> Found | None:
    check = rested(over_f, **uncertain)  # type: ignore[arg-type]
    assert check is not None
    return check.found


def test_the_pressure_to_wait_for_is_saturation_at_the_air_around_the_condenser() -> None:
    for outdoor_f, whole_f in ((0.0, SUN_AND_WIND_F), (1.5, 2.5)):  # 2, 1.5 and 2.5: a right triangle
        check = rested(0.0, outdoor_f=outdoor_f)
        assert check is not None
        low_pa, high_pa = (saturation_pa(OUTDOOR_K + by * whole_f * FAHRENHEIT) for by in (-1, 1))
        assert check.expected_pa.value == pytest.approx(saturation_pa(OUTDOOR_K), rel=1e-3)
        assert check.expected_pa.standard_uncertainty == pytest.approx((high_pa - low_pa) / 2, rel=3e-3)


@pytest.mark.parametrize("side", ["liquid_pressure", "suction_pressure"])
def test_how_far_saturation_is_above_the_air_carries_all_that_is_uncertain(side: str) -> None:
    check = rested(3.0, outdoor_f=1.5, pressure_pa=2e5, side=side)
    assert check is not None
    assert check.seconds_left == 0.0
    assert check.over_dk is not None
    assert check.measured_pa is not None
    low_k, high_k = (saturation_k(check.measured_pa.value + by * 2e5) for by in (-1, 1))
    assert check.over_dk.value == pytest.approx(3.0 * FAHRENHEIT, abs=0.05)
    assert check.over_dk.standard_uncertainty == pytest.approx(
        math.hypot((high_k - low_k) / 2, 1.5 * FAHRENHEIT, SUN_AND_WIND_F * FAHRENHEIT), rel=3e-3
    )


def test_air_is_seen_beyond_twice_the_uncertainty_and_none_within_once() -> None:
    assert [found(over_f) for over_f in (-4.2, -3.8, 0.0, 1.8, 2.2, 3.8, 4.2)] == [
        Found.LOWER, Found.NO_AIR, Found.NO_AIR, Found.NO_AIR, Found.A_LITTLE, Found.A_LITTLE, Found.HIGHER,
    ]  # fmt: skip
    assert [found(over_f, outdoor_f=1.5) for over_f in (-5.2, -4.8, 2.3, 2.7, 4.8, 5.2)] == [
        Found.LOWER, Found.NO_AIR, Found.NO_AIR, Found.A_LITTLE, Found.A_LITTLE, Found.HIGHER,
    ]  # fmt: skip


def test_where_the_two_sides_have_not_become_one_nothing_is_found() -> None:
    seen = {"liquid_pressure": Estimate(1.9e6, 1e3), "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.1)}
    check = check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=LONG_ENOUGH_S))
    assert check is not None
    assert (check.seconds_left, check.found, check.measured_pa) == (0.0, Found.NOT_ONE, None)


@pytest.mark.parametrize("missing", ["liquid_pressure", "outdoor_air_temperature"])
def test_without_its_instruments_there_is_no_check(missing: str) -> None:
    seen = {"liquid_pressure": Estimate(1.9e6, 1e3), "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.1)}
    del seen[missing]
    assert check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=LONG_ENOUGH_S)) is None


def test_ten_minutes_and_half_a_minute_that_it_stood_are_enough_outdoors() -> None:
    """And five seconds, in which a reading comes in: common practice, no source."""
    seen = {
        "liquid_pressure": Estimate(saturation_pa(OUTDOOR_K), 0.0),
        "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.0),
    }
    for rested_s, answer in ((634.0, None), (635.0, Found.NO_AIR)):
        check = check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=rested_s, at_rest=seen))
        assert check is not None
        assert check.found is answer


@pytest.mark.parametrize(
    ("over_f", "rules_air_out"), [(-3.0, True), (1.8, True), (2.2, False), (8.0, False), (-8.0, False)]
)
def test_a_pressure_that_is_that_of_the_air_rules_air_out(over_f: float, rules_air_out: bool) -> None:
    pressure = Estimate(saturation_pa(OUTDOOR_K + over_f * FAHRENHEIT), 0.0)
    for side in ("liquid_pressure", "suction_pressure"):
        at_rest = {side: pressure, "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.0)}
        assert shows_no_air(Situation(refrigerant="R-32", at_rest=at_rest)) is rules_air_out


@pytest.mark.parametrize("at_rest", [
    {},
    {"liquid_pressure": Estimate(1.9e6, 1e3)},
    {"outdoor_air_temperature": Estimate(OUTDOOR_K, 0.1)},
    {"liquid_pressure": Estimate(1e9, 1.0), "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.1)},  # no such pressure
])  # fmt: skip
def test_what_was_not_read_at_rest_or_cannot_be_rules_nothing_out(at_rest: dict[str, Estimate]) -> None:
    assert not shows_no_air(Situation(refrigerant="R-32", at_rest=at_rest))


@pytest.mark.parametrize(("saturation", "answer"), [
    (OUTDOOR_K + 5.0 * FAHRENHEIT, Found.HIGHER),  # warmer than all the air around it: that no waiting takes away
    (OUTDOOR_K + 3.8 * FAHRENHEIT, None),
    (OUTDOOR_K, None),  # on its way to the colder coil
    (OUTDOOR_K - 3.0 * FAHRENHEIT, None),
    (297.0 + 3.0 * FAHRENHEIT, None),
    (297.0 + 1.0 * FAHRENHEIT, Found.NO_AIR),
    (297.0 - 5.0 * FAHRENHEIT, Found.LOWER),
])  # fmt: skip
def test_where_it_is_colder_indoors_what_is_higher_than_there_tells_nothing_before_half_an_hour(
    saturation: float, answer: Found | None
) -> None:
    """All liquid ends in the colder coil (physics), and takes its time."""
    seen = {
        "liquid_pressure": Estimate(saturation_pa(saturation), 0.0),
        "outdoor_air_temperature": Estimate(OUTDOOR_K, 0.0),
        "return_air_temperature": Estimate(297.0, 0.0),
    }
    for rested_s in (700.0, 1800.0):
        check = check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=rested_s, at_rest=seen))
        assert check is not None
        assert check.beside == "return_air"
        if rested_s == 700.0:
            assert check.found is answer
            assert check.seconds_left == (1100.0 if answer is None else 0.0)
        else:
            assert check.found is not None
            assert check.seconds_left == 0.0


def test_of_air_beyond_all_physics_nothing_is_expected() -> None:
    """R-32 has no liquid above its critical temperature, 351.26 K (ASHRAE 34's data; CoolProp 8.0.0)."""
    seen = {"liquid_pressure": Estimate(2e6, 5e3), "outdoor_air_temperature": Estimate(500.0, 0.2)}
    assert PropsSI("Tcrit", "R32") == pytest.approx(351.26, abs=0.01)
    assert check_at_rest(Situation(refrigerant="R-32", measured=seen, rested_s=LONG_ENOUGH_S)) is None
