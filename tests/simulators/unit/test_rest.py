"""A unit at rest: where its pressure ends, what air in it adds, how its coils drift, and that no heat is lost.

Saturation and densities are CoolProp's (R-410A); air is the ideal gas of any textbook.
"""

import math
from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.errors import SimulatorError
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from tests.simulators.unit.settled import rested, settled

PSI = 6894.757
ATMOSPHERE_PA, ROOM_K, GAS_CONSTANT = 101_325.0, 293.15, 8.314462618
OUTDOORS_INDOORS_K = {"same": (298.15, 298.15), "cold outdoors": (283.15, 297.15), "hot outdoors": (308.15, 297.15)}
SHARES = [0.1, 0.5, 1.0]


def saturated(what: str, temperature_k: float, quality: int) -> float:
    return float(PropsSI(what, "T", temperature_k, "Q", quality, "R410A"))


def bubble_point_f(unit: Unit) -> float:
    return 1.8 * float(PropsSI("T", "P", unit.true_state()["liquid_pressure"], "Q", 0, "R410A"))


@cache
def at_rest(where: str, share: float) -> Unit:
    """An hour after it stopped, with air in it that once filled this share of the circuit at one atmosphere."""
    outdoor_k, indoor_k = OUTDOORS_INDOORS_K[where]
    conditions = Conditions(outdoor_air_k=outdoor_k, return_air_k=indoor_k)
    unit = settled(UnitParameters(metering=FixedOrifice(), conditions=conditions))
    if share:
        unit.let_air_in(share * ATMOSPHERE_PA * unit.internal_volume_m3 / (GAS_CONSTANT * ROOM_K))
        unit.step(60.0)
    unit.call(cooling=False)
    unit.step(3600.0)
    return unit


def pressure_of_air(unit: Unit, coldest_k: float, share: float) -> float:
    """Ideal gas in what the liquid, all in the coldest coil, leaves free."""
    held_kg = unit.charge_kg - unit.held_kg()["sump"]
    liquid, vapour = saturated("D", coldest_k, 0), saturated("D", coldest_k, 1)
    room_m3 = (liquid * unit.internal_volume_m3 - held_kg) / (liquid - vapour)
    return share * ATMOSPHERE_PA * unit.internal_volume_m3 / room_m3 * coldest_k / ROOM_K


@pytest.mark.parametrize(
    "where",
    [pytest.param(where, marks=() if where == "hot outdoors" else pytest.mark.hours) for where in OUTDOORS_INDOORS_K],
)
def test_the_gauge_shows_saturation_at_the_coldest_wet_coil_and_the_air_there(where: str) -> None:
    coldest_k = min(OUTDOORS_INDOORS_K[where])
    clean = at_rest(where, 0.0).true_state()
    assert clean["liquid_pressure"] == pytest.approx(saturated("P", coldest_k, 0), rel=0.01)
    assert clean["suction_pressure"] == pytest.approx(clean["liquid_pressure"], rel=2e-3)
    for share in SHARES:
        unit = at_rest(where, share)
        over_pa = unit.true_state()["liquid_pressure"] - clean["liquid_pressure"]
        assert over_pa == pytest.approx(pressure_of_air(unit, coldest_k, share), rel=0.05), share
        assert unit.true_state()["suction_pressure"] == pytest.approx(unit.true_state()["liquid_pressure"], rel=2e-3)


@pytest.mark.hours
def test_a_circuit_that_was_full_of_air_reads_some_four_or_five_degrees_high_and_a_tenth_hardly() -> None:
    """Field arithmetic: 15 to 20 psi, which is 4 to 5 °F; a tenth of it is 0.4 °F, and convicts nobody."""
    clean_f = bubble_point_f(at_rest("same", 0.0))
    high_f = {share: bubble_point_f(at_rest("same", share)) - clean_f for share in SHARES}
    assert high_f[0.1] == pytest.approx(0.45, abs=0.15)
    assert 4.0 <= high_f[1.0] <= 5.5
    assert high_f[0.5] == pytest.approx(0.5 * high_f[1.0], rel=0.1)


@pytest.mark.hours
def test_air_stays_in_through_a_rest_and_is_in_the_condenser_again_after_the_start() -> None:
    unit = settled(UnitParameters(faults=Faults(non_condensables_pa=1.5e5)))
    before, air_mol = unit.true_state(), unit.air_mol
    unit.call(cooling=False)
    unit.step(1200.0)
    assert unit.true_state()["liquid_pressure"] > saturated("P", 297.04, 0) + 0.5e5
    unit.call(cooling=True)
    unit.step(2400.0)
    assert unit.air_mol == pytest.approx(air_mol, rel=1e-12)
    assert unit.true_state()["liquid_pressure"] == pytest.approx(before["liquid_pressure"], rel=2e-3)


def test_coils_drift_to_what_is_around_them_by_the_time_constant_of_their_metal() -> None:
    """The liquid line hangs on the condenser; what it holds makes it slower than the 150 s of empty metal."""
    unit = settled(UnitParameters(metering=FixedOrifice(), conditions=Conditions(outdoor_air_k=308.15)))
    unit.call(cooling=False)
    unit.step(60.0)
    over = []
    for _ in range(3):
        over.append(unit.true_state()["liquid_line_temperature"] - 308.15)
        unit.step(150.0)
    assert 1.0 < over[0] < 8.0
    assert math.exp(-1.3) < over[1] / over[0] < math.exp(-0.6)
    assert abs(over[2]) < 1.0


@pytest.mark.parametrize("metering", [UnitParameters().metering, FixedOrifice()], ids=["valve", "orifice"])
def test_heat_and_mass_balance_through_stop_rest_and_start(metering: FixedOrifice) -> None:
    """What came in less what went out is what refrigerant, coils and shell hold more than before."""
    unit = settled(UnitParameters(metering=metering))
    stored_j, charge_kg = unit.stored_j, unit.charge_kg
    net_j = moved_j = 0.0
    for calls, seconds in ((True, 30), (False, 900), (True, 600), (False, 30)):
        unit.call(cooling=calls)
        for _ in range(seconds * 4):
            unit.step(0.25)
            flows = unit.heat_flows()
            net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
            moved_j += 0.25 * (abs(flows.evaporator_w) + flows.compressor_w)
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1e-3 * moved_j)
    assert unit.charge_kg == pytest.approx(charge_kg, abs=1e-10)


def test_heat_balances_in_the_first_seconds_of_a_rest_too() -> None:
    """The shell gets no more heat from gas that no longer comes: a step of it was some 30 J."""
    unit = settled(UnitParameters(charge_kg=3.0))
    unit.add(0.2, "liquid")
    unit.step(60.0)
    unit.call(cooling=False)
    stored_j, net_j = unit.stored_j, 0.0
    for _ in range(8):
        unit.step(0.25)
        flows = unit.heat_flows()
        net_j += 0.25 * (flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w)
    assert unit.stored_j - stored_j == pytest.approx(net_j, abs=1.0)


def test_a_unit_found_at_rest_has_drifted_to_its_end() -> None:
    state = rested(UnitParameters(conditions=Conditions(outdoor_air_k=283.15))).true_state()
    assert state["liquid_pressure"] == pytest.approx(saturated("P", 283.15, 0), rel=0.02)


def test_air_that_cannot_be_is_refused() -> None:
    with pytest.raises(SimulatorError, match=r"0.0 mol of air cannot be let in"):
        settled().let_air_in(0.0)
