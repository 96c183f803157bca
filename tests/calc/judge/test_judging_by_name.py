"""The calculations of air, targets and verification, run by name: that they are wired to what the other tests check."""

import pytest

from calc import catalogue
from calc.air import MoistAir, delivered, humidity_ratio
from calc.calculation import Unknown
from calc.estimate import Estimate
from tests.fahrenheit import DDEGF, kelvin

CFM = 0.3048**3 / 60


def values(name: str, **arguments: str):
    return catalogue.run(name, arguments).values


def test_moist_air_at_the_rating_point():
    """80/67 °F: 78.2 grains and 31.45 Btu/lb, counted from 0 °F; computed with psychrolib in inch-pound units."""
    found = values("moist_air", dry_bulb="80 degF", humidity="51.1 %RH")
    assert found["wet_bulb_k"].value * 1.8 - 459.67 == pytest.approx(67.0, abs=0.02)
    assert found["humidity_ratio_kg_per_kg"].value * 7000 == pytest.approx(78.2, abs=0.1)
    assert found["enthalpy_j_per_kg"].value / 2326 + 0.24 * 32 == pytest.approx(31.447, abs=0.02)
    exact = values(
        "moist_air", dry_bulb="80degF", humidity="51%RH", temperature_accuracy="0K", humidity_accuracy="0%RH"
    )
    assert exact["wet_bulb_k"].standard_uncertainty == 0
    assert found["wet_bulb_k"].standard_uncertainty > 0.2


def test_air_at_a_mile_high_holds_more_water_and_is_lighter():
    low, high = (
        values("moist_air", dry_bulb="80degF", humidity="51%RH", elevation=elevation) for elevation in ("0ft", "5280ft")
    )
    assert high["humidity_ratio_kg_per_kg"].value > 1.2 * low["humidity_ratio_kg_per_kg"].value
    assert high["density_kg_per_m3"] / low["density_kg_per_m3"] == pytest.approx(0.8234, abs=0.005)


@pytest.mark.parametrize(("correlation", "uncertainty_dk"), [("0", 0.5 / 2**0.5), ("1", 0.0)])
def test_air_split(correlation, uncertainty_dk):
    found = values(
        "air_split",
        return_air_temperature="75degF",
        supply_air_temperature="55degF",
        temperature_accuracy="0.5degC",
        correlation=correlation,
    )
    assert found["air_split_dk"].value == pytest.approx(20 * DDEGF)
    assert found["air_split_dk"].standard_uncertainty == pytest.approx(uncertainty_dk, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "second", "btu_per_h"),
    [
        ("sensible_heat", {"air_split": "20degF"}, 0.889 * 1200 * 20),
        ("total_heat", {"enthalpy_fall": "6.7Btu/lb"}, 3.705 * 1200 * 6.7),
    ],
)
def test_heat_at_a_mile_high(name, second, btu_per_h):
    """The factors 1.08 and 4.5, corrected for 5,280 ft: computed from the standard atmosphere."""
    found = values(name, airflow="1200cfm", elevation="5280ft", **second)
    assert found[f"{name}_w"] * 3600 / 1055.056 == pytest.approx(btu_per_h, rel=1e-3)


COIL = {
    "airflow": "1200cfm",
    "return_air_temperature": "80degF",
    "return_air_humidity": "51%RH",
    "supply_air_temperature": "58degF",
    "supply_air_humidity": "88%RH",
}


def test_delivered_capacity_and_efficiency():
    found = values("delivered_capacity", **COIL, power="3500W")
    entering, leaving = (
        MoistAir(kelvin(degf), humidity_ratio(kelvin(degf), percent, pressure_pa=101325.0))
        for degf, percent in ((80, 51.0), (58, 88.0))
    )
    expected = delivered(entering, leaving, airflow_m3_per_s=1200 * CFM, pressure_pa=101325.0)
    assert found["total_heat_w"].value == pytest.approx(expected.total_w)
    assert found["sensible_heat_w"].value == pytest.approx(expected.sensible_w)
    assert found["latent_heat_w"].value == pytest.approx(expected.latent_w)
    efficiency = found["coefficient_of_performance_ratio"]
    assert efficiency.value == pytest.approx(expected.total_w / 3500)
    assert efficiency.standard_uncertainty / efficiency.value == pytest.approx(
        found["total_heat_w"].standard_uncertainty / expected.total_w
    )
    assert found["eer_btu_per_watt_hour_ratio"].value == pytest.approx(efficiency.value * 3.412, rel=1e-3)


def test_capacity_says_what_would_make_it_surer():
    assert values("delivered_capacity", **COIL)["most_of_the_uncertainty_from"] == "the air flow"
    surer = values("delivered_capacity", **COIL, airflow_accuracy="1%")
    assert surer["most_of_the_uncertainty_from"] == "the return air humidity"
    assert surer["eer_btu_per_watt_hour_ratio"] == Unknown("the electric power is not given")
    exact = {"airflow_accuracy": "0%", "temperature_accuracy": "0K", "humidity_accuracy": "0%RH"}
    assert values("delivered_capacity", **COIL, **exact)["most_of_the_uncertainty_from"] == "none is stated"


def test_target_superheat():
    found = values("target_superheat", return_wet_bulb="67degF", outdoor_temperature="95degF")
    assert found["target_superheat_dk"].value == pytest.approx(12 * DDEGF)
    assert "Title 24" in found["taken_from"]
    blank = values("target_superheat", return_wet_bulb="56degF", outdoor_temperature="100degF")
    assert "warm the space" in blank["target_superheat_dk"].reason
    formula = values("target_superheat_estimate", return_wet_bulb="64degF", outdoor_temperature="96degF")
    assert formula["target_superheat_dk"].value == pytest.approx(8 * DDEGF)


def test_tolerances_of_each_protocol():
    installer, acca = (values("tolerances", protocol=name) for name in ("title 24 installer", "acca_5"))
    assert installer["greatest_superheat_less_target_dk"] == pytest.approx(5 * DDEGF)
    assert installer["least_airflow_of_a_ton_m3_per_s"] == pytest.approx(300 * CFM)
    assert "greatest_outdoor_air_temperature_k" not in installer
    assert acca["least_airflow_over_design_ratio"] == 0.85
    assert acca["sources"] == ("ANSI/ACCA 5 QI (from memory)",)


CHARGE = {
    "refrigerant": "R-410A",
    "suction_pressure": "118psig",
    "suction_line_temperature": "50degF",
    "liquid_pressure": "350psig",
    "liquid_line_temperature": "97degF",
}


def test_both_figures_of_the_charge():
    """The dew point is 39.843 °F and the bubble point 106.681 °F: computed with CoolProp 8.0.0."""
    found = values("charge_figures", **CHARGE)
    assert found["superheat_dk"].value / DDEGF == pytest.approx(50 - 39.843, abs=0.005)
    assert found["subcooling_dk"].value / DDEGF == pytest.approx(106.681 - 97, abs=0.005)
    assert found["superheat_is_least_sure_of"] == "suction pressure"
    no_barometer = values("charge_figures", **CHARGE, barometric_accuracy="0Pa")
    rough_barometer = values("charge_figures", **CHARGE, barometric_accuracy="20kPa")
    assert no_barometer["correlation_ratio"] == 0 > rough_barometer["correlation_ratio"]


@pytest.mark.parametrize(
    ("measured", "accuracy", "verdict"),
    [
        ("10degF", "1degF", "within tolerance"),
        ("13degF", "1degF", "these instruments cannot tell"),
        ("16degF", "1degF", "out of tolerance, too high"),
        ("4degF", "1degF", "out of tolerance, too low"),
        ("10degF", "6degF", "these instruments cannot tell, not even on target"),
    ],
)
def test_subcooling_within_three_degrees_of_ten(measured, accuracy, verdict):
    """California Title 24, 2008, page RA3-15: ±3 °F for the installer."""
    found = values("within_tolerance", figure="subcooling", measured=measured, target="10degF", accuracy=accuracy)
    assert found["verdict"] == verdict
    lowest = found["lowest_reading_that_counts_dk"]
    if accuracy == "1degF":
        assert lowest / DDEGF == pytest.approx(7 + 1.2816 * 0.5, abs=1e-3)
    else:
        assert "not" in lowest.reason


EXPANSION_VALVE = {
    "metering_device": "txv",
    "figure": "10degF",
    "figure_accuracy": "1.7degF",
    "outdoor_temperature": "90degF",
    "target_subcooling": "10degF",
    "valve_superheat": "12degF",
    "running": "20min",
    "undisturbed": "20min",
    "air_split": "20degF",
    "target_air_split": "20degF",
    "pressure_accuracy": "1psi",
}


def test_a_charge_is_verified_when_all_is_known():
    found = values("charge_verification", **EXPANSION_VALVE)
    assert (found["judged_by"], found["verdict"]) == ("subcooling", "within tolerance")
    assert found["less_target_dk"] == Estimate(0.0, 1.7 * DDEGF / 2)
    assert "running time: met (California Title 24, 2008, RA3.2.2.5)" in found["conditions"]


def test_a_charge_is_not_judged_before():
    found = values("charge_verification", metering_device="fixed_orifice", figure="10degF", figure_accuracy="1.7degF")
    assert found["judged_by"] == "superheat"
    assert found["verdict"].startswith("none yet: outdoor air temperature, running time, undisturbed time")
    assert found["less_target_dk"] == Unknown("there is no target to compare with")
    early = values("charge_verification", **{**EXPANSION_VALVE, "undisturbed": "2min"})
    assert early["verdict"] == "none yet: undisturbed time"


def test_superheat_of_a_fixed_orifice_takes_its_target_from_the_table():
    orifice = {**EXPANSION_VALVE, "metering_device": "fixed_orifice", "figure": "18degF", "figure_accuracy": "0.5degF"}
    found = values("charge_verification", **orifice, return_wet_bulb="67degF")
    assert found["less_target_dk"].value / DDEGF == pytest.approx(18 - 14.5)
    assert found["verdict"] == "within tolerance"
