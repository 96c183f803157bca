"""Air: its humidity, its density, and the heat that a stream of it gives up.

Psychrometrics follow the ASHRAE Handbook of Fundamentals, chapter 1, through psychrolib. A float gives a float, and a
numpy array an array. Humidity ratio is water per mass of dry air, and enthalpy counts from dry air at 0 °C.
"""

from dataclasses import dataclass
from importlib.util import module_from_spec

import psychrolib

from calc.elementwise import Value, takes_arrays, within
from calc.estimate import Estimate
from calc.quantities import STANDARD_PRESSURE_PA
from calc.uncertainty import Budget, propagate

# psychrolib's unit system is one switch for whoever imports it: a copy of the module that is ours alone stays SI
_psychrolib = module_from_spec(psychrolib.__spec__)
psychrolib.__spec__.loader.exec_module(_psychrolib)
_psychrolib.SetUnitSystem(_psychrolib.SI)

_POUND_PER_CUBIC_FOOT = 0.45359237 / 0.3048**3
STANDARD_AIR_KG_PER_M3 = 0.075 * _POUND_PER_CUBIC_FOOT
"""Standard air of the trade, 0.075 lb/ft³: behind its factors 1.08 and 4.5 at sea level."""
STANDARD_AIR_J_PER_KG_K = 0.24 * 4186.8
"""0.24 Btu/lb °F, likewise."""

_ICE_POINT_K = 273.15
_DRY_BULB_K = (_ICE_POINT_K - 40, _ICE_POINT_K + 60)
_PRESSURE_PA = (40e3, 180e3)
_ELEVATION_M = (-5000.0, 11000.0)


@takes_arrays
def barometric_pressure(elevation_m: float) -> float:
    """Compute the pressure of the standard atmosphere at an elevation.

    Weather moves the true pressure by some 2 kPa about it; a barometer knows better.

    Args:
        elevation_m: above sea level, -5000 to 11000 [m].

    Returns:
        The absolute pressure [Pa].

    Raises:
        CalcRangeError: beyond that range, which is that of the formula.

    >>> round(barometric_pressure(1000.0))  # ASHRAE Handbook of Fundamentals 2017, ch. 1, table 1
    89875

    """
    return float(_psychrolib.GetStandardAtmPressure(within("elevation_m", elevation_m, *_ELEVATION_M, "m")))


def density_ratio(pressure_pa: Value) -> Value:
    """Give the density of air relative to sea level: the trade's correction for altitude, at one temperature.

    >>> round(density_ratio(barometric_pressure(5000 * 0.3048)), 3)  # 5,000 ft: 0.8321 by ASHRAE's standard atmosphere
    0.832
    """
    return _site(pressure_pa) / STANDARD_PRESSURE_PA


@takes_arrays
def humidity_ratio(dry_bulb_k: Value, relative_humidity_percent: Value, *, pressure_pa: float) -> Value:
    """Compute the humidity ratio from the relative humidity.

    Args:
        dry_bulb_k: -40 to 60 °C [K].
        relative_humidity_percent: 0 to 100 [%RH].
        pressure_pa: barometric, 40 to 180 kPa [Pa].

    Returns:
        The humidity ratio [kg/kg]. The formula neglects that air is no ideal gas: 0.5 % low.

    Raises:
        CalcRangeError: an argument is outside its range.

    >>> round(humidity_ratio(298.15, 100.0, pressure_pa=101325.0), 4)  # 0.020173: ASHRAE Handbook 2017, ch. 1, table 2
    0.0201

    """
    _site(pressure_pa)
    ratio = _ratio(relative_humidity_percent)
    found: Value = _psychrolib.GetHumRatioFromRelHum(_celsius(dry_bulb_k), ratio, pressure_pa)
    return found


@takes_arrays
def humidity_ratio_from_wet_bulb(dry_bulb_k: Value, wet_bulb_k: Value, *, pressure_pa: float) -> Value:
    """Compute the humidity ratio [kg/kg] from the wet bulb [K]; other arguments and errors as `humidity_ratio`.

    A wet bulb so low that less than no water would be left gives that of dry air.

    >>> round(humidity_ratio_from_wet_bulb(313.15, 293.15, pressure_pa=101325.0), 4)  # ASHRAE Handbook 2017, example 1
    0.0064
    """
    _site(pressure_pa)
    celsius = _celsius(dry_bulb_k)
    within("wet_bulb_k", wet_bulb_k, _DRY_BULB_K[0], dry_bulb_k, "K", "a wet bulb is never above the dry bulb")
    found: Value = _psychrolib.GetHumRatioFromTWetBulb(celsius, _celsius(wet_bulb_k), pressure_pa)
    return found


@takes_arrays
def wet_bulb(dry_bulb_k: Value, relative_humidity_percent: Value, *, pressure_pa: float) -> Value:
    """Compute the (thermodynamic) wet bulb [K]; arguments and errors as `humidity_ratio`.

    >>> round(wet_bulb(299.817, 51.1, pressure_pa=101325.0) * 1.8 - 459.67, 1)  # the rating point 80 / 67 °F of AHRI
    67.0
    """
    _site(pressure_pa)
    ratio = _ratio(relative_humidity_percent)
    found: Value = _ICE_POINT_K + _psychrolib.GetTWetBulbFromRelHum(_celsius(dry_bulb_k), ratio, pressure_pa)
    return found


@takes_arrays
def dew_point(dry_bulb_k: Value, relative_humidity_percent: Value, *, pressure_pa: float) -> Value:
    """Compute the temperature at which the water of air begins to settle [K]; arguments and errors as `humidity_ratio`.

    Below 0.1 %RH it is refused: hardly any water, and no thermometer that could tell.

    >>> round(dew_point(299.817, 51.1, pressure_pa=101325.0) * 1.8 - 459.67, 1)  # 60.32: ASHRAE Handbook 2017, ch. 1
    60.3
    """
    _site(pressure_pa)
    ratio = within("relative_humidity_percent", relative_humidity_percent, 0.1, 100.0, "%RH") / 100
    found: Value = _ICE_POINT_K + _psychrolib.GetTDewPointFromRelHum(_celsius(dry_bulb_k), ratio)
    return found


@takes_arrays
def measured_wet_bulb(dry_bulb: Estimate, humidity: Estimate, *, barometric_pressure_pa: float) -> Estimate:
    """Compute the wet bulb of measured air, with what both instruments leave open: the one that every room takes.

    Args:
        dry_bulb: -40 to 60 °C [K].
        humidity: relative, 0 to 100 [%RH].
        barometric_pressure_pa: of the site; at sea level's a roof in the mountains reads some tenths of a kelvin high
            in dry air [Pa].

    Raises:
        CalcRangeError: an argument is outside its range.

    >>> found = measured_wet_bulb(Estimate(299.817, 0.25), Estimate(51.1, 1.5), barometric_pressure_pa=101325.0)
    >>> round(found.value * 1.8 - 459.67, 1)  # the rating point 80 / 67 °F of AHRI
    67.0

    """

    def model(dry_bulb: float, humidity: float) -> float:
        return wet_bulb(dry_bulb, humidity, pressure_pa=barometric_pressure_pa)

    return propagate(model, {"dry_bulb": dry_bulb, "humidity": humidity}).estimate


@takes_arrays
def enthalpy(dry_bulb_k: Value, humidity_ratio_kg_per_kg: Value) -> Value:
    """Compute the enthalpy of moist air per mass of dry air.

    Args:
        dry_bulb_k: -40 to 60 °C [K].
        humidity_ratio_kg_per_kg: 0 to 1 [kg/kg].

    Returns:
        The enthalpy, from dry air and liquid water at 0 °C [J/kg].

    >>> round(enthalpy(298.15, 0.0) / 1e3, 2)  # 25.148: ASHRAE Handbook 2017, ch. 1, table 2
    25.15

    """
    moisture = _moisture(humidity_ratio_kg_per_kg)
    found: Value = _psychrolib.GetMoistAirEnthalpy(_celsius(dry_bulb_k), moisture)
    return found


@takes_arrays
def density(dry_bulb_k: Value, humidity_ratio_kg_per_kg: Value, *, pressure_pa: float) -> Value:
    """Compute the density of moist air [kg/m³], its water included; arguments as `enthalpy`.

    >>> round(1 / density(298.15, 0.0, pressure_pa=101325.0), 4)  # 0.8443 m³/kg: ASHRAE Handbook 2017, ch. 1, table 2
    0.8446
    """
    _site(pressure_pa)
    moisture = _moisture(humidity_ratio_kg_per_kg)
    found: Value = _psychrolib.GetMoistAirDensity(_celsius(dry_bulb_k), moisture, pressure_pa)
    return found


def split(return_air_k: Estimate, supply_air_k: Estimate, *, correlation: float = 0.0) -> Estimate:
    """Give the air split: return less supply temperature [K].

    Args:
        return_air_k: dry bulb [K].
        supply_air_k: dry bulb [K].
        correlation: of their errors, -1 to 1. Two sensors of one instrument err together, one sensor moved from
            place to place still more so, and what they share cancels (JCGM 100, 5.2.2).

    Raises:
        CalcRangeError: no such correlation.

    >>> split(Estimate(297.0, 0.5), Estimate(286.0, 0.5), correlation=1.0)  # the same error twice
    Estimate(value=11.0, standard_uncertainty=0.0)

    """
    entering = Budget(
        return_air_k.value, {"return": return_air_k.standard_uncertainty}, {("return", "supply"): correlation}
    )
    leaving = Budget(supply_air_k.value, {"supply": supply_air_k.standard_uncertainty})
    return (entering - leaving).estimate


def sensible_heat_w(
    airflow_m3_per_s: Value, air_split_dk: Value, *, pressure_pa: float = STANDARD_PRESSURE_PA
) -> Value:
    """Compute the heat that lowers an air stream's temperature: the trade's 1.08 x cfm x °F, with its correction.

    Args:
        airflow_m3_per_s: not below 0 [m³/s].
        air_split_dk: return less supply [K].
        pressure_pa: barometric [Pa]. Density falls with it; that it moves with temperature too is left out: some 3 %.

    Returns:
        Positive when cooling [W].

    >>> cfm, btu_per_h = 0.3048**3 / 60, 1055.056 / 3600
    >>> round(sensible_heat_w(1200 * cfm, 20 / 1.8) / btu_per_h)  # 1.08 x 1200 x 20
    25920

    """
    per_m3_k = STANDARD_AIR_KG_PER_M3 * STANDARD_AIR_J_PER_KG_K * density_ratio(pressure_pa)
    return per_m3_k * _flow(airflow_m3_per_s) * within("air_split_dk", air_split_dk, -100.0, 100.0, "K")


def total_heat_w(
    airflow_m3_per_s: Value, enthalpy_fall_j_per_kg: Value, *, pressure_pa: float = STANDARD_PRESSURE_PA
) -> Value:
    """Compute the heat that an air stream gives up, with that of its water: the trade's 4.5 x cfm x Btu/lb, corrected.

    Args:
        airflow_m3_per_s: not below 0 [m³/s].
        enthalpy_fall_j_per_kg: return less supply [J/kg].
        pressure_pa: as `sensible_heat_w`.

    Returns:
        Positive when cooling [W]. What the condensate carries away is left in: some 1 % of it.

    >>> cfm, btu_per_h, btu_per_lb = 0.3048**3 / 60, 1055.056 / 3600, 2326.0
    >>> round(total_heat_w(1200 * cfm, 6.7 * btu_per_lb) / btu_per_h)  # 4.5 x 1200 x 6.7
    36180

    """
    fall = within("enthalpy_fall_j_per_kg", enthalpy_fall_j_per_kg, -1e6, 1e6, "J/kg")
    return STANDARD_AIR_KG_PER_M3 * density_ratio(pressure_pa) * _flow(airflow_m3_per_s) * fall


@dataclass(frozen=True, slots=True)
class MoistAir:
    """The state of an air stream: dry bulb [K] and humidity ratio [kg/kg]."""

    dry_bulb_k: float
    humidity_ratio_kg_per_kg: float

    @property
    def enthalpy_j_per_kg(self) -> float:
        """Per mass of dry air [J/kg]."""
        return enthalpy(self.dry_bulb_k, self.humidity_ratio_kg_per_kg)


@dataclass(frozen=True, slots=True)
class Delivered:
    """What a coil takes out of an air stream: heat, the part of it that cools and that dries [W], and water [kg/s]."""

    total_w: float
    sensible_w: float
    latent_w: float
    condensate_kg_per_s: float


def delivered(entering: MoistAir, leaving: MoistAir, *, airflow_m3_per_s: float, pressure_pa: float) -> Delivered:
    """Compute what a coil delivers, from the air on either side of it.

    Sensible is what the entering air gives up when cooled to the leaving temperature with its water; the rest is
    latent (ASHRAE Handbook of Fundamentals, ch. 1, cooling of moist air; the heat of the condensate is left in).

    Args:
        entering: the air before the coil.
        leaving: the air after it, and after the fan if that is to count.
        airflow_m3_per_s: as it enters, not below 0 [m³/s].
        pressure_pa: barometric [Pa].

    >>> entering, leaving = MoistAir(299.817, 0.011169), MoistAir(285.928, 0.008729)  # 80 °F, 51 % and 55 °F, 95 %
    >>> round(delivered(entering, leaving, airflow_m3_per_s=0.5663, pressure_pa=101325.0).total_w / 3516.85, 1)  # tons
    3.8

    """
    moist = density(entering.dry_bulb_k, entering.humidity_ratio_kg_per_kg, pressure_pa=pressure_pa)
    dry_kg_per_s = _flow(airflow_m3_per_s) * moist / (1 + entering.humidity_ratio_kg_per_kg)
    cooled = MoistAir(leaving.dry_bulb_k, entering.humidity_ratio_kg_per_kg)
    return Delivered(
        total_w=dry_kg_per_s * (entering.enthalpy_j_per_kg - leaving.enthalpy_j_per_kg),
        sensible_w=dry_kg_per_s * (entering.enthalpy_j_per_kg - cooled.enthalpy_j_per_kg),
        latent_w=dry_kg_per_s * (cooled.enthalpy_j_per_kg - leaving.enthalpy_j_per_kg),
        condensate_kg_per_s=dry_kg_per_s * (entering.humidity_ratio_kg_per_kg - leaving.humidity_ratio_kg_per_kg),
    )


GREATEST_COEFFICIENT = 30.0
"""No air conditioner comes near: an EER of 102. Common practice, no source."""
_NO_MACHINE = f"no machine cools by more than {GREATEST_COEFFICIENT:g} times what it takes"


def coefficient_of_performance(capacity_w: float, power_w: float) -> float:
    """Give the capacity over the electric power that it takes; 3.412 times that is the EER [Btu/Wh].

    Raises:
        CalcRangeError: the capacity is negative, the power is below 1 W or a thirtieth of it, or beyond 1 GW.

    >>> ton_w = 3516.85
    >>> round(3.412 * coefficient_of_performance(3 * ton_w, 3000.0), 1)  # 12 EER is 1 kW a ton, by definition
    12.0

    """
    within("capacity_w", capacity_w, 0.0, 1e9, "W", "what gives up no heat has no efficiency at cooling")
    return capacity_w / within("power_w", power_w, max(1.0, capacity_w / GREATEST_COEFFICIENT), 1e9, "W", _NO_MACHINE)


def _celsius(dry_bulb_k: Value) -> Value:
    return within("dry_bulb_k", dry_bulb_k, *_DRY_BULB_K, "K") - _ICE_POINT_K


def _ratio(relative_humidity_percent: Value) -> Value:
    return within("relative_humidity_percent", relative_humidity_percent, 0.0, 100.0, "%RH") / 100


def _moisture(humidity_ratio_kg_per_kg: Value) -> Value:
    return within("humidity_ratio_kg_per_kg", humidity_ratio_kg_per_kg, 0.0, 1.0, "kg/kg")


def _site(pressure_pa: Value) -> Value:
    return within("pressure_pa", pressure_pa, *_PRESSURE_PA, "Pa", "barometric pressure is absolute")


def _flow(airflow_m3_per_s: Value) -> Value:
    return within("airflow_m3_per_s", airflow_m3_per_s, 0.0, 1e4, "m³/s")
