"""What the indoor coil gets: outdoor air by a damper, and frost that chokes it.

Mixing is held to psychrolib; that a coil frosts at low air flow and clears at rest is common practice, no source.
"""

import psychrolib
import pytest

from simulators.errors import SimulatorError
from simulators.unit.air_streams import mixed_air
from simulators.unit.economizer import Economizer
from simulators.unit.frost import HEAT_OF_FUSION
from simulators.unit.metering import FixedOrifice
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.simulators.unit.settled import rested, settled

CHOKED = Faults(evaporator_airflow=0.35)
COOL = Conditions(outdoor_air_k=283.15)


def test_air_mixes_as_the_psychrometrics_say() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    conditions = Conditions(outdoor_air_k=308.15, outdoor_air_humidity=40.0)
    inside = psychrolib.GetHumRatioFromRelHum(conditions.return_air_k - 273.15, 0.5, 101_325)
    outside = psychrolib.GetHumRatioFromRelHum(35.0, 0.4, 101_325)
    ratio = 0.7 * inside + 0.3 * outside
    enthalpy = 0.7 * psychrolib.GetMoistAirEnthalpy(conditions.return_air_k - 273.15, inside)
    enthalpy += 0.3 * psychrolib.GetMoistAirEnthalpy(35.0, outside)
    temperature_k, humidity_ratio = mixed_air(conditions, 0.3)
    assert humidity_ratio == pytest.approx(ratio, rel=6e-3)
    assert temperature_k - 273.15 == pytest.approx(
        psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(enthalpy, ratio), abs=0.1
    )


def test_a_damper_stuck_open_in_the_heat_loads_the_coil_and_return_air_does_not_show_it() -> None:
    hot = Conditions(outdoor_air_k=308.15)
    sound, stuck = (
        settled(UnitParameters(conditions=hot, faults=Faults(damper_stuck_open=part))) for part in (0.0, 0.6)
    )
    before, after = sound.true_state(), stuck.true_state()
    assert after["return_air_temperature"] == before["return_air_temperature"]
    assert after["supply_air_temperature"] > before["supply_air_temperature"] + 3.0
    assert after["suction_pressure"] > before["suction_pressure"]
    assert stuck.heat_flows().evaporator_w > 1.03 * sound.heat_flows().evaporator_w


@pytest.mark.hours
def test_an_economizer_answers_a_call_alone_where_it_is_cool_outdoors() -> None:
    unit = rested(UnitParameters(conditions=COOL, economizer=Economizer()))
    unit.call(cooling=True)
    unit.step(400.0)
    state = unit.true_state()
    assert (unit.is_running, unit.held_by) == (False, "economizer")
    assert state["supply_air_temperature"] == pytest.approx(COOL.outdoor_air_k, abs=0.2)
    assert state["blower_current"] > 1.0
    warm = rested(UnitParameters(economizer=Economizer()))
    warm.call(cooling=True)
    warm.step(60.0)
    assert warm.is_running


def test_a_unit_with_an_economizer_is_found_on_outdoor_air_where_it_is_cool() -> None:
    unit = settled(UnitParameters(conditions=COOL, economizer=Economizer()))
    assert (unit.is_running, unit.held_by) == (False, "economizer")
    assert unit.true_state()["supply_air_temperature"] == pytest.approx(COOL.outdoor_air_k, abs=0.2)


@pytest.mark.hours
def test_a_coil_with_too_little_air_frosts_until_it_chokes_and_clears_at_rest() -> None:
    unit = settled(UnitParameters(metering=FixedOrifice(), faults=CHOKED))
    stored_j = unit.stored_j
    net_j = moved_j = 0.0
    grown = []
    for second in range(6000):
        if second == 3000:
            grown = [*grown, unit.frost_kg]
            suction_pa = unit.true_state()["suction_pressure"]
            unit.call(cooling=False)
        for _ in range(4):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (abs(flows.evaporator_w) + flows.compressor_w)
        if second == 600:
            grown = [unit.frost_kg]
            begun_pa = unit.true_state()["suction_pressure"]
    assert grown[0] > 0.02
    assert grown[1] > 3.0 * grown[0]
    assert suction_pa < begun_pa - 1e4
    assert unit.frost_kg < 0.5 * grown[1]
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)
    assert moved_j > 10.0 * HEAT_OF_FUSION * grown[1]


def test_a_sound_coil_has_no_frost() -> None:
    unit = settled()
    unit.step(600.0)
    assert unit.frost_kg == 0.0


def test_an_economizer_that_cannot_be_is_refused() -> None:
    with pytest.raises(SimulatorError, match="changeover_k is 55; the unit is simulated with 273 to 300"):
        Economizer(changeover_k=55.0)
