"""What sensors say: thermometers, transmitters, and a calibration in two points."""

from collections.abc import Mapping
from functools import partial

from calc import sensors
from calc.arguments import Accuracy, Number
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry
from calc.errors import ArgumentError, CalcRangeError
from calc.estimate import Estimate
from calc.quantities import Quantity
from calc.uncertainty import rectangular

_FAULTS = {
    sensors.LoopState.FAULT_LOW: "below 3.6 mA a wire is broken, or the transmitter reports its own fault",
    sensors.LoopState.FAULT_HIGH: "above 21 mA the loop is shorted, or the transmitter reports its own fault",
}


def _thermistor_temperature(
    resistance_ohm: float, beta_k: float, nominal_ohm: float, nominal_temperature_k: float = 298.15
) -> Values:
    curve = sensors.Beta(beta_k, nominal_ohm, nominal_temperature_k)
    return {"temperature_k": sensors.thermistor_temperature(resistance_ohm, curve)}


def _thermistor_by_table(
    resistance_ohm: float, table_resistances_ohm: tuple[float, ...], table_temperatures_k: tuple[float, ...]
) -> Values:
    curve = sensors.SteinhartHart.through(table_resistances_ohm, table_temperatures_k)
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
    point_readings_k: tuple[float, ...],
    point_references_k: tuple[float, ...],
    reference_accuracy_dk: float,
    repeatability_dk: float,
    *,
    one_reference: bool = True,
) -> Values:
    if not len(point_readings_k) == len(point_references_k) == 2:
        raise ArgumentError("a two-point calibration takes two readings and two references")
    reference_u_k = rectangular(reference_accuracy_dk)
    points = [
        sensors.CalibrationPoint(Estimate(read_k, repeatability_dk / 2), Estimate(true_k, reference_u_k))
        for read_k, true_k in zip(point_readings_k, point_references_k, strict=True)
    ]
    try:
        calibration = sensors.two_point(*points, reference_correlation=1.0 if one_reference else 0.0)
    except CalcRangeError as error:
        raise ArgumentError(f"point_readings and point_references do not go together: {error}") from error
    corrected = calibration.correct(Estimate(reading_k, repeatability_dk / 2))
    return {"temperature_k": corrected, "gain_factor": calibration.gain}


_THERMOMETER = {
    "resistance_ohm": Given("109.73ohm", low=1e-3),
    "nominal_ohm": Given("100ohm", low=10.0, high=10e3, otherwise="a Pt100"),
    "temperature_k": Given("25degC", low=73.15, high=1123.15),
}
_THERMOCOUPLE = {
    "voltage_v": Given("3.096mV", low=-0.1, high=0.1),
    "temperature_k": Given("100degC", low=73.15, high=1645.15),
    "cold_junction_k": Given("25degC", low=223.15, high=373.15),
}
_THERMISTOR = {
    "resistance_ohm": Given("12.5kohm", low=1e-3),
    "beta_k": Given("3950", Number(500, 10_000)),
    "nominal_ohm": Given("10kohm", low=1e-3),
    "nominal_temperature_k": Given("25degC", low=173.15, high=573.15, otherwise="the nominal resistance is at 25 °C"),
    "table_resistances_ohm": Given("32650 ohm, 10 kohm, 3603 ohm"),
    "table_temperatures_k": Given("0 degC, 25 degC, 50 degC"),
}
_TRANSMITTER = {
    "current_a": Given("12mA", low=-0.1, high=0.1),
    # The end of a scale may lie below a perfect vacuum, as -14.7 psig does in the mountains; no reading may.
    "low_pa": Given("0psig", low=-180e3, high=1e8, says="at 4 mA"),
    "high_pa": Given("500psig", low=-180e3, high=1e8, says="at 20 mA"),
    "low_k": Given("-40degF", says="at 4 mA"),
    "high_k": Given("160degF", says="at 20 mA"),
    "output_v": Given("2.5V"),
    "supply_v": Given("5V", low=2.0, high=30.0),
    "full_scale_pa": Given("500psi", "pressure_difference", low=1e3, high=1e8),
}
_CALIBRATION = {
    "reading_k": Given("50degF"),
    "point_readings_k": Given("32.7 degF, 100.4 degF"),
    "point_references_k": Given("32 degF, 100 degF"),
    "reference_accuracy_dk": Given("0.2degF"),
    "repeatability_dk": Given("0.1degF", Accuracy(Quantity.TEMPERATURE)),
    "one_reference": Given("yes", otherwise="one reference instrument in both points: it errs alike in both"),
}
_sensor = partial(entry, test="tests/calc/sensors/test_sensors.py")
_thermometer = partial(_sensor, given=_THERMOMETER, source="IEC 60751")
_thermocouple = partial(_sensor, given=_THERMOCOUPLE, source="ITS-90, NIST Monograph 175, type K")
_thermistor = partial(_sensor, given=_THERMISTOR)
_transmitter = partial(_sensor, given=_TRANSMITTER, source="NAMUR NE 43, from its summaries in print")

CALCULATIONS: Mapping[str, Calculation] = {
    "rtd_temperature": _thermometer(
        sensors.rtd_temperature,
        "the temperature of a platinum resistance thermometer",
        result="temperature_k",
        tolerance="0.015 K, the rounding of its table",
    ),
    "rtd_resistance": _thermometer(
        sensors.rtd_resistance,
        "the resistance of a platinum resistance thermometer",
        result="resistance_ohm",
        tolerance="0.005 ohm, the rounding of its table",
    ),
    "thermocouple_temperature": _thermocouple(
        sensors.thermocouple_temperature,
        "the temperature of a type K thermocouple",
        result="temperature_k",
        tolerance="0.015 K, the rounding of its table",
    ),
    "thermocouple_voltage": _thermocouple(
        sensors.thermocouple_voltage,
        "the voltage of a type K thermocouple",
        result="thermocouple_voltage_v",
        tolerance="0.5 µV, the rounding of its table",
    ),
    "thermistor_temperature": _thermistor(
        _thermistor_temperature,
        "the temperature of a thermistor by its beta",
        source="the beta equation, by definition",
    ),
    "thermistor_by_table": _thermistor(
        _thermistor_by_table,
        "the temperature of a thermistor by three rows of its maker's table",
        source="Steinhart & Hart, Deep-Sea Research 15, 1968",
        tolerance="0.05 K between the rows of a 10 kohm table (from memory)",
    ),
    "current_loop_pressure": _transmitter(_loop_pressure, "the pressure that a 4 to 20 mA transmitter gives"),
    "current_loop_temperature": _transmitter(_loop_temperature, "the temperature that a 4 to 20 mA transmitter gives"),
    "ratiometric_pressure": _transmitter(
        _ratiometric,
        "the pressure that a ratiometric gauge transmitter gives, 10 to 90 % of its supply",
        source="common practice, no source",
    ),
    "two_point_calibration": _sensor(
        _two_point_calibration,
        "what a thermometer's reading stands for after a check in two points",
        given=_CALIBRATION,
        source="JCGM 100, 4.3.7 (the reference's limit is a rectangle), 5.2.2 (one reference in both points)",
    ),
}
