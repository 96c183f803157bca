"""The mode by what is read: signs as the trade press has them, and nothing told that the readings leave open."""

from contextlib import suppress
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import catalogue
from calc.errors import CalcError, CalcRangeError
from calc.estimate import Estimate
from calc.mode import Mode, tell_mode
from tests.fuzzing import fuzz

COOLED = {"return_air": Estimate(297.0, 0.25), "supply_air": Estimate(286.0, 0.25)}
HEATED = {"return_air": Estimate(294.0, 0.25), "supply_air": Estimate(308.0, 0.25)}
SAME = {"return_air": Estimate(295.0, 0.25), "supply_air": Estimate(295.2, 0.25)}
APART = {"vapour_line_pressure": Estimate(9e5, 2e4), "liquid_line_pressure": Estimate(25e5, 2e4)}
ALIKE = {"vapour_line_pressure": Estimate(25e5, 2e4), "liquid_line_pressure": Estimate(24e5, 2e4)}
RUNS, RESTS = {"compressor_current": Estimate(11.0, 0.1)}, {"compressor_current": Estimate(0.1, 0.1)}
WARM, COLD = {"outdoor_air": Estimate(305.0, 0.3)}, {"outdoor_air": Estimate(273.0, 0.3)}
FAN, NO_FAN = {"outdoor_fan_runs": True}, {"outdoor_fan_runs": False}


@pytest.mark.parametrize(
    ("readings", "mode"),
    [
        (RUNS | COOLED | APART | WARM | FAN, Mode.COOLING),
        (RUNS | COOLED | APART | WARM, Mode.COOLING),
        (RUNS | COOLED | APART | FAN, Mode.COOLING),
        (COOLED | APART | WARM, Mode.COOLING),  # pressures so far apart say that it runs
        (RUNS | APART | WARM, Mode.COOLING),
        (RUNS | SAME | APART | WARM, Mode.COOLING),
        (RUNS | COOLED | WARM, Mode.COOLING),
        (RUNS | COOLED | FAN, Mode.COOLING),
        (RUNS | COOLED | APART | COLD | FAN, Mode.COOLING),
        (RUNS | COOLED | APART | WARM | NO_FAN, Mode.COOLING),
        (RUNS | HEATED | ALIKE | COLD | FAN, Mode.HEATING),
        (RUNS | HEATED | ALIKE, Mode.HEATING),
        (RUNS | HEATED | FAN, Mode.HEATING),
        (RUNS | APART | COLD | NO_FAN, Mode.DEFROST),
        (RUNS | COOLED | APART | COLD | NO_FAN, Mode.DEFROST),
        (RUNS | HEATED | APART | COLD | NO_FAN, Mode.DEFROST),  # electric heat warms the air meanwhile
        (RESTS, Mode.OFF),
        (RESTS | SAME | ALIKE, Mode.OFF),
        (RESTS | HEATED, Mode.OFF),
        (RESTS | APART, Mode.OFF),  # stopped a moment ago
        (RESTS | COOLED, Mode.OFF),  # the coil is still cold
        (SAME | ALIKE, Mode.OFF),
        ({}, Mode.CANNOT_TELL),
        (COOLED, Mode.CANNOT_TELL),
        (HEATED, Mode.CANNOT_TELL),
        (ALIKE, Mode.CANNOT_TELL),
        (HEATED | ALIKE, Mode.CANNOT_TELL),
        (RUNS, Mode.CANNOT_TELL),
        (RUNS | COOLED, Mode.CANNOT_TELL),  # or defrost
        (RUNS | COOLED | COLD, Mode.CANNOT_TELL),
        (RUNS | COOLED | NO_FAN, Mode.CANNOT_TELL),
        (RUNS | COOLED | APART | COLD, Mode.CANNOT_TELL),
        (RUNS | COOLED | APART, Mode.CANNOT_TELL),
        (RUNS | APART | NO_FAN, Mode.CANNOT_TELL),
        (RUNS | HEATED, Mode.CANNOT_TELL),  # electric heat while it defrosts looks the same
        (RUNS | HEATED | NO_FAN, Mode.CANNOT_TELL),
        (RUNS | HEATED | APART | WARM, Mode.CANNOT_TELL),
        (RUNS | COOLED | ALIKE, Mode.CANNOT_TELL),
        (RUNS | SAME | ALIKE | WARM | FAN, Mode.CANNOT_TELL),
        (RUNS | ALIKE, Mode.CANNOT_TELL),
        (RUNS | SAME | WARM | FAN, Mode.CANNOT_TELL),
        (RUNS | WARM | FAN | {"return_air": Estimate(297.0, 0.25)}, Mode.CANNOT_TELL),
        (RUNS | WARM | FAN | {"supply_air": Estimate(286.0, 0.25)}, Mode.CANNOT_TELL),
        (SAME | {"vapour_line_pressure": Estimate(9e5, 2e4)}, Mode.CANNOT_TELL),
        (SAME | {"liquid_line_pressure": Estimate(25e5, 2e4)}, Mode.CANNOT_TELL),
        (RESTS | COOLED | APART, Mode.CANNOT_TELL),  # amps and pressures disagree: the jaw
    ],
)
def test_by_its_signs(readings, mode):
    """Defrost: outdoor fan off, valve as in cooling; heating: the large line hot, so at discharge pressure."""
    found = tell_mode(**readings)
    assert found.mode is mode
    assert bool(found.would_tell) is (mode is Mode.CANNOT_TELL)
    assert found.reasons or not set(readings) - {"outdoor_air"} or readings in (COOLED, HEATED, ALIKE, HEATED | ALIKE)


@pytest.mark.parametrize(
    ("readings", "says"),
    [(RESTS | HEATED, "something other than the refrigerant circuit"), (RUNS | COOLED | WARM, "too warm for frost"),
     (RUNS | APART | COLD | NO_FAN, "the outdoor fan stands"), (RUNS | APART | COLD | NO_FAN, "cold enough"),
     (RUNS | COOLED | APART | FAN, "the outdoor fan runs"), (RUNS | COOLED | APART | FAN, "as in cooling"),
     (RUNS | SAME | APART | WARM, "as it came"), (RUNS | HEATED | ALIKE, "warmer"),
     (RESTS, "does not run"), (RUNS | COOLED | WARM, "the compressor runs")],
)  # fmt: skip
def test_it_says_why(readings, says):
    assert any(says in reason for reason in tell_mode(**readings).reasons)


@pytest.mark.parametrize(
    ("readings", "would"),
    [({}, "amps"), (RUNS | COOLED | APART, "whether the outdoor fan runs"), (RUNS | ALIKE, "without pumping"),
     (RUNS | HEATED | APART | WARM, "true suction port"), (RESTS | COOLED | APART, "jaw"), (RUNS, "outdoor fan")],
)  # fmt: skip
def test_it_says_what_would_tell(readings, would):
    assert would in tell_mode(**readings).would_tell


@pytest.mark.parametrize(
    ("amps", "rated_a", "mode"),
    [(0.9, None, Mode.CANNOT_TELL), (1.1, None, Mode.CANNOT_TELL), (1.3, None, Mode.COOLING), (0.7, None, Mode.OFF),
     (1.3, 14.0, Mode.OFF), (2.0, 14.0, Mode.CANNOT_TELL), (2.2, 14.0, Mode.CANNOT_TELL), (2.4, 14.0, Mode.COOLING)],
)  # fmt: skip
def test_a_crankcase_heater_is_no_compressor(amps, rated_a, mode):
    """1 A, or 15 % of the rated load amps; within the ± of either nothing is told."""
    current = Estimate(amps, 0.2)
    assert tell_mode(**COOLED | WARM, compressor_current=current, rated_load_a=rated_a).mode is mode


@pytest.mark.parametrize(
    ("split_k", "mode"),
    [(1.7, Mode.CANNOT_TELL), (1.9, Mode.CANNOT_TELL), (2.1, Mode.CANNOT_TELL), (2.3, Mode.COOLING)],
)
def test_a_split_within_its_plus_minus_of_2_k_is_none(split_k, mode):
    ends = {"return_air": Estimate(295.0, 0.15), "supply_air": Estimate(295.0 - split_k, 0.1)}
    assert tell_mode(**RUNS | WARM | ends).mode is mode


@pytest.mark.parametrize(("split_k", "mode"), [(-1.6, Mode.CANNOT_TELL), (-2.4, Mode.HEATING)])
def test_a_rise_likewise(split_k, mode):
    ends = {"return_air": Estimate(295.0, 0.15), "supply_air": Estimate(295.0 - split_k, 0.1)}
    assert tell_mode(**RUNS | FAN | ends).mode is mode


@pytest.mark.parametrize(
    ("liquid_pa", "mode"),
    [(14.7e5, Mode.CANNOT_TELL), (15.3e5, Mode.COOLING), (11.7e5, Mode.CANNOT_TELL), (11.3e5, Mode.OFF),
     (8e5, Mode.OFF)],
)  # fmt: skip
def test_lines_half_as_much_again_apart_or_alike(liquid_pa, mode):
    pressures = {"vapour_line_pressure": Estimate(10e5, 5e3), "liquid_line_pressure": Estimate(liquid_pa, 5e3)}
    assert tell_mode(**SAME | WARM | pressures).mode is mode


@pytest.mark.parametrize(
    ("outdoor_k", "mode"), [(282.0, Mode.DEFROST), (283.1, Mode.CANNOT_TELL), (285.0, Mode.COOLING)]
)
def test_above_10_degc_nothing_frosts(outdoor_k, mode):
    assert tell_mode(**RUNS | APART | NO_FAN, outdoor_air=Estimate(outdoor_k, 0.4)).mode is mode


@pytest.mark.parametrize(
    ("readings", "name"),
    [(COOLED | {"return_air": Estimate(233.0, 0.1)}, "return_air"),
     (COOLED | {"supply_air": Estimate(354.0, 0.1)}, "supply_air"),
     (APART | {"vapour_line_pressure": Estimate(9999.5, 0.1)}, "vapour_line_pressure"),
     (APART | {"liquid_line_pressure": Estimate(1e7 + 0.5, 0.1)}, "liquid_line_pressure"),
     ({"compressor_current": Estimate(-0.1, 0.1)}, "compressor_current"),
     ({"compressor_current": Estimate(1e4 + 0.5, 0.1)}, "compressor_current"),
     (RUNS | {"rated_load_a": 0.4}, "rated_load_a"), (RUNS | {"rated_load_a": 1001.0}, "rated_load_a"),
     (RUNS | {"outdoor_air": Estimate(213.0, 0.1)}, "outdoor_air"),
     (RUNS | {"outdoor_air": Estimate(333.2, 0.1)}, "outdoor_air")],
)  # fmt: skip
def test_limits(readings, name):
    with pytest.raises(CalcRangeError, match=name):
        tell_mode(**readings)


@pytest.mark.parametrize(
    "readings",
    [{"return_air": Estimate(233.15, 0.1), "supply_air": Estimate(353.15, 0.1)},
     {"vapour_line_pressure": Estimate(10e3, 0.0), "liquid_line_pressure": Estimate(10e6, 0.0)},
     {"compressor_current": Estimate(0.0, 0.0), "rated_load_a": 0.5},
     {"compressor_current": Estimate(1e4, 0.0), "rated_load_a": 1000.0},
     RUNS | {"outdoor_air": Estimate(213.15, 0.0)}, RUNS | {"outdoor_air": Estimate(333.15, 0.0)}],
)  # fmt: skip
def test_up_to_them_it_answers(readings):
    assert tell_mode(**readings).mode in Mode


def test_many_at_once():
    amps = Estimate(np.array([0.0, 11.0]), np.array([0.1, 0.1]))
    found = tell_mode(**COOLED | WARM, compressor_current=amps)
    assert list(found.mode) == [Mode.OFF, Mode.COOLING]


def test_by_name():
    read = {"return_air_temperature": "75 degF", "supply_air_temperature": "56 degF", "compressor_current": "11 A",
            "outdoor_air_temperature": "90 degF"}  # fmt: skip
    assert catalogue.run("mode", read).values["mode"] == "cooling"
    lines = {"vapour_line_pressure": "130 psig", "liquid_line_pressure": "340 psig", "outdoor_fan_runs": "no"}
    defrost = lines | {"compressor_current": "11 A", "outdoor_air_temperature": "34 degF", "rated_load": "16 A"}
    assert catalogue.run("mode", defrost).values["mode"] == "defrost"
    nothing = catalogue.run("mode", {}).values
    assert (nothing["mode"], "amps" in nothing["would_tell"]) == ("cannot tell", True)
    assert "would_tell" not in catalogue.run("mode", read).values


@fuzz
@given(st.tuples(*(st.floats(),) * 6))
def test_any_numbers_give_a_mode_or_a_calc_error(numbers):
    with suppress(CalcError):
        found = tell_mode(
            return_air=Estimate(numbers[0], 0.1), supply_air=Estimate(numbers[1], 0.1),
            vapour_line_pressure=Estimate(numbers[2], abs(numbers[5])), liquid_line_pressure=Estimate(numbers[3], 1e3),
            compressor_current=Estimate(numbers[4], 0.1),
        )  # fmt: skip
        assert found.mode in Mode


NAMED = {
    "amps": ("compressor_current",),
    "pressures of both": ("vapour_line_pressure", "liquid_line_pressure"),
    "air before": ("return_air", "supply_air"),
    "the outdoor air": ("outdoor_air",),
    "outdoor fan": ("outdoor_fan_runs",),
}


GIVEN = (
    [{}, COOLED, HEATED, SAME],
    [{}, APART, ALIKE],
    [{}, WARM, COLD],
    [{}, FAN, NO_FAN],
    [{}, RUNS, RESTS],
)
"""Of air, lines, weather, fan and amps: what may be known."""


def test_what_would_tell_is_never_what_was_given():
    for air, lines, weather, fan, amps in product(*GIVEN):
        read = air | lines | weather | fan | amps
        found = tell_mode(**read)
        for words, given_as in NAMED.items():
            if all(name in read for name in given_as) and "jaw" not in found.would_tell:
                assert words not in found.would_tell, read
        assert bool(found.would_tell) is (found.mode is Mode.CANNOT_TELL), read


@pytest.mark.parametrize(("fan", "looks"), [("no", True), ("yes", False), (None, False)])
def test_an_outdoor_fan_that_stands_while_it_heats_is_looked_at(fan, looks):
    """It stands in defrost only: the trade press."""
    read = {"compressor_current": "11A", "return_air_temperature": "70degF", "supply_air_temperature": "98degF"}
    read |= {"vapour_line_pressure": "340psig", "liquid_line_pressure": "330psig", "outdoor_air_temperature": "40degF"}
    found = catalogue.run("mode", read | ({} if fan is None else {"outdoor_fan_runs": fan})).values
    assert found["mode"] == "heating"
    assert ("look: the outdoor fan stands" in found.get("warning", "")) is looks
    cooling = {"vapour_line_pressure": "130psig", "liquid_line_pressure": "340psig", "supply_air_temperature": "50degF"}
    hot = read | cooling | {"outdoor_air_temperature": "90degF", "outdoor_fan_runs": "no"}
    assert "look: the outdoor fan stands" in catalogue.run("mode", hot).values["warning"]
    frosted = catalogue.run("mode", hot | {"outdoor_air_temperature": "35degF"}).values
    assert frosted["mode"] == "defrost"
    assert "warning" not in frosted


def test_alike_pressures_while_it_runs_ask_for_the_air_then_for_the_discharge_line():
    """A circuit that heats a little, or a compressor that runs and does not pump, both leave the lines alike."""
    vague = {"return_air": Estimate(295.0, 5.0), "supply_air": Estimate(293.0, 5.0)}
    asked = [tell_mode(**RUNS, **ALIKE, **air).would_tell for air in ({}, SAME, vague)]
    assert asked[0].startswith("the air before and after: it heats")
    assert asked[1].startswith("the temperature of its discharge line")
    assert asked[2].startswith("the same again")
