"""Megohms from winding to ground: as Arrhenius has them, as a tester shows them, and as calc brings them to 40 °C."""

from dataclasses import replace

import pytest

from calc.motor.insulation import Insulation as Class
from calc.motor.insulation import insulation_at_40_degc
from simulators.unit.electric.as_found import AsFound
from simulators.unit.electric.insulation import Insulation
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters
from tests.simulators.unit.settled import rested

WORN = UnitParameters(as_found=AsFound(insulation_ohm={"compressor": 20e6}))


def megohms(unit: Unit) -> float:
    """With the compressor's leads off, as it is tested."""
    unit.disconnect(closed=False)
    for leg in "abc":
        unit.electric.set_joint(f"compressor_{leg}", float("inf"))
    found = unit.electric.between("compressor_b", "earth", "insulation")
    assert found is not None
    return found / 1e6


@pytest.mark.parametrize(("temperature_k", "mohm"), [(303.15, 80.0), (313.15, 40.0), (323.15, 20.0), (333.15, 10.0)])
def test_it_halves_with_every_ten_kelvin(temperature_k: float, mohm: float) -> None:
    """IEEE 43, as quoted in test guides: half for every 10 °C, and Arrhenius within a tenth of that."""
    assert Insulation(40e6).resistance_ohm(temperature_k) / 1e6 == pytest.approx(mohm, rel=0.1)


def test_water_and_acid_take_it_down() -> None:
    """Direction: makers and trade press. Sizes: common practice, no source."""
    dry, acid = Insulation(40e6), Insulation(40e6, acid=0.3)
    assert dry.resistance_ohm(313.15, 5e-4) == pytest.approx(20e6)
    assert acid.resistance_ohm(313.15) == pytest.approx(10e6)


def test_cold_and_warm_readings_are_one_once_calc_has_corrected_them() -> None:
    """What calc knows of temperature is not what the unit is made with: the two agree within their rules' spread."""
    at_40 = []
    for warm_k in (298.15, 318.15):
        unit = rested(WORN)
        unit.electric._panel.windings_k["compressor"] = warm_k
        corrected = insulation_at_40_degc(
            megohms(unit) * 1e6,
            warm_k,
            insulation=Class.THERMOPLASTIC,
            resistance_standard_uncertainty_ohm=0.0,
            temperature_standard_uncertainty_k=0.0,
        )
        at_40.append(corrected.value / 1e6)
    assert at_40 == pytest.approx([20.0, 20.0], rel=0.12)


def test_a_shell_that_cools_and_dries_reads_more() -> None:
    cold = megohms(rested(WORN))
    warm = Unit(WORN)
    warm.step(1.0)
    warm.call(cooling=False)
    warm.step(1.0)
    assert megohms(warm) < 0.7 * cold
    wet = replace(WORN, faults=replace(WORN.faults, water_kg=2e-3))
    assert megohms(rested(wet)) < 0.5 * cold


def test_with_its_leads_on_a_tester_meets_all_that_hangs_there() -> None:
    """Parallel resistances: with the others on, it is never more than alone."""
    unit = rested(WORN)
    unit.disconnect(closed=False)
    together = unit.electric.between("compressor_b", "earth", "insulation")
    assert together is not None
    assert together / 1e6 < megohms(unit)


def test_a_live_or_charged_part_is_refused_with_its_volts() -> None:
    unit = rested(WORN)
    assert unit.electric.refused_v("line_a", "earth") == pytest.approx(132.8, abs=0.5)  # 230 V / sqrt 3
    assert unit.electric.between("line_a", "earth", "insulation") is None
    assert unit.electric.refused_v("compressor_b", "earth") is None
