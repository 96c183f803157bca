"""The stated public functions of calc: their names, their arguments, and arrays wherever a float goes.

What each function gives, the tests of its module hold against print; here an array must give what its elements give.
"""

import inspect
import itertools
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from calc import (
    air,
    caloric,
    charging,
    coil,
    compression,
    estimate,
    expected_current,
    fan,
    flammable_room,
    heated_air,
    leak_flow,
    leakage,
    line_set,
    mode,
    motor,
    nitrogen,
    normalised,
    pattern,
    pull_down,
    recovery,
    saturation,
    sensors,
    superheat,
    targets,
    tubes,
    units,
    warming,
    wiring,
)
from calc.errors import CalcRangeError
from calc.estimate import Estimate
from calc.sensors import Beta
from calc.wiring import Slot

ROOT = Path(__file__).parents[2]
STATED = {
    "units": ("parse", "to_display", "parse_difference"),
    "saturation": ("dew_point", "bubble_point", "dew_pressure", "bubble_pressure", "dew_slope", "bubble_slope",
                   "names"),
    "refrigerants": ("get",),
    "estimate": ("Estimate",),
    "superheat": ("superheat", "subcooling"),
    "air": ("wet_bulb", "humidity_ratio", "enthalpy", "sensible_heat_w", "total_heat_w", "barometric_pressure"),
    "targets": ("target_superheat", "tolerances"),
    "settling": ("Settling", "assess"),
    "charging": ("judge", "next_addition", "liquid_feed_required", "safe_fill_mass"),
    "diagnosis": ("explain",),
    "motor": ("capacitance_under_load", "capacitor_verdict", "load_ratio", "unbalance", "derating", "mca", "mocp",
              "stored_energy_j", "discharge_time_s", "winding_check"),
    "wiring": ("awg_diameter_m", "awg_area_m2", "ampacity", "voltage_drop", "terminal_fit", "torque"),
    "leakage": ("annualized_rate", "rolling_rate", "threshold", "record_fields"),
    "sensors": ("rtd_temperature", "thermocouple_temperature", "thermistor_temperature", "current_loop", "ratiometric"),
    "catalogue": ("run",),
}  # fmt: skip
MORE_IN_PLACE = {"to_display": 3, "unbalance": 3, "judge": 3}
"""A value with its quantity and the system to show it in, three like phases, and what is judged by what and where."""

INSTRUMENTS = {"pressure_standard_uncertainty_pa": 3e3, "temperature_standard_uncertainty_k": 0.2}
FLOATS: list[tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]] = [
    (units.to_display, (3.2, "mass", "us"), {}),
    *((function, ("R-410A", 9e5), {}) for function in (saturation.dew_point, saturation.bubble_point)),
    *((function, ("R-454B", 9e5), {}) for function in (saturation.dew_slope, saturation.bubble_slope)),
    *((function, ("R-22", 280.0), {}) for function in (saturation.dew_pressure, saturation.bubble_pressure)),
    (superheat.superheat, ("R-410A", 9e5), {"suction_line_temperature_k": 284.0, **INSTRUMENTS}),
    (superheat.subcooling, ("R-410A", 25e5), {"liquid_line_temperature_k": 308.0, **INSTRUMENTS}),
    (superheat.model_uncertainty_k, ("R-410A", 9e5, 3e-5), {}),
    (air.barometric_pressure, (1600.0,), {}),
    (air.humidity_ratio, (299.0, 50.0), {"pressure_pa": 90e3}),
    (air.humidity_ratio_from_wet_bulb, (299.0, 290.0), {"pressure_pa": 90e3}),
    (air.wet_bulb, (299.0, 50.0), {"pressure_pa": 90e3}),
    (air.dew_point, (299.0, 50.0), {"pressure_pa": 90e3}),
    (fan.external_static_pressure, (Estimate(80.0, 2.0), Estimate(-70.0, 2.0)), {}),
    (fan.airflow_from_static, (Estimate(120.0, 2.0), (100.0, 150.0)), {
        "table_airflow_m3_per_s": (0.6, 0.5), "table_standard_uncertainty_ratio": 0.05}),
    (fan.fan_laws, (0.6, 120.0), {
        "shaft_power_w": 400.0, "speed_hz": 15.0, "other_speed_hz": 16.0, "density_ratio": 0.9}),
    (heated_air.resistance_heat_w, (Estimate(235.0, 2.0), Estimate(40.0, 0.5)), {"phases": 1}),
    (heated_air.airflow_from_heat_rise, (Estimate(9600.0, 200.0), Estimate(295.0, 0.5)), {
        "supply_air": Estimate(311.0, 0.5), "humidity": Estimate(40.0, 5.0), "barometric_pressure_pa": 9e4}),
    (heated_air.heating_performance, (Estimate(0.5, 0.04), Estimate(294.0, 0.25)), {
        "supply_air": Estimate(310.0, 0.25), "power": Estimate(3e3, 50.0), "humidity": Estimate(40.0, 5.0),
        "barometric_pressure_pa": 9e4}),
    (coil.measured_sensible_heat_ratio, (Estimate(299.8, 0.2), Estimate(51.0, 1.0)), {
        "supply_air": Estimate(287.6, 0.2), "supply_humidity": Estimate(85.0, 1.0), "barometric_pressure_pa": 9e4}),
    (coil.coil_approach, ("R-410A", 9e5), {"supply_air_k": 287.0, **INSTRUMENTS}),
    (coil.liquid_approach, (Estimate(311.0, 0.2), Estimate(308.0, 0.2)), {}),
    (caloric.vapour_density, ("R-410A", 9e5), {"temperature_k": 284.0}),
    (caloric.vapour_enthalpy, ("R-410A", 9e5), {"temperature_k": 284.0}),
    (caloric.liquid_enthalpy, ("R-410A", 305.0), {}),
    (tubes.acr_bore_m, (3 / 8 * 0.0254,), {}),
    (line_set.line_set_charge, ("R-410A", Estimate(20.0, 0.2)), {
        "included_length_m": 5.0, "liquid_bore_m": 8e-3, "vapour_bore_m": 0.02, "liquid_temperature_k": 308.0,
        "suction_pressure_pa": 9e5, "suction_temperature_k": 284.0}),
    (line_set.liquid_riser, ("R-410A", Estimate(25e5, 2e4)), {
        "liquid_temperature": Estimate(308.0, 0.2), "rise": Estimate(8.0, 0.1), "other_loss": Estimate(3e4, 1e4)}),
    (line_set.riser_velocity, ("R-410A", Estimate(1e4, 500.0)), {
        "bore_m": 0.02, "suction_pressure": Estimate(9e5, 1e4), "suction_temperature": Estimate(284.0, 0.2),
        "liquid_temperature_k": 308.0}),
    (flammable_room.room_charge, ("R-32", 20.0), {"release_height_m": 1.8}),
    (flammable_room.least_room_area_m2, ("R-32", 3.0), {"release_height_m": 1.8}),
    (flammable_room.share_of_flammable_limit, ("R-32", 3.0), {"room_area_m2": 20.0, "ceiling_m": 2.4}),
    (normalised.cooling_ratios, (291.0, 309.0), {}),
    (normalised.normalised, (Estimate(9e3, 500.0), Estimate(3e3, 50.0)), {
        "return_wet_bulb": Estimate(291.0, 0.3), "outdoor_air": Estimate(309.0, 0.3)}),
    (normalised.charge_power_ratio, (-0.2,), {"return_air_k": 298.0, "outdoor_k": 305.0}),
    (expected_current.current_by_nameplate, (20.0,), {
        "now": expected_current.Conditions(291.0, 309.0, 228.0), "nameplate_v": 230.0}),
    (expected_current.current_by_reading, (Estimate(14.0, 0.2),), {
        "then": expected_current.Conditions(292.0, 305.0, 232.0),
        "now": expected_current.Conditions(291.0, 309.0, 228.0)}),
    (mode.tell_mode, (), {
        "return_air": Estimate(297.0, 0.2), "supply_air": Estimate(286.0, 0.2), "outdoor_air": Estimate(305.0, 0.5),
        "vapour_line_pressure": Estimate(9e5, 1e4), "liquid_line_pressure": Estimate(25e5, 2e4),
        "compressor_current": Estimate(9.0, 0.1), "rated_load_a": 14.0, "outdoor_fan_runs": True}),
    (warming.co2_equivalent, ("R-32", Estimate(3.0, 0.1)), {}),
    (compression.compression_ratio, (Estimate(9e5, 1e4), Estimate(25e5, 3e4)), {}),
    (compression.discharge_superheat, ("R-410A", 25e5), {"discharge_line_temperature_k": 350.0, **INSTRUMENTS}),
    (air.enthalpy, (299.0, 0.01), {}),
    (air.density, (299.0, 0.01), {"pressure_pa": 90e3}),
    (air.density_ratio, (90e3,), {}),
    (air.sensible_heat_w, (0.5, 10.0), {"pressure_pa": 90e3}),
    (air.total_heat_w, (0.5, 15e3), {"pressure_pa": 90e3}),
    (targets.target_superheat, (292.6, 308.2), {}),
    (charging.safe_fill_mass, ("R-134a",), {"water_capacity_kg": 12.0, "liquid_temperature_k": 305.0}),
    (charging.line_set_charge, ("R-410A",), {"bore_m": 8e-3, "length_m": 6.0, "liquid_temperature_k": 305.0}),
    (charging.line_set_charge_per_length, ("R-410A",), {"bore_m": 8e-3, "liquid_temperature_k": 305.0}),
    (motor.capacitance_under_load, (4.6, 345.0), {"frequency_hz": 60.0, "current_standard_uncertainty_a": 0.05,
                                                  "voltage_standard_uncertainty_v": 2.5}),
    (motor.capacitor_verdict, (Estimate(42e-6, 1e-7), 45e-6), {"tolerance_ratio": 0.06}),
    (motor.load_ratio, (9.0, 12.0), {}),
    (motor.unbalance, (452.0, 464.0, 455.0), {}),
    (motor.derating, (0.019,), {}),
    (motor.supply_limits, (208.0, 230.0), {}),
    (motor.three_phase_power, (460.0, 18.0), {"power_factor": 0.85}),
    (motor.power_factor, (12e3,), {"line_voltage_v": 460.0, "line_current_a": 18.0}),
    (motor.mca, (20.0, 2.5), {"electric_heat_a": 10.0}),
    (motor.mocp, (20.0, 2.5), {"electric_heat_a": 10.0}),
    (motor.stored_energy_j, (45e-6, 520.0), {}),
    (motor.discharge_time_s, (45e-6, 20e3), {"from_v": 520.0, "to_v": 50.0}),
    (motor.winding_check, (11.0, 4.0), {"start_run_ohm": 15.0, "tolerance_ratio": 0.05}),
    (wiring.ampacity, ("10", 75), {"ambient_temperature_k": 313.0}),
    (wiring.smallest_conductor, (31.0, 75), {"ambient_temperature_k": 313.0}),
    (wiring.overcurrent_limit, ("10", 75), {"article_440_mocp_a": 50.0, "ambient_temperature_k": 313.0}),
    (wiring.voltage_drop, ("12", 30.0), {"current_a": 16.0, "circuit_v": 240.0, "phases": 1}),
    (wiring.torque, ("12", Slot.WIDE), {"maker_n_m": 4.0}),
    (wiring.joint, (0.06, 16.0), {"drop_standard_uncertainty_v": 5e-4, "current_standard_uncertainty_a": 0.1}),
    (wiring.ampacity, ("4", 75), {"ambient_temperature_k": 313.0, "metal": wiring.Metal.ALUMINIUM}),
    (wiring.hexagon_torque, ("4", wiring.Connector.OTHER), {"maker_n_m": 9.0}),
    (wiring.socket_torque, (0.00635,), {}),
    (wiring.control_transformer, (40.0, 24.0), {"primary_v": 240.0}),
    (wiring.transformer_volts, (30.0, 40.0), {
        "supply_v": 228.0, "primary_v": 240.0, "secondary_v": 24.0, "regulation_ratio": 0.1,
        "supply_standard_uncertainty_v": 2.0, "regulation_standard_uncertainty_ratio": 0.02}),
    (motor.insulation_at_40_degc, (2e8, 300.0), {
        "insulation": motor.Insulation.THERMOSETTING, "resistance_standard_uncertainty_ohm": 5e6,
        "temperature_standard_uncertainty_k": 2.0}),
    (motor.insulation_verdict, (Estimate(2e8, 1e7), motor.Winding.HERMETIC), {"rated_voltage_v": 230.0}),
    (motor.single_phase_power, (230.0, 10.0), {
        "power_factor": 0.8, "voltage_standard_uncertainty_v": 2.0, "current_standard_uncertainty_a": 0.1,
        "power_factor_standard_uncertainty": 0.02}),
    (motor.single_phase_power_factor, (1840.0,), {
        "voltage_v": 230.0, "current_a": 10.0, "real_standard_uncertainty_w": 20.0,
        "voltage_standard_uncertainty_v": 2.0, "current_standard_uncertainty_a": 0.1}),
    (nitrogen.nitrogen_pressure, (1.1e6, 300.0), {"end_temperature_k": 294.0}),
    (nitrogen.nitrogen_test, (1.1e6, 1.08e6), {
        "start_temperature_k": 300.0, "end_temperature_k": 294.0, "pressure_standard_uncertainty_pa": 3e3,
        "temperature_standard_uncertainty_k": 0.5}),
    (leak_flow.leak_flow, (1.1e6, 1.08e6), {
        "volume_m3": 0.012, "duration_s": 86400.0, "start_temperature_k": 300.0, "end_temperature_k": 294.0,
        "volume_standard_uncertainty_m3": 1e-3, "pressure_standard_uncertainty_pa": 3e3,
        "temperature_standard_uncertainty_k": 0.5}),
    (leak_flow.leak_mass_flow, (Estimate(1e-5, 1e-6), "R-410A"), {"temperature_k": 294.0}),
    (pull_down.hose_conductance, (6e-3, 1.5), {"mean_pressure_pa": 100.0}),
    (pull_down.pull_down, (0.012, 2e-3), {
        "end_pressure_pa": 66.0, "ultimate_pressure_pa": 6.0, "start_pressure_pa": 1e5, "bore_m": 6e-3,
        "length_m": 1.5}),
    (recovery.class_of_pressure, (2e6,), {}),
    (recovery.recovery_level, (recovery.PressureClass.HIGH, 100.0), {
        "machine_made": date(2020, 1, 1), "barometric_pressure_pa": 1e5}),
    (recovery.recovery_time, (10.0, 5e-3), {
        "liquid_mass_kg": 5.0, "liquid_kg_per_s": 5e-2, "mass_standard_uncertainty_kg": 0.05,
        "rate_standard_uncertainty_ratio": 0.1}),
    (leakage.annualized_rate, (2.0, 50.0), {"days_since_last_addition": 30.0}),
    (leakage.rolling_rate, ((2.0, 3.0), 50.0), {}),
    (sensors.rtd_resistance, (300.0, 100.0), {}),
    (sensors.rtd_temperature, (110.0, 100.0), {}),
    (sensors.thermocouple_voltage, (370.0, 298.0), {}),
    (sensors.thermocouple_temperature, (3e-3, 298.0), {}),
    (sensors.thermistor_temperature, (12e3, Beta(3950.0, 10e3)), {}),
    (sensors.current_loop, (12e-3,), {"low": 0.0, "high": 500.0}),
    (sensors.ratiometric, (2.5, 5.0), {"full_scale_pa": 3e6, "barometric_pressure_pa": 1e5}),
    (Estimate.probability_within, (Estimate(5.0, 0.5), 4.0, 6.0), {}),
    (Estimate.expanded, (Estimate(5.0, 0.5), 2.0), {}),
]  # fmt: skip
SHARES = np.array([1.0, 0.996, 1.004])


def varied(value: Any, share: Any) -> Any:
    if isinstance(value, Estimate):
        return Estimate(value.value * share, value.standard_uncertainty * share)
    return value * share


def at(result: Any, index: int) -> Any:
    """One element of a result: of an array, or of each field of a struct of them."""
    if isinstance(result, np.ndarray):
        return result[index]
    if isinstance(result, tuple) and not hasattr(result, "_fields"):
        return tuple(part if isinstance(part, str) else at(part, index) for part in result)
    if is_dataclass(result):
        return {it.name: at(getattr(result, it.name), index) for it in fields(result)}
    return result


def alone(result: Any) -> Any:
    if isinstance(result, tuple):
        return tuple(map(alone, result))
    if is_dataclass(result):
        return {it.name: alone(getattr(result, it.name)) for it in fields(result)}
    return result


def same(one: Any, other: Any) -> bool:
    if isinstance(one, dict):
        return all(same(one[name], other[name]) for name in one)
    if isinstance(one, tuple):
        return all(map(same, one, other))
    if isinstance(one, str | bool | np.bool_ | np.str_):
        return bool(one == other)
    numbers = [np.nan if it is None else float(it) for it in (one, other)]
    return bool(np.isclose(*numbers, rtol=1e-12, equal_nan=True))


def places(arguments: tuple[Any, ...], named: dict[str, Any]) -> list[int | str]:
    return [place for place, value in [*enumerate(arguments), *named.items()] if isinstance(value, float | Estimate)]


@pytest.mark.parametrize(
    ("function", "arguments", "named"), FLOATS, ids=lambda value: getattr(value, "__qualname__", "")
)
def test_an_array_gives_what_its_elements_give(
    function: Callable[..., Any], arguments: tuple[Any, ...], named: dict[str, Any]
) -> None:
    floats = places(arguments, named)
    assert floats
    for which in [*((place,) for place in floats), tuple(floats)]:

        def call(share: Any, which: tuple[int | str, ...] = which) -> Any:
            given = [varied(value, share) if place in which else value for place, value in enumerate(arguments)]
            by_name = {name: varied(value, share) if name in which else value for name, value in named.items()}
            return function(*given, **by_name)

        together = call(SHARES)
        for index, share in enumerate(SHARES.tolist()):
            assert same(at(together, index), alone(call(share))), (which, share)


def test_every_stated_function_that_takes_a_float_is_tried() -> None:
    tried = {function.__name__ for function, _, _ in FLOATS}
    taken_whole = {"parse", "parse_difference", "assess", "judge", "next_addition", "explain", "tolerances", "Settling"}
    no_float = {"names", "get", "liquid_feed_required", "awg_diameter_m", "awg_area_m2", "terminal_fit", "threshold",
                "record_fields", "run", "Estimate"}  # fmt: skip
    assert set(itertools.chain(*STATED.values())) <= tried | taken_whole | no_float


@pytest.mark.parametrize(("module", "names"), STATED.items())
def test_the_stated_names_are_there_and_keyword_only_after_the_first_two(module: str, names: tuple[str, ...]) -> None:
    for name in names:
        found = getattr(import_module(f"calc.{module}"), name)
        assert found.__doc__
        if inspect.isfunction(found):
            in_place = [it for it in inspect.signature(found).parameters.values() if it.kind is not it.KEYWORD_ONLY]
            assert len(in_place) <= MORE_IN_PLACE.get(name, 3 if module == "settling" else 2), name


def test_an_array_that_leaves_the_range_names_its_first_such_value() -> None:
    with pytest.raises(CalcRangeError, match="current_a is 900 A, outside 0 to 240 A"):
        motor.load_ratio(np.array([9.0, 900.0]), np.array([12.0, 12.0]))
    with pytest.raises(CalcRangeError, match="standard_uncertainty is -1"):
        estimate.Estimate(np.array([1.0, 2.0]), np.array([0.1, -1.0]))  # type: ignore[arg-type]


def test_blank_places_of_the_table_are_no_numbers() -> None:
    found = targets.target_superheat(np.array([292.594, 283.15]), 308.15)
    assert found[0] * 1.8 == pytest.approx(12.0, abs=0.01)  # California Title 24, RA3.2: between 10 and 14 °F
    assert np.isnan(found[1])  # a dash


RESULTS = [nitrogen.NitrogenTest, pull_down.PullDown, recovery.RecoveryLevel, pattern.Followed, motor.InsulationVerdict,
           motor.SinglePhasePower, motor.StartDiagnosis, wiring.ControlTransformer]  # fmt: skip


@pytest.mark.parametrize("result", RESULTS, ids=lambda result: result.__name__)
def test_a_result_stays_as_it_was_given(result: type) -> None:
    assert result.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert "__slots__" in vars(result)


@pytest.mark.parametrize("room", ["calc", "ingest", "dashboard", "simulators", "commands"])
def test_each_room_says_that_it_is_typed(room: str) -> None:
    """PEP 561: a marker file in the package."""
    assert (ROOT / room / "py.typed").is_file()
