"""Compression: ratios that the trade press works out, and the equation of state at the discharge."""

import math
from contextlib import suppress

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.compression import compression_ratio, discharge_superheat
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from tests.fuzzing import fuzz
from tests.printed import published

PSI = 6894.757


@pytest.mark.parametrize(
    ("suction_psig", "discharge_psig", "air_psi", "printed", "places"),
    [(5, 145, 14.7, 8.1, 1), (70, 250, 15.0, 3.1, 1), (70, 260, 14.7, 3.24, 2), (30, 250, 14.7, 5.9, 1)],
)
def test_ratios_in_print(suction_psig, discharge_psig, air_psi, printed, places):
    """A column of the trade press, a training sheet (which takes 15 psi for the air), and two calculators' pages."""
    found = compression_ratio(
        Estimate((suction_psig + air_psi) * PSI, 0.0), Estimate((discharge_psig + air_psi) * PSI, 0.0)
    )
    assert round(found.value, places) == printed


def test_both_pressures_count_by_their_share():
    found = compression_ratio(Estimate(5e5, 1e4), Estimate(20e5, 3e4))
    assert found.value == 4.0
    assert found.standard_uncertainty == pytest.approx(4.0 * math.hypot(0.02, 0.015), rel=1e-3)


@pytest.mark.parametrize(
    ("suction_pa", "discharge_pa", "name"),
    [(9999.5, 1e5, "suction_pressure"), (5e6 + 0.5, 6e6, "suction_pressure"), (5e5, 4.99e5, "hoses exchanged"),
     (1e5, 4.01e6, "discharge_pressure")],
)  # fmt: skip
def test_limits(suction_pa, discharge_pa, name):
    with pytest.raises(CalcRangeError, match=name):
        compression_ratio(Estimate(suction_pa, 0.0), Estimate(discharge_pa, 0.0))
    assert compression_ratio(Estimate(10e3, 0.0), Estimate(400e3, 0.0)).value == 40.0
    assert compression_ratio(Estimate(5e6, 0.0), Estimate(5e6, 0.0)).value == 1.0


@pytest.mark.parametrize(("refrigerant", "fluid"), [("R-410A", "R410A"), ("R-32", "R32"), ("R-134a", "R134a")])
def test_discharge_superheat_by_the_equation_of_state(refrigerant, fluid):
    found = discharge_superheat(
        refrigerant, 1.8e6, discharge_line_temperature_k=350.0, pressure_standard_uncertainty_pa=24e3,
        temperature_standard_uncertainty_k=1.0,
    )  # fmt: skip
    assert found.value == pytest.approx(350.0 - PropsSI("T", "P", 1.8e6, "Q", 1, fluid), abs=2e-3)
    assert 1.0 < found.standard_uncertainty < 1.3


def test_of_a_measured_unit():
    """A sound split heat pump in a laboratory: its discharge is 25 to 45 K above the dew point."""
    for row in published("sound_split_unit_measured.csv"):
        pressure_pa, kelvin = 1e3 * float(row["p_discharge_kPa_abs"]), float(row["T_discharge_C"]) + 273.15
        found = discharge_superheat(
            "R-410A", pressure_pa, discharge_line_temperature_k=kelvin, pressure_standard_uncertainty_pa=0.0,
            temperature_standard_uncertainty_k=0.0,
        )  # fmt: skip
        assert found.value == pytest.approx(kelvin - PropsSI("T", "P", pressure_pa, "Q", 1, "R410A"), abs=2e-3)
        assert 20.0 < found.value < 45.0
        suction_pa = 1e3 * float(row["p_suction_compressor_kPa_abs"])
        assert 1.9 < compression_ratio(Estimate(suction_pa, 0.0), Estimate(pressure_pa, 0.0)).value < 3.2


def test_by_name_at_the_sites_barometer():
    gauges = {"suction_pressure": "5 psig", "discharge_pressure": "145 psig"}
    assert round(catalogue.run("compression_ratio", gauges).values["compression_ratio"].value, 1) == 8.1
    high = catalogue.run("compression_ratio", gauges | {"elevation": "1600 m"}).values["compression_ratio"]
    assert high.value == pytest.approx((145 * PSI + 83520) / (5 * PSI + 83520), rel=1e-3)
    line = {"refrigerant": "R-410A", "discharge_pressure": "350 psig", "discharge_line_temperature": "165 degF"}
    found = catalogue.run("discharge_superheat", line).values
    assert found["discharge_superheat_dk"].value == pytest.approx((165 + 459.67) / 1.8 - found["dew_k"])
    assert "burns" in found["caution"]


@fuzz
@given(st.tuples(*(st.floats(),) * 4))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = compression_ratio(Estimate(*numbers[:2]), Estimate(*numbers[2:]))
        assert math.isfinite(found.value + found.standard_uncertainty)
