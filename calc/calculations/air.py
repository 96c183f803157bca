"""Air: its humidity, the split across a coil, and the heat that the coil takes out of it."""

from collections.abc import Callable, Mapping

from calc import air
from calc.air import Delivered, MoistAir
from calc.arguments import Accuracy, Difference, Measure, Number
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Value, Values
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.uncertainty import propagate

_BTU_PER_WATT_HOUR = 3600 / 1055.056


def _moist_air(
    dry_bulb_k: float,
    humidity_percent: float,
    temperature_accuracy_dk: float,
    humidity_accuracy_percent: float,
    barometric_pressure_pa: float,
) -> Values:
    measured = {
        "dry_bulb": Estimate(dry_bulb_k, temperature_accuracy_dk / 2),
        "humidity": Estimate(humidity_percent, humidity_accuracy_percent / 2),
    }

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
    temperature_accuracy_dk: float,
    humidity_accuracy_percent: float,
    barometric_pressure_pa: float,
) -> Values:
    dry_bulb = Estimate(dry_bulb_k, temperature_accuracy_dk / 2)
    humidity = Estimate(humidity_percent, humidity_accuracy_percent / 2)
    found = air.measured_wet_bulb(dry_bulb, humidity, barometric_pressure_pa=barometric_pressure_pa)
    return {"wet_bulb_k": found, "barometric_pressure_pa": barometric_pressure_pa}


def _air_split(return_k: float, supply_k: float, temperature_accuracy_dk: float, correlation: float) -> Values:
    entering, leaving = (Estimate(value_k, temperature_accuracy_dk / 2) for value_k in (return_k, supply_k))
    return {"air_split_dk": air.split(entering, leaving, correlation=correlation)}


def _sensible_heat(airflow_m3_per_s: float, split_dk: float, barometric_pressure_pa: float) -> Values:
    return {
        "sensible_heat_w": air.sensible_heat_w(airflow_m3_per_s, split_dk, pressure_pa=barometric_pressure_pa),
        "air_density_ratio": air.density_ratio(barometric_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _total_heat(airflow_m3_per_s: float, fall_j_per_kg: float, barometric_pressure_pa: float) -> Values:
    return {
        "total_heat_w": air.total_heat_w(airflow_m3_per_s, fall_j_per_kg, pressure_pa=barometric_pressure_pa),
        "air_density_ratio": air.density_ratio(barometric_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _delivered_capacity(
    airflow_m3_per_s: float,
    return_k: float,
    return_percent: float,
    supply_k: float,
    supply_percent: float,
    power_w: float | None,
    airflow_accuracy_percent: float,
    temperature_accuracy_dk: float,
    humidity_accuracy_percent: float,
    barometric_pressure_pa: float,
) -> Values:
    measured = {
        "airflow": Estimate(airflow_m3_per_s, airflow_m3_per_s * airflow_accuracy_percent / 200),
        "return_k": Estimate(return_k, temperature_accuracy_dk / 2),
        "return_percent": Estimate(return_percent, humidity_accuracy_percent / 2),
        "supply_k": Estimate(supply_k, temperature_accuracy_dk / 2),
        "supply_percent": Estimate(supply_percent, humidity_accuracy_percent / 2),
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


def _temperature(name: str, keyword: str, example: str) -> Parameter:
    return Parameter(name, keyword, Measure(Quantity.TEMPERATURE, 233.15, 333.15), example, called=("dry_bulb_k",))


def _humidity(name: str, keyword: str, example: str) -> Parameter:
    return Parameter(name, keyword, Quantity.HUMIDITY, example, called=("relative_humidity_percent",))


_COMMON = "(common practice, no source)"
_TEMPERATURE_ACCURACY = Parameter(
    "temperature_accuracy",
    "temperature_accuracy_dk",
    Accuracy(Quantity.TEMPERATURE),
    "0.5degC",
    otherwise=Assumption(0.5, f"air temperatures within ±0.5 °C {_COMMON}"),
)
_HUMIDITY_ACCURACY = Parameter(
    "humidity_accuracy",
    "humidity_accuracy_percent",
    Accuracy(Quantity.HUMIDITY),
    "3%RH",
    otherwise=Assumption(3.0, f"relative humidity within ±3 %RH {_COMMON}"),
)
_AIRFLOW = Parameter("airflow", "airflow_m3_per_s", "air_flow", "1200cfm")
_HANDBOOK = "ASHRAE Handbook of Fundamentals 2017, chapter 1"
_REAL_AIR = "tests/calc/test_air.py::test_against_real_moist_air"

CALCULATIONS: Mapping[str, Calculation] = {
    "moist_air": Calculation(
        "wet bulb, humidity ratio, enthalpy and density of air from its dry bulb and relative humidity",
        (
            _temperature("dry_bulb", "dry_bulb_k", "80degF"),
            _humidity("humidity", "humidity_percent", "51%RH"),
            _TEMPERATURE_ACCURACY,
            _HUMIDITY_ACCURACY,
        ),
        _moist_air,
        source=f"{_HANDBOOK}: kJ/kg from dry air at 0 °C, Btu/lb at 0 °F; JCGM 100, section 5",
        tolerance="0.03 K of wet bulb, 0.7 % of humidity ratio: real moist air",
        test=_REAL_AIR,
        needs_site=True,
    ),
    "wet_bulb": Calculation(
        "the wet bulb from dry bulb and relative humidity, at the site's barometric pressure",
        (
            _temperature("dry_bulb", "dry_bulb_k", "80degF"),
            _humidity("humidity", "humidity_percent", "51%RH"),
            _TEMPERATURE_ACCURACY,
            _HUMIDITY_ACCURACY,
        ),
        _wet_bulb,
        source=f"{_HANDBOOK}; JCGM 100, section 5",
        tolerance="0.03 K: real moist air",
        test=_REAL_AIR,
        needs_site=True,
    ),
    "air_split": Calculation(
        "return less supply air temperature, and how sure",
        (
            _temperature("return_air_temperature", "return_k", "75degF"),
            _temperature("supply_air_temperature", "supply_k", "55degF"),
            _TEMPERATURE_ACCURACY,
            Parameter(
                "correlation",
                "correlation",
                Number(-1.0, 1.0),
                "0.5",
                otherwise=Assumption(0.0, "two instruments that err apart; sensors of one instrument share a part"),
            ),
        ),
        _air_split,
        source="JCGM 100, 5.2.2 (correlated inputs)",
        tolerance="exact",
        test="tests/calc/test_air.py::test_one_instrument_at_both_ends_of_the_split",
    ),
    "sensible_heat": Calculation(
        "the heat that lowers an air stream's temperature, corrected for altitude",
        (
            _AIRFLOW,
            Parameter(
                "air_split",
                "split_dk",
                Difference(Quantity.TEMPERATURE, -60.0, 60.0),
                "20degF",
                says="return less supply; negative when heating",
            ),
        ),
        _sensible_heat,
        source="1.08 x cfm x °F of standard air, times the density ratio of the standard atmosphere",
        tolerance="0.01 %; standard air for real air 3 %",
        test="tests/calc/test_air.py::test_sensible_and_total_heat",
        needs_site=True,
    ),
    "total_heat": Calculation(
        "the heat that an air stream gives up with that of its water, corrected for altitude",
        (
            _AIRFLOW,
            Parameter(
                "enthalpy_fall",
                "fall_j_per_kg",
                Difference("enthalpy", -2e5, 2e5),
                "6.7Btu/lb",
                says="return less supply",
            ),
        ),
        _total_heat,
        source="4.5 x cfm x Btu/lb of standard air, times the density ratio of the standard atmosphere",
        tolerance="0.01 %; standard air for real air 3 %",
        test="tests/calc/test_air.py::test_sensible_and_total_heat",
        needs_site=True,
    ),
    "delivered_capacity": Calculation(
        "what a coil delivers, from the air on either side of it, and its efficiency if the power is known",
        (
            _AIRFLOW,
            _temperature("return_air_temperature", "return_k", "80degF"),
            _humidity("return_air_humidity", "return_percent", "51%RH"),
            _temperature("supply_air_temperature", "supply_k", "58degF"),
            _humidity("supply_air_humidity", "supply_percent", "88%RH"),
            Parameter(
                "power",
                "power_w",
                Measure("power", 1.0, 1e7),
                "3500W",
                otherwise=Assumption(None, "no electric power"),
                says="electric",
            ),
            Parameter(
                "airflow_accuracy",
                "airflow_accuracy_percent",
                Accuracy("percentage"),
                "10%",
                otherwise=Assumption(15.0, f"the air flow within ±15 % {_COMMON}"),
            ),
            _TEMPERATURE_ACCURACY,
            _HUMIDITY_ACCURACY,
        ),
        _delivered_capacity,
        source=f"{_HANDBOOK}; JCGM 100, section 5",
        tolerance="1 % of the total: real moist air",
        test="tests/calc/test_air.py::test_what_a_coil_delivers_agrees_with_real_moist_air",
        example=(("power", "3500W"),),
        needs_site=True,
    ),
}
