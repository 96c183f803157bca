"""The instruments of the bench: what each measures, in which unit it sends it, and how good it is.

Four are always there; the others where a scenario asks for them.

The clamps are as quick as California Title 24 RA3.2 asks of pipe sensors: settled within 90 s of a 40 °F step.
The limits and the noise are those of ordinary field instruments (common practice, no source).
"""

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from simulators.unit.lag import lagged

PA_PER_PSI = 6894.757293168
KG_PER_LB = 0.45359237
HIGHEST_VACUUM_MICRON = 25_000.0


@dataclass(frozen=True, slots=True)
class SensorSetting:
    """How a sensor misreads, in SI.

    noise: standard deviation. offset: what it reads too high. lag: its time constant. gain: by what its reading is
    multiplied. drift: by how much its offset grows in an hour.
    """

    noise: float
    offset: float = 0.0
    lag_s: float = 0.0
    gain: float = 1.0
    drift_per_h: float = 0.0


class Sensor:
    """One sensor: it lags, is off by its offset, and its noise is correlated over some seconds."""

    NOISE_CORRELATION_S = 8.0

    def __init__(self, setting: SensorSetting, seed: str) -> None:
        self._setting = setting
        self._random = random.Random(seed)  # noqa: S311 - noise, not a secret
        self._noise = self._random.gauss(0.0, setting.noise)
        self._felt: float | None = None
        self._age_s = 0.0

    def feel(self, true_value: float, elapsed_s: float) -> float:
        """Follow the truth for this long, and give the reading in SI."""
        setting = self._setting
        if self._felt is None or setting.lag_s == 0.0:
            self._felt = true_value
        else:
            self._felt = lagged(self._felt, true_value, elapsed_s / setting.lag_s)
        kept = math.exp(-elapsed_s / self.NOISE_CORRELATION_S)
        fresh = math.sqrt(1.0 - kept * kept) * setting.noise
        self._noise = kept * self._noise + self._random.gauss(0.0, fresh)
        self._age_s += elapsed_s
        drifted = setting.drift_per_h * self._age_s / 3600.0
        return setting.gain * self._felt + setting.offset + drifted + self._noise


@dataclass(frozen=True, slots=True)
class Output:
    """One value that an instrument sends. accuracy_text: the limit as the instrument's papers print it.

    What may be wrong with it: contact is how far a clamp feels its pipe, the rest being outdoor air; found_at is the
    channel where the probe really sits; sends_absolute is of a pressure whose papers say gauge.
    """

    channel: str
    field: str
    unit: str
    setting: SensorSetting
    accuracy_text: str
    reference: Literal["gauge"] | None = None
    contact: float = 1.0
    found_at: str | None = None
    sends_absolute: bool = False

    def truth(self, state: Mapping[str, float]) -> float:
        """Take from what the unit is at what this sensor is exposed to."""
        value = state[self.found_at or self.channel]
        return (
            self.contact * value + (1.0 - self.contact) * state["outdoor_air_temperature"]
            if self.contact < 1.0
            else value
        )

    def from_si(self, value: float, barometric_pressure_pa: float) -> float:
        """Turn the house's value into the unit that the instrument sends."""
        if self.reference == "gauge" and not self.sends_absolute:
            value -= barometric_pressure_pa
        return _FROM_SI[self.unit](value)


def _microns(pascal: float) -> float:
    """Tell it as a vacuum gauge does, which is overloaded above 25,000 micron."""
    micron = pascal * 760_000.0 / 101_325.0
    return micron if micron <= HIGHEST_VACUUM_MICRON else math.inf


_FROM_SI: Mapping[str, Callable[[float], float]] = MappingProxyType(
    {
        "psi": lambda pascal: pascal / PA_PER_PSI,
        "kPa": lambda pascal: pascal / 1000.0,
        "degF": lambda kelvin: (kelvin - 273.15) * 1.8 + 32.0,
        "degC": lambda kelvin: kelvin - 273.15,
        "%RH": lambda percent: percent,
        "A": lambda ampere: ampere,
        "V": lambda volt: volt,
        "ohm": lambda ohm: ohm,
        "F": lambda farad: farad,
        "lb": lambda kilogram: kilogram / KG_PER_LB,
        "Pa": lambda pascal: pascal,
        "micron": _microns,
        "L/s": lambda cubic_metre: 1000.0 * cubic_metre,
        "ppm": lambda share: 1e6 * share,
    }
)

LinkKind = Literal["csv lines", "json lines", "scpi", "bluetooth", "meter", "modbus"]


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument: its name on the rig, how it speaks, how often, and what it sends."""

    name: str
    link: LinkKind
    interval_s: float
    outputs: tuple[Output, ...]

    @property
    def port_name(self) -> str:
        """The last part of its serial port's name."""
        return self.name.replace(" ", "-")


_SUCTION = SensorSetting(noise=0.15 * PA_PER_PSI)
_LIQUID = SensorSetting(noise=0.3 * PA_PER_PSI)
_CLAMP = SensorSetting(noise=0.05, lag_s=12.0)
_AIR = SensorSetting(noise=0.04, lag_s=8.0)
_CURRENT = SensorSetting(noise=0.02)


def bench_instruments() -> tuple[Instrument, ...]:
    """List the bench's instruments as they are when a scenario says nothing else."""
    return (
        Instrument(
            "low side probe",
            "csv lines",
            0.5,
            (
                Output("suction_pressure", "pressure", "psi", _SUCTION, "1 psi", "gauge"),
                Output("suction_line_temperature", "temperature", "degF", _CLAMP, "0.9 degF"),
            ),
        ),
        Instrument(
            "high side probe",
            "json lines",
            0.5,
            (
                Output("liquid_pressure", "pressure", "kPa", _LIQUID, "7 kPa", "gauge"),
                Output("liquid_line_temperature", "temperature", "degC", _CLAMP, "0.5 degC"),
            ),
        ),
        Instrument(
            "clamp meter",
            "scpi",
            0.5,
            (
                Output("compressor_current", "compressor", "A", _CURRENT, "0.15 A"),
                Output("condenser_fan_current", "condenser fan", "A", replace(_CURRENT, noise=0.01), "0.15 A"),
                Output("line_voltage_ab", "line voltage", "V", SensorSetting(0.2), "2 V"),
            ),
        ),
        Instrument(
            "air probe",
            "bluetooth",
            0.5,
            (
                Output("return_air_temperature", "return air", "degC", _AIR, "0.3 degC"),
                Output("supply_air_temperature", "supply air", "degC", _AIR, "0.3 degC"),
                Output("outdoor_air_temperature", "outdoor air", "degC", _AIR, "0.3 degC"),
                Output("return_air_humidity", "return air humidity", "%RH", SensorSetting(0.1), "2 %RH"),
            ),
        ),
    )


_METER = (
    ("ac_voltage", "V", "1 V"),
    ("dc_voltage", "V", "1 V"),
    ("resistance", "ohm", "0.3 ohm"),
    ("capacitance", "F", "0.2 uF"),
)


def further_instruments() -> Mapping[str, Instrument]:
    """List the instruments that a scenario may ask for besides, by name."""

    def of(channel: str, field: str, unit: str, setting: SensorSetting, accuracy: str) -> Output:
        return Output(channel, field, unit, setting, accuracy)

    meter = tuple(of(f"multimeter_{name}", name, unit, SensorSetting(0.0), limit) for name, unit, limit in _METER)
    mass = of("cylinder_mass", "mass", "lb", SensorSetting(0.0008, lag_s=0.5), "0.5 oz")
    vacuum = of("vacuum_pressure", "vacuum", "micron", SensorSetting(0.1, lag_s=1.0), "10 micron")
    gas = of("refrigerant_in_air", "refrigerant", "ppm", SensorSetting(2e-6, lag_s=3.0), "100 ppm")
    static = of("external_static_pressure", "static pressure", "Pa", SensorSetting(0.5, lag_s=1.0), "3 Pa")
    flow = of("supply_air_flow", "air flow", "L/s", SensorSetting(0.003, lag_s=2.0), "20 L/s")
    further = (
        Instrument("multimeter", "meter", 0.5, meter),
        Instrument("scale", "csv lines", 0.5, (mass,)),
        Instrument("vacuum gauge", "modbus", 0.5, (vacuum,)),
        Instrument("leak detector", "csv lines", 0.5, (gas,)),
        Instrument("air meter", "json lines", 0.5, (static, flow)),
    )
    return {instrument.name: instrument for instrument in further}


VACUUM_REGISTER: Mapping[str, int | str] = MappingProxyType({"address": 0, "type": "f32"})
"""Where the vacuum gauge keeps its number."""

SCPI_QUERIES: Mapping[str, str] = MappingProxyType(
    {
        "compressor": "MEAS:CURR:AC? (@1)",
        "condenser fan": "MEAS:CURR:AC? (@2)",
        "line voltage": "MEAS:VOLT:AC?",
    }
)
"""The field of the clamp meter to the query that reads it."""
