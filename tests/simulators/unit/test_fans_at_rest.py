"""Fans that go on beside a compressor that stands: the call lasts, and only the compressor's own protector is open.

That a protector in the winding opens the motor alone is common practice, no source; the heat is held to its balance.
"""

from dataclasses import replace

import pytest

from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.simulators.unit.settled import USUAL, settled

HOT = Conditions(outdoor_air_k=311.15, return_air_k=297.0)
TRIPS = UnitParameters(conditions=HOT, compressor_motor=replace(USUAL.compressor_motor, rated_load_a=4.0))
"""Its motor is far too small for its load: it runs for a while, and then its protector opens."""


def tripped() -> Unit:
    unit = settled(TRIPS)
    while unit.is_running:
        unit.step(1.0)
    return unit


def test_after_a_trip_both_fans_go_on_as_long_as_the_call_lasts() -> None:
    unit = tripped()
    unit.step(30.0)
    state = unit.true_state()
    assert (unit.is_running, unit.held_by, state["compressor_current"]) == (False, "", 0.0)
    assert state["condenser_fan_current"] > 1.0
    assert state["blower_current"] > 1.0
    unit.call(cooling=False)
    unit.step(30.0)
    state = unit.true_state()
    assert (state["condenser_fan_current"], state["blower_current"]) == (0.0, 0.0)


def test_with_the_fans_the_coils_come_to_their_air_much_sooner_than_in_still_air() -> None:
    off_too = tripped()
    off_too.call(cooling=False)
    with_fans = tripped()
    for unit in (with_fans, off_too):
        unit.step(40.0)
    over_dk = [unit.true_state()["liquid_line_temperature"] - HOT.outdoor_air_k for unit in (with_fans, off_too)]
    assert over_dk[0] < 0.5 * over_dk[1]


def test_a_cold_coil_still_cools_the_air_for_a_while_and_heat_balances() -> None:
    """What came in less what went out is what refrigerant, coils and shell hold more than before."""
    unit = tripped()
    stored_j, net_j, moved_j = unit.stored_j, 0.0, 0.0
    splits = []
    for _ in range(4 * 240):
        unit.step(0.25)
        flows = unit.heat_flows()
        net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
        moved_j += 0.25 * (abs(flows.evaporator_w) + abs(flows.condenser_w))
        splits.append(HOT.return_air_k - unit.true_state()["supply_air_temperature"])
    assert splits[4 * 20] > 1.0
    assert splits[-1] == pytest.approx(0.0, abs=0.7)
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)


def test_on_a_cut_out_the_contactor_is_open_and_only_the_blower_goes_on() -> None:
    unit = settled(replace(TRIPS, compressor_motor=USUAL.compressor_motor, faults=Faults(fan_capacitor=0.0)))
    while not unit.cut_out:
        unit.step(1.0)
    unit.step(5.0)
    state = unit.true_state()
    assert (unit.is_running, state["condenser_fan_current"]) == (False, 0.0)
    assert state["blower_current"] > 1.0
