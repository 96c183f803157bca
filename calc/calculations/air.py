"""Air: its humidity, the split across a coil, and the heat that the coil takes out of it."""

from collections.abc import Callable, Mapping
from functools import partial

from calc import air
from calc.air import Delivered, MoistAir
from calc.arguments import Difference, Number
from calc.calculation import Calculation, Unknown, Value, Values
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import COMMON, HYGROMETER, thermometer
from calc.quantities import Quantity
from calc.uncertainty import propagate

_BTU_PER_WATT_HOUR = 3600 / 1055.056


def measured_air(
    dry_bulb_k: float, humidity_percent: float, temperature_accuracy_dk: float, humidity_accuracy_percent: float
) -> dict[str, Estimate]:
    """Give the dry bulb and the relative humidity as measured by instruments good to these ± limits."""
    return {
        "dry_bulb": Estimate(dry_bulb_k, temperature_accuracy_dk / 2),
        "humidity": Estimate(humidity_percent, humidity_accuracy_percent / 2),
    }


def _moist_air(
    dry_bulb_k: float,
    humidity_percent: float,
    barometric_pressure_pa: float,
    temperature_accuracy_dk: float = 0.5,
    humidity_accuracy_percent: float = 3.0,
) -> Values:
    measured = measured_air(dry_bulb_k, humidity_percent, temperature_accuracy_dk, humidity_accuracy_percent)

    def ratio(dry_bulb: float, humidity: float) -> float:
        return air.humidity_ratio(dry_bulb, humidity, pressure_pa=barometric_pressure_pa)

    def enthalpy(dry_bulb: float, humidity: float) -> float:
        return air.enthalpy(dry_bulb, ratio(dry_bulb, humidity))

    moisture = propagate(ratio, measured).estimate
    return {
        "wet_bulb_k": air.measured_wet_bulb(**measured, barometric_pressure_pa=barometric_pressure_pa),
        "humidity_ratio_kg_per_kg": moisture,
        "enthalpy_j_per_kg": propagate(enthalpy, measured).estimate,
        "density_kg_per_m3": air.density(dry_bulb_k, moisture.value, pressure_pa=barometric_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _wet_bulb(
    dry_bulb_k: float,
    humidity_percent: float,
    barometric_pressure_pa: float,
    temperature_accuracy_dk: float = 0.5,
    humidity_accuracy_percent: float = 3.0,
) -> Values:
    measured = measured_air(dry_bulb_k, humidity_percent, temperature_accuracy_dk, humidity_accuracy_percent)
    found = air.measured_wet_bulb(**measured, barometric_pressure_pa=barometric_pressure_pa)
    return {"wet_bulb_k": found, "barometric_pressure_pa": barometric_pressure_pa}


def _air_split(
    return_air_temperature_k: float,
    supply_air_temperature_k: float,
    temperature_accuracy_dk: float = 0.5,
    correlation: float = 0.0,
) -> Values:
    entering, leaving = (
        Estimate(value_k, temperature_accuracy_dk / 2)
        for value_k in (return_air_temperature_k, supply_air_temperature_k)
    )
    return {"air_split_dk": air.split(entering, leaving, correlation=correlation)}


def _sensible_heat(airflow_m3_per_s: float, air_split_dk: float, barometric_pressure_pa: float) -> Values:
    return {
        "sensible_heat_w": air.sensible_heat_w(airflow_m3_per_s, air_split_dk, pressure_pa=barometric_pressure_pa),
        "air_density_ratio": air.density_ratio(barometric_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _total_heat(airflow_m3_per_s: float, enthalpy_fall_j_per_kg: float, barometric_pressure_pa: float) -> Values:
    return {
        "total_heat_w": air.total_heat_w(airflow_m3_per_s, enthalpy_fall_j_per_kg, pressure_pa=barometric_pressure_pa),
        "air_density_ratio": air.density_ratio(barometric_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _delivered_capacity(
    airflow_m3_per_s: float,
    return_air_temperature_k: float,
    return_air_humidity_percent: float,
    supply_air_temperature_k: float,
    supply_air_humidity_percent: float,
    barometric_pressure_pa: float,
    power_w: float | None = None,
    airflow_accuracy_percent: float = 15.0,
    temperature_accuracy_dk: float = 0.5,
    humidity_accuracy_percent: float = 3.0,
) -> Values:
    measured = {
        "airflow": Estimate(airflow_m3_per_s, airflow_m3_per_s * airflow_accuracy_percent / 200),
        "return_k": Estimate(return_air_temperature_k, temperature_accuracy_dk / 2),
        "return_percent": Estimate(return_air_humidity_percent, humidity_accuracy_percent / 2),
        "supply_k": Estimate(supply_air_temperature_k, temperature_accuracy_dk / 2),
        "supply_percent": Estimate(supply_air_humidity_percent, humidity_accuracy_percent / 2),
    }

    def state(dry_bulb_k: float, percent: float) -> MoistAir:
        return MoistAir(dry_bulb_k, air.humidity_ratio(dry_bulb_k, percent, pressure_pa=barometric_pressure_pa))

    def part(of: Callable[[Delivered], float]) -> Callable[..., float]:
        def compute(
            airflow: float, return_k: float, return_percent: float, supply_k: float, supply_percent: float
        ) -> float:
            entering, leaving = state(return_k, return_percent), state(supply_k, supply_percent)
            return of(air.delivered(entering, leaving, airflow_m3_per_s=airflow, pressure_pa=barometric_pressure_pa))

        return compute

    total = propagate(part(lambda delivered: delivered.total_w), measured)
    return {
        "total_heat_w": total.estimate,
        "sensible_heat_w": propagate(part(lambda delivered: delivered.sensible_w), measured).estimate,
        "latent_heat_w": propagate(part(lambda delivered: delivered.latent_w), measured).estimate,
        "coefficient_of_performance_ratio": _performance(total.estimate, power_w, 1.0),
        "eer_btu_per_watt_hour_ratio": _performance(total.estimate, power_w, _BTU_PER_WATT_HOUR),
        "most_of_the_uncertainty_from": _words(total.leading_input),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _performance(capacity_w: Estimate, power_w: float | None, factor: float) -> Value:
    if power_w is None:
        return Unknown("the electric power is not given")
    if capacity_w.value <= 0:
        return Unknown(
            "the air leaves with more heat than it came with: that is no cooling; are the two ends exchanged?"
        )
    ratio = factor * air.coefficient_of_performance(capacity_w.value, power_w)
    return Estimate(ratio, ratio * capacity_w.standard_uncertainty / capacity_w.value)


def _words(leading: str | None) -> str:
    words = {
        "airflow": "the air flow",
        "return_k": "the return air temperature",
        "return_percent": "the return air humidity",
        "supply_k": "the supply air temperature",
        "supply_percent": "the supply air humidity",
    }
    return words[leading] if leading else "none is stated"


def air_temperature(example: str) -> Given:
    """Take a dry bulb, -40 to 60 °C."""
    return Given(example, low=233.15, high=333.15, called=("dry_bulb_k",))


def _humidity(example: str) -> Given:
    return Given(example, Quantity.HUMIDITY, called=("relative_humidity_percent",))


MEASURED = {
    "dry_bulb_k": air_temperature("80degF"),
    "humidity_percent": _humidity("51%RH"),
    "return_air_temperature_k": air_temperature("80degF"),
    "return_air_humidity_percent": _humidity("51%RH"),
    "supply_air_temperature_k": air_temperature("58degF"),
    "supply_air_humidity_percent": _humidity("88%RH"),
    "temperature_accuracy_dk": thermometer("air temperatures"),
    "humidity_accuracy_percent": HYGROMETER,
}
_MOVING = MEASURED | {
    "airflow_m3_per_s": Given("1200cfm"),
    "power_w": Given("3500W", low=1.0, high=1e7, otherwise="no electric power", says="electric"),
    "airflow_accuracy_percent": Given("10%", high=50.0, otherwise=f"the air flow within ±15 % {COMMON}"),
}
_SPLIT = _MOVING | {
    "return_air_temperature_k": air_temperature("75degF"),
    "supply_air_temperature_k": air_temperature("55degF"),
    "correlation": Given(
        "0.5", Number(-1.0, 1.0), otherwise="two instruments that err apart; sensors of one instrument share a part"
    ),
    "air_split_dk": Given("20degF", low=-60.0, high=60.0, says="return less supply; negative when heating"),
    "enthalpy_fall_j_per_kg": Given("6.7Btu/lb", Difference("enthalpy", -2e5, 2e5), says="return less supply"),
}
HANDBOOK = "ASHRAE Handbook of Fundamentals 2017, chapter 1"
_moist = partial(entry, given=_MOVING)
_heat = partial(
    entry,
    given=_SPLIT,
    tolerance="0.01 %; standard air for real air 3 %",
    test="tests/calc/test_air.py::test_sensible_and_total_heat",
)

CALCULATIONS: Mapping[str, Calculation] = {
    "moist_air": _moist(
        _moist_air,
        "wet bulb, humidity ratio, enthalpy and density of air from its dry bulb and relative humidity",
        source=f"{HANDBOOK}: kJ/kg from dry air at 0 °C, Btu/lb at 0 °F; JCGM 100, section 5",
        tolerance="0.03 K of wet bulb, 0.7 % of humidity ratio: real moist air",
        test="tests/calc/test_air.py::test_against_real_moist_air",
    ),
    "wet_bulb": _moist(
        _wet_bulb,
        "the wet bulb from dry bulb and relative humidity, at the site's barometric pressure",
        source=f"{HANDBOOK}; JCGM 100, section 5",
        tolerance="0.03 K: real moist air",
        test="tests/calc/test_air.py::test_against_real_moist_air",
    ),
    "air_split": entry(
        _air_split,
        "return less supply air temperature, and how sure",
        given=_SPLIT,
        source="JCGM 100, 5.2.2 (correlated inputs)",
        test="tests/calc/test_air.py::test_one_instrument_at_both_ends_of_the_split",
    ),
    "sensible_heat": _heat(
        _sensible_heat,
        "the heat that lowers an air stream's temperature, corrected for altitude",
        source="1.08 x cfm x °F of standard air, times the density ratio of the standard atmosphere",
    ),
    "total_heat": _heat(
        _total_heat,
        "the heat that an air stream gives up with that of its water, corrected for altitude",
        source="4.5 x cfm x Btu/lb of standard air, times the density ratio of the standard atmosphere",
    ),
    "delivered_capacity": _moist(
        _delivered_capacity,
        "what a coil delivers, from the air on either side of it, and its efficiency if the power is known",
        source=f"{HANDBOOK}; JCGM 100, section 5",
        tolerance="1 % of the total: real moist air",
        test="tests/calc/test_air.py::test_what_a_coil_delivers_agrees_with_real_moist_air",
        example=(("power", "3500W"),),
    ),
}
