"""Sensors: from what an instrument measures to the quantity it stands for. One file a kind; gathered here."""

from calc.sensors.calibration import CalibrationPoint, TwoPointCalibration, two_point
from calc.sensors.resistance_thermometer import rtd_resistance, rtd_temperature
from calc.sensors.thermistor import Beta, SteinhartHart, thermistor_temperature
from calc.sensors.thermocouple import thermocouple_temperature, thermocouple_voltage
from calc.sensors.transmitter import LoopReading, LoopState, current_loop, ratiometric

__all__ = [
    "Beta",
    "CalibrationPoint",
    "LoopReading",
    "LoopState",
    "SteinhartHart",
    "TwoPointCalibration",
    "current_loop",
    "ratiometric",
    "rtd_resistance",
    "rtd_temperature",
    "thermistor_temperature",
    "thermocouple_temperature",
    "thermocouple_voltage",
    "two_point",
]
