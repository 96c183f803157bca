"""Fans: worked examples of the fan laws in print, and a fan table as a library interpolates it."""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import ArgumentError, CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.fan import NO_FAN_LAW, airflow_from_static, external_static_pressure, fan_laws
from tests.fuzzing import fuzz

CFM = 0.3048**3 / 60
INCH_PA = 249.0889
HP_W = 745.7
STATIC = tuple(inches * INCH_PA for inches in (0.2, 0.3, 0.4, 0.6))
AIRFLOW = tuple(cfm * CFM for cfm in (1390.0, 1340.0, 1290.0, 1175.0))


def read(static_pa, u_pa=0.0, u_table=0.0, static=STATIC, airflow=AIRFLOW):
    return airflow_from_static(
        Estimate(static_pa, u_pa), static, table_airflow_m3_per_s=airflow, table_standard_uncertainty_ratio=u_table
    )


def test_external_static_is_supply_less_return():
    """0.32 above and 0.28 below the room are 0.60 in: how the trade press adds them up."""
    found = external_static_pressure(Estimate(0.32 * INCH_PA, 3.0), Estimate(-0.28 * INCH_PA, 4.0))
    assert found.value == pytest.approx(0.60 * INCH_PA)
    assert found.standard_uncertainty == 5.0


@pytest.mark.parametrize(
    ("supply_pa", "return_pa", "name"),
    [(-1e-3, -10.0, "supply_static"), (5001.0, -10.0, "supply_static"), (10.0, 1e-3, "return_static"),
     (10.0, -5001.0, "return_static")],
)  # fmt: skip
def test_each_side_has_its_sign(supply_pa, return_pa, name):
    with pytest.raises(CalcRangeError, match=name):
        external_static_pressure(Estimate(supply_pa, 0.0), Estimate(return_pa, 0.0))
    assert external_static_pressure(Estimate(5000.0, 0.0), Estimate(-5000.0, 0.0)).value == 10000.0
    assert external_static_pressure(Estimate(0.0, 0.0), Estimate(0.0, 0.0)).value == 0.0


@pytest.mark.parametrize("inches", [0.2, 0.21, 0.3, 0.35, 0.4, 0.401, 0.5, 0.6])
def test_between_the_columns_as_a_library_interpolates(inches):
    """numpy.interp."""
    assert read(inches * INCH_PA).value == pytest.approx(np.interp(inches * INCH_PA, STATIC, AIRFLOW), rel=1e-12)


@pytest.mark.parametrize("inches", [0.199, 0.601])
def test_nothing_is_extrapolated(inches):
    with pytest.raises(CalcRangeError, match="not to be extrapolated"):
        read(inches * INCH_PA)


def test_the_slope_carries_the_doubt_of_the_pressure_and_the_table_adds_its_own():
    steep = (1290 - 1175) * CFM / (0.2 * INCH_PA)
    assert read(0.5 * INCH_PA, u_pa=3.0).standard_uncertainty == pytest.approx(3.0 * steep)
    assert read(0.5 * INCH_PA, u_table=0.05).standard_uncertainty == pytest.approx(0.05 * 1232.5 * CFM)
    both = read(0.5 * INCH_PA, u_pa=3.0, u_table=0.05).standard_uncertainty
    assert both == pytest.approx(np.hypot(3.0 * steep, 0.05 * 1232.5 * CFM))
    assert read(0.6 * INCH_PA, u_pa=3.0).standard_uncertainty == pytest.approx(3.0 * steep)  # by the side that is left


@pytest.mark.parametrize(
    ("static", "airflow", "says"),
    [(STATIC[:1], AIRFLOW[:1], "two columns"), ((), (), "two columns"), (STATIC, AIRFLOW[:3], "as many airflows"),
     (STATIC[:3], AIRFLOW, "as many airflows"), ((10.0, 10.0), AIRFLOW[:2], "must rise"),
     ((20.0, 10.0), AIRFLOW[:2], "must rise")],
)  # fmt: skip
def test_what_is_no_table(static, airflow, says):
    with pytest.raises(ArgumentError, match=says):
        read(10.0, static=static, airflow=airflow)


@pytest.mark.parametrize("airflow", [0.9e-3, 100.1])
def test_a_table_of_airflows_that_no_blower_has(airflow):
    with pytest.raises(CalcRangeError, match="table_airflow"):
        read(10.0, static=(10.0, 20.0), airflow=(0.5, airflow))
    assert read(10.0, static=(10.0, 20.0), airflow=(100.0, 1e-3)).value == 100.0


@pytest.mark.parametrize("share", [-0.01, 0.21])
def test_a_table_known_to_no_better_than_nothing(share):
    with pytest.raises(CalcRangeError, match="table_standard_uncertainty_ratio"):
        read(100.0, u_table=share)
    assert read(100.0, u_table=0.2).standard_uncertainty > 0


LAWS = {"shaft_power_w": 6.3 * HP_W, "speed_hz": 15.8, "other_speed_hz": 20.0, "density_ratio": 1.0}


def test_fan_laws_in_print():
    """15,800 cfm at 6.3 hp, sped up to 20,000 cfm: 12.77789 hp by the manual of a trade calculator."""
    then = fan_laws(15800 * CFM, 250.0, **LAWS)
    assert then.airflow_m3_per_s == pytest.approx(20000 * CFM)
    assert then.shaft_power_w / HP_W == pytest.approx(12.77789, abs=1e-5)
    assert then.static_pressure_pa == pytest.approx(250.0 * (20 / 15.8) ** 2)
    assert then.speed_hz == 20.0


def test_a_tenth_more_air_takes_a_third_more_power():
    """ "A 10 % increase in volume will result in a 33 % increase in power": a fan maker's notes."""
    then = fan_laws(1.0, 100.0, **LAWS | {"shaft_power_w": 100.0, "speed_hz": 10.0, "other_speed_hz": 11.0})
    assert round(then.shaft_power_w) == 133


def test_thin_air_takes_less_power_and_makes_less_pressure_but_no_less_volume():
    same, thin = (
        fan_laws(1.0, 100.0, **LAWS | {"other_speed_hz": 15.8, "density_ratio": density}) for density in (1.0, 0.8)
    )
    assert (same.airflow_m3_per_s, same.static_pressure_pa) == (1.0, 100.0)
    assert thin.airflow_m3_per_s == 1.0
    assert thin.static_pressure_pa == pytest.approx(80.0)
    assert thin.shaft_power_w == pytest.approx(0.8 * same.shaft_power_w)


@pytest.mark.parametrize(
    ("which", "low", "high"),
    [("airflow", 0.0, 100.0), ("static", 0.0, 5e3), ("shaft_power_w", 0.0, 1e6), ("speed_hz", 0.01, 200.0),
     ("other_speed_hz", 7.9, 23.7), ("density_ratio", 0.5, 2.0)],
)  # fmt: skip
def test_limits(which, low, high):
    def at(value):
        given_values = {"airflow": 1.0, "static": 100.0, **LAWS, which: value}
        if which == "speed_hz":
            given_values["other_speed_hz"] = value
        return fan_laws(given_values.pop("airflow"), given_values.pop("static"), **given_values)

    for edge, beyond in ((low, 0.99 * low - 1e-9), (high, min(1.01 * high, high + 0.5))):
        assert at(edge).speed_hz > 0
        with pytest.raises(CalcRangeError, match=which):
            at(beyond)


def test_by_name_with_where_the_laws_do_not_hold():
    laws = {"airflow": "1200 cfm", "static": "0.5 inWC", "shaft_power": "0.5 hp", "speed": "900 rpm",
            "other_speed": "1000 rpm"}  # fmt: skip
    found = catalogue.run("fan_laws", laws).values
    assert found["airflow_m3_per_s"] / CFM == pytest.approx(1333.3, abs=0.1)
    assert found["holds_only_for"] == NO_FAN_LAW
    assert any("lock out" in caution for caution in found["cautions"])
    with pytest.raises(CalcRangeError, match=r"other_speed is 1400 rpm, outside 450 to 1350 rpm"):
        catalogue.run("fan_laws", laws | {"other_speed": "1400 rpm"})
    table = {"table_static": "0.3inWC,0.4inWC,0.6inWC", "table_airflow": "1340cfm,1290cfm,1175cfm"}
    off_table = catalogue.run("airflow_from_static", {"static": "0.5 inWC", **table}).values["airflow_m3_per_s"]
    assert off_table.value / CFM == pytest.approx(1232.5)
    assert 0.10 < off_table.expanded() / off_table.value < 0.105
    with pytest.raises(CalcRangeError, match=r"static is 0\.7 inWC, outside 0\.3 to 0\.6"):
        catalogue.run("airflow_from_static", {"static": "0.7 inWC", **table})
    total = catalogue.run("external_static", {"supply_static": "0.32 inWC", "return_static": "-0.28 inWC"})
    assert total.values["external_static_dpa"].value == pytest.approx(0.6 * INCH_PA)


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        then = fan_laws(*numbers[:2], shaft_power_w=numbers[2], speed_hz=numbers[3], other_speed_hz=numbers[4],
                        density_ratio=numbers[5])  # fmt: skip
        assert np.isfinite([then.airflow_m3_per_s, then.static_pressure_pa, then.shaft_power_w]).all()
    with suppress(CalcError):
        static, flow = numbers[2:4], numbers[4:6]
        assert np.isfinite(read(abs(numbers[0]), abs(numbers[1]), static=static, airflow=flow).value)
