"""What a technician does to a unit at rest: recover, pressurise, evacuate, weigh in, and what a hose takes along.

Closed forms are the ideal gas's and those of any textbook; saturation and densities are CoolProp's.
"""

from collections.abc import Callable
from copy import deepcopy
from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from simulators.errors import SimulatorError
from simulators.unit import properties
from simulators.unit.metering import FixedOrifice
from simulators.unit.model import Unit
from simulators.unit.parameters import Conditions, Faults, UnitParameters
from simulators.unit.service_tools import Cylinder, Hose, RecoveryMachine, VacuumPump, put_nitrogen
from tests.simulators.unit.settled import rested, settled

ROOM_K = 298.15
MICRON = 0.133322
ATMOSPHERE_PA, GAS_CONSTANT = 101_325.0, 8.314462618
SAME = Conditions(outdoor_air_k=ROOM_K, return_air_k=ROOM_K)


def design(faults: Faults | None = None) -> UnitParameters:
    return UnitParameters(metering=FixedOrifice(), conditions=SAME, faults=faults or Faults())


def work(unit: Unit, seconds: float, tool: Callable[[float], object]) -> float:
    """Let a tool work second by second, and tell by how much the books of heat are off, over what passed."""
    stored_j, moved_j = unit.stored_j, unit.ports.moved_j
    net_j = passed_j = 0.0
    for _ in range(round(seconds)):
        before_j = unit.ports.moved_j
        tool(1.0)
        unit.step(1.0)
        flows = unit.heat_flows()
        net_j += flows.evaporator_w + flows.compressor_w - flows.condenser_w - flows.shell_loss_w
        passed_j += abs(flows.evaporator_w) + abs(flows.condenser_w) + abs(unit.ports.moved_j - before_j)
    return abs(unit.stored_j - stored_j - net_j - (unit.ports.moved_j - moved_j)) / passed_j


def left_alone(_: float) -> None:
    """Nobody does anything."""


@cache
def _recovered(faults: Faults) -> tuple[Unit, RecoveryMachine, float]:
    unit, machine = rested(design(faults)), RecoveryMachine()
    off = work(unit, 2400.0, lambda step_s: machine.work(unit.ports, step_s))
    return unit, machine, off


@cache
def _evacuated(faults: Faults) -> tuple[Unit, float, float]:
    """The unit, how much refrigerant the pump blew out [kg], and by how much the books of heat are off."""
    unit, pump, lost_kg = deepcopy(_recovered(faults)[0]), VacuumPump(), 0.0

    def pumps(step_s: float) -> None:
        nonlocal lost_kg
        lost_kg += pump.work(unit.ports, step_s)

    off = work(unit, 3600.0, pumps)
    return unit, lost_kg, off


def evacuated(faults: Faults | None = None) -> Unit:
    return deepcopy(_evacuated(faults or Faults())[0])


def test_recovery_takes_all_but_what_the_oil_holds_and_what_the_level_leaves() -> None:
    unit, machine, off = _recovered(Faults())
    assert machine.recovered_kg + unit.charge_kg == pytest.approx(3.40, abs=1e-9)
    assert off < 1e-3
    assert unit.ports.pressure_pa("suction") < 0.9 * ATMOSPHERE_PA
    vapour_kg = PropsSI("D", "P", machine.lowest_pa, "T", ROOM_K, "R410A") * unit.internal_volume_m3
    assert unit.charge_kg - unit.held_kg()["sump"] == pytest.approx(vapour_kg, abs=0.02)


def test_recovery_boils_the_circuit_cold_and_the_oil_gives_more_off_afterwards() -> None:
    unit, machine = rested(design()), RecoveryMachine()
    coldest_k = ROOM_K
    while unit.ports.pressure_pa("suction") > 1.2 * machine.lowest_pa:
        work(unit, 1.0, lambda step_s: machine.work(unit.ports, step_s))
        coldest_k = min(coldest_k, unit.ports.metal_k("suction"), unit.ports.metal_k("liquid"))
    assert coldest_k < ROOM_K - 5.0
    before_pa = unit.ports.pressure_pa("suction")
    unit.step(600.0)
    assert unit.ports.pressure_pa("suction") > before_pa + 1e4


def test_a_dry_tight_circuit_reaches_500_micron_and_holds_it() -> None:
    """Installation manuals: 500 micron, and not above after 20 min isolated."""
    unit = evacuated()
    assert unit.ports.pressure_pa("suction") < 250.0 * MICRON
    unit.step(1200.0)
    assert unit.ports.pressure_pa("suction") < 500.0 * MICRON


def test_heat_and_mass_balance_while_a_vacuum_is_drawn() -> None:
    before_kg = _recovered(Faults())[0].charge_kg
    unit, lost_kg, off = _evacuated(Faults())
    assert lost_kg > 0.04  # what the recovery machine left, and the oil gave off
    assert unit.charge_kg + lost_kg == pytest.approx(before_kg, abs=1e-9)
    assert off < 1e-3


@pytest.mark.hours
def test_water_levels_off_at_its_vapour_pressure() -> None:
    """The rise that ends is moisture (common practice); where it ends is the vapour pressure of water (CoolProp)."""
    unit = evacuated(Faults(water_kg=0.03))
    pumped_pa = unit.ports.pressure_pa("suction")
    assert pumped_pa > 500.0 * MICRON
    unit.step(1200.0)
    assert unit.ports.pressure_pa("suction") == pytest.approx(PropsSI("P", "T", ROOM_K, "Q", 1, "Water"), rel=0.05)


@pytest.mark.hours
def test_a_little_water_is_pumped_off_in_time() -> None:
    unit = evacuated(Faults(water_kg=0.002))
    unit.step(1200.0)
    assert unit.ports.pressure_pa("suction") < 500.0 * MICRON


@pytest.mark.hours
def test_a_leak_raises_a_vacuum_at_an_even_rate() -> None:
    """p V = n R T: the rise is the leak over the volume, once the air is on its way through the circuit."""
    size = 2e-3
    unit, tight = evacuated(Faults(leak_pa_m3_s=size)), evacuated()
    for item in (unit, tight):
        item.step(900.0)
    started_pa = [item.ports.pressure_pa("suction") for item in (unit, tight)]
    for item in (unit, tight):
        item.step(1200.0)
    risen, own = (item.ports.pressure_pa("suction") - pa for item, pa in zip((unit, tight), started_pa, strict=True))
    assert risen - own == pytest.approx(size * 1200.0 / unit.internal_volume_m3, rel=0.02)


@pytest.mark.hours
def test_nitrogen_stands_and_falls_by_a_leak_as_the_squares_of_the_pressures() -> None:
    size = 0.004
    for faults in (Faults(), Faults(leak_pa_m3_s=size)):
        unit = evacuated(faults)
        put_nitrogen(unit.ports, 2.0e6)
        unit.step(1.0)
        assert unit.ports.pressure_pa("liquid") == pytest.approx(2.0e6, rel=0.01)
        unit.step(900.0)
        before_pa = unit.ports.pressure_pa("suction")
        unit.step(1800.0)
        fallen_pa = before_pa - unit.ports.pressure_pa("suction")
        expected = faults.leak_pa_m3_s * ((before_pa / ATMOSPHERE_PA) ** 2 - 1.0) / unit.internal_volume_m3 * 1800.0
        # dp/dt goes with p²: 1/p rises evenly
        assert fallen_pa == pytest.approx(expected / (1.0 + expected / before_pa), rel=0.05, abs=5e3)


@pytest.mark.hours
def test_liquid_weighed_into_a_vacuum_makes_the_unit_that_was_charged_so() -> None:
    unit, cylinder = evacuated(), Cylinder(properties.load("R-410A"), ROOM_K)
    left_kg = unit.charge_kg
    off = work(unit, 1200.0, lambda step_s: cylinder.weigh_in(unit.ports, step_s, most_kg=3.40 - left_kg))
    assert off < 1e-3
    assert unit.charge_kg == pytest.approx(left_kg + cylinder.given_kg, abs=1e-9)
    assert cylinder.given_kg > 1.5
    unit.call(cooling=True)
    unit.step(60.0)
    assert unit.is_running
    if 3.40 - unit.charge_kg > 1e-6:
        unit.add(3.40 - unit.charge_kg, "liquid")
    unit.step(3600.0)
    asked = settled(design()).true_state()
    for channel, value in unit.true_state().items():
        assert value == pytest.approx(asked[channel], rel=5e-3), channel


def test_cold_liquid_flashes_into_a_vacuum_and_chills_the_coil_at_first() -> None:
    unit, cylinder = evacuated(), Cylinder(properties.load("R-410A"), ROOM_K)
    work(unit, 10.0, lambda step_s: cylinder.weigh_in(unit.ports, step_s, most_kg=3.0))
    assert unit.ports.metal_k("liquid") < ROOM_K - 3.0


def test_a_hose_brings_its_air_in_and_takes_its_filling_along() -> None:
    unit, hose = rested(design()), Hose()
    hose.connect_unpurged(unit.ports, "suction", ROOM_K)
    assert unit.air_mol == pytest.approx(ATMOSPHERE_PA * hose.volume_m3 / (GAS_CONSTANT * ROOM_K))
    running = settled(design())
    before_kg = running.charge_kg
    lost_kg = hose.take_off(running.ports, "liquid")
    condensing_pa = running.true_state()["liquid_pressure"]
    assert lost_kg == pytest.approx(PropsSI("D", "P", condensing_pa, "Q", 0, "R410A") * hose.volume_m3, rel=0.02)
    assert running.charge_kg == pytest.approx(before_kg - lost_kg, abs=1e-12)
    assert hose.take_off(running.ports, "suction") < 0.1 * lost_kg


def test_a_leak_of_a_running_unit_takes_its_charge() -> None:
    unit = settled(design(Faults(leak_pa_m3_s=0.01)))
    before_kg = unit.charge_kg
    unit.step(600.0)
    suction_pa = unit.true_state()["suction_pressure"]
    density = PropsSI("D", "P", suction_pa, "Q", 1, "R410A")
    litres = 0.01 * ((suction_pa / ATMOSPHERE_PA) ** 2 - 1.0) / suction_pa * 600.0
    assert before_kg - unit.charge_kg == pytest.approx(density * litres, rel=0.1)


def test_more_than_there_is_cannot_leave() -> None:
    with pytest.raises(SimulatorError, match=r"the liquid port cannot give 50.0000 kg; behind it are"):
        rested(design()).ports.put("liquid", -50.0, 2e5)
