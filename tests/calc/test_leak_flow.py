"""What leaks, against worked examples of vacuum handbooks, and vapour against CoolProp."""

import json
from contextlib import suppress

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, UnknownNameError
from calc.estimate import Estimate
from calc.leak_flow import leak_flow, leak_mass_flow
from calc.molar_mass import molar_mass_kg_per_mol
from calc.refrigerants import get, names
from tests.edges import check_edges
from tests.fuzzing import fuzz

YEAR_S = 365 * 86400.0
EXACT = (0.0, 0.0, 0.0)


def flow(start_pa, end_pa, volume_m3, duration_s, start_k=293.15, end_k=293.15, u=EXACT):
    return leak_flow(
        start_pa,
        end_pa,
        volume_m3=volume_m3,
        duration_s=duration_s,
        start_temperature_k=start_k,
        end_temperature_k=end_k,
        volume_standard_uncertainty_m3=u[0],
        pressure_standard_uncertainty_pa=u[1],
        temperature_standard_uncertainty_k=u[2],
    )


def test_a_bicycle_tube_in_print():
    """A vacuum handbook: 4 litres that lose 1 bar in 30 days leak 1.5e-4 Pa m³/s."""
    assert flow(4e5, 3e5, 0.004, 30 * 86400.0).value == pytest.approx(1.5e-4, rel=0.04)


def test_a_litre_that_rises_by_a_millibar_a_second():
    """By definition of 1 mbar l/s, 0.1 Pa m³/s; into the circuit it counts below 0."""
    assert flow(100.0, 200.0, 1e-3, 1.0).value == pytest.approx(-0.1)


def test_ten_grams_of_r134a_in_ten_years_in_print():
    """The same handbook: 224 Pa m³, 7.1e-7 Pa m³/s, of a gas at 0 °C."""
    found = leak_mass_flow(Estimate(7.1e-7, 0.0), "R-134a", temperature_k=273.15)
    assert found.value * 10 * YEAR_S == pytest.approx(0.010, rel=0.01)


def test_what_cools_has_not_leaked():
    """p1 T2 / T1 (Gay-Lussac): from 300 to 270 K a tenth of the pressure goes, and nothing of the gas."""
    assert flow(1e6, 0.9e6, 0.01, 3600.0, 300.0, 270.0).value == pytest.approx(0.0, abs=1e-9)
    assert flow(1e6, 0.9e6, 0.01, 3600.0, 300.0, 300.0).value == pytest.approx(0.01 * 1e5 / 3600)


@pytest.mark.parametrize("refrigerant", names())
def test_molar_masses_and_vapour_of_low_pressure_as_an_independent_library_has_them(refrigerant):
    """CoolProp 8.0.0: molar masses within 0.05 %; and of one pascal of vapour the density, which is M / (R T)."""
    composition = get(refrigerant).composition
    fluids = {"R-22": "R22", "R-32": "R32", "R-125": "R125", "R-134a": "R134a", "R-143a": "R143a", "R-290": "R290",
              "R-600": "R600", "R-600a": "R600a",
              "R-601a": "R601a", "R-744": "CO2", "R-1234yf": "R1234yf", "R-1234ze(E)": "R1234ze(E)"}  # fmt: skip
    moles = sum(share / PropsSI("M", fluids[component]) for component, share in composition.items())
    assert molar_mass_kg_per_mol(refrigerant) == pytest.approx(1 / moles, rel=5e-4)
    if len(composition) == 1:
        density = PropsSI("D", "P", 1.0, "T", 293.15, fluids[refrigerant])
        found = leak_mass_flow(Estimate(1.0, 0.1), refrigerant, temperature_k=293.15)
        assert found.value == pytest.approx(density, rel=5e-4)
        assert found.standard_uncertainty == pytest.approx(density / 10, rel=5e-4)


@pytest.mark.parametrize(("refrigerant", "g_per_mol"), [("R-410A", 72.6), ("R-407C", 86.2), ("R-454B", 62.6)])
def test_molar_masses_of_blends_in_print(refrigerant, g_per_mol):
    """ASHRAE 34."""
    assert 1000 * molar_mass_kg_per_mol(refrigerant) == pytest.approx(g_per_mol, abs=0.06)


def test_readings_count_as_in_forty_thousand_trials():
    """JCGM 101, within 3 %."""
    draw = np.random.default_rng(6).normal
    volume_m3, start_pa, end_pa = draw(0.012, 0.001, 40_000), draw(1e6, 4e3, 40_000), draw(0.95e6, 4e3, 40_000)
    start_k, end_k = draw(300, 1, 40_000), draw(295, 1, 40_000)
    spread = (volume_m3 * (start_pa * end_k / start_k - end_pa) / 3600).std()
    found = flow(1e6, 0.95e6, 0.012, 3600.0, 300.0, 295.0, (0.001, 4e3, 1.0))
    assert found.standard_uncertainty == pytest.approx(spread, rel=0.03)


GOOD = {"start_pa": 1e6, "end_pa": 1e6, "volume_m3": 0.01, "duration_s": 3600.0, "start_k": 300.0, "end_k": 300.0}


@pytest.mark.parametrize(
    ("which", "low", "high", "name"),
    [("start_pa", 0.0, 10e6, "start_pressure_pa"), ("end_pa", 0.0, 10e6, "end_pressure_pa"),
     ("volume_m3", 1e-9, 100.0, "volume_m3"), ("duration_s", 1.0, 366 * 86400.0, "duration_s"),
     ("start_k", 200.0, 400.0, "start_temperature_k"), ("end_k", 200.0, 400.0, "end_temperature_k")],
)  # fmt: skip
def test_limits(which, low, high, name):
    check_edges(lambda value: flow(**{**GOOD, which: value}), name, low, high)


def test_limits_of_the_mass():
    check_edges(lambda value: leak_mass_flow(Estimate(value, 0.0), "R-32", temperature_k=300.0), "flow", -1e6, 1e6)
    check_edges(
        lambda value: leak_mass_flow(Estimate(1.0, 0.0), "R-32", temperature_k=value), "temperature_k", 200, 400
    )
    with pytest.raises(UnknownNameError):
        molar_mass_kg_per_mol("R-999")


def test_by_name_with_its_direction():
    readings = {"start_pressure": "100 psig", "end_pressure": "90 psig", "volume": "12 L", "duration": "24 h",
                "start_temperature": "20 degC", "end_temperature": "20 degC", "refrigerant": "R-134a"}  # fmt: skip
    found = json.loads(catalogue.run("leak_flow", readings).as_json())
    per_s = 0.012 * 10 * 6894.757 / 86400
    assert found["leak_flow_pa_m3_per_s"] == pytest.approx(per_s)
    assert found["refrigerant_leak_kg_per_s"] == pytest.approx(per_s * 0.10203 / 8.314462618 / 293.15)
    relative = (0.2**2 + 2 * 0.1**2 + 2 * (114.696 / 10 / 293.15) ** 2) ** 0.5
    assert found["expanded_leak_flow_pa_m3_per_s"] == pytest.approx(per_s * relative, rel=1e-3)
    assert found["direction"] == "out of the circuit"
    assert "no figure here allows a leak" in found["caution"]
    for end, direction in (("110 psig", "into the circuit"), ("99 psig", "cannot tell: it is within its ±")):
        rising = catalogue.run("leak_flow", readings | {"end_pressure": end})
        assert rising.values["direction"] == direction
        assert rising.values["leak_flow_pa_m3_per_s"].value > 0
    assert "oz/yr" in rising.as_text()
    assert "g/a" in rising.as_text()


@fuzz
@given(st.tuples(*(st.floats(),) * 9))
def test_any_numbers_give_an_answer_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = flow(*numbers[:6], numbers[6:])
        assert np.isfinite(leak_mass_flow(found, "R-32", temperature_k=300.0).value)


RISE = {"start_pressure": "300 micron", "end_pressure": "1500 micron", "volume": "12 L", "duration": "20 min",
        "start_temperature": "20 degC", "end_temperature": "20 degC", "refrigerant": "R-134a"}  # fmt: skip


def test_a_rise_in_a_vacuum_is_air_read_by_a_vacuum_gauge():
    """V dp / t; 10 % and 10 micron of the gauge: common practice, no source."""
    found = catalogue.run("leak_flow", RISE).values
    flow = found["leak_flow_pa_m3_per_s"]
    assert flow.value == pytest.approx(0.012 * 1200 * 0.1333224 / 1200)
    gauge, volume = 2**0.5 * 160 / 1200, 0.2
    assert flow.expanded() / flow.value == pytest.approx((gauge**2 + volume**2) ** 0.5, rel=0.01)
    assert found["direction"] == "into the circuit"
    assert "air" in found["refrigerant_leak_kg_per_s"].reason
    assert "no refrigerant is lost" in found["refrigerant_leak_kg_per_s"].reason
    assert "in a vacuum" in found["caution"]
    assert "oxygen" not in found["caution"]


def test_above_the_air_the_test_has_the_cautions_of_nitrogen():
    found = catalogue.run("leak_flow", RISE | {"start_pressure": "100 psig", "end_pressure": "90 psig"}).values
    assert found["caution"].startswith("Dry nitrogen only, through a regulator")
    assert found["refrigerant_leak_kg_per_s"].value > 0
