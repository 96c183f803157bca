"""A circuit at rest in a vacuum, or with next to nothing in it: who reads so is not told how to start it.

The limits are common practice, no source; saturation is that of published equations, as `calc.saturation` is tested by.
"""

from dataclasses import replace

import pytest

from calc.estimate import Estimate
from calc.judge.emptiness import Emptiness, emptiness
from calc.saturation import bubble_pressure
from calc.situation import Situation
from tests.fahrenheit import kelvin

PSI = 6894.757  # NIST SP 811, B.8
AIR_PA = 101_325.0


def at_rest(
    suction_psig: float | None,
    liquid_psig: float | None,
    outdoor_f: float | None = 75.0,
    psi: float = 0.5,
    **also: float,
) -> Situation:
    """R-410A at rest; psi: the standard uncertainty of both probes."""
    read = {"suction_pressure": suction_psig, "liquid_pressure": liquid_psig}
    measured = {name: Estimate(AIR_PA + psig * PSI, psi * PSI) for name, psig in read.items() if psig is not None}
    if outdoor_f is not None:
        measured["outdoor_air_temperature"] = Estimate(kelvin(outdoor_f), 0.15)
    return replace(Situation(refrigerant="R-410A", measured=measured, running_s=0.0), **also)  # type: ignore[arg-type]


def both_at(found_pa: float, outdoor_f: float | None, refrigerant: str = "R-410A", **also: float) -> Situation:
    """At rest, both sides at the same absolute pressure, by probes beyond doubt."""
    measured = {name: Estimate(found_pa, 0.0) for name in ("suction_pressure", "liquid_pressure")}
    if outdoor_f is not None:
        measured["outdoor_air_temperature"] = Estimate(kelvin(outdoor_f), 0.15)
    known = Situation(refrigerant=refrigerant, measured=measured, running_s=0.0)
    return replace(known, **also)  # type: ignore[arg-type]


def kind(now: Situation) -> Emptiness | None:
    found = emptiness(now)
    return None if found is None else found.kind


def with_amps(now: Situation, amps: float) -> Situation:
    return replace(now, measured={**now.measured, "compressor_current": Estimate(amps, 0.05)})


@pytest.mark.parametrize(
    ("suction_psig", "liquid_psig", "psi", "found"),
    [
        (-14.6, -14.6, 0.5, Emptiness.VACUUM),
        (-1.1, -1.1, 0.5, Emptiness.VACUUM),
        (-1.1, -1.1, 0.6, Emptiness.OPEN_OR_EMPTY),  # within its ±
        (-1.0, -1.0, 0.1, Emptiness.OPEN_OR_EMPTY),  # within the weather's
        (-14.6, 0.0, 0.5, None),  # one side alone of two that are read
        (-14.6, None, 0.5, Emptiness.VACUUM),
        (None, -14.6, 0.5, Emptiness.VACUUM),
        (0.0, 0.0, 0.5, Emptiness.OPEN_OR_EMPTY),
        (1.1, 1.1, 0.5, Emptiness.EMPTY),
        (20.0, 20.0, 0.5, Emptiness.EMPTY),
        (20.0, None, 0.5, None),  # a valve may part the suction from all the liquid
        (5.0, 217.0, 0.5, None),
        (217.0, 217.0, 0.5, None),
        (None, None, 0.5, None),
    ],
)
def test_how_little_there_is(
    suction_psig: float | None, liquid_psig: float | None, psi: float, found: Emptiness | None
) -> None:
    """217 psig at 75 °F: a handbook's pressure-temperature chart of R-410A, from memory."""
    assert kind(at_rest(suction_psig, liquid_psig, psi=psi)) is found


@pytest.mark.parametrize(("share", "found"), [(0.26, None), (0.24, Emptiness.EMPTY)])
def test_empty_is_less_than_a_quarter_of_saturation_in_the_coldest_air(share: float, found: Emptiness | None) -> None:
    psig = (share * bubble_pressure("R-410A", kelvin(75.0)) - AIR_PA) / PSI
    assert kind(at_rest(psig, psig, psi=0.01)) is found
    unclear = at_rest(psig, psig, psi=1.5)
    assert kind(unclear) is None  # by its ± it may be more
    told = emptiness(at_rest(20.0, 22.0))
    assert told is not None
    assert told.found_pa.value == pytest.approx(AIR_PA + 22.0 * PSI)
    assert (told.expected_pa, told.beside) == (bubble_pressure("R-410A", kelvin(75.0)), "outdoor_air")


@pytest.mark.parametrize(
    ("beside_air_pa", "found"),
    [
        (-7000.1, Emptiness.VACUUM),
        (-7000.0, Emptiness.OPEN_OR_EMPTY),
        (6999.9, Emptiness.OPEN_OR_EMPTY),
        (7000.0, Emptiness.EMPTY),
    ],
)
def test_the_air_itself_is_what_lies_within_7_kpa_of_it(beside_air_pa: float, found: Emptiness) -> None:
    assert kind(both_at(AIR_PA + beside_air_pa, 75.0)) is found


def test_a_quarter_of_saturation_is_not_less_than_a_quarter() -> None:
    quarter_pa = 0.25 * bubble_pressure("R-410A", kelvin(75.0))
    assert kind(both_at(quarter_pa, 75.0)) is None
    assert kind(both_at(quarter_pa - 1.0, 75.0)) is Emptiness.EMPTY


def test_what_draws_current_is_not_at_rest_and_a_crankcase_heater_is_no_compressor() -> None:
    assert kind(with_amps(at_rest(-14.6, -14.6), 9.0)) is None
    assert kind(with_amps(at_rest(-14.6, -14.6), 0.3)) is Emptiness.VACUUM
    assert kind(at_rest(20.0, 20.0, running_s=60.0)) is None
    noise = at_rest(-14.69, -14.6, running_s=60.0)  # one side reads twice the other, and no clamp tells
    assert kind(noise) is Emptiness.VACUUM


def test_a_vacuum_is_told_in_doubt_and_emptiness_is_not() -> None:
    doubted = frozenset({"liquid_pressure"})
    assert kind(replace(at_rest(-14.6, -14.6), unreliable=doubted)) is Emptiness.VACUUM
    assert kind(replace(at_rest(20.0, 20.0), unreliable=doubted)) is None
    assert kind(replace(at_rest(20.0, 20.0), unreliable=frozenset({"outdoor_air_temperature"}))) is None
    assert kind(replace(at_rest(-14.6, -14.6), late=frozenset({"suction_pressure", "liquid_pressure"}))) is None


def test_without_air_a_vacuum_alone_is_told() -> None:
    assert kind(at_rest(-14.6, -14.6, outdoor_f=None)) is Emptiness.VACUUM
    assert kind(at_rest(20.0, 20.0, outdoor_f=None)) is None


def test_in_deep_cold_liquid_itself_stands_below_the_air() -> None:
    """R-134a boils at -14.9 °F (-26.1 °C) under one atmosphere (handbook); at -30 °F its liquid is in no vacuum."""
    cold = replace(at_rest(-4.5, -4.5, outdoor_f=-30.0), refrigerant="R-134a")
    assert kind(cold) is None
    assert kind(replace(at_rest(-14.6, -14.6, outdoor_f=-30.0), refrigerant="R-134a")) is Emptiness.VACUUM


def test_liquid_that_stands_at_the_air_is_in_no_vacuum_and_what_stands_below_it_is() -> None:
    """Where saturation in the coldest air is the air's own pressure, no liquid stands below the air."""
    saturation_pa = bubble_pressure("R-134a", kelvin(-30.0))
    level = both_at(saturation_pa - 8e3, -30.0, "R-134a", barometric_pressure_pa=saturation_pa)
    assert kind(level) is Emptiness.VACUUM
    assert kind(replace(level, barometric_pressure_pa=saturation_pa + 1.0)) is None
    assert kind(replace(level, barometric_pressure_pa=AIR_PA)) is None


def test_air_beyond_all_physics_tells_of_no_liquid_and_a_vacuum_is_told_all_the_same() -> None:
    """R-410A is critical at 160.4 °F (ASHRAE handbook, from memory): no liquid has a saturation at 170 °F."""
    assert kind(at_rest(20.0, 20.0, outdoor_f=170.0)) is None
    told = emptiness(at_rest(-14.6, -14.6, outdoor_f=170.0))
    assert told is not None
    assert (told.kind, told.expected_pa, told.air_k, told.beside) == (Emptiness.VACUUM, None, None, "")


def test_what_works_by_its_pressures_does_not_rest_whatever_the_clock_says() -> None:
    """34.7 over 12.2 psia: only a compressor that works parts them by more than half. Common practice, no source."""
    now = at_rest(-2.5, 20.0)
    assert now.running_s == 0.0
    assert kind(now) is None
    assert kind(at_rest(20.0, 20.0)) is Emptiness.EMPTY


@pytest.mark.parametrize(
    ("by_psi", "found"),
    [
        (-1.5, Emptiness.FALLING),
        (-1.4, Emptiness.EMPTY),
        (1.4, Emptiness.EMPTY),
        (1.5, Emptiness.RISING),
    ],
)
def test_only_a_pressure_that_stands_tells_that_it_is_empty(by_psi: float, found: Emptiness) -> None:
    """Over its mean of the last minute. 40 CFR 82.156 in spirit, from memory; 10 kPa, of
    which a field probe's noise is a fifth: common practice, no source."""
    now, lately = at_rest(20.0, 20.0), at_rest(20.0 - by_psi, 20.0 - by_psi)
    told = emptiness(now, lately)
    assert told is not None
    assert told.kind is found
    one_side = emptiness(at_rest(None, 20.0), at_rest(None, 20.0 - by_psi))
    assert one_side is not None
    assert one_side.kind is found
    assert emptiness(now, at_rest(None, None)) == emptiness(now)


@pytest.mark.parametrize(
    ("by_pa", "found"),
    [
        (-10_000.5, Emptiness.FALLING),
        (-10_000.0, Emptiness.EMPTY),
        (-9999.5, Emptiness.EMPTY),
        (9999.5, Emptiness.EMPTY),
        (10_000.0, Emptiness.EMPTY),
        (10_000.5, Emptiness.RISING),
    ],
)
def test_what_lies_within_10_kpa_of_its_mean_stands(by_pa: float, found: Emptiness) -> None:
    told = emptiness(both_at(240_000.0, 75.0), both_at(240_000.0 - by_pa, 75.0))
    assert told is not None
    assert told.kind is found


def test_the_side_that_moves_most_tells_which_way() -> None:
    told = emptiness(at_rest(20.0, 22.0), at_rest(21.0, 25.0))
    assert told is not None
    assert told.kind is Emptiness.FALLING
    rises = emptiness(at_rest(20.0, 22.0), at_rest(21.0, 20.0))
    assert rises is not None
    assert rises.kind is Emptiness.RISING


@pytest.mark.parametrize(("volts", "found"), [(49.9, Emptiness.VACUUM), (50.0, Emptiness.VACUUM_LIVE)])
def test_a_vacuum_with_power_on_is_told_apart(volts: float, found: Emptiness) -> None:
    """50 V: common practice, no source, as where it is proved dead."""
    now = at_rest(-11.7, -11.7)
    read = {"line_voltage_ab": Estimate(0.3, 0.5), "line_voltage_ca": Estimate(volts, 1.0)}
    live = replace(now, measured={**now.measured, **read})
    assert kind(live) is found
    assert kind(replace(live, late=frozenset({"line_voltage_ca"}))) is Emptiness.VACUUM
    holds = at_rest(217.0, 217.0)
    assert kind(replace(holds, measured={**holds.measured, **read})) is None


def test_it_is_held_against_the_air_of_the_site() -> None:
    """Some 12.2 psia at 5000 ft (a standard atmosphere): open probes read so there, and it is no vacuum."""
    high_up = at_rest(-2.5, -2.5, barometric_pressure_pa=84_300.0)
    assert kind(high_up) is Emptiness.OPEN_OR_EMPTY
