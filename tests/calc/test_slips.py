"""Instruments as causes: the mark that each leaves, by the vapour-compression cycle and CoolProp 8.0.0 (bubble and dew
points of R-410A); what a check makes of it, by Bayes' rule on a grid. How often and how far they slip: no source.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from calc.diagnosis import Cause, Fault, explain
from calc.estimate import Estimate
from calc.saturation import bubble_pressure
from calc.situation import Situation
from calc.slips import USUAL, Slip, slips
from calc.symptoms import departures
from tests.calc.test_diagnosis import observed
from tests.fahrenheit import DDEGF, kelvin

PSI = 6894.757  # NIST SP 811, B.8
CLAMP = "liquid_line_temperature"


def marks(unit: Situation) -> dict[str, dict[str, float]]:
    """By channel, what one standard deviation of its slip does to each figure [K or 1]."""
    seen = departures(unit)
    names = [each.name for each in seen.found]
    return {slip.channel: dict(zip(names, slip.spread.tolist(), strict=True)) for slip in slips(seen, unit)}


def slip(unit: Situation, channel: str) -> Slip:
    return next(each for each in slips(departures(unit), unit) if each.channel == channel)


def lead(unit: Situation) -> Cause:
    """The cause that leads where the figure that shows the charge is beyond its tolerance."""
    return explain(unit, something_is_wrong=True)[0]


def test_a_warm_clamp_takes_subcooling_away_and_nothing_else() -> None:
    found = {name: effect for name, effect in marks(observed())[CLAMP].items() if effect}
    assert found == {"subcooling": pytest.approx(-USUAL[CLAMP].spread)}


def test_a_gauge_moves_what_comes_from_its_saturation_alike() -> None:
    """At a bubble point of 115 °F, and a dew point of 45 °F: by 3 %, which is more than 10 psi there, and by 6 psi."""
    found = marks(observed())
    high_pa, low_pa = (
        PropsSI("P", "T", kelvin(at_f), "Q", quality, "R410A") for at_f, quality in ((115.0, 0), (45.0, 1))
    )
    over_k, low_k = (
        PropsSI("T", "P", pressure_pa + off_pa, "Q", quality, "R410A")
        - PropsSI("T", "P", pressure_pa, "Q", quality, "R410A")
        for pressure_pa, off_pa, quality in ((high_pa, 0.03 * high_pa, 0), (low_pa, 6 * PSI, 1))
    )
    high, low = found["liquid_pressure"], found["suction_pressure"]
    assert high["condensing_over_outdoor"] == pytest.approx(over_k, rel=0.03)
    assert high["subcooling"] == pytest.approx(high["condensing_over_outdoor"], rel=1e-3)
    assert low["suction_dew_point"] == pytest.approx(low_k, rel=0.03)
    assert low["superheat"] == pytest.approx(-low["suction_dew_point"], rel=1e-3)
    assert (high["superheat"], high["air_split"], low["subcooling"], low["air_split"]) == (0.0, 0.0, 0.0, 0.0)


def test_the_gauge_that_is_off_while_it_runs_was_off_at_rest_as_well() -> None:
    """Saturation at 95 °F, and the same gauge."""
    found = marks(observed(rest_f=0.0))["liquid_pressure"]
    assert 0.7 < found["rest_over_outdoor"] / found["condensing_over_outdoor"] < 1.6


def test_what_is_taken_to_be_exact_does_not_slip_and_a_poor_instrument_slips_farther() -> None:
    unit = observed()
    exact = replace(unit, measured={**unit.measured, CLAMP: Estimate(unit.measured[CLAMP].value, 0.0)})
    assert CLAMP not in marks(exact)
    poor = replace(unit, accuracies={CLAMP: 4.0})
    assert marks(poor)[CLAMP]["subcooling"] == pytest.approx(-1.5 * 4.0)
    uncertain = replace(unit, measured={**unit.measured, CLAMP: Estimate(unit.measured[CLAMP].value, 2.0)})
    assert marks(uncertain)[CLAMP]["subcooling"] == pytest.approx(-1.5 * 4.0)  # ± is k = 2 (JCGM 100, G.1.3)


@pytest.mark.parametrize(("offset_k", "spread_k"), [(0.0, 0.3), (0.4, 0.3), (1.8, 0.5)])
def test_a_check_says_how_far_it_may_still_be_off(offset_k: float, spread_k: float) -> None:
    """On a grid: what is found is the slip, what the instrument errs by anyway (0.25 K), and what the check errs by."""
    unit = observed(checked={CLAMP: Estimate(offset_k, spread_k)})
    checked, usual = slip(unit, CLAMP), USUAL[CLAMP]
    grid = np.linspace(-12.0, 12.0, 4801)
    sound = math.hypot(spread_k, 0.25)
    before = np.exp(-((grid / usual.spread) ** 2) / 2)
    told = np.exp(-(((offset_k - grid) / sound) ** 2) / 2)
    shares = before / before.sum() * told
    mean = float(grid @ shares / shares.sum())
    spread = math.sqrt(float((grid - mean) ** 2 @ shares / shares.sum()))
    told_by = shares.sum() / math.exp(-((offset_k / sound) ** 2) / 2)
    subcooling = marks(unit)[CLAMP]["subcooling"]
    assert (-subcooling, checked.middle * -subcooling) == (pytest.approx(spread), pytest.approx(mean, abs=1e-6))
    assert (checked.share, checked.told) == (usual.share, pytest.approx(told_by, rel=1e-4))


def test_what_was_found_of_the_humidity_is_of_the_wet_bulb_too() -> None:
    """3 % are 1 °F, at 75 °F and 50 % (psychrometrics)."""
    humid = slip(observed(checked={"return_air_humidity": Estimate(0.0, 3.0)}), "return_air_wet_bulb")
    wet = slip(observed(checked={"return_air_wet_bulb": Estimate(0.0, 1.0 * DDEGF)}), "return_air_wet_bulb")
    assert humid.spread == pytest.approx(wet.spread)


@pytest.mark.parametrize("warm_f", [3.0, 4.0, 5.0, 6.0, 7.0, 8.0])
def test_a_full_unit_with_a_warm_clamp_gets_no_refrigerant_before_the_clamp_was_looked_at(warm_f: float) -> None:
    """All else is as of a sound unit: a ground-source manual, as in the tests of the causes."""
    unit = observed(subcooling_f=11.0 - warm_f)
    found = lead(unit)
    assert found.fault in (Fault.INSTRUMENT_OFF, Fault.UNDERCHARGE)
    if found.fault is Fault.UNDERCHARGE:
        assert found.rule_out_first is Fault.INSTRUMENT_OFF
    (off,) = [cause for cause in explain(unit, something_is_wrong=True) if cause.fault is Fault.INSTRUMENT_OFF]
    assert off.channel == CLAMP
    assert (off.next_check.kind, off.next_check.parts[0].terms) == ("check.instrument_off_pipe", (CLAMP,))
    told = lead(replace(unit, checked={CLAMP: Estimate(warm_f * DDEGF, 0.25)}))
    assert told.fault is Fault.INSTRUMENT_OFF  # it was found to be off by all that is missing


@pytest.mark.parametrize("warm_f", [3.5, 5.0, 7.0])
def test_the_clamp_on_the_suction_line_of_an_orifice_is_looked_at_likewise(warm_f: float) -> None:
    """A superheat of 12 °F by the published table at 95 °F and 67 °F wet bulb, and a clamp that is warm."""
    found = lead(observed(superheat_f=12.0 + warm_f, metering_device="fixed_orifice"))
    assert found.fault is not Fault.UNDERCHARGE or found.rule_out_first is Fault.INSTRUMENT_OFF


def test_a_low_charge_that_several_figures_show_waits_for_no_instrument() -> None:
    """A ground-source manual, undercharged: superheat 25 to 30, subcooling 6 to 8 °F where 10 to 12 are right."""
    found = lead(observed(superheat_f=27, subcooling_f=2, suction_f=41, condensing_f=107, split_f=18.0, load=0.72))
    assert (found.fault, found.held_back) == (Fault.UNDERCHARGE, None)


def test_the_liquid_clamp_is_looked_at_while_it_makes_a_tenth_of_it_and_nothing_else_gets_likely() -> None:
    """Superheat 16 and subcooling 2 °F: nine tenths must be left were the clamp off (common practice, no source)."""
    unit = observed(superheat_f=16.0, subcooling_f=2.0, suction_f=42.0, condensing_f=112.0)
    found = lead(unit)
    assert (found.fault, found.rule_out_first) == (Fault.UNDERCHARGE, Fault.INSTRUMENT_OFF)
    assert found.probability > 0.9  # of what is ruled out nothing is made likely again, because a clamp is looked at
    told = lead(replace(unit, checked={CLAMP: Estimate(0.0, 0.25)}))
    assert (told.fault, told.held_back) == (Fault.UNDERCHARGE, None)


def test_a_charge_beside_another_fault_stands_by_itself_too() -> None:
    """An orifice with much dirt: its low charge is left where the clamp is off, alone or with it (by this model)."""
    unit = observed(
        superheat_f=12.0, subcooling_f=1.3, suction_f=38.2, condensing_f=108.3, split_f=16.9, load=0.663,
        metering_device="fixed_orifice",
    )  # fmt: skip
    found = lead(unit)
    assert (found.fault, found.held_back) == (Fault.UNDERCHARGE, None)


def test_nobody_is_asked_for_a_second_clamp_who_has_one_alone() -> None:
    without = ("suction_line_temperature", "discharge_line_temperature")
    unit = observed(subcooling_f=5.0, without=without)
    assert not slip(unit, CLAMP).can_be_checked
    assert slip(observed(), CLAMP).can_be_checked
    assert not slip(observed(checked={CLAMP: Estimate(0.0, 0.3)}), CLAMP).can_be_checked


def test_a_gauge_is_checked_in_the_air_and_a_probe_of_the_air_by_nothing_that_is_at_hand() -> None:
    unit = observed()
    assert slip(unit, "liquid_pressure").can_be_checked
    assert not slip(unit, "outdoor_air_temperature").can_be_checked


def test_a_low_gauge_is_looked_at_where_it_alone_makes_the_charge_low() -> None:
    """25 psi low at a bubble point of 115 °F, with an orifice's two figures otherwise as of a sound unit."""
    seen = observed()
    low = Estimate(bubble_pressure("R-410A", kelvin(115.0)) - 25 * PSI, 6.9e3)
    unit = replace(seen, measured={**seen.measured, "liquid_pressure": low}, checked={CLAMP: Estimate(0.0, 0.25)})
    (off,) = [cause for cause in explain(unit, something_is_wrong=True) if cause.fault is Fault.INSTRUMENT_OFF]
    assert off.channel == "liquid_pressure"
    assert off.next_check.kind == "check.instrument_off_pressure"
    found = lead(unit)
    assert found.fault is not Fault.UNDERCHARGE or found.held_back is not None


def test_what_was_right_with_the_same_instruments_is_not_blamed_on_them() -> None:
    unit = observed(subcooling_f=5.0)
    ruled_out = explain(unit, something_is_wrong=True, ruled_out=(Fault.INSTRUMENT_OFF,))
    assert {cause.fault: cause.probability for cause in ruled_out}[Fault.INSTRUMENT_OFF] == 0.0
    assert all(cause.rule_out_first is not Fault.INSTRUMENT_OFF for cause in ruled_out)
