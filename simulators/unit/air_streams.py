"""The two air streams and the coils in them: how much air passes, what enters, and what the coils then are."""

import math
from functools import lru_cache

from simulators.errors import SimulatorError
from simulators.unit import moist_air
from simulators.unit.condenser import OutdoorAir
from simulators.unit.evaporator import Air
from simulators.unit.parameters import Conditions, UnitParameters

NATURAL_DRAUGHT = 0.08
"""What part of the fan's air flow passes the condenser by itself (common practice, no source)."""

LEAST_AIR, MOST_AIR = 0.2, 1.5
"""What part of its usual air may pass a coil in a simulation."""

FAN_STEP = 0.003
_INDOOR_STEP = 0.004
"""Changes too small to work the coils out anew for."""


class AirStreams:
    """Both air streams of one circuit, with coils that are as their air is."""

    def __init__(self, parameters: UnitParameters) -> None:
        self._parameters = parameters
        self._fan_speed, self._share, self._damper, self._free = math.nan, math.nan, math.nan, math.nan
        self._evaporator_passes = self._condenser_passes = 1.0
        self.set_indoor(share=1.0, damper=0.0, free=1.0)
        self.set_fan_speed(1.0)

    @property
    def indoor_capacity(self) -> float:
        """Flow times heat capacity of the indoor air [W/K]."""
        return self.evaporator_air.capacity

    @property
    def fan_speed(self) -> float:
        """Of the condenser's fan, over its rated one [1]."""
        return self._fan_speed

    def set_indoor(self, *, share: float, damper: float, free: float) -> None:
        """Set how many times its own air and fins it has, how much of it is outdoor air, and what frost leaves free."""
        if share == self._share and max(abs(damper - self._damper), abs(free - self._free)) < _INDOOR_STEP:
            return
        share_changes = share != self._share
        self._share, self._damper, self._free = share, damper, free
        self.evaporator = self._parameters.evaporator_as_it_is(share * free * self._evaporator_passes)
        self.evaporator_air = self._entering()
        if share_changes and not math.isnan(self._fan_speed):
            speed, self._fan_speed = self._fan_speed, math.nan
            self.set_fan_speed(speed)

    def let_pass(self, *, evaporator: float | None = None, condenser: float | None = None) -> None:
        """Leave a coil this part of its usual air: what is held before it, or taken away, while the unit stands there.

        Raises:
            SimulatorError: less or more than can be simulated.

        """
        for part in (evaporator, condenser):
            if part is not None and not LEAST_AIR <= part <= MOST_AIR:
                raise SimulatorError(f"a coil is simulated with {LEAST_AIR:g} to {MOST_AIR:g} of its air, not {part:g}")
        self._evaporator_passes = self._evaporator_passes if evaporator is None else evaporator
        self._condenser_passes = self._condenser_passes if condenser is None else condenser
        (share, damper, free), speed = (self._share, self._damper, self._free), self._fan_speed
        self._share = self._fan_speed = math.nan
        self.set_indoor(share=share, damper=damper, free=free)
        self.set_fan_speed(speed)

    def set_fan_speed(self, speed: float) -> None:
        """Give the condenser the air that its fan moves at this part of its rated speed."""
        if abs(speed - self._fan_speed) < FAN_STEP:
            return
        conditions = self._parameters.conditions
        self._fan_speed = speed
        air, pressure_pa = self._share * self._condenser_passes, conditions.barometric_pressure_pa
        self.condenser = self._parameters.condenser_as_it_is(max(speed, NATURAL_DRAUGHT), air)
        self.condenser_air: OutdoorAir = self.condenser.in_air(conditions.outdoor_air_k, pressure_pa)

    def _entering(self) -> Air:
        conditions = self._parameters.conditions
        pressure_pa = conditions.barometric_pressure_pa
        if self._damper == 0.0:
            return self.evaporator.in_air(conditions.return_air_k, conditions.return_air_humidity, pressure_pa)
        temperature_k, ratio = mixed_air(conditions, self._damper)
        humidity = moist_air.relative_humidity(temperature_k, ratio, pressure_pa)
        return self.evaporator.in_air(temperature_k, humidity, pressure_pa)


@lru_cache(maxsize=16)
def mixed_air(conditions: Conditions, outdoor_part: float) -> tuple[float, float]:
    """Mix outdoor into return air, by mass of dry air: temperature [K] and humidity ratio [kg/kg].

    A damper that stands still is asked about in every step.
    """
    pressure_pa = conditions.barometric_pressure_pa
    inside = moist_air.humidity_ratio(conditions.return_air_k, conditions.return_air_humidity, pressure_pa)
    outside = moist_air.humidity_ratio(conditions.outdoor_air_k, conditions.outdoor_air_humidity, pressure_pa)
    ratio = inside + outdoor_part * (outside - inside)
    enthalpy = (1.0 - outdoor_part) * moist_air.enthalpy(conditions.return_air_k, inside)
    enthalpy += outdoor_part * moist_air.enthalpy(conditions.outdoor_air_k, outside)
    dry = moist_air.DRY_AIR_HEAT_CAPACITY + ratio * moist_air.VAPOUR_HEAT_CAPACITY
    return moist_air.ZERO_CELSIUS_K + (enthalpy - ratio * moist_air.HEAT_OF_VAPORISATION) / dry, ratio
