"""Saturation, superheat and subcooling."""

from collections.abc import Mapping

from calc import saturation, superheat
from calc.air import barometric_pressure
from calc.arguments import REFRIGERANT, Accuracy, Measure
from calc.calculation import Assumption, Calculation, Parameter, Values
from calc.quantities import Quantity
from calc.units import parse_difference


def _saturation(refrigerant: str, pressure_pa: float, barometric_pressure_pa: float) -> Values:
    dew_k = saturation.dew_point(refrigerant, pressure_pa)
    bubble_k = saturation.bubble_point(refrigerant, pressure_pa)
    return {
        "dew_k": dew_k,
        "bubble_k": bubble_k,
        "glide_dk": dew_k - bubble_k,
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _dew_pressure(refrigerant: str, temperature_k: float, barometric_pressure_pa: float) -> Values:
    pressure_pa = saturation.dew_pressure(refrigerant, temperature_k)
    return {"pressure_pa": pressure_pa, "barometric_pressure_pa": barometric_pressure_pa}


def _bubble_pressure(refrigerant: str, temperature_k: float, barometric_pressure_pa: float) -> Values:
    pressure_pa = saturation.bubble_pressure(refrigerant, temperature_k)
    return {"pressure_pa": pressure_pa, "barometric_pressure_pa": barometric_pressure_pa}


def _superheat(
    refrigerant: str,
    pressure_pa: float,
    temperature_k: float,
    pressure_accuracy_pa: float,
    temperature_accuracy_dk: float,
    barometric_pressure_pa: float,
) -> Values:
    return {
        "superheat_dk": superheat.superheat(
            refrigerant,
            pressure_pa,
            suction_line_temperature_k=temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "dew_k": saturation.dew_point(refrigerant, pressure_pa),
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _subcooling(
    refrigerant: str,
    pressure_pa: float,
    temperature_k: float,
    pressure_accuracy_pa: float,
    temperature_accuracy_dk: float,
    barometric_pressure_pa: float,
) -> Values:
    return {
        "subcooling_dk": superheat.subcooling(
            refrigerant,
            pressure_pa,
            liquid_line_temperature_k=temperature_k,
            pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
            temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
        ),
        "bubble_k": saturation.bubble_point(refrigerant, pressure_pa),
        "pressure_pa": pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _barometric_pressure(elevation_m: float) -> Values:
    return {"barometric_pressure_pa": barometric_pressure(elevation_m)}


def _pressure_accuracy(limit: str, which: str) -> Parameter:
    says = f"the {which} pressure within ±{limit}, the instrument limit of California Title 24, RA3.2"
    limit_pa = parse_difference(limit, Quantity.PRESSURE)
    return Parameter(
        "pressure_accuracy",
        "pressure_accuracy_pa",
        Accuracy(Quantity.PRESSURE),
        "1psi",
        otherwise=Assumption(limit_pa, says),
    )


_LINE = Measure(Quantity.TEMPERATURE, 173.15, 473.15)
_REFRIGERANT = Parameter("refrigerant", "refrigerant", REFRIGERANT, "R-410A")
_TEMPERATURE = Parameter("temperature", "temperature_k", Measure(Quantity.TEMPERATURE, 173.15, 423.15), "41degF")
_TEMPERATURE_ACCURACY = Parameter(
    "temperature_accuracy",
    "temperature_accuracy_dk",
    Accuracy(Quantity.TEMPERATURE),
    "0.5degC",
    otherwise=Assumption(0.5, "the line temperature within ±0.5 °C (common practice, no source)"),
)
_EQUATIONS = "the equations of state of CoolProp 8.0.0"
_UNCERTAINTY = "JCGM 100, 5.1.2 (uncertainties in quadrature)"

CALCULATIONS: Mapping[str, Calculation] = {
    "saturation": Calculation(
        "dew point, bubble point and glide of a refrigerant at a pressure",
        (_REFRIGERANT, Parameter("pressure", "pressure_pa", Quantity.PRESSURE, "118psig")),
        _saturation,
        source=_EQUATIONS,
        tolerance="1 mK",
        test="tests/calc/test_saturation_oracle.py::test_within_a_millikelvin_of_the_plain_flash",
        needs_site=True,
    ),
    "dew_pressure": Calculation(
        "the pressure at which a temperature is the dew point",
        (_REFRIGERANT, _TEMPERATURE),
        _dew_pressure,
        source=_EQUATIONS,
        tolerance="that of 1 mK",
        test="tests/calc/test_saturation.py::test_pressure_inverts_temperature",
        needs_site=True,
    ),
    "bubble_pressure": Calculation(
        "the pressure at which a temperature is the bubble point",
        (_REFRIGERANT, _TEMPERATURE),
        _bubble_pressure,
        source=_EQUATIONS,
        tolerance="that of 1 mK",
        test="tests/calc/test_saturation.py::test_pressure_inverts_temperature",
        needs_site=True,
    ),
    "superheat": Calculation(
        "how far the suction line is above the dew point",
        (
            _REFRIGERANT,
            Parameter("suction_pressure", "pressure_pa", Quantity.PRESSURE, "118psig"),
            Parameter("suction_line_temperature", "temperature_k", _LINE, "50degF"),
            _pressure_accuracy("3.5 psi", "suction"),
            _TEMPERATURE_ACCURACY,
        ),
        _superheat,
        source=f"{_EQUATIONS}; {_UNCERTAINTY}",
        tolerance="1 mK",
        test="tests/calc/test_superheat.py::test_instruments_limits_add_in_quadrature",
        needs_site=True,
    ),
    "subcooling": Calculation(
        "how far the liquid line is below the bubble point",
        (
            _REFRIGERANT,
            Parameter("liquid_pressure", "pressure_pa", Quantity.PRESSURE, "350psig"),
            Parameter("liquid_line_temperature", "temperature_k", _LINE, "97degF"),
            _pressure_accuracy("7 psi", "liquid"),
            _TEMPERATURE_ACCURACY,
        ),
        _subcooling,
        source=f"{_EQUATIONS}; {_UNCERTAINTY}",
        tolerance="1 mK",
        test="tests/calc/test_superheat.py::test_subcooling_in_print",
        needs_site=True,
    ),
    "barometric_pressure": Calculation(
        "the pressure of the standard atmosphere at an elevation",
        (Parameter("elevation", "elevation_m", Measure("length", -5000.0, 11000.0), "30m"),),
        _barometric_pressure,
        source="ASHRAE Handbook of Fundamentals, chapter 1, table 1 (from memory)",
        tolerance="1 Pa",
        test="tests/calc/test_air.py::test_standard_atmosphere",
    ),
}
