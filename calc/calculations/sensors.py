"""What sensors say: thermometers, transmitters, and a calibration in two points."""

from collections.abc import Mapping

from calc import sensors
from calc.arguments import YES_NO, Accuracy, ListOf, Measure, Number
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values
from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.uncertainty import rectangular

_FAULTS = {
    sensors.LoopState.FAULT_LOW: "below 3.6 mA a wire is broken, or the transmitter reports its own fault",
    sensors.LoopState.FAULT_HIGH: "above 21 mA the loop is shorted, or the transmitter reports its own fault",
}


def _rtd_temperature(resistance_ohm: float, nominal_ohm: float) -> Values:
    return {"temperature_k": sensors.rtd_temperature(resistance_ohm, nominal_ohm)}


def _rtd_resistance(temperature_k: float, nominal_ohm: float) -> Values:
    return {"resistance_ohm": sensors.rtd_resistance(temperature_k, nominal_ohm)}


def _thermocouple_temperature(voltage_v: float, cold_junction_k: float) -> Values:
    return {"temperature_k": sensors.thermocouple_temperature(voltage_v, cold_junction_k)}


def _thermocouple_voltage(temperature_k: float, cold_junction_k: float) -> Values:
    return {"voltage_v": sensors.thermocouple_voltage(temperature_k, cold_junction_k)}


def _thermistor_temperature(resistance_ohm: float, beta_k: float, nominal_ohm: float, nominal_k: float) -> Values:
    curve = sensors.Beta(beta_k, nominal_ohm, nominal_k)
    return {"temperature_k": sensors.thermistor_temperature(resistance_ohm, curve)}


def _thermistor_by_table(resistance_ohm: float, table_ohm: tuple[float, ...], table_k: tuple[float, ...]) -> Values:
    curve = sensors.SteinhartHart.through(table_ohm, table_k)
    return {"temperature_k": sensors.thermistor_temperature(resistance_ohm, curve)}


def _loop(current_a: float, low: float, high: float) -> tuple[float | Unknown, str]:
    reading = sensors.current_loop(current_a, low=low, high=high)
    value = Unknown(_FAULTS[reading.state]) if reading.value is None else reading.value
    return value, reading.state


def _loop_pressure(current_a: float, low_pa: float, high_pa: float, barometric_pressure_pa: float) -> Values:
    pressure_pa, state = _loop(current_a, low_pa, high_pa)
    if isinstance(pressure_pa, float) and pressure_pa < 0:
        pressure_pa = Unknown("it would be below a perfect vacuum: look at the scale, and at the transmitter's zero")
    return {"pressure_pa": pressure_pa, "state": state, "barometric_pressure_pa": barometric_pressure_pa}


def _loop_temperature(current_a: float, low_k: float, high_k: float) -> Values:
    temperature_k, state = _loop(current_a, low_k, high_k)
    if isinstance(temperature_k, float) and temperature_k < 0:
        temperature_k = Unknown("it would be below absolute zero: look at the scale")
    return {"temperature_k": temperature_k, "state": state}


def _ratiometric(output_v: float, supply_v: float, full_scale_pa: float, barometric_pressure_pa: float) -> Values:
    above_pa = sensors.ratiometric(
        output_v, supply_v, full_scale_pa=full_scale_pa, barometric_pressure_pa=barometric_pressure_pa
    )
    return {
        "pressure_pa": max(above_pa + barometric_pressure_pa, 0.0),
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _two_point_calibration(
    reading_k: float,
    readings_k: tuple[float, ...],
    references_k: tuple[float, ...],
    reference_accuracy_dk: float,
    repeatability_dk: float,
    one_reference: bool,  # noqa: FBT001 - the catalogue calls by keyword
) -> Values:
    if not len(readings_k) == len(references_k) == 2:
        raise ArgumentError("a two-point calibration takes two readings and two references")
    reference_u_k = rectangular(reference_accuracy_dk)
    points = [
        sensors.CalibrationPoint(Estimate(read_k, repeatability_dk / 2), Estimate(true_k, reference_u_k))
        for read_k, true_k in zip(readings_k, references_k, strict=True)
    ]
    try:
        calibration = sensors.two_point(*points, reference_correlation=1.0 if one_reference else 0.0)
    except CalcRangeError as error:
        raise ArgumentError(f"point_readings and point_references do not go together: {error}") from error
    corrected = calibration.correct(Estimate(reading_k, repeatability_dk / 2))
    return {"temperature_k": corrected, "gain_factor": calibration.gain}


_PT100 = Assumption(100.0, "a Pt100")
_NOMINAL = Parameter("nominal", "nominal_ohm", Measure("resistance", 10.0, 10e3), "100ohm", otherwise=_PT100)
_RESISTANCE = Parameter("resistance", "resistance_ohm", Measure("resistance", 1e-3, 1e9), "109.73ohm")
_TEMPERATURE = Parameter("temperature", "temperature_k", Measure(Quantity.TEMPERATURE, 73.15, 1123.15), "25degC")
_HOT_JUNCTION = Parameter("temperature", "temperature_k", Measure(Quantity.TEMPERATURE, 73.15, 1645.15), "25degC")
_COLD_JUNCTION = Parameter("cold_junction", "cold_junction_k", Measure(Quantity.TEMPERATURE, 223.15, 373.15), "25degC")
_LOOP_CURRENT = Parameter("current", "current_a", Measure(Quantity.CURRENT, -0.1, 0.1), "12mA")
_PRESSURE_SCALE = Measure(Quantity.PRESSURE, -180e3, 1e8)
"""The end of a scale may lie below a perfect vacuum, as -14.7 psig does in the mountains; no reading may."""
_NE_43 = "NAMUR NE 43, from its summaries in print"
_TEST = "tests/calc/sensors/test_sensors.py"

CALCULATIONS: Mapping[str, Calculation] = {
    "rtd_temperature": Calculation(
        "the temperature of a platinum resistance thermometer",
        (_RESISTANCE, _NOMINAL),
        _rtd_temperature,
        source="IEC 60751",
        tolerance="0.015 K, the rounding of its table",
        test=_TEST,
    ),
    "rtd_resistance": Calculation(
        "the resistance of a platinum resistance thermometer",
        (_TEMPERATURE, _NOMINAL),
        _rtd_resistance,
        source="IEC 60751",
        tolerance="0.005 ohm, the rounding of its table",
        test=_TEST,
    ),
    "thermocouple_temperature": Calculation(
        "the temperature of a type K thermocouple",
        (
            Parameter("voltage", "voltage_v", Measure(Quantity.VOLTAGE, -0.1, 0.1), "3.096mV"),
            _COLD_JUNCTION,
        ),
        _thermocouple_temperature,
        source="ITS-90, NIST Monograph 175, type K",
        tolerance="0.015 K, the rounding of its table",
        test=_TEST,
    ),
    "thermocouple_voltage": Calculation(
        "the voltage of a type K thermocouple",
        (_HOT_JUNCTION, _COLD_JUNCTION),
        _thermocouple_voltage,
        source="ITS-90, NIST Monograph 175, type K",
        tolerance="0.5 µV, the rounding of its table",
        test=_TEST,
    ),
    "thermistor_temperature": Calculation(
        "the temperature of a thermistor by its beta",
        (
            Parameter("resistance", "resistance_ohm", Measure("resistance", 1e-3, 1e9), "12.5kohm"),
            Parameter("beta", "beta_k", Number(500, 10_000), "3950"),
            Parameter("nominal", "nominal_ohm", Measure("resistance", 1e-3, 1e9), "10kohm"),
            Parameter(
                "nominal_temperature",
                "nominal_k",
                Measure(Quantity.TEMPERATURE, 173.15, 573.15),
                "25degC",
                otherwise=Assumption(298.15, "the nominal resistance is at 25 °C"),
            ),
        ),
        _thermistor_temperature,
        source="the beta equation, by definition",
        tolerance="exact",
        test=_TEST,
    ),
    "thermistor_by_table": Calculation(
        "the temperature of a thermistor by three rows of its maker's table",
        (
            Parameter("resistance", "resistance_ohm", Measure("resistance", 1e-3, 1e9), "12.5kohm"),
            Parameter("table_resistances", "table_ohm", ListOf("resistance"), "32650 ohm, 10 kohm, 3603 ohm"),
            Parameter("table_temperatures", "table_k", ListOf(Quantity.TEMPERATURE), "0 degC, 25 degC, 50 degC"),
        ),
        _thermistor_by_table,
        source="Steinhart & Hart, Deep-Sea Research 15, 1968",
        tolerance="0.05 K between the rows of a 10 kohm table (from memory)",
        test=_TEST,
    ),
    "current_loop_pressure": Calculation(
        "the pressure that a 4 to 20 mA transmitter gives",
        (
            _LOOP_CURRENT,
            Parameter("low", "low_pa", _PRESSURE_SCALE, "0psig", says="at 4 mA"),
            Parameter("high", "high_pa", _PRESSURE_SCALE, "500psig", says="at 20 mA"),
        ),
        _loop_pressure,
        source=_NE_43,
        tolerance="exact",
        test=_TEST,
        needs_site=True,
    ),
    "current_loop_temperature": Calculation(
        "the temperature that a 4 to 20 mA transmitter gives",
        (
            _LOOP_CURRENT,
            Parameter("low", "low_k", Quantity.TEMPERATURE, "-40degF", says="at 4 mA"),
            Parameter("high", "high_k", Quantity.TEMPERATURE, "160degF", says="at 20 mA"),
        ),
        _loop_temperature,
        source=_NE_43,
        tolerance="exact",
        test=_TEST,
    ),
    "ratiometric_pressure": Calculation(
        "the pressure that a ratiometric gauge transmitter gives, 10 to 90 % of its supply",
        (
            Parameter("output", "output_v", Quantity.VOLTAGE, "2.5V"),
            Parameter("supply", "supply_v", Measure(Quantity.VOLTAGE, 2.0, 30.0), "5V"),
            Parameter("full_scale", "full_scale_pa", Measure("pressure_difference", 1e3, 1e8), "500psi"),
        ),
        _ratiometric,
        source="common practice, no source",
        tolerance="exact",
        test=_TEST,
        needs_site=True,
    ),
    "two_point_calibration": Calculation(
        "what a thermometer's reading stands for after a check in two points",
        (
            Parameter("reading", "reading_k", Quantity.TEMPERATURE, "50degF"),
            Parameter("point_readings", "readings_k", ListOf(Quantity.TEMPERATURE), "32.7 degF, 100.4 degF"),
            Parameter("point_references", "references_k", ListOf(Quantity.TEMPERATURE), "32 degF, 100 degF"),
            Parameter("reference_accuracy", "reference_accuracy_dk", Accuracy(Quantity.TEMPERATURE), "0.2degF"),
            Parameter("repeatability", "repeatability_dk", Accuracy(Quantity.TEMPERATURE), "0.1degF"),
            Parameter(
                "one_reference",
                "one_reference",
                YES_NO,
                "yes",
                otherwise=Assumption(value=True, says="one reference instrument in both points: it errs alike in both"),
            ),
        ),
        _two_point_calibration,
        source="JCGM 100, 4.3.7 (the reference's limit is a rectangle), 5.2.2 (one reference in both points)",
        tolerance="exact",
        test=_TEST,
    ),
}
