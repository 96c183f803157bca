"""Doubts, on the simulated unit: a slip of the hand is told from its readings, an illness raises none that hides it."""

from dataclasses import replace

import pytest

from calc.doubts.observed import LIKELY, Doubt
from calc.doubts.plausibility import doubts
from calc.estimate import Estimate
from calc.quantities import CHANNELS, Quantity
from calc.situation import Situation
from simulators.bench.instruments import Sensor
from simulators.bench.scenario import Scenario, load_scenario
from simulators.unit.model import Unit

WATCHED_S = 1200
STEP_S = 20.0
UNCERTAIN = {Quantity.PRESSURE: 3500.0, Quantity.TEMPERATURE: 0.25, Quantity.CURRENT: 0.08}
"""Of ordinary field instruments: ±1 psi, ±0.9 °F, ±0.15 A at k = 2 (common practice, no source)."""


def found(scenario: Scenario) -> list[Doubt]:
    """Run the unit, and look at every step at what its instruments say, as their papers have it."""
    unit = Unit(scenario.parameters, at_rest=scenario.starts_after_s is not None)
    barometer_pa = scenario.parameters.conditions.barometric_pressure_pa
    outputs = [output for instrument in scenario.instruments for output in instrument.outputs]
    sensors = {output: Sensor(output.setting, output.channel) for output in outputs}
    raised: list[Doubt] = []
    for _ in range(round(WATCHED_S / STEP_S)):
        unit.step(STEP_S)
        state = unit.true_state()
        readings = {}
        for output, sensor in sensors.items():
            value = sensor.feel(output.truth(state), STEP_S)
            taken = value + barometer_pa if output.sends_absolute else value
            readings[output.channel] = Estimate(taken, UNCERTAIN.get(CHANNELS[output.channel], 1.0))
        running = readings["compressor_current"].value > 1.0
        now = Situation(
            refrigerant=scenario.file.unit.refrigerant,
            measured=readings,
            barometric_pressure_pa=barometer_pa,
            running=running,
            references={"suction_pressure": "gauge", "liquid_pressure": "gauge"},
        )
        raised += doubts(now)
    return raised


@pytest.mark.parametrize(
    "name",
    [
        "low_charge",
        *(pytest.param(it, marks=pytest.mark.hours) for it in ("all_is_well", "overcharged", "starved_coil")),
        *(pytest.param(it, marks=pytest.mark.hours) for it in ("dirty_condenser", "air_inside", "tight_drier")),
    ],
)
def test_an_illness_is_not_taken_for_a_slip(name: str) -> None:
    assert [doubt for doubt in found(load_scenario(name)) if doubt.confidence >= LIKELY] == []


SLIPS = {
    "hoses exchanged": (
        {"suction_pressure": "liquid_pressure", "liquid_pressure": "suction_pressure"},
        ("suction_pressure", "liquid_pressure"),
    ),
    "clamps exchanged": (
        {
            "suction_line_temperature": "liquid_line_temperature",
            "liquid_line_temperature": "suction_line_temperature",
        },
        ("suction_line_temperature", "liquid_line_temperature"),
    ),
    "air probes exchanged": (
        {"return_air_temperature": "supply_air_temperature", "supply_air_temperature": "return_air_temperature"},
        ("return_air_temperature", "supply_air_temperature"),
    ),
    "the suction clamp hangs in the air": (
        {"suction_line_temperature": "outdoor_air_temperature"},
        ("suction_line_temperature",),
    ),
}


@pytest.mark.parametrize(
    "slip", [pytest.param(it, marks=() if it == "clamps exchanged" else pytest.mark.hours) for it in SLIPS]
)
def test_a_slip_is_told(slip: str) -> None:
    places, channels = SLIPS[slip]
    scenario = load_scenario("all_is_well")
    instruments = tuple(
        replace(it, outputs=tuple(replace(output, found_at=places.get(output.channel)) for output in it.outputs))
        for it in scenario.instruments
    )
    raised = found(replace(scenario, instruments=instruments))
    assert {doubt.channels for doubt in raised if doubt.confidence >= LIKELY} == {channels}
