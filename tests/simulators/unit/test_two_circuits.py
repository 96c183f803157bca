"""Two circuits in the same fins and air, held to what was measured on machines of that kind, within a third.

Measured: superheat 10 K with one running and 0 K with both, subcooling unchanged. Read second-hand: no table at hand.
"""

from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.errors import SimulatorError
from simulators.unit.metering import FixedOrifice, MeteringDevice, ThermostaticValve
from simulators.unit.parameters import Conditions, UnitParameters
from simulators.unit.two_circuits import TwoCircuitUnit

ORIFICE = FixedOrifice(2.0e-6)
"""A little wide, so that the circuit floods where it has but half of the air."""


@cache
def figures(metering: MeteringDevice, stages: int) -> dict[str, float]:
    """Superheat and subcooling of the first circuit [K]."""
    return _figures(TwoCircuitUnit([UnitParameters(metering=metering)] * 2, stages=stages))


def _figures(unit: TwoCircuitUnit) -> dict[str, float]:
    state = unit.true_state(0)
    return {
        "superheat": state["suction_line_temperature"] - PropsSI("T", "P", state["suction_pressure"], "Q", 1, "R410A"),
        "subcooling": PropsSI("T", "P", state["liquid_pressure"], "Q", 0, "R410A") - state["liquid_line_temperature"],
    }


@pytest.mark.parametrize("metering", [FixedOrifice(), ORIFICE], ids=["usual", "a little wide"])
def test_with_both_running_superheat_falls_by_ten_kelvin_and_subcooling_stays(metering: FixedOrifice) -> None:
    alone, both = figures(metering, 1), figures(metering, 2)
    assert alone["superheat"] - both["superheat"] == pytest.approx(10.0, rel=1 / 3)
    assert both["subcooling"] == pytest.approx(alone["subcooling"], abs=1.0)


def test_a_circuit_that_floods_beside_its_neighbour_is_sound_alone() -> None:
    assert figures(ORIFICE, 1)["superheat"] == pytest.approx(10.0, rel=1 / 3)
    assert figures(ORIFICE, 2)["superheat"] == pytest.approx(0.0, abs=1.0)


def test_a_valve_hides_the_neighbour() -> None:
    alone, both = figures(ThermostaticValve(), 1), figures(ThermostaticValve(), 2)
    assert both["superheat"] == pytest.approx(alone["superheat"], abs=1.0)


@pytest.mark.hours
def test_the_second_stage_comes_to_where_both_have_run_for_long_and_heat_and_mass_balance() -> None:
    parameters = [UnitParameters(metering=FixedOrifice())] * 2
    unit = TwoCircuitUnit(parameters, stages=1)
    charges = [circuit.charge_kg for circuit in unit.circuits]
    stored_j = sum(circuit.stored_j for circuit in unit.circuits)
    assert [circuit.is_running for circuit in unit.circuits] == [True, False]
    net_j = moved_j = 0.0
    unit.call(stages=2)
    for second in range(1100):
        if second == 900:
            unit.call(stages=1)
        for _ in range(4):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (flows.evaporator_w + flows.compressor_w)
        if second == 899:
            settled = figures(FixedOrifice(), 2)
            for name, value in _figures(unit).items():
                assert value == pytest.approx(settled[name], abs=0.5), name
    assert [circuit.charge_kg for circuit in unit.circuits] == pytest.approx(charges, abs=1e-10)
    assert sum(circuit.stored_j for circuit in unit.circuits) - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)


@pytest.mark.hours
def test_a_circuit_at_rest_beside_one_that_runs_stands_below_the_room() -> None:
    unit = TwoCircuitUnit([UnitParameters()] * 2, stages=1)
    unit.step(900.0)
    room_pa = PropsSI("P", "T", Conditions().return_air_k, "Q", 0, "R410A")
    assert unit.true_state(1)["suction_pressure"] < 0.93 * room_pa
    assert unit.true_state(1)["compressor_current"] == 0.0
    assert unit.true_state(1)["supply_air_temperature"] == unit.true_state(0)["supply_air_temperature"]


def test_what_cannot_be_one_unit_is_refused() -> None:
    with pytest.raises(SimulatorError, match="no 3 stages; give 0, 1 or 2"):
        TwoCircuitUnit([UnitParameters()] * 2, stages=3)
    with pytest.raises(SimulatorError, match="two circuits of one unit stand in the same air"):
        TwoCircuitUnit([UnitParameters(), UnitParameters(conditions=Conditions(outdoor_air_k=300.0))])
