"""What is known of the return air: its wet bulb, and the target that hangs on it."""

from dataclasses import replace

import pytest

from calc.charging_chart import ChartPoint
from calc.estimate import Estimate
from calc.governing import Figure
from calc.return_air import find_target, return_wet_bulb, target_inputs
from calc.situation import Situation
from calc.symptoms import expected_air_split
from calc.targets import NoTarget, Target

RETURN_AIR_K = (80 + 459.67) / 1.8
OUTDOOR_K = (95 + 459.67) / 1.8
WET_BULB_K = (67 + 459.67) / 1.8
DRY = Estimate(RETURN_AIR_K, 0.2)
HUMIDITY = Estimate(51.1, 1.5)
WET = Estimate(WET_BULB_K, 0.3)
OUTDOOR = Estimate(OUTDOOR_K, 0.3)


def test_a_wet_bulb_that_is_measured_counts_before_one_that_is_worked_out() -> None:
    both = Situation(
        measured={"return_air_wet_bulb": WET, "return_air_temperature": DRY, "return_air_humidity": Estimate(20.0, 1.5)}
    )
    assert return_wet_bulb(both) == WET


def test_it_is_worked_out_from_temperature_and_humidity() -> None:
    """80 °F at 51 % is a wet bulb of 67 °F: the rating point of AHRI 210/240."""
    found = return_wet_bulb(Situation(measured={"return_air_temperature": DRY, "return_air_humidity": HUMIDITY}))
    assert found is not None
    assert found.value == pytest.approx(WET_BULB_K, abs=0.1)


@pytest.mark.parametrize(
    "measured",
    [{}, {"return_air_temperature": DRY}, {"return_air_humidity": HUMIDITY}],
    ids=["none", "dry", "humidity"],
)
def test_with_half_of_it_it_is_unknown(measured: dict[str, Estimate]) -> None:
    assert return_wet_bulb(Situation(measured=measured)) is None


@pytest.mark.parametrize("missing", ["return_air_wet_bulb", "outdoor_air_temperature"])
def test_the_table_needs_the_wet_bulb_and_the_outdoor_air(missing: str) -> None:
    """67 °F and 95 °F: 12 °F, between the 10 and 14 °F that California Title 24, RA3.2, prints for 66 and 68 °F."""
    measured = {"return_air_wet_bulb": WET, "outdoor_air_temperature": OUTDOOR}
    target = find_target("superheat", Situation(measured=measured))
    assert isinstance(target, Target)
    assert target.value.value * 1.8 == pytest.approx(12.0, abs=0.05)
    del measured[missing]
    found = find_target("superheat", Situation(measured=measured))
    assert isinstance(found, NoTarget)
    assert "the wet bulb of the return air and the outdoor temperature are needed" in str(found.reason)


def test_a_temperature_that_is_none_of_air_gives_no_target_and_no_split_and_says_which() -> None:
    beyond = Situation(
        metering_device="fixed_orifice",
        measured={"return_air_wet_bulb": WET, "outdoor_air_temperature": Estimate(400.0, 0.3)},
    )
    found = find_target("superheat", beyond)
    assert isinstance(found, NoTarget)
    assert str(found.reason) == "Outdoor_dry_bulb_k is 400 K, outside 200 to 350 K: a temperature of air"
    steam = {"return_air_temperature": Estimate(400.0, 0.2), "return_air_humidity": HUMIDITY}
    assert expected_air_split(replace(beyond, measured=steam)) is None


def test_a_nameplate_counts_before_the_table_and_subcooling_has_no_other_source() -> None:
    plate = Situation(
        measured={"return_air_wet_bulb": WET, "outdoor_air_temperature": OUTDOOR}, target_superheat_dk=5.0
    )
    found = find_target("superheat", plate)
    assert isinstance(found, Target)
    assert (found.value.value, found.source) == (5.0, "nameplate")
    assert isinstance(find_target("subcooling", plate), NoTarget)


@pytest.mark.parametrize(
    ("figure", "plate_dk", "names"),
    [
        ("subcooling", None, ()),
        ("superheat", 5.0, ()),
        ("superheat", None, ("return_air_wet_bulb", "outdoor_air_temperature")),
    ],
)
def test_a_target_hangs_on_what_its_table_is_entered_with(
    figure: Figure, plate_dk: float | None, names: tuple[str, ...]
) -> None:
    """California Title 24, RA3.2: its table of target superheat is entered with return wet bulb and outdoor air."""
    assert (
        target_inputs(figure, Situation(measured={"return_air_wet_bulb": WET}, target_superheat_dk=plate_dk)) == names
    )
    if names:
        worked_out = ("return_air_temperature", "return_air_humidity", "outdoor_air_temperature")
        assert target_inputs(figure, Situation()) == worked_out


def test_a_makers_chart_takes_the_place_of_the_table_and_beyond_it_nothing_stands_in() -> None:
    """A made-up chart that asks for 3 °F more at 67 °F and 95 °F than the 12 °F of California Title 24, RA3.2."""
    printed_degf = ((63, 85, 17), (67, 85, 22), (63, 105, 3), (67, 105, 8))
    chart = tuple(
        ChartPoint(*((degf + 459.67) / 1.8 for degf in air), superheat_f / 1.8) for *air, superheat_f in printed_degf
    )
    measured = {"return_air_wet_bulb": WET, "outdoor_air_temperature": OUTDOOR}
    unit = Situation(metering_device="fixed_orifice", measured=measured, superheat_chart=chart)
    target = find_target("superheat", unit)
    assert isinstance(target, Target)
    assert target.value.value * 1.8 == pytest.approx(15.0, abs=0.01)
    assert target_inputs("superheat", unit) == ("return_air_wet_bulb", "outdoor_air_temperature")
    humid = replace(unit, measured={**measured, "return_air_wet_bulb": Estimate(WET_BULB_K + 3.0, 0.3)})
    assert isinstance(find_target("superheat", humid), NoTarget)
    assert isinstance(find_target("superheat", replace(humid, superheat_chart=())), Target)
