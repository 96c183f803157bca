"""Saturation, superheat and subcooling."""

from collections.abc import Mapping
from functools import partial

from calc import saturation, superheat
from calc.air import barometric_pressure
from calc.arguments import REFRIGERANT
from calc.calculation import Calculation, Values
from calc.entry import Given, entry
from calc.estimate import Estimate
from calc.instruments import LIQUID_GAUGE, LIQUID_LIMIT_PA, SUCTION_GAUGE, SUCTION_LIMIT_PA, thermometer


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
    suction_pressure_pa: float,
    suction_line_temperature_k: float,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float = SUCTION_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
) -> Values:
    found = superheat.superheat(
        refrigerant,
        suction_pressure_pa,
        suction_line_temperature_k=suction_line_temperature_k,
        pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
        temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
    )
    return {
        "superheat_dk": found,
        **_warning(found, _BELOW_THE_DEW_POINT),
        "dew_k": saturation.dew_point(refrigerant, suction_pressure_pa),
        "pressure_pa": suction_pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


def _subcooling(
    refrigerant: str,
    liquid_pressure_pa: float,
    liquid_line_temperature_k: float,
    barometric_pressure_pa: float,
    pressure_accuracy_pa: float = LIQUID_LIMIT_PA,
    temperature_accuracy_dk: float = 0.5,
) -> Values:
    found = superheat.subcooling(
        refrigerant,
        liquid_pressure_pa,
        liquid_line_temperature_k=liquid_line_temperature_k,
        pressure_standard_uncertainty_pa=pressure_accuracy_pa / 2,
        temperature_standard_uncertainty_k=temperature_accuracy_dk / 2,
    )
    return {
        "subcooling_dk": found,
        **_warning(found, _ABOVE_THE_BUBBLE_POINT),
        "bubble_k": saturation.bubble_point(refrigerant, liquid_pressure_pa),
        "pressure_pa": liquid_pressure_pa,
        "barometric_pressure_pa": barometric_pressure_pa,
    }


_BELOW_THE_DEW_POINT = (
    "The line is colder than its dew point, by more than the instruments may be off: liquid in the suction line, a "
    "gauge reading taken as absolute or the other way round, another refrigerant, or a clamp that is not on the pipe."
)
_ABOVE_THE_BUBBLE_POINT = (
    "The line is warmer than its bubble point, by more than the instruments may be off: vapour in the liquid line, a "
    "gauge reading taken as absolute or the other way round, another refrigerant, or a clamp that is not on the pipe."
)


def _warning(found: Estimate, says: str) -> Values:
    """Warn of a figure that is below zero beyond its ±: no sound line with sound instruments has that."""
    return {"warning": says} if found.value < -found.expanded() else {}


_GIVEN = {
    "refrigerant": Given("R-410A", REFRIGERANT),
    "pressure_pa": Given("118psig"),
    "temperature_k": Given("41degF", low=173.15, high=423.15),
    "suction_pressure_pa": Given("118psig"),
    "suction_line_temperature_k": Given("50degF", low=173.15, high=473.15),
    "liquid_pressure_pa": Given("350psig"),
    "liquid_line_temperature_k": Given("97degF", low=173.15, high=473.15),
    "temperature_accuracy_dk": thermometer("the line temperature"),
    "elevation_m": Given("30m", low=-5000.0, high=11000.0),
}
EQUATIONS = "the equations of state of CoolProp 8.0.0"
_UNCERTAINTY = "JCGM 100, 5.1.2 (uncertainties in quadrature)"
_entry = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "saturation": _entry(
        _saturation,
        "dew point, bubble point and glide of a refrigerant at a pressure",
        source=EQUATIONS,
        tolerance="1 mK",
        test="tests/calc/test_saturation_oracle.py::test_within_a_millikelvin_of_the_plain_flash",
    ),
    "dew_pressure": _entry(
        _dew_pressure,
        "the pressure at which a temperature is the dew point",
        source=EQUATIONS,
        tolerance="that of 1 mK",
        test="tests/calc/test_saturation.py::test_pressure_inverts_temperature",
    ),
    "bubble_pressure": _entry(
        _bubble_pressure,
        "the pressure at which a temperature is the bubble point",
        source=EQUATIONS,
        tolerance="that of 1 mK",
        test="tests/calc/test_saturation.py::test_pressure_inverts_temperature",
    ),
    "superheat": _entry(
        _superheat,
        "how far the suction line is above the dew point",
        given=_GIVEN | {"pressure_accuracy_pa": SUCTION_GAUGE},
        source=f"{EQUATIONS}; {_UNCERTAINTY}",
        tolerance="1 mK",
        test="tests/calc/test_superheat.py::test_instruments_limits_add_in_quadrature",
    ),
    "subcooling": _entry(
        _subcooling,
        "how far the liquid line is below the bubble point",
        given=_GIVEN | {"pressure_accuracy_pa": LIQUID_GAUGE},
        source=f"{EQUATIONS}; {_UNCERTAINTY}",
        tolerance="1 mK",
        test="tests/calc/test_superheat.py::test_subcooling_in_print",
    ),
    "barometric_pressure": _entry(
        barometric_pressure,
        "the pressure of the standard atmosphere at an elevation",
        result="barometric_pressure_pa",
        source="ASHRAE Handbook of Fundamentals, chapter 1, table 1 (from memory)",
        tolerance="1 Pa",
        test="tests/calc/test_air.py::test_standard_atmosphere",
    ),
}
