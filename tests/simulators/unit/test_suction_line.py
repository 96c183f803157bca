"""The suction line of a split unit, and what the oil in the sump takes up: against textbook formulas.

Friction: Darcy and Weisbach with the factor of Colebrook for a smooth pipe, in place of the model's McAdams.
"""

import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.unit.line_set import LineSet
from simulators.unit.model import Unit
from simulators.unit.sizing import RATING, Build, size
from simulators.unit.suction_line import SuctionLine
from simulators.unit.sump import Sump
from tests.simulators.unit.settled import settled

PSI, FOOT = 6894.757, 0.3048
VISCOSITY = 1.25e-5


def colebrook(reynolds: float) -> float:
    factor = 0.02
    for _ in range(30):
        factor = (-2.0 * math.log10(2.51 / (reynolds * math.sqrt(factor)))) ** -2
    return factor


@pytest.mark.parametrize(("flow_kg_s", "bore_m"), [(0.02, 0.0109), (0.06, 0.0173), (0.1, 0.0199)])
def test_friction_is_that_of_a_smooth_pipe(flow_kg_s: float, bore_m: float) -> None:
    density = PropsSI("D", "T", 287.0, "P", 0.95e6, "R410A")
    speed = flow_kg_s / (density * math.pi / 4 * bore_m**2)
    reynolds = density * speed * bore_m / VISCOSITY
    expected = colebrook(reynolds) * 20.0 / bore_m * density * speed**2 / 2
    assert SuctionLine(20.0, bore_m).drop_pa(flow_kg_s, density) == pytest.approx(expected, rel=0.04)
    assert SuctionLine(20.0, bore_m).drop_pa(0.0, density) == 0.0


def test_warmth_comes_through_half_an_inch_of_insulation() -> None:
    """Fourier for a cylinder: 2 pi k / ln(outside over inside), foam's k 0.04 W/(m K), outside film 8."""
    inside_m, outside_m = 0.0191 / 2, 0.0191 / 2 + 0.0127
    resistance = math.log(outside_m / inside_m) / (2 * math.pi * 0.04) + 1.0 / (8.0 * 2 * math.pi * outside_m)
    gain_w = SuctionLine(20.0, 0.0173).gain_w(285.0, 305.0)
    assert gain_w == pytest.approx(20.0 * 20.0 / resistance, rel=0.05)


def split(length_m: float) -> Unit:
    return settled(
        replace(
            size(Build(10_550.0, 2.9, compressor_rla_a=16.0, phases=1, line_set=LineSet(length_m))), conditions=RATING
        )
    )


@pytest.mark.hours
def test_a_longer_line_costs_suction_pressure_and_heat_and_warms_the_vapour() -> None:
    short, long = split(15.0 * FOOT), split(100.0 * FOOT)
    before, after = short.true_state(), long.true_state()
    lost_psi = (before["suction_pressure"] - after["suction_pressure"]) / PSI
    # 3/4 in for 3 tons of R-410A loses 3 psi in 100 ft, some 1 °F, and a per cent or two of capacity (from memory)
    assert 1.0 <= lost_psi <= 4.5
    assert after["suction_line_temperature"] > before["suction_line_temperature"] + 1.0
    assert 0.94 <= long.heat_flows().evaporator_w / short.heat_flows().evaporator_w < 1.0


@pytest.mark.hours
def test_heat_balances_with_what_the_line_takes_up() -> None:
    unit = split(100.0 * FOOT)
    flows = unit.heat_flows()
    assert flows.evaporator_w + flows.compressor_w == pytest.approx(flows.condenser_w + flows.shell_loss_w, rel=1e-4)
    stored_j, net_j, moved_j = unit.stored_j, 0.0, 0.0
    for call, seconds in ((False, 120), (True, 400), (False, 300)):
        unit.call(cooling=call)
        for _ in range(4 * seconds):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (abs(flows.evaporator_w) + flows.compressor_w)
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)


def test_at_rest_a_line_loses_nothing() -> None:
    unit = split(100.0 * FOOT)
    unit.call(cooling=False)
    unit.step(3600.0)
    state = unit.true_state()
    assert state["suction_pressure"] == pytest.approx(state["liquid_pressure"], rel=0.01)


def test_oil_takes_up_refrigerant_with_pressure_and_gives_it_back_with_warmth() -> None:
    """R-410A in a polyol ester at 40 °C and 10 bar: some 20 % of the mixture (from memory, no table at hand)."""
    sump = Sump()
    held_kg = sump.equilibrium_kg(1.0e6, 313.15)
    assert held_kg / (held_kg + sump.oil_kg) == pytest.approx(0.20, abs=0.06)
    assert sump.equilibrium_kg(1.2e6, 313.15) > held_kg > sump.equilibrium_kg(1.0e6, 333.15)
