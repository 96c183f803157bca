"""How much air moves: by static pressure and the maker's table, by electric heat; the fan laws; heating by the air."""

from collections.abc import Mapping
from functools import partial

from calc import fan, heated_air
from calc.arguments import Count
from calc.calculation import Calculation, Value, Values
from calc.calculations.air import HANDBOOK, air_temperature
from calc.cautions import at_a_panel
from calc.entry import Given, entry
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.instruments import COMMON, thermometer
from calc.quantities import Quantity

_INCH_PA = 249.0889


def _external_static(
    supply_static_dpa: float, return_static_dpa: float, static_accuracy_dpa: float = 0.02 * _INCH_PA
) -> Values:
    supply, back = (Estimate(pressure, static_accuracy_dpa / 2) for pressure in (supply_static_dpa, return_static_dpa))
    return {"external_static_dpa": fan.external_static_pressure(supply, back)}


def _airflow_from_static(
    static_dpa: float,
    table_static_dpa: tuple[float, ...],
    table_airflow_m3_per_s: tuple[float, ...],
    static_accuracy_dpa: float = 0.02 * _INCH_PA,
    table_accuracy_ratio: float = 0.1,
) -> Values:
    return {
        "airflow_m3_per_s": fan.airflow_from_static(
            Estimate(static_dpa, static_accuracy_dpa / 2),
            table_static_dpa,
            table_airflow_m3_per_s=table_airflow_m3_per_s,
            table_standard_uncertainty_ratio=table_accuracy_ratio / 2,
        ),
        "holds_for": "the speed setting of that row, the filter and the coil that the table counts in, wet or dry",
        "cautions": at_a_panel(),
    }


def _fan_laws(
    airflow_m3_per_s: float,
    static_dpa: float,
    shaft_power_w: float,
    speed_hz: float,
    other_speed_hz: float,
    density_ratio: float = 1.0,
) -> Values:
    then = fan.fan_laws(
        airflow_m3_per_s,
        static_dpa,
        shaft_power_w=shaft_power_w,
        speed_hz=speed_hz,
        other_speed_hz=other_speed_hz,
        density_ratio=density_ratio,
    )
    return {
        "airflow_m3_per_s": then.airflow_m3_per_s,
        "static_dpa": then.static_pressure_pa,
        "shaft_power_w": then.shaft_power_w,
        "holds_only_for": fan.NO_FAN_LAW,
        "cautions": at_a_panel(),
    }


def _heat(
    heat_w: float | None, voltage_v: float | None, current_a: float | None, phases: int, accuracy_ratio: float
) -> Estimate:
    if heat_w is not None and voltage_v is None and current_a is None:
        return Estimate(heat_w, heat_w * accuracy_ratio / 2)
    if heat_w is None and voltage_v is not None and current_a is not None:
        each = accuracy_ratio / 2 / 2**0.5  # of volts and of amps, so that their product is known to that
        volts, amps = Estimate(voltage_v, voltage_v * each), Estimate(current_a, current_a * each)
        return heated_air.resistance_heat_w(volts, amps, phases=phases)
    raise ArgumentError("airflow_from_electric_heat needs heat, such as heat=9.6kW, or voltage and current; not both")


def _airflow_from_electric_heat(
    return_air_temperature_k: float,
    supply_air_temperature_k: float,
    barometric_pressure_pa: float,
    heat_w: float | None = None,
    voltage_v: float | None = None,
    current_a: float | None = None,
    phases: int = 1,
    blower_power_w: float = 0.0,
    humidity_percent: float = 40.0,
    heat_accuracy_ratio: float = 0.04,
    temperature_accuracy_dk: float = 1.0,
) -> Values:
    elements = _heat(heat_w, voltage_v, current_a, phases, heat_accuracy_ratio)
    found = heated_air.airflow_from_heat_rise(
        Estimate(elements.value + blower_power_w, elements.standard_uncertainty),
        Estimate(return_air_temperature_k, temperature_accuracy_dk / 2),
        supply_air=Estimate(supply_air_temperature_k, temperature_accuracy_dk / 2),
        humidity=Estimate(humidity_percent, 0.0),
        barometric_pressure_pa=barometric_pressure_pa,
    )
    return {
        "airflow_m3_per_s": found.airflow,
        "as_standard_air_m3_per_s": found.standard_airflow,
        "heat_w": elements.value + blower_power_w,
        "most_of_the_uncertainty_from": _LEADING[found.leading_input],
        "how": heated_air.HOW_TO_READ_THE_RISE,
        "barometric_pressure_pa": barometric_pressure_pa,
        "cautions": at_a_panel(live=True),
    }


_LEADING: Mapping[str | None, Value] = {
    "heat_w": "the heat",
    "return_k": "the return air temperature",
    "supply_k": "the supply air temperature",
    None: "none is stated",
}


def _heating_performance(
    airflow_m3_per_s: float,
    return_air_temperature_k: float,
    supply_air_temperature_k: float,
    electric_w: float,
    barometric_pressure_pa: float,
    humidity_percent: float = 40.0,
    airflow_accuracy_ratio: float = 0.15,
    temperature_accuracy_dk: float = 0.5,
    power_accuracy_ratio: float = 0.03,
) -> Values:
    found = heated_air.heating_performance(
        Estimate(airflow_m3_per_s, airflow_m3_per_s * airflow_accuracy_ratio / 2),
        Estimate(return_air_temperature_k, temperature_accuracy_dk / 2),
        supply_air=Estimate(supply_air_temperature_k, temperature_accuracy_dk / 2),
        power=Estimate(electric_w, electric_w * power_accuracy_ratio / 2),
        humidity=Estimate(humidity_percent, 0.0),
        barometric_pressure_pa=barometric_pressure_pa,
    )
    return {
        "heating_capacity_w": found.capacity,
        "coefficient_of_performance_ratio": found.coefficient_of_performance,
        "holds_for": "steady heating: electric heat off, no defrost within the last minutes, all power counted in",
        "barometric_pressure_pa": barometric_pressure_pa,
    }


_GIVEN = {
    "supply_static_dpa": Given("0.32inWC", low=0.0, high=5e3, says="after the unit, against the room"),
    "return_static_dpa": Given("-0.28inWC", low=-5e3, high=0.0, says="before it: below the room, with its minus"),
    "static_accuracy_dpa": Given(
        "0.02inWC", "pressure_difference", high=250.0, otherwise=f"static pressures within ±0.02 inH2O {COMMON}"
    ),
    "static_dpa": Given("0.5inWC", low=0.0, high=5e3, called=("static", "static_pressure_pa"), says="external"),
    "table_static_dpa": Given("0.3inWC,0.4inWC,0.6inWC", says="of the columns, rising"),
    "table_airflow_m3_per_s": Given("1340cfm,1290cfm,1175cfm", says="of the row of its speed setting"),
    "table_accuracy_ratio": Given("5%", high=0.4, otherwise=f"the table within ±10 % {COMMON}"),
    "airflow_m3_per_s": Given("1200cfm", low=1e-3, high=100.0),
    "shaft_power_w": Given("0.5hp", "power", high=1e6, says="at the shaft, not electric"),
    "speed_hz": Given("900rpm", low=0.01, high=200.0),
    "other_speed_hz": Given("1000rpm", low=0.005, high=300.0, says="half of speed to half more"),
    "density_ratio": Given("1", low=0.5, high=2.0, otherwise="air as dense as when it was measured"),
    "return_air_temperature_k": air_temperature("74degF"),
    "supply_air_temperature_k": Given("110degF", low=233.15, high=333.15, called=("supply_air",)),
    "heat_w": Given("9.6kW", low=100.0, high=1e6, otherwise="", says="of the elements, instead of voltage and current"),
    "voltage_v": Given(
        "235V", low=50.0, high=1000.0, otherwise="no volts: the heat is given", says="at the elements, while they heat"
    ),
    "current_a": Given(
        "75A", low=0.1, high=2000.0, otherwise="no amps: the heat is given", says="to all of the elements"
    ),
    "phases": Given("1", Count(1, 3), otherwise="single phase", says="1 or 3"),
    "blower_power_w": Given("400W", high=1e5, otherwise="no heat of the blower counted in"),
    "humidity_percent": Given(
        "40%RH", Quantity.HUMIDITY, otherwise="return air of 40 %RH, which hardly matters", called=("percent",)
    ),
    "heat_accuracy_ratio": Given("3%", high=0.4, otherwise=f"the heat within ±4 % {COMMON}"),
    "temperature_accuracy_dk": Given("0.5degC", otherwise=f"the air temperatures within ±1 °C {COMMON}"),
}
_HEATING = _GIVEN | {
    "return_air_temperature_k": air_temperature("70degF"),
    "supply_air_temperature_k": Given("98degF", low=233.15, high=333.15, called=("supply_air",)),
    "electric_w": Given("3.1kW", low=1.0, high=1e7, name="power", says="electric, of all that counts"),
    "airflow_accuracy_ratio": Given("10%", high=0.5, otherwise=f"the airflow within ±15 % {COMMON}"),
    "temperature_accuracy_dk": thermometer("the air temperatures"),
    "power_accuracy_ratio": Given("2%", high=0.2, otherwise=f"the power within ±3 % {COMMON}"),
}
_air_moved = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "external_static": _air_moved(
        _external_static,
        "the static pressure that a unit works against, from the readings before and after it",
        source="total external static pressure as the trade press has it: supply less return; JCGM 100, 5.1",
        test="tests/calc/test_fan.py::test_external_static_is_supply_less_return",
    ),
    "airflow_from_static": _air_moved(
        _airflow_from_static,
        "the airflow at an external static pressure, from the maker's fan table",
        source="the maker's table, read straight between two columns, as notes to fan tables in print allow, and never "
        "beyond them; JCGM 100, 5.1",
        test="tests/calc/test_fan.py::test_between_the_columns_as_a_library_interpolates",
    ),
    "fan_laws": _air_moved(
        _fan_laws,
        "how the same fan in the same ducts runs at another speed, and where that does not hold",
        source="fan laws, as fan makers print them",
        tolerance="0.001 hp of a worked example",
        test="tests/calc/test_fan.py::test_fan_laws_in_print",
    ),
    "airflow_from_electric_heat": _air_moved(
        _airflow_from_electric_heat,
        "the airflow from the rise of its temperature over electric heat, at the density of the site's air",
        source=f"{HANDBOOK}; watts x 3.413 / (1.08 x rise) on trade pages; JCGM 100, 5.1",
        tolerance="0.1 % of worked examples as standard air; 0.5 % of real moist air",
        test="tests/calc/test_heated_air.py::test_airflow_by_electric_heat_on_trade_pages",
        example=(("voltage", "235V"), ("current", "75A")),
    ),
    "heating_performance": entry(
        _heating_performance,
        "what a unit heats with, from airflow and the rise of the air, and its COP by the power it takes",
        given=_HEATING,
        source=f"{HANDBOOK}; JCGM 100, 5.1",
        tolerance="0.5 % of real moist air",
        test="tests/calc/test_heated_air.py::test_heat_of_real_moist_air",
    ),
}
