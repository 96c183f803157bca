"""A liquid line that rises: what its column takes of the pressure, and what follows where liquid flashes on its way."""

from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.errors import SimulatorError
from simulators.unit.line_set import LineSet, liquid_column
from simulators.unit.metering import FixedOrifice, ThermostaticValve
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters
from simulators.unit.sizing import Build, size
from tests.simulators.unit.settled import settled

FOOT, PSI = 0.3048, 6894.757


def superheat_dk(unit: Unit) -> float:
    state = unit.true_state()
    return float(state["suction_line_temperature"] - PropsSI("T", "P", state["suction_pressure"], "Q", 1, "R410A"))


def test_a_foot_of_liquid_column_takes_its_published_pressure() -> None:
    """R-22 loses half a psi a foot (common practice, no source), and R-410A less, by CoolProp's liquid densities."""
    for fluid, psi_a_foot in (("R22", 0.50), ("R410A", 0.43)):
        density = PropsSI("D", "T", 311.0, "Q", 0, fluid)
        assert liquid_column(density, FOOT) / PSI == pytest.approx(psi_a_foot, rel=0.05)


def test_a_valve_makes_good_a_rise_within_its_subcooling() -> None:
    level, raised = settled(), settled(UnitParameters(liquid_rise_m=10.0))
    assert superheat_dk(raised) == pytest.approx(superheat_dk(level), abs=1.0)
    assert raised.true_state()["suction_pressure"] == pytest.approx(level.true_state()["suction_pressure"], rel=0.02)


def test_a_unit_low_on_charge_starves_on_a_riser_where_its_liquid_flashes() -> None:
    low = UnitParameters(charge_kg=2.9, metering=ThermostaticValve())
    level, raised = settled(low), settled(replace(low, liquid_rise_m=20.0))
    assert superheat_dk(raised) > superheat_dk(level) + 2.0
    assert raised.true_state()["suction_pressure"] < level.true_state()["suction_pressure"]


def test_an_orifice_is_fed_less_uphill_and_more_downhill() -> None:
    raised = [UnitParameters(metering=FixedOrifice(), liquid_rise_m=rise_m) for rise_m in (-8.0, 0.0, 8.0)]
    superheats = [superheat_dk(settled(parameters)) for parameters in raised]
    assert superheats[0] < superheats[1] - 0.3
    assert superheats[2] > superheats[1] + 0.3


def test_a_rise_is_part_of_the_line_set_and_heat_balances_with_it() -> None:
    parameters = size(Build(10_550.0, 2.9, compressor_rla_a=16.0, phases=1, line_set=LineSet(15.0, rise_m=6.0)))
    assert parameters.liquid_rise_m == 6.0
    flows = settled(parameters).heat_flows()
    taken_in = flows.evaporator_w + flows.compressor_w
    assert taken_in == pytest.approx(flows.condenser_w + flows.shell_loss_w, rel=1e-3)
    with pytest.raises(SimulatorError, match="rise_m is 90"):
        LineSet(15.0, rise_m=90.0)
