"""Figures derived from readings, against printed values and worked examples."""

import math
from pathlib import Path

import pytest

from ingest.derive import derive, worst
from ingest.wire.messages import Reading, UnitAbout
from tests.rigs import make_rig

PSI = 6894.757  # NIST SP 811
ATMOSPHERE_PA = 101_325.0


def unit(refrigerant: str = "R-410A") -> UnitAbout:
    return UnitAbout(
        tag="RTU-K7Q-4",
        place="",
        refrigerant=refrigerant,
        safety_class="A1",
        metering_device="txv",
        charge_as_liquid=True,
        compressor_rla_a=12.0,
        condenser_fan_fla_a=2.0,
    )


def psig(value: float, uncertainty_psi: float = 0.5, **more: object) -> Reading:
    return Reading(ATMOSPHERE_PA + value * PSI, 100.0, standard_uncertainty=uncertainty_psi * PSI, **more)  # type: ignore[arg-type]


def fahrenheit(value: float, **more: object) -> Reading:
    return Reading((value - 32) * 5 / 9 + 273.15, 100.0, standard_uncertainty=0.25, **more)  # type: ignore[arg-type]


def to_fahrenheit(kelvin: float | None) -> float:
    assert kelvin is not None
    return (kelvin - 273.15) * 9 / 5 + 32


def test_dew_and_bubble_point_of_r410a() -> None:
    # CoolProp 8.0.0 (pseudo-pure R410A) at 14.696 psia barometric: 39.843 °F and 106.681 °F
    figures = derive({"suction_pressure": psig(118), "liquid_pressure": psig(350)}, unit())
    assert to_fahrenheit(figures["suction_dew_point"].value) == pytest.approx(39.843, abs=0.005)
    assert to_fahrenheit(figures["liquid_bubble_point"].value) == pytest.approx(106.681, abs=0.005)


@pytest.mark.parametrize(
    ("refrigerant", "pressure_psig", "line_f", "subcooling_f", "tolerance_f"),
    [
        ("R-410A", 355.0, 95.0, 13.0, 0.5),  # manual of a water-cooled R-410A unit; table in whole degrees
        ("R-22", 260.0, 105.0, 15.0, 0.5),  # R-22 service manual; table in whole degrees
        (
            "R-448A",
            272.9,
            108.5,
            -0.5,
            0.3,
        ),  # laboratory case: 108.0 °F bubble point; shown negative, not clamped
    ],
)
def test_subcooling_of_worked_examples(
    refrigerant: str, pressure_psig: float, line_f: float, subcooling_f: float, tolerance_f: float
) -> None:
    readings = {"liquid_pressure": psig(pressure_psig), "liquid_line_temperature": fahrenheit(line_f)}
    value = derive(readings, unit(refrigerant))["subcooling"].value
    assert value is not None
    assert value * 9 / 5 == pytest.approx(subcooling_f, abs=tolerance_f)


def test_superheat_carries_the_uncertainty_of_its_instruments() -> None:
    # by hand, k = 2: dew slope 0.4400 °F/psi x ±1 psi and ±0.9 °F at the line give ±1.00 °F
    # (root of sum of squares), to which the model adds ±0.32 K x 9/5 x its share
    readings = {"suction_pressure": psig(118), "suction_line_temperature": fahrenheit(50)}
    figure = derive(readings, unit())["superheat"]
    assert figure.value is not None
    assert figure.standard_uncertainty is not None
    assert figure.value * 9 / 5 == pytest.approx(50 - 39.843, abs=0.005)
    by_hand_f = math.hypot(0.4400, 0.9)
    assert by_hand_f <= 2 * figure.standard_uncertainty * 9 / 5 <= by_hand_f + 0.25


@pytest.mark.parametrize(
    ("uncertainty_psi", "suction_dew_k", "liquid_bubble_k", "over_outdoor_dk"),
    [
        # R-410A's equation itself: 0.16 K in one standard deviation (after Lemmon, Int. J. Thermophysics 24 (2003))
        (0.0, 0.16, 0.16, 0.2968),
        # and by CoolProp 8.0.0 0.43996 °F/psi at the dew point of 118 psig, 0.20521 °F/psi at the bubble point of 350
        (0.5, 0.2013, 0.1699, 0.3022),
        (2.0, 0.5144, 0.2785, 0.3743),
    ],
)
def test_a_dew_and_a_bubble_point_carry_what_the_gauge_and_the_equation_are_off(
    uncertainty_psi: float, suction_dew_k: float, liquid_bubble_k: float, over_outdoor_dk: float
) -> None:
    """By hand: root of the sum of squares; 0.25 K of the probe outdoors beside it."""
    gauges = {"suction_pressure": psig(118, uncertainty_psi), "liquid_pressure": psig(350, uncertainty_psi)}
    figures = derive({**gauges, "outdoor_air_temperature": fahrenheit(95)}, unit())
    names = ("suction_dew_point", "liquid_bubble_point", "condensing_over_ambient")
    found = [figures[name].standard_uncertainty for name in names]
    assert found == pytest.approx([suction_dew_k, liquid_bubble_k, over_outdoor_dk], abs=2e-4)


def test_a_surer_gauge_makes_a_surer_figure() -> None:
    line = {"suction_line_temperature": fahrenheit(50)}
    coarse = derive({"suction_pressure": psig(118, 2.0), **line}, unit())["superheat"].standard_uncertainty
    fine = derive({"suction_pressure": psig(118, 0.1), **line}, unit())["superheat"].standard_uncertainty
    assert coarse is not None
    assert fine is not None
    assert fine < coarse


def test_differences_and_load_ratios() -> None:
    readings = {
        "return_air_temperature": fahrenheit(75),
        "supply_air_temperature": fahrenheit(55),
        "outdoor_air_temperature": fahrenheit(95),
        "liquid_pressure": psig(350),
        "compressor_current": Reading(9.6, 100.0, standard_uncertainty=0.12),
        "condenser_fan_current": Reading(2.0, 100.0, standard_uncertainty=0.1),
    }
    figures = derive(readings, unit())
    assert figures["air_split"].value == pytest.approx(20 * 5 / 9)
    assert figures["air_split"].standard_uncertainty == pytest.approx(math.hypot(0.25, 0.25))
    assert figures["condensing_over_ambient"].value == pytest.approx((106.681 - 95) * 5 / 9, abs=0.005)
    assert figures["compressor_load_ratio"].value == pytest.approx(0.8)
    assert figures["compressor_load_ratio"].standard_uncertainty == pytest.approx(0.01)
    assert figures["condenser_fan_load_ratio"].value == pytest.approx(1.0)


def test_of_three_phases_the_one_that_carries_most_counts() -> None:
    phases = {
        f"compressor_current_{phase}": Reading(amps, 100.0) for phase, amps in zip("abc", (9, 12, 6), strict=True)
    }
    assert derive(phases, unit())["compressor_load_ratio"].value == pytest.approx(1.0)


def test_figures_of_which_nothing_is_measured_are_left_out(tmp_path: Path) -> None:
    assert derive({}, unit()) == {}
    assert derive({"compressor_current": Reading(9.6, 100.0)}, make_rig(tmp_path).unit).keys() == {
        "compressor_load_ratio"
    }


def test_the_worst_quality_and_the_oldest_stamp_count() -> None:
    readings = {
        "suction_pressure": Reading(914_906.0, 90.0, "uncalibrated"),
        "suction_line_temperature": Reading(283.0, 95.0, "stale"),
    }
    figure = derive(readings, unit())["superheat"]
    assert (figure.quality, figure.time_s) == ("stale", 90.0)
    assert figure.value is not None
    assert worst(["ok", "overload", "stale"]) == "overload"


def test_an_unknown_input_makes_an_unknown_figure_with_its_reason() -> None:
    readings = {
        "suction_pressure": Reading(None, 90.0, "overload", "the instrument shows overload"),
        "suction_line_temperature": Reading(283.0, 95.0),
    }
    figure = derive(readings, unit())["superheat"]
    assert figure == Reading(None, 90.0, "overload", "suction pressure: the instrument shows overload")
    alone = derive({"suction_line_temperature": Reading(283.0, 95.0)}, unit())["superheat"]
    assert alone == Reading(None, 95.0, "stale", "suction pressure: not measured")


def test_a_pressure_that_is_not_of_the_circuit_makes_no_figure_and_says_why() -> None:
    readings = {
        "suction_pressure": Reading(914_906.0, 90.0, "elsewhere", "a hose is on the suction port"),
        "suction_line_temperature": Reading(283.0, 95.0),
    }
    figure = derive(readings, unit())["superheat"]
    assert figure == Reading(None, 90.0, "elsewhere", "suction pressure: a hose is on the suction port")


@pytest.mark.parametrize("pressure_pa", [66.7, 20e3, 4.85e6], ids=["500 micron", "20 kPa", "near critical"])
def test_where_there_is_no_saturation_there_is_no_figure(pressure_pa: float) -> None:
    readings = {
        "suction_pressure": Reading(pressure_pa, 100.0, standard_uncertainty=10.0),
        "suction_line_temperature": Reading(283.0, 100.0, standard_uncertainty=0.25),
    }
    for name in ("superheat", "suction_dew_point"):
        figure = derive(readings, unit())[name]
        assert (figure.value, figure.quality) == (None, "out_of_range")
        assert figure.reason == "no saturation of R-410A is known at this pressure"
