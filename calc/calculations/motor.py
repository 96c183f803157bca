"""Motors, their capacitors and their supply."""

import math
from collections.abc import Mapping

from calc import motor
from calc.arguments import YES_NO, Accuracy, ListOf, Measure, Number, Worded
from calc.calculation import Assumption, Calculation, Parameter, Unknown, Values
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.motor import branch_circuit, capacitor, supply, windings
from calc.quantities import Quantity


def _capacitance_under_load(
    current_a: float, voltage_v: float, frequency_hz: float, current_accuracy_a: float, voltage_accuracy_v: float
) -> Values:
    measured = motor.capacitance_under_load(
        current_a,
        voltage_v,
        frequency_hz=frequency_hz,
        current_standard_uncertainty_a=current_accuracy_a / 2,
        voltage_standard_uncertainty_v=voltage_accuracy_v / 2,
    )
    return {"capacitance_f": measured, "caution": capacitor.UNDER_LOAD_CAUTION}


def _capacitor_verdict(
    measured_f: tuple[float, ...],
    label_f: tuple[float, ...],
    accuracy_f: float,
    tolerance_ratio: float,
    bulged_or_leaking: bool,  # noqa: FBT001 - the catalogue calls by keyword
) -> Values:
    if len(measured_f) != len(label_f):
        raise ArgumentError(
            f"as many readings as sections on the label: {len(measured_f)} and {len(label_f)} are given"
        )
    verdicts = [
        motor.capacitor_verdict(
            Estimate(read_f, accuracy_f / 2),
            nominal_f,
            tolerance_ratio=tolerance_ratio,
            bulged_or_leaking=bulged_or_leaking,
        )
        for read_f, nominal_f in zip(measured_f, label_f, strict=True)
    ]
    return {
        "condition": motor.dual_capacitor_condition(*verdicts),
        "sections": [f"{verdict.condition}: {verdict.reason}" for verdict in verdicts],
        "caution": capacitor.DISCHARGE_CAUTION,
    }


def _stored_energy(capacitance_f: float, voltage_v: float) -> Values:
    return {
        "energy_j": motor.stored_energy_j(capacitance_f, voltage_v),
        "peak_voltage_v": voltage_v,
        "caution": capacitor.DISCHARGE_CAUTION,
    }


def _discharge_time(capacitance_f: float, resistance_ohm: float, from_v: float, to_v: float) -> Values:
    time_s = motor.discharge_time_s(capacitance_f, resistance_ohm, from_v=from_v, to_v=to_v)
    return {
        "time_s": time_s,
        "from_peak_v": from_v,
        "end_v": to_v,
        "within_a_minute": time_s <= capacitor.RESIDUAL_LIMIT_S,
        "caution": capacitor.DISCHARGE_CAUTION,
    }


def _load_ratio(current_a: float, rated_current_a: float) -> Values:
    return {"load_ratio": motor.load_ratio(current_a, rated_current_a)}


def _voltage_unbalance(line_voltages_v: tuple[float, ...]) -> Values:
    ratio = motor.unbalance(*_three(line_voltages_v))
    shown: Values = {
        "unbalance_percent": 100 * ratio,
        "within_limit": ratio <= supply.VOLTAGE_UNBALANCE_LIMIT_RATIO,
        "caution": supply.CAUTION,
    }
    if ratio > supply.GREATEST_UNBALANCE_RATIO:
        return {**shown, "derating_factor": Unknown("do not run a motor on more than 5 %: find the cause first")}
    derating = motor.derating(ratio)
    return {**shown, "derating_factor": derating.factor, "derating_source": derating.status}


def _current_unbalance(line_currents_a: tuple[float, ...]) -> Values:
    ratio = motor.unbalance(*_three(line_currents_a))
    return {
        "unbalance_percent": 100 * ratio,
        "within_limit": ratio <= supply.CURRENT_UNBALANCE_LIMIT_RATIO,
        "caution": supply.CAUTION,
    }


def _three(values: tuple[float, ...]) -> tuple[float, float, float]:
    if len(values) != 3:
        raise ArgumentError(f"three phases have three values: {len(values)} are given")
    return values[0], values[1], values[2]


def _supply_limits(voltage_v: float, nameplate_low_v: float, nameplate_high_v: float | None) -> Values:
    low_v, high_v = motor.supply_limits(nameplate_low_v, nameplate_high_v)
    return {"lowest_v": low_v, "highest_v": high_v, "within": low_v <= voltage_v <= high_v, "caution": supply.CAUTION}


def _three_phase_power(line_voltage_v: float, line_current_a: float, power_factor: float) -> Values:
    power = motor.three_phase_power(line_voltage_v, line_current_a, power_factor=power_factor)
    return {"real_electric_w": power.real_w, "apparent_va": power.apparent_va, "reactive_var": power.reactive_var}


def _power_factor(real_w: float, line_voltage_v: float, line_current_a: float) -> Values:
    found = motor.power_factor(real_w, line_voltage_v=line_voltage_v, line_current_a=line_current_a)
    return {"power_factor": found}


def _winding_check(start_common_ohm: float, run_common_ohm: float, start_run_ohm: float) -> Values:
    verdict = motor.winding_check(start_common_ohm, run_common_ohm, start_run_ohm=start_run_ohm)
    state = "leads_may_be_swapped" if verdict.leads_may_be_swapped else verdict.state
    return {"state": state, "reason": verdict.reason, "caution": windings.CAUTION}


_OPEN = ("open", "ol", "o.l.", "inf", "infinite")
"""What people write, and meters show, where nothing conducts."""


def _ohm_or_open(text: str) -> float:
    return math.inf if text.strip().casefold() in _OPEN else Measure("resistance", 1e-3, 1e6).read(text, None)


def _mca(largest_motor_a: float, other_loads_a: float, electric_heat_a: float, nameplate_a: float | None) -> Values:
    rating = motor.mca(largest_motor_a, other_loads_a, electric_heat_a=electric_heat_a, nameplate_a=nameplate_a)
    return {"ampacity_a": rating.current_a, "says": rating.source, "caution": branch_circuit.CAUTION}


def _mocp(
    largest_motor_a: float,
    other_loads_a: float,
    electric_heat_a: float,
    will_not_start: bool,  # noqa: FBT001 - the catalogue calls by keyword
    nameplate_a: float | None,
) -> Values:
    rating = motor.mocp(
        largest_motor_a,
        other_loads_a,
        electric_heat_a=electric_heat_a,
        will_not_start=will_not_start,
        nameplate_a=nameplate_a,
    )
    return {"rating_a": rating.current_a, "says": rating.source, "caution": branch_circuit.CAUTION}


def _motor_start(interval_s: float, currents_a: tuple[float, ...], rated_current_a: float) -> Values:
    times_s = [interval_s * index for index in range(len(currents_a))]
    found = motor.motor_start(times_s, currents_a, rated_current_a=rated_current_a)
    if isinstance(found, motor.NoStart):
        return {"start": Unknown(found.reason)}
    if isinstance(found, motor.Stalled):
        return {"start": "it did not come up to speed", "peak_a": found.peak_a, "lasted_s": found.lasted_s}
    return {
        "start": "it came up to speed",
        "peak_a": found.peak_a,
        "running_a": found.running_a,
        "start_time_s": found.start_time_s,
        "resolution_s": found.resolution_s,
    }


def _short_cycling(interval_s: float, currents_a: tuple[float, ...], rated_current_a: float) -> Values:
    times_s = [interval_s * index for index in range(len(currents_a))]
    found = motor.short_cycling(times_s, currents_a, rated_current_a=rated_current_a)
    return {
        "short_cycling": found.is_short_cycling,
        "starts": found.starts,
        "short_runs_s": found.short_runs_s,
        "short_rests_s": found.short_rests_s,
    }


_CURRENT = Parameter("current", "current_a", Quantity.CURRENT, "9A")
_RATED = Parameter("rated_current", "rated_current_a", Measure(Quantity.CURRENT, 0.01, 1e4), "12A")
_LINE_VOLTAGE = Parameter("line_voltage", "line_voltage_v", Measure(Quantity.VOLTAGE, 1e-3, 1e5), "460V")
_LINE_CURRENT = Parameter("line_current", "line_current_a", Measure(Quantity.CURRENT, 1e-3, 1e4), "18.2A")
_LARGEST = Parameter("largest_motor", "largest_motor_a", Measure(Quantity.CURRENT, 0.01, 2000.0), "20A")
_OTHERS = Parameter("other_loads", "other_loads_a", Measure(Quantity.CURRENT, 0.0, 2000.0), "2.5A")
_HEAT = Parameter(
    "electric_heat",
    "electric_heat_a",
    Measure(Quantity.CURRENT, 0.0, 2000.0),
    "20A",
    otherwise=Assumption(0.0, "no electric heat that runs together with these loads"),
)
_NAMEPLATE = Parameter(
    "nameplate",
    "nameplate_a",
    Measure(Quantity.CURRENT, 0.01, 6000.0),
    "30A",
    otherwise=Assumption(None, "the nameplate gives no such figure: it would win"),
)
_CAPACITANCE = Parameter("capacitance", "capacitance_f", Quantity.CAPACITANCE, "45uF")


def _peak(keyword: str, once: str) -> Parameter:
    """Give the parameter of a peak voltage; once: by which it was known before."""
    says = "the peak, 1.414 times the RMS volts that a meter shows across it"
    return Parameter("peak_voltage", keyword, Measure(Quantity.VOLTAGE, 0.0, 2000.0), "523V", says=says, also=(once,))


_CURRENTS = Parameter(
    "currents", "currents_a", ListOf(Quantity.CURRENT), "0 A, 60 A, 55 A, 20 A, 10 A, 10 A, 10 A, 10 A"
)
_MOTOR_TEST = "tests/calc/motor/test_motor.py"
_CAPACITOR_TEST = "tests/calc/motor/test_capacitor.py"
_SUPPLY_TEST = "tests/calc/motor/test_supply.py"
_TRACE_TEST = "tests/calc/motor/test_current_trace.py"
_MEMORY = "common practice, no source"

CALCULATIONS: Mapping[str, Calculation] = {
    "capacitance_under_load": Calculation(
        "the capacitance of a run capacitor while its motor runs",
        (
            Parameter("current", "current_a", Measure(Quantity.CURRENT, 0.0, 1000.0), "4.6A"),
            Parameter(
                "voltage",
                "voltage_v",
                Measure(Quantity.VOLTAGE, 1.0, 2000.0),
                "345V",
                says="RMS, across the section while it runs",
            ),
            Parameter("frequency", "frequency_hz", Measure("frequency", 45.0, 65.0), "60Hz"),
            Parameter(
                "current_accuracy",
                "current_accuracy_a",
                Accuracy(Quantity.CURRENT),
                "0.1A",
                otherwise=Assumption(0.1, f"the current within ±0.1 A ({_MEMORY})"),
            ),
            Parameter(
                "voltage_accuracy",
                "voltage_accuracy_v",
                Accuracy(Quantity.VOLTAGE, 200.0),
                "5V",
                otherwise=Assumption(5.0, f"the voltage within ±5 V ({_MEMORY})"),
            ),
        ),
        _capacitance_under_load,
        source="C = I / (2 pi f V); JCGM 100, 5.1.2 (uncertainties in quadrature)",
        tolerance="0.2 % of worked examples with the constant rounded",
        test=_CAPACITOR_TEST,
    ),
    "capacitor_verdict": Calculation(
        "whether a run capacitor, of one section or two, is sound",
        (
            Parameter("measured", "measured_f", ListOf(Quantity.CAPACITANCE), "44.1 uF, 4.2 uF"),
            Parameter("label", "label_f", ListOf(Measure(Quantity.CAPACITANCE, 1e-9, 0.1)), "45 uF, 5 uF"),
            Parameter("bulged_or_leaking", "bulged_or_leaking", YES_NO, "no"),
            Parameter("accuracy", "accuracy_f", Accuracy(Quantity.CAPACITANCE), "0.2uF"),
            Parameter(
                "tolerance",
                "tolerance_ratio",
                Measure(Quantity.RATIO, 1e-3, 0.5),
                "6%",
                otherwise=Assumption(capacitor.USUAL_TOLERANCE_RATIO, f"the label allows ±6 % ({_MEMORY})"),
            ),
        ),
        _capacitor_verdict,
        source=f"the label; JCGM 106; a bulged or leaking can: {_MEMORY}",
        tolerance="exact",
        test=_CAPACITOR_TEST,
    ),
    "stored_energy": Calculation(
        "the energy in a charged capacitor",
        (_CAPACITANCE, _peak("voltage_v", "voltage")),
        _stored_energy,
        source="E = C V² / 2",
        tolerance="exact",
        test=_CAPACITOR_TEST,
    ),
    "discharge_time": Calculation(
        "how long a resistor takes to discharge a capacitor",
        (
            _CAPACITANCE,
            Parameter("resistance", "resistance_ohm", Measure("resistance", 1.0, 1e9), "20kohm"),
            _peak("from_v", "from"),
            Parameter(
                "end_voltage",
                "to_v",
                Measure(Quantity.VOLTAGE, 1.0, 2000.0),
                "50V",
                otherwise=Assumption(capacitor.RESIDUAL_LIMIT_V, f"discharged to 50 V ({_MEMORY})"),
                also=("to",),
            ),
        ),
        _discharge_time,
        source=f"t = R C ln(peak voltage / end voltage); 50 V and a minute: {_MEMORY}, for NEC 460 leaves out "
        "capacitors that are part of other apparatus (NEC 460.1)",
        tolerance="exact",
        test=_CAPACITOR_TEST,
    ),
    "load_ratio": Calculation(
        "a motor's current over that of its nameplate",
        (_CURRENT, _RATED),
        _load_ratio,
        source="by definition",
        tolerance="exact",
        test=_MOTOR_TEST,
    ),
    "voltage_unbalance": Calculation(
        "how unbalanced three line voltages are, and what load the motor may then carry",
        (Parameter("line_voltages", "line_voltages_v", ListOf(Quantity.VOLTAGE), "452 V, 464 V, 455 V"),),
        _voltage_unbalance,
        source="NEMA MG 1, as quoted in manuals: at most 2 %; rows of the derating from memory say so",
        tolerance="0.01 % of worked examples; 0.015 of a derating table in print",
        test=_SUPPLY_TEST,
    ),
    "current_unbalance": Calculation(
        "how unbalanced three line currents are",
        (Parameter("line_currents", "line_currents_a", ListOf(Quantity.CURRENT), "17.943 A, 18.3 A, 18.357 A"),),
        _current_unbalance,
        source="a training manual of the Refrigeration Service Engineers Society: at most 10 %",
        tolerance="0.01 % of a worked example",
        test=_SUPPLY_TEST,
    ),
    "supply_limits": Calculation(
        "whether a voltage is within 10 % of the nameplate's",
        (
            Parameter("voltage", "voltage_v", Quantity.VOLTAGE, "221V"),
            Parameter("nameplate", "nameplate_low_v", Measure(Quantity.VOLTAGE, 1.0, 1e5), "208V"),
            Parameter(
                "nameplate_high",
                "nameplate_high_v",
                Quantity.VOLTAGE,
                "230V",
                otherwise=Assumption(None, "the nameplate gives one voltage"),
            ),
        ),
        _supply_limits,
        source=_MEMORY,
        tolerance="exact",
        test=_SUPPLY_TEST,
    ),
    "three_phase_power": Calculation(
        "the power of a balanced three-phase load",
        (_LINE_VOLTAGE, _LINE_CURRENT, Parameter("power_factor", "power_factor", Number(0, 1), "0.85")),
        _three_phase_power,
        source="P = sqrt(3) V I times the power factor",
        tolerance="exact",
        test=_SUPPLY_TEST,
    ),
    "power_factor": Calculation(
        "the power factor of a three-phase load from its measured power",
        (Parameter("real_power", "real_w", "electric_power", "12.3kW"), _LINE_VOLTAGE, _LINE_CURRENT),
        _power_factor,
        source="by definition",
        tolerance="exact",
        test=_SUPPLY_TEST,
    ),
    "winding_check": Calculation(
        "whether the resistances of a single-phase motor's windings go together",
        (
            Parameter("start_common", "start_common_ohm", Worded(_ohm_or_open), "11ohm"),
            Parameter("run_common", "run_common_ohm", Worded(_ohm_or_open), "4ohm"),
            Parameter("start_run", "start_run_ohm", Worded(_ohm_or_open), "15ohm"),
        ),
        _winding_check,
        source=f"general texts of the trade; 5 %: {_MEMORY}",
        tolerance="exact",
        test=_MOTOR_TEST,
    ),
    "mca": Calculation(
        "the minimum circuit ampacity of a unit",
        (_LARGEST, _OTHERS, _HEAT, _NAMEPLATE),
        _mca,
        source="NEC 440.32, 440.33; electric heat at 125 %: NEC 424.4(B), UL 1995 (both from memory); nameplate first",
        tolerance="exact",
        test="tests/calc/motor/test_branch_circuit.py",
    ),
    "mocp": Calculation(
        "the greatest fuse or breaker of a unit",
        (
            _LARGEST,
            _OTHERS,
            _HEAT,
            Parameter(
                "will_not_start",
                "will_not_start",
                YES_NO,
                "no",
                otherwise=Assumption(value=False, says="the unit starts on 1.75 times its largest motor's current"),
            ),
            _NAMEPLATE,
        ),
        _mocp,
        source="NEC 440.22, 240.6(A); never below the minimum circuit ampacity; the nameplate wins",
        tolerance="exact",
        test="tests/calc/motor/test_branch_circuit.py",
    ),
    "motor_start": Calculation(
        "how a motor starts, from its current at even intervals",
        (Parameter("interval", "interval_s", "time", "100ms"), _CURRENTS, _RATED),
        _motor_start,
        source=f"{_MEMORY}; tried on the run-up of an induction motor by Kloss's formula",
        tolerance="the sampling interval",
        test=_TRACE_TEST,
    ),
    "short_cycling": Calculation(
        "whether a motor starts and stops too often, from its current at even intervals",
        (
            Parameter("interval", "interval_s", "time", "20s"),
            Parameter("currents", "currents_a", ListOf(Quantity.CURRENT), "0 A, 9 A, 9 A, 0 A, 9 A, 9 A, 0 A"),
            _RATED,
        ),
        _short_cycling,
        source=_MEMORY,
        tolerance="the sampling interval",
        test=_TRACE_TEST,
    ),
}
