"""The small model of a sound unit against what is printed and measured of how units go with their conditions.

Slopes of pressures: a maker's tables of normal pressures and a unit in a laboratory (NISTIR 7350); power by conditions:
NREL/TP-5500-56354; saturated air: psychrolib; vapour: CoolProp. How far air and coils move the figures: practice
(from memory), with what follows from a balance of heat.
"""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from calc.air import enthalpy, humidity_ratio
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.sound_unit import (
    _CAPACITY_PER_DK,
    BUILDS,
    UNKNOWNS,
    Conditions,
    Population,
    _population,
    _saturated,
    held_up_dk,
    known_conditions,
    sound_units,
)
from tests.fahrenheit import DDEGF, kelvin
from tests.printed import published

NONE = (0.0, 0.0, 0.0)


def population(
    build: str = "recent", outdoor_f: float = 95.0, return_f: float = 80.0, wet_bulb_f: float = 67.0, **more: float
) -> Population:
    conditions = Conditions((kelvin(outdoor_f), kelvin(return_f), kelvin(wet_bulb_f)), NONE)
    return sound_units(conditions, **more)[list(BUILDS).index(build)]


def test_as_tested_it_is_the_one_that_the_build_tells_of() -> None:
    assert sum(build.share for build in BUILDS.values()) == pytest.approx(1.0)
    for name, build in BUILDS.items():
        evaporating_k, over_dk, split_dk, load = population(name).values
        assert evaporating_k == pytest.approx(kelvin(build.evaporating_f), abs=0.05)
        assert over_dk == pytest.approx(build.over_outdoor_f * DDEGF, abs=0.05)
        assert split_dk / DDEGF == pytest.approx(20.0, abs=0.3)
        assert load == pytest.approx(0.76, abs=0.002)


@pytest.mark.parametrize("build", BUILDS)
def test_pressures_go_with_the_conditions_as_printed_and_measured(build: str) -> None:
    """By outdoor air: 0.08 to 0.20 evaporating and -0.17 to 0 over it, of printed units. By the wet bulb: 0.67 printed
    for seven sizes, 0.95 measured, and up to 0.55 for the head.
    """
    by_condition = population(build).by_condition
    assert 0.08 < by_condition[0, 0] < 0.20
    assert -0.17 < by_condition[1, 0] < 0.0
    assert 0.67 < by_condition[0, 2] < 0.95
    assert 0.1 < by_condition[1, 2] < 0.55


@pytest.mark.parametrize("wet_bulb_c", [16.67, 19.44, 22.22])
def test_power_goes_with_the_conditions_as_catalogues_have_it(wet_bulb_c: float) -> None:
    """NREL/TP-5500-56354, a fit to catalogues of many makers; amps as power to the 0.85."""
    for row in published("cooling_by_conditions.csv"):
        if row["what"] == "fit" and float(row["T_return_wb_C"]) == wet_bulb_c:
            outdoor_f = float(row["T_outdoor_C"]) * 1.8 + 32
            load = population(outdoor_f=outdoor_f, wet_bulb_f=wet_bulb_c * 1.8 + 32).values[3]
            assert (load / 0.76) ** (1 / 0.85) == pytest.approx(float(row["power_ratio"]), abs=0.05)


def test_what_is_unknown_moves_several_figures_at_once() -> None:
    """Indoor air up 10 %: evaporating and split 1 to 2 °F, opposed (practice, and a balance of sensible heat). What a
    condenser can, up 10 %: 7 to 9 % less over the outdoor air, and less power (a balance of heat).
    """
    for name, build in BUILDS.items():
        for_ten = dict(
            zip(UNKNOWNS, population(name).by_unknown[:, :5].T * 0.0953 / np.array(build.spreads)[:, None], strict=True)
        )
        air, condenser, size = for_ten["indoor air"], for_ten["outdoor coil and air"], for_ten["compressor's size"]
        assert 0.5 < air[0] / DDEGF < 2.0
        assert -2.0 < air[2] / DDEGF < -0.8
        assert 0.06 < -condenser[1] / DDEGF / build.over_outdoor_f < 0.10
        assert condenser[3] < 0.0
        assert size[0] < 0.0 < size[1]
        assert size[3] > 0.0


@pytest.mark.parametrize("refrigerant", ["R410A", "R32", "R22", "R407C"])
def test_what_is_pumped_goes_with_the_density_of_the_vapour(refrigerant: str) -> None:
    warm, cold = (PropsSI("D", "T", kelvin(45.0) + shift_k, "Q", 1, refrigerant) for shift_k in (0.5, -0.5))
    assert math.log(warm / cold) == pytest.approx(_CAPACITY_PER_DK[0], rel=0.1)


def test_saturated_air_is_that_of_the_handbook() -> None:
    for celsius in (2.0, 12.0, 24.0):
        moisture = humidity_ratio(celsius + 273.15, 100.0, pressure_pa=95e3)
        assert float(_saturated(celsius + 273.15, 95e3)) == pytest.approx(
            enthalpy(celsius + 273.15, moisture), rel=0.01
        )


def test_from_the_nearest_whole_kelvin_it_is_straight() -> None:
    at = np.array((kelvin(95.0) + 0.3, 299.5, 292.5))
    for found, build in zip(sound_units(Conditions(tuple(at), NONE)), BUILDS.values(), strict=True):
        exact = _population(build, at, 101_325.0)
        assert found.values[:3] == pytest.approx(exact.values[:3], abs=0.05)


def test_in_thin_air_a_unit_works_harder() -> None:
    """At 1,600 m there is 83.5 kPa of air: the standard atmosphere. Fans move volume."""
    for name in BUILDS:
        high, low = population(name, pressure_pa=83_520.0), population(name)
        assert high.values[1] > low.values[1] + 0.3


def test_what_was_not_measured_is_what_it_usually_is_and_not_well_known() -> None:
    measured = {
        "outdoor_air_temperature": Estimate(kelvin(95.0), 0.0),
        "return_air_temperature": Estimate(kelvin(76.0), 0.0),
        "return_air_wet_bulb": Estimate(kelvin(63.0), 0.0),
    }
    assert known_conditions(measured) == Conditions((kelvin(95.0), kelvin(76.0), kelvin(63.0)), NONE)
    for missing, usual_f in zip(measured, (89.3, 75.6, 64.5), strict=True):
        index = list(measured).index(missing)
        found = known_conditions({name: value for name, value in measured.items() if name != missing})
        assert found.values[index] == pytest.approx(kelvin(usual_f), abs=1.0)
        assert [spread > 0 for spread in found.spreads] == [each == index for each in range(3)]
    assert known_conditions({}).values[1:] == pytest.approx((kelvin(75.0), kelvin(63.2)), abs=0.5)


def test_what_is_assumed_of_the_conditions_spreads_what_is_expected() -> None:
    at, spreads = (kelvin(95.0), kelvin(80.0), kelvin(67.0)), (0.0, 0.0, 2.0)
    for sure, unsure in zip(sound_units(Conditions(at, NONE)), sound_units(Conditions(at, spreads)), strict=True):
        assert sure.values == pytest.approx(unsure.values)
        assert unsure.by_unknown[:, -1] == pytest.approx(2.0 * sure.by_condition[:, 2])
        assert not sure.by_unknown[:, -3:].any()


def test_no_air_has_such_a_temperature() -> None:
    with pytest.raises(CalcRangeError, match="return_air_temperature"):
        known_conditions({"return_air_temperature": Estimate(400.0, 0.1)})


def test_beyond_where_any_unit_cools_it_goes_on_as_at_the_edge() -> None:
    edge, beyond = population(outdoor_f=17.33), population(outdoor_f=0.0)
    assert beyond.values == pytest.approx(edge.values, abs=0.02)


def test_a_control_may_hold_the_head_up_in_cold_air() -> None:
    """A measured unit condensed 22 K over outdoor air below 16 °C, where others do by 9 to 11."""
    assert held_up_dk(kelvin(70.0)) == 0.0
    assert held_up_dk(289.15) == pytest.approx(9.0)
    assert held_up_dk(270.0) == pytest.approx(9.0)
    assert 0.0 < held_up_dk(291.0) < 9.0
