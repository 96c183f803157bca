"""Sensors: from what an instrument measures to the quantity it stands for. One file a kind; gathered here."""

from calc.calibration import CalibrationPoint, TwoPointCalibration, two_point
from calc.resistance_thermometer import rtd_resistance, rtd_temperature
from calc.thermistor import Beta, SteinhartHart, thermistor_temperature
from calc.thermocouple import thermocouple_temperature, thermocouple_voltage
from calc.transmitter import LoopReading, LoopState, current_loop, ratiometric

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
