"""Coils and compressor at work: dew point of air, sensible heat ratio, approaches, compression ratio, discharge."""

from collections.abc import Mapping
from functools import partial

from calc import air, coil, compression, saturation
from calc.arguments import REFRIGERANT
from calc.calculation import Calculation, Values
from calc.calculations.air import HANDBOOK, MEASURED, air_temperature, measured_air
from calc.calculations.saturation import EQUATIONS
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import (
    COMMON,
    DISCHARGE_GAUGE,
    LIQUID_LIMIT_PA,
    SUCTION_GAUGE,
    SUCTION_LIMIT_PA,
    thermometer,
)
from calc.quantities import Quantity
from calc.uncertainty import propagate


def _air_dew_point(
    dry_bulb_k: float,
    humidity_percent: float,
    barometric_pressure_pa: float,
    temperature_accuracy_dk: float = 0.5,
    humidity_accuracy_percent: float = 3.0,
) -> Values:
    def dew_point(dry_bulb: float, humidity: float) -> float:
        return air.dew_point(dry_bulb, humidity, pressure_pa=barometric_pressure_pa)

    measured = measured_air(dry_bulb_k, humidity_percent, temperature_accuracy_dk, humidity_accuracy_percent)
    return {
        "air_dew_k": propagate(dew_point, measured).estimate,
        "says": "a surface colder than this is wet",
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _sensible_heat_ratio(
    return_air_temperature_k: float,
    return_air_humidity_percent: float,
    supply_air_temperature_k: float,
    supply_air_humidity_percent: float,
    barometric_pressure_pa: float,
    temperature_accuracy_dk: float = 0.5,
    humidity_accuracy_percent: float = 3.0,
) -> Values:
    return {
        "sensible_heat_ratio": coil.measured_sensible_heat_ratio(
            Estimate(return_air_temperature_k, temperature_accuracy_dk / 2),
            Estimate(return_air_humidity_percent, humidity_accuracy_percent / 2),
            supply_air=Estimate(supply_air_temperature_k, temperature_accuracy_dk / 2),
            supply_humidity=Estimate(supply_air_humidity_percent, humidity_accuracy_percent / 2),
            barometric_pressure_pa=barometric_pressure_pa,
        ),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _coil_approach(
    refrigerant: str,
    suction_pressure_pa: float,
    supply_air_temperature_k: float,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float = SUCTION_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
) -> Values:
    return {
        "coil_approach_dk": coil.coil_approach(
            refrigerant,
            suction_pressure_pa,
            supply_air_k=supply_air_temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "dew_k": saturation.dew_point(refrigerant, suction_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _liquid_approach(
    liquid_line_temperature_k: float, outdoor_air_temperature_k: float, temperature_accuracy_dk: float = 0.5
) -> Values:
    found = (Estimate(it, temperature_accuracy_dk / 2) for it in (liquid_line_temperature_k, outdoor_air_temperature_k))
    return {"liquid_approach_dk": coil.liquid_approach(*found)}


def _compression_ratio(
    suction_pressure_pa: float,
    discharge_pressure_pa: float,
    barometric_pressure_pa: float,
    suction_accuracy_pa: float = SUCTION_LIMIT_PA,
    discharge_accuracy_pa: float = LIQUID_LIMIT_PA,
) -> Values:
    return {
        "compression_ratio": compression.compression_ratio(
            Estimate(suction_pressure_pa, suction_accuracy_pa / 2),
            Estimate(discharge_pressure_pa, discharge_accuracy_pa / 2),
        ),
        "suction_pressure_pa": suction_pressure_pa,
        "discharge_pressure_pa": discharge_pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _discharge_superheat(
    refrigerant: str,
    discharge_pressure_pa: float,
    discharge_line_temperature_k: float,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float = LIQUID_LIMIT_PA,
    temperature_accuracy_dk: float = 2.0,
) -> Values:
    return {
        "discharge_superheat_dk": compression.discharge_superheat(
            refrigerant,
            discharge_pressure_pa,
            discharge_line_temperature_k=discharge_line_temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "dew_k": saturation.dew_point(refrigerant, discharge_pressure_pa),
        "barometric_pressure_pa": barometric_pressure_pa,
        "caution": "The discharge line burns: 90 °C (200 °F) and more. Clamp it while the unit rests.",
    }


_GIVEN = MEASURED | {
    "refrigerant": Given("R-410A", REFRIGERANT),
    "humidity_percent": Given("51%RH", Quantity.HUMIDITY, low=0.1, called=("relative_humidity_percent",)),
    "supply_air_temperature_k": Given("58degF", low=233.15, high=333.15, called=("dry_bulb_k", "supply_air_k")),
    "outdoor_air_temperature_k": air_temperature("95degF"),
    "suction_pressure_pa": Given("118psig", low=10e3, high=5e6),
    "discharge_pressure_pa": Given("350psig", low=10e3),
    "liquid_line_temperature_k": Given("101degF", low=173.15, high=473.15, called=("liquid_line",)),
    "discharge_line_temperature_k": Given("165degF", low=173.15, high=473.15),
    "pressure_accuracy_pa": SUCTION_GAUGE,
    "suction_accuracy_pa": SUCTION_GAUGE,
    "discharge_accuracy_pa": DISCHARGE_GAUGE,
    "temperature_accuracy_dk": thermometer("the temperatures"),
}
_DISCHARGE = _GIVEN | {
    "pressure_accuracy_pa": DISCHARGE_GAUGE,
    "temperature_accuracy_dk": Given(
        "1degC", otherwise=f"the discharge line within ±2 °C of the gas in it, or less {COMMON}"
    ),
}
_at_work = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "air_dew_point": _at_work(
        _air_dew_point,
        "the temperature at which the water of air begins to settle on a surface",
        source=f"{HANDBOOK}; JCGM 100, section 5",
        tolerance="0.1 K: real moist air",
        test="tests/calc/test_coil.py::test_dew_point_of_real_moist_air",
    ),
    "sensible_heat_ratio": _at_work(
        _sensible_heat_ratio,
        "which part of what a coil takes out of the air lowers its temperature, from the air on either side",
        source=f"{HANDBOOK}; JCGM 100, section 5",
        tolerance="0.01: real moist air",
        test="tests/calc/test_coil.py::test_sensible_heat_ratio_of_real_moist_air",
    ),
    "coil_approach": _at_work(
        _coil_approach,
        "how far the air that leaves an evaporator is above the dew point inside it",
        source=f"{EQUATIONS}; JCGM 100, 5.1.2",
        tolerance="1 mK",
        test="tests/calc/test_coil.py::test_coil_approach_by_the_equation_of_state",
    ),
    "liquid_approach": _at_work(
        _liquid_approach,
        "how far the liquid that leaves a condenser is above the outdoor air",
        source="JCGM 100, 5.1.2",
        test="tests/calc/test_coil.py::test_liquid_approach_of_a_measured_unit",
    ),
    "compression_ratio": _at_work(
        _compression_ratio,
        "absolute discharge pressure over absolute suction pressure, at the site's barometric pressure",
        source="the trade press, with worked examples; JCGM 100, 5.1.2",
        tolerance="the rounding of its print",
        test="tests/calc/test_compression.py::test_ratios_in_print",
    ),
    "discharge_superheat": _at_work(
        _discharge_superheat,
        "how far the discharge gas is above the dew point at its pressure",
        given=_DISCHARGE,
        source=f"{EQUATIONS}; JCGM 100, 5.1.2",
        tolerance="1 mK",
        test="tests/calc/test_compression.py::test_discharge_superheat_by_the_equation_of_state",
    ),
}
