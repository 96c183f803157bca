"""What is expected of a sound unit, worked out by hand. Common practice, no source, unless a line says.

R-22 boils at one temperature, so that nothing here hangs on a glide but where a test is about it. As tested means 80 °F
and 67 °F wet bulb indoors, 95 °F outdoors: AHRI 210/240, condition A.
"""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from calc.estimate import Estimate
from calc.saturation import bubble_point, bubble_pressure, bubble_slope, dew_point, dew_pressure
from calc.situation import Situation
from calc.symptoms import Departure, departures, expected_air_split
from tests.fahrenheit import DDEGF, kelvin


def sure(value: float) -> Estimate:
    return Estimate(value, 0.0)


SUCTION = sure(dew_pressure("R-22", kelvin(45.0)))
LIQUID = sure(bubble_pressure("R-22", kelvin(115.0)))
OUTDOOR = sure(kelvin(95.0))
REST = sure(bubble_pressure("R-22", kelvin(95.0)))
TESTED: Mapping[str, Estimate] = {
    "suction_pressure": SUCTION,
    "suction_line_temperature": sure(kelvin(57.0)),
    "liquid_pressure": LIQUID,
    "liquid_line_temperature": sure(kelvin(104.0)),
    "return_air_temperature": sure(kelvin(80.0)),
    "return_air_wet_bulb": sure(kelvin(67.0)),
    "supply_air_temperature": sure(kelvin(60.0)),
    "outdoor_air_temperature": sure(kelvin(95.0)),
    "discharge_line_temperature": sure(kelvin(175.0)),
    "compressor_current": sure(9.36),
    "condenser_fan_current": sure(1.76),
}
UNIT = Situation(
    refrigerant="R-22",
    metering_device="txv",
    measured=TESTED,
    at_rest={"liquid_pressure": REST, "outdoor_air_temperature": OUTDOOR},
    compressor_rla_a=12.0,
    condenser_fan_fla_a=2.0,
)


def figures(unit: Situation = UNIT) -> dict[str, Departure]:
    return {found.name: found for found in departures(unit).found}


def but(*without: str, unit: Situation = UNIT, **measured: float) -> Situation:
    kept = {name: value for name, value in unit.measured.items() if name not in without}
    return replace(unit, measured={**kept, **{name: sure(value) for name, value in measured.items()}})


def in_degf(found: Estimate) -> tuple[float, float]:
    return found.value / DDEGF, found.standard_uncertainty / DDEGF


def degf(temperature_k: float) -> float:
    return temperature_k / DDEGF - 459.67


def test_a_sound_unit_as_tested_departs_in_nothing() -> None:
    found = figures()
    assert departures(UNIT).missing == ()
    for name, each in found.items():
        unit = 1.0 if name.endswith("_load") else DDEGF
        assert each.departure.value / unit == pytest.approx(0.0, abs=0.2), name


@pytest.mark.parametrize(("wet_bulb_f", "coil_f"), [(67.0, 45.0), (60.0, 38.0)])
def test_the_coil_is_22_degf_below_the_wet_bulb_of_the_return_air(wet_bulb_f: float, coil_f: float) -> None:
    """35 °F below 80 °F as tested, and a wet coil follows the wet bulb."""
    coil = figures(but(return_air_wet_bulb=kelvin(wet_bulb_f)))["suction_dew_point"]
    assert degf(coil.expected.value) == pytest.approx(coil_f, abs=0.01)
    assert coil.expected.standard_uncertainty == pytest.approx(2.5 * DDEGF)
    assert coil.measured.value == pytest.approx(kelvin(45.0), abs=0.01)


@pytest.mark.parametrize("return_f", [80.0, 70.0])
def test_where_its_wet_bulb_is_unknown_35_degf_below_the_return_air(return_f: float) -> None:
    coil = figures(but("return_air_wet_bulb", return_air_temperature=kelvin(return_f)))["suction_dew_point"]
    assert degf(coil.expected.value) == pytest.approx(return_f - 35.0, abs=0.01)
    assert coil.expected.standard_uncertainty == pytest.approx(5.0 * DDEGF)


@pytest.mark.parametrize("device", ["txv", "eev"])
def test_a_valve_holds_its_superheat_whatever_the_weather(device: str) -> None:
    """Within 4 to 25 °F: California Title 24, RA3.2; 12 ± 4 °F as a ground-source manual has it, and a little more."""
    for outdoor_f in (70.0, 95.0):
        unit = replace(but(outdoor_air_temperature=kelvin(outdoor_f)), metering_device=device, target_superheat_dk=3.0)
        assert in_degf(figures(unit)["superheat"].expected) == pytest.approx((12.0, 4.0))


def test_an_orifice_has_the_superheat_of_its_nameplate_or_of_the_table() -> None:
    """California Title 24, RA3.2: 12 °F at 67 and 95 °F, between the 10 and 14 °F printed for 66 and 68 °F."""
    unit = replace(UNIT, metering_device="fixed_orifice")
    by_table = figures(unit)["superheat"]
    assert in_degf(by_table.expected) == pytest.approx((12.0, 3.5), abs=0.01)
    assert by_table.source == "California Title 24, RA3.2: the table of target superheat"
    by_plate = figures(replace(unit, target_superheat_dk=9 * DDEGF))["superheat"]
    assert in_degf(by_plate.expected) == pytest.approx((9.0, 2.5))
    assert by_plate.source == "nameplate"


@pytest.mark.parametrize(
    ("device", "target_f", "expected", "source"),
    [
        ("txv", 8.0, (8.0, 1.2), "nameplate"),
        ("txv", None, (11.0, 3.0), "a ground-source manual"),
        ("fixed_orifice", 8.0, (11.0, 3.0), "a ground-source manual"),  # it is judged by superheat
    ],
)
def test_subcooling(device: str, target_f: float | None, expected: tuple[float, float], source: str) -> None:
    """10 to 12 °F where nothing is wrong: a ground-source manual."""
    target_dk = None if target_f is None else target_f * DDEGF
    found = figures(replace(UNIT, metering_device=device, target_subcooling_dk=target_dk))["subcooling"]
    assert in_degf(found.expected) == pytest.approx(expected)
    assert found.source.startswith(source)
    assert found.measured.value / DDEGF == pytest.approx(11.0, abs=0.05)


@pytest.mark.parametrize("wet_bulb_f", [57.0, 67.0, 72.0])
def test_the_condenser_is_20_degf_over_the_air_and_in_proportion_to_the_vapour_pumped(
    wet_bulb_f: float,
) -> None:
    """Saturated vapour near 7 °C is 3 % denser for each K, by CoolProp 8.0.0."""
    head = figures(but(return_air_wet_bulb=kelvin(wet_bulb_f)))["condensing_over_outdoor"]
    over_f = 20.0 * math.exp(0.03 * (wet_bulb_f - 67.0) * DDEGF)
    assert in_degf(head.expected) == pytest.approx((over_f, 2.2), abs=0.01)
    assert head.measured.value / DDEGF == pytest.approx(20.0, abs=0.05)
    unknown = figures(but("return_air_wet_bulb"))["condensing_over_outdoor"]
    assert in_degf(unknown.expected) == pytest.approx((20.0, 3.0), abs=0.01)


@pytest.mark.parametrize(
    ("return_f", "wet_bulb_f", "split_f"), [(80.0, 67.0, 20.0), (75.0, 63.0, 34 * 20 / 35), (80.0, 57.0, 45 * 20 / 35)]
)
def test_the_split_is_four_sevenths_of_how_far_the_coil_is_below_the_air(
    return_f: float, wet_bulb_f: float, split_f: float
) -> None:
    air = {"return_air_temperature": kelvin(return_f), "return_air_wet_bulb": kelvin(wet_bulb_f)}
    split = figures(but(**air))["air_split"]
    assert in_degf(split.expected) == pytest.approx((split_f, 2.0), abs=0.01)
    assert split.measured.value / DDEGF == pytest.approx(return_f - 60.0)
    found = expected_air_split(but(**air))
    assert found is not None
    assert found == (split.expected, split.source)


def test_without_humidity_the_split_is_20_degf_and_without_air_nobody_knows() -> None:
    dry = but("return_air_wet_bulb")
    assert in_degf(figures(dry)["air_split"].expected) == pytest.approx((20.0, 4.0))
    found = expected_air_split(dry)
    assert found is not None
    assert in_degf(found[0]) == pytest.approx((20.0, 4.0))
    assert expected_air_split(but("return_air_temperature")) is None


@pytest.mark.parametrize("swapped", [False, True])
def test_the_discharge_line_is_as_hot_as_compression_at_85_percent_makes_it(swapped: bool) -> None:
    """Of R-22 the temperature goes as the pressure to the 0.170, by CoolProp 8.0.0; what is not compressed stays."""
    low, high = (LIQUID, SUCTION) if swapped else (SUCTION, LIQUID)
    unit = but(suction_pressure=low.value, liquid_pressure=high.value)
    suction_k = kelvin(57.0)
    raised = 1.0 if swapped else 1 + ((high.value / low.value) ** 0.170 - 1) / 0.85
    dew_k = dew_point("R-22", high.value)
    found = figures(unit)["discharge_superheat"]
    assert found.expected.value == pytest.approx(suction_k * raised - dew_k, abs=1e-6)
    assert found.expected.standard_uncertainty == pytest.approx(12.0 * DDEGF)
    assert found.measured.value == pytest.approx(kelvin(175.0) - dew_k)


@pytest.mark.parametrize("at_f", [80.0, 95.0])
@pytest.mark.parametrize("channel", ["liquid_pressure", "suction_pressure"])
def test_at_rest_it_has_the_pressure_of_the_outdoor_air(channel: str, at_f: float) -> None:
    """Saturation: physics."""
    rested = {channel: sure(bubble_pressure("R-22", kelvin(at_f + 3))), "outdoor_air_temperature": sure(kelvin(at_f))}
    found = figures(replace(UNIT, at_rest=rested))["rest_over_outdoor"]
    assert in_degf(found.expected) == pytest.approx((0.0, 2.0))
    assert found.departure.value / DDEGF == pytest.approx(3.0, abs=0.05)


def test_a_pressure_at_rest_far_below_the_outdoor_air_tells_nothing_of_air_in_it() -> None:
    """A colder coil draws the refrigerant: physics; how far below still counts: common practice, no source."""
    for under_f, counts in ((3.0, True), (5.0, False), (18.0, False)):
        pressure = sure(bubble_pressure("R-22", kelvin(95.0 - under_f)))
        rested = {"liquid_pressure": pressure, "outdoor_air_temperature": sure(kelvin(95.0))}
        assert ("rest_over_outdoor" in figures(replace(UNIT, at_rest=rested))) is counts


def test_at_rest_the_colder_of_the_two_airs_counts() -> None:
    """All liquid ends in the colder coil: physics."""
    for return_f, over_f in ((75.0, 5.0), (94.0, -15.0), (110.0, -15.0)):
        rested = {
            "liquid_pressure": sure(bubble_pressure("R-22", kelvin(80.0))),
            "outdoor_air_temperature": sure(kelvin(95.0)),
            "return_air_temperature": sure(kelvin(return_f)),
        }
        found = figures(replace(UNIT, at_rest=rested))
        assert ("rest_over_outdoor" in found) is (over_f > 0)
        if over_f > 0:
            assert found["rest_over_outdoor"].departure.value / DDEGF == pytest.approx(over_f, abs=0.05)


def test_of_two_pressures_at_rest_the_liquid_one_counts_and_without_its_air_none() -> None:
    both = {**UNIT.at_rest, "suction_pressure": SUCTION}
    assert figures(replace(UNIT, at_rest=both))["rest_over_outdoor"] == figures()["rest_over_outdoor"]
    for name in UNIT.at_rest:
        rest = {name: UNIT.at_rest[name]}
        assert "rest_over_outdoor" in departures(replace(UNIT, at_rest=rest)).missing


@pytest.mark.parametrize(("outdoor_f", "load"), [(95.0, 0.78), (85.0, 0.72), (105.0, 0.84)])
def test_a_compressor_draws_less_where_it_is_cooler(outdoor_f: float, load: float) -> None:
    found = figures(but(outdoor_air_temperature=kelvin(outdoor_f)))["compressor_load"]
    assert (found.expected.value, found.expected.standard_uncertainty) == pytest.approx((load, 0.08))
    assert found.measured.value == pytest.approx(9.36 / 12.0)


def test_a_fan_draws_nearly_its_full_load_amps() -> None:
    found = figures()["condenser_fan_load"]
    assert (found.expected.value, found.expected.standard_uncertainty) == pytest.approx((0.88, 0.10))
    assert found.measured.value == pytest.approx(1.76 / 2.0)


def test_of_three_phases_the_largest_counts_unless_the_motor_itself_is_clamped() -> None:
    phases = {"compressor_current_a": 8.0, "compressor_current_b": 9.0, "compressor_current_c": 6.0}
    assert figures(but("compressor_current", **phases))["compressor_load"].measured.value == pytest.approx(9.0 / 12.0)
    assert figures(but(**phases))["compressor_load"].measured.value == pytest.approx(9.36 / 12.0)
    two = {"compressor_current_a": 8.0, "compressor_current_c": 6.0}
    assert figures(but("compressor_current", **two))["compressor_load"].measured.value == pytest.approx(8.0 / 12.0)


def test_the_rules_speak_of_where_heat_passes_and_a_blend_boils_from_there_to_its_dew_point() -> None:
    """A fifth has boiled before the evaporator, so its dew point is 0.4 of the glide over the middle; what condenses
    comes to its bubble point half the glide below the middle.
    """
    suction_pa, liquid_pa = 550e3, 1900e3
    unit = replace(but(suction_pressure=suction_pa, liquid_pressure=liquid_pa), refrigerant="R-407C")

    def glide_k(pressure_pa: float) -> float:
        return dew_point("R-407C", pressure_pa) - bubble_point("R-407C", pressure_pa)

    assert glide_k(suction_pa) > 5.0
    assert glide_k(liquid_pa) > 4.0
    for without in ((), ("return_air_wet_bulb",)):
        found = figures(but(*without, unit=unit))
        coil, head = found["suction_dew_point"].expected.value, found["condensing_over_outdoor"].expected.value
        assert coil == pytest.approx(kelvin(45.0) + 0.4 * glide_k(suction_pa), abs=0.01)
        assert head == pytest.approx(20.0 * DDEGF - 0.5 * glide_k(liquid_pa), abs=0.01)


def test_an_earlier_visit_takes_off_what_the_unit_did_when_it_was_sound() -> None:
    sound = {"condensing_over_outdoor": Estimate(4.0, 0.7)}
    before, now = figures()["condensing_over_outdoor"], figures(replace(UNIT, found_sound=sound))
    head = now["condensing_over_outdoor"]
    assert head.expected == Estimate(before.expected.value + 4.0, 0.7)
    assert head.departure.value == pytest.approx(before.departure.value - 4.0)
    assert head.departure.standard_uncertainty == pytest.approx(math.hypot(0.7, 0.05), abs=0.05)
    assert now["subcooling"] == figures()["subcooling"]


def test_a_departure_has_the_spread_of_units_and_of_instruments_and_that_of_the_curves_where_there_are_any() -> None:
    """JCGM 100, 5.1.2. The curves of saturation are off by less than 0.5 K here; amps know none."""
    measured = {
        "liquid_line_temperature": Estimate(kelvin(104.0), 0.4),
        "compressor_current": Estimate(9.36, 0.6),
    }
    found = figures(replace(UNIT, measured={**TESTED, **measured}))
    load = found["compressor_load"].departure
    assert load.standard_uncertainty == pytest.approx(math.hypot(0.08, 0.6 / 12.0), rel=1e-6)
    exact = figures()["subcooling"].departure.standard_uncertainty
    assert found["subcooling"].departure.standard_uncertainty == pytest.approx(math.hypot(exact, 0.4), rel=1e-6)
    assert 3.0 * DDEGF < exact < math.hypot(3.0 * DDEGF, 0.5)


@pytest.mark.parametrize(
    ("channel", "share"),
    [("return_air_temperature", 3 / 7), ("return_air_wet_bulb", 4 / 7), ("supply_air_temperature", 1.0)],
)
def test_what_moves_a_figure_and_its_expectation_alike_cancels(channel: str, share: float) -> None:
    """Warmer return air raises the split, and by four sevenths what is expected of it: so much is left."""
    unsure = {**TESTED, channel: Estimate(TESTED[channel].value, 0.9)}
    exact = figures()["air_split"].departure.standard_uncertainty
    found = figures(replace(UNIT, measured=unsure))["air_split"].departure.standard_uncertainty
    assert found == pytest.approx(math.hypot(exact, 0.9 * share), rel=1e-4)


def test_what_two_figures_have_from_one_gauge_they_have_alike() -> None:
    """JCGM 100, F.1.2.3: subcooling and the condenser over the air both rise by the slope of the curve."""
    gauge = {**TESTED, "liquid_pressure": Estimate(LIQUID.value, 20e3)}
    seen = departures(replace(UNIT, measured=gauge))
    names = [found.name for found in seen.found]
    subcooling, head, superheat = (names.index(name) for name in ("subcooling", "condensing_over_outdoor", "superheat"))
    common = (20e3 * bubble_slope("R-22", LIQUID.value)) ** 2
    assert seen.covariance[subcooling, head] == pytest.approx(common, rel=0.01)
    assert seen.covariance[superheat, head] == pytest.approx(0.0, abs=1e-9)
    assert seen.covariance == pytest.approx(seen.covariance.T)
    own = [found.departure.standard_uncertainty**2 for found in seen.found]
    assert np.diagonal(seen.covariance) == pytest.approx(own)
