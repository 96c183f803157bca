"""What conditions make of figures: brought to rated ones, and the amps to be expected."""

from collections.abc import Mapping
from functools import partial

from calc import expected_current, normalised
from calc.calculation import Calculation, Values
from calc.cautions import at_a_panel
from calc.entry import Given, entry
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.expected_current import Conditions
from calc.instruments import COMMON, thermometer


def _normalised_cooling(
    capacity_w: float,
    electric_w: float,
    return_air_wet_bulb_k: float,
    outdoor_air_temperature_k: float,
    capacity_accuracy_ratio: float = 0.15,
    power_accuracy_ratio: float = 0.03,
    temperature_accuracy_dk: float = 0.5,
) -> Values:
    found = normalised.normalised(
        Estimate(capacity_w, capacity_w * capacity_accuracy_ratio / 2),
        Estimate(electric_w, electric_w * power_accuracy_ratio / 2),
        return_wet_bulb=Estimate(return_air_wet_bulb_k, temperature_accuracy_dk / 2),
        outdoor_air=Estimate(outdoor_air_temperature_k, temperature_accuracy_dk / 2),
    )
    return {
        "at_rated_conditions_w": found.capacity,
        "at_rated_conditions_electric_w": found.power,
        "coefficient_of_performance_ratio": found.coefficient_of_performance,
        "normalised": normalised.RELATION,
        "not_normalised": "airflow, charge, frost, stages and inverter speed: of these nothing is corrected",
    }


def _expected_amps(
    return_air_wet_bulb_k: float,
    outdoor_air_temperature_k: float,
    voltage_v: float,
    nameplate_v: float | None = None,
    rated_load_a: float | None = None,
    earlier_current_a: float | None = None,
    earlier_wet_bulb_k: float | None = None,
    earlier_outdoor_k: float | None = None,
    earlier_voltage_v: float | None = None,
    measured_current_a: float | None = None,
    current_accuracy_ratio: float = 0.03,
) -> Values:
    now = Conditions(return_air_wet_bulb_k, outdoor_air_temperature_k, voltage_v)
    if earlier_current_a is not None and earlier_wet_bulb_k is not None and earlier_outdoor_k is not None:
        then = Conditions(earlier_wet_bulb_k, earlier_outdoor_k, earlier_voltage_v or voltage_v)
        earlier = Estimate(earlier_current_a, earlier_current_a * current_accuracy_ratio / 2)
        expected, base = expected_current.current_by_reading(earlier, then=then, now=now), "its own earlier reading"
    elif earlier_current_a is None and rated_load_a is not None:
        expected = expected_current.current_by_nameplate(rated_load_a, now=now, nameplate_v=nameplate_v or voltage_v)
        base = "the plate's rated load amps: 0.70 of them at 67/95 °F, known to ± 0.16 (from memory)"
    else:
        raise ArgumentError(
            "expected_amps needs rated_load, such as rated_load=18A; or, better, earlier_current with "
            "earlier_wet_bulb and earlier_outdoor"
        )
    compared: Values = {}
    if measured_current_a is not None:
        measured = Estimate(measured_current_a, measured_current_a * current_accuracy_ratio / 2)
        compared = {"measured_current_a": measured, "finding": expected_current.judge_current(measured, expected)}
        warning = "" if rated_load_a is None else expected_current.against_rated_load(measured_current_a, rated_load_a)
        compared = {**({"warning": warning} if warning else {}), **compared}
    return {
        **compared,
        "expected_current_a": expected,
        "from": base,
        "charge": expected_current.NO_GAUGE_OF_CHARGE,
        "no_limit": expected_current.NO_LIMIT,
        "cautions": at_a_panel(live=True),
    }


def _charge_power(
    charge_deviation_ratio: float, return_air_temperature_k: float, outdoor_air_temperature_k: float
) -> Values:
    share = normalised.charge_power_ratio(
        charge_deviation_ratio, return_air_k=return_air_temperature_k, outdoor_k=outdoor_air_temperature_k
    )
    return {
        "power_ratio": Estimate(share, normalised.CHARGE_STANDARD_UNCERTAINTY_RATIO),
        "says": "power, and amps with it, are no gauge of charge: the change is as small as its ±",
    }


_ENDS = "what the catalogues behind it cover"
_TRIED = "what the tests behind it cover"


def _wet_bulb(otherwise: str | None = None) -> Given:
    return Given("67degF", low=287.0, high=295.4, otherwise=otherwise, called=("return_wet_bulb_k",), says=_ENDS)


def _outdoor(otherwise: str | None = None) -> Given:
    return Given("95degF", low=297.0, high=319.3, otherwise=otherwise, called=("outdoor_k",), says=_ENDS)


_GIVEN = {
    "capacity_w": Given("3ton", low=100.0, high=1e6, called=("capacity",), says="total, as delivered"),
    "electric_w": Given("3.2kW", low=10.0, high=1e6, name="power", says="electric, total"),
    "return_air_wet_bulb_k": _wet_bulb(),
    "outdoor_air_temperature_k": _outdoor(),
    "return_air_temperature_k": Given("78degF", low=294.0, high=300.2, called=("return_air_k",), says=_TRIED),
    "capacity_accuracy_ratio": Given("10%", high=0.5, otherwise=f"the capacity within ±15 % {COMMON}"),
    "power_accuracy_ratio": Given("2%", high=0.2, otherwise=f"the power within ±3 % {COMMON}"),
    "temperature_accuracy_dk": thermometer("the air temperatures"),
    "charge_deviation_ratio": Given("-20%", low=-0.3, high=0.3, says="of the right charge; below zero: too little"),
    "voltage_v": Given("230V", low=50.0, high=1000.0, says="at the compressor, running"),
    "nameplate_v": Given("230V", low=50.0, high=1000.0, otherwise="volts as on the plate"),
    "rated_load_a": Given(
        "18A", low=0.5, high=1000.0, otherwise="", says="RLA of the compressor; or earlier_current with its conditions"
    ),
    "earlier_current_a": Given("12.4A", low=0.5, high=1000.0, otherwise="no earlier reading", called=("current",)),
    "earlier_wet_bulb_k": _wet_bulb(""),
    "earlier_outdoor_k": _outdoor(""),
    "earlier_voltage_v": Given("232V", low=50.0, high=1000.0, otherwise="then as many volts as now"),
    "measured_current_a": Given("13.1A", low=0.0, high=1000.0, otherwise="no reading to compare"),
    "current_accuracy_ratio": Given("2%", high=0.3, otherwise=f"amps within ±3 % {COMMON}"),
}
_CUTLER = "D. Cutler et al., NREL/TP-5500-56354 (2013), as an open program carries its coefficients"
_at_conditions = partial(entry, given=_GIVEN)

CALCULATIONS: Mapping[str, Calculation] = {
    "normalised_cooling": _at_conditions(
        _normalised_cooling,
        "measured cooling capacity, power and COP brought to rated conditions, and by which relation",
        source=f"{_CUTLER}; JCGM 100, section 5",
        tolerance="0.1 % of the relation's table; its ± from a unit in a laboratory, NISTIR 7350",
        test="tests/calc/test_normalised.py::test_the_relation_as_it_is_tabulated",
    ),
    "charge_power": _at_conditions(
        _charge_power,
        "what a wrong charge does to the power of cooling: less than anyone can measure",
        given=_GIVEN
        | {"outdoor_air_temperature_k": Given("95degF", low=294.0, high=311.2, called=("outdoor_k",), says=_TRIED)},
        source="NIST TN 1848, as an open program carries its coefficients",
        tolerance="0.0001 of its cases",
        test="tests/calc/test_normalised.py::test_power_by_charge_as_tabulated",
    ),
    "expected_amps": _at_conditions(
        _expected_amps,
        "the amps that a compressor may be expected to draw in cooling at some conditions, with an honest ±",
        source=f"{_CUTLER}; share of the rated load amps at rated conditions: from memory; JCGM 100, section 5",
        tolerance="its own ±: a compressor in a laboratory, NISTIR 7350, lies within",
        test="tests/calc/test_expected_current.py::test_a_measured_compressor_lies_within_the_plus_minus",
        example=(("rated_load", "18A"), ("measured_current", "13.1A")),
    ),
}
