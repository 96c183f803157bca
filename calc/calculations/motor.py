"""Motors, their capacitors and their supply."""

import math
from collections.abc import Mapping
from functools import partial

from calc import motor
from calc.arguments import Measure, Number, Worded
from calc.calculation import Calculation, Unknown, Values
from calc.entry import Given, entry
from calc.errors import ArgumentError
from calc.estimate import Estimate
from calc.expected_current import against_rated_load
from calc.motor import branch_circuit, capacitor, supply, windings
from calc.motor.current_trace import CYCLE_LIMITS


def _capacitance_under_load(
    current_a: float,
    voltage_v: float,
    frequency_hz: float,
    current_accuracy_a: float = 0.1,
    voltage_accuracy_v: float = 5.0,
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
    *,
    bulged_or_leaking: bool,
    accuracy_f: float,
    tolerance_ratio: float = capacitor.USUAL_TOLERANCE_RATIO,
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


def _stored_energy(capacitance_f: float, peak_voltage_v: float) -> Values:
    energy_j = motor.stored_energy_j(capacitance_f, peak_voltage_v)
    return {"energy_j": energy_j, "peak_voltage_v": peak_voltage_v, "caution": capacitor.DISCHARGE_CAUTION}


def _discharge_time(
    capacitance_f: float,
    resistance_ohm: float,
    peak_voltage_v: float,
    end_voltage_v: float = capacitor.RESIDUAL_LIMIT_V,
) -> Values:
    time_s = motor.discharge_time_s(capacitance_f, resistance_ohm, from_v=peak_voltage_v, to_v=end_voltage_v)
    peak_a = peak_voltage_v / resistance_ohm
    warning = {"warning": _MUCH_FOR_A_RESISTOR} if peak_a > _MUCH_A else {}
    return {
        **warning,
        "time_s": time_s,
        "peak_a": peak_a,
        "into_the_resistor_j": motor.stored_energy_j(capacitance_f, peak_voltage_v),
        "from_peak_v": peak_voltage_v,
        "end_v": end_voltage_v,
        "within_a_minute": time_s <= capacitor.RESIDUAL_LIMIT_S,
        "caution": capacitor.DISCHARGE_CAUTION,
    }


_MUCH_A = 0.1
_MUCH_FOR_A_RESISTOR = (
    "more than 0.1 A flows at first (common practice, no source): only through a resistor made for such a pulse; a "
    "maker's manual asks for 20 kohm, 2 W"
)


def _voltage_unbalance(line_voltages_v: tuple[float, ...]) -> Values:
    ratio = motor.unbalance(*_three(line_voltages_v))
    shown = _unbalance(ratio, supply.VOLTAGE_UNBALANCE_LIMIT_RATIO)
    if ratio > supply.GREATEST_UNBALANCE_RATIO:
        stop = "do not run a motor on more than 5 %: find the cause first"
        return {"warning": f"STOP: {stop}", **shown, "derating_factor": Unknown(stop)}
    derating = motor.derating(ratio)
    return {**shown, "derating_factor": derating.factor, "derating_source": derating.status}


def _current_unbalance(line_currents_a: tuple[float, ...]) -> Values:
    ratio = motor.unbalance(*_three(line_currents_a))
    shown = _unbalance(ratio, supply.CURRENT_UNBALANCE_LIMIT_RATIO)
    if supply.is_single_phasing(line_currents_a):
        return {"warning": supply.SINGLE_PHASING, **shown}
    return shown if shown["within_limit"] else {"warning": supply.FIND_THE_CAUSE, **shown}


def _unbalance(ratio: float, limit_ratio: float) -> Values:
    return {"unbalance_percent": 100 * ratio, "within_limit": ratio <= limit_ratio, "caution": supply.CAUTION}


def _three(values: tuple[float, ...]) -> tuple[float, float, float]:
    if len(values) != 3:
        raise ArgumentError(f"three phases have three values: {len(values)} are given")
    return values[0], values[1], values[2]


def _load(ratio: float) -> Values:
    warning = against_rated_load(ratio, 1.0)
    return {**({"warning": warning} if warning else {}), "load_ratio": ratio, "caution": supply.CAUTION}


def _supply_limits(voltage_v: float, nameplate_low_v: float, nameplate_high_v: float | None = None) -> Values:
    low_v, high_v = motor.supply_limits(nameplate_low_v, nameplate_high_v)
    return {"lowest_v": low_v, "highest_v": high_v, "within": low_v <= voltage_v <= high_v, "caution": supply.CAUTION}


def _power(power: motor.ThreePhasePower) -> Values:
    return {
        "real_electric_w": power.real_w,
        "apparent_va": power.apparent_va,
        "reactive_var": power.reactive_var,
        "caution": supply.CAUTION,
    }


def _windings(verdict: motor.WindingVerdict) -> Values:
    state = "the leads may be swapped" if verdict.leads_may_be_swapped else verdict.state
    return {"state": state, "reason": verdict.reason, "caution": windings.CAUTION}


_OPEN = ("open", "ol", "o.l.", "inf", "infinite")
"""What people write, and meters show, where nothing conducts."""


def _ohm_or_open(text: str) -> float:
    return math.inf if text.strip().casefold() in _OPEN else Measure("resistance", 1e-3, 1e6).read(text, None)


def _motor_start(interval_s: float, currents_a: tuple[float, ...], rated_current_a: float) -> Values:
    times_s = [interval_s * index for index in range(len(currents_a))]
    found = motor.motor_start(times_s, currents_a, rated_current_a=rated_current_a)
    if isinstance(found, motor.NoStart):
        return {"start": Unknown(found.reason), "caution": supply.CAUTION}
    if isinstance(found, motor.Stalled):
        return {
            "start": "it did not come up to speed",
            "peak_a": found.peak_a,
            "lasted_s": found.lasted_s,
            "caution": supply.CAUTION,
        }
    return {
        "start": "it came up to speed",
        "peak_a": found.peak_a,
        "running_a": found.running_a,
        "start_time_s": found.start_time_s,
        "resolution_s": found.resolution_s,
        "caution": supply.CAUTION,
    }


_NO_GAP_S = 2 * CYCLE_LIMITS.shortest_rest_s
"""Samples at even intervals, none of them longer than half of the shortest rest, leave no gap."""


def _short_cycling(interval_s: float, currents_a: tuple[float, ...], rated_current_a: float) -> Values:
    times_s = [interval_s * index for index in range(len(currents_a))]
    found = motor.short_cycling(times_s, currents_a, rated_current_a=rated_current_a, gap_s=_NO_GAP_S)
    return {
        "short_cycling": found.is_short_cycling,
        "starts": found.starts,
        "short_runs_s": found.short_runs_s,
        "short_rests_s": found.short_rests_s,
        "caution": supply.CAUTION,
    }


_MEMORY = "common practice, no source"
_SEES_A_REST = "a rest of 3 min is to be seen twice"
_RMS = "RMS, across the section while it runs"
_PEAK = "the peak, 1.414 times the RMS volts that a meter shows across it"
_GIVEN = {
    "current_a": Given("9A"),
    "rated_current_a": Given("12A", low=0.01),
    "currents_a": Given("0 A, 60 A, 55 A, 20 A, 10 A, 10 A, 10 A, 10 A"),
    "interval_s": Given("100ms", low=1e-4, high=3600.0),
    "line_voltage_v": Given("460V", low=1e-3),
    "line_current_a": Given("18.2A", low=1e-3),
    "line_voltages_v": Given("452 V, 464 V, 455 V"),
    "line_currents_a": Given("17.943 A, 18.3 A, 18.357 A"),
    "power_factor": Given("0.85", Number(0, 1), name="power_factor"),
    "real_w": Given("12.3kW", "electric_power", name="real_power"),
    "voltage_v": Given("221V"),
    "nameplate_low_v": Given("208V", low=1.0, name="nameplate"),
    "nameplate_high_v": Given("230V", otherwise="the nameplate gives one voltage"),
    "start_common_ohm": Given("11ohm", Worded(_ohm_or_open)),
    "run_common_ohm": Given("4ohm", Worded(_ohm_or_open)),
    "start_run_ohm": Given("15ohm", Worded(_ohm_or_open)),
}
_UNDER_LOAD = {
    "current_a": Given("4.6A", high=1000.0),
    "voltage_v": Given("345V", low=1.0, high=2000.0, says=_RMS),
    "frequency_hz": Given("60Hz", low=45.0, high=65.0),
    "current_accuracy_a": Given("0.1A", otherwise=f"the current within ±0.1 A ({_MEMORY})"),
    "voltage_accuracy_v": Given("5V", high=200.0, otherwise=f"the voltage within ±5 V ({_MEMORY})"),
}
_CAPACITOR = {
    "capacitance_f": Given("45uF"),
    "resistance_ohm": Given("20kohm", low=1.0, says="at least as many ohms as volts at the peak"),
    "end_voltage_v": Given("50V", low=1.0, high=2000.0, otherwise=f"discharged to 50 V ({_MEMORY})", also=("to",)),
    "measured_f": Given("44.1 uF, 4.2 uF"),
    "label_f": Given("45 uF, 5 uF", low=1e-9, also=("rated",)),
    "accuracy_f": Given("0.2uF"),
    "tolerance_ratio": Given("6%", low=1e-3, high=0.5, otherwise=f"the label allows ±6 % ({_MEMORY})"),
    "bulged_or_leaking": Given("no"),
}
_CIRCUIT = {
    "largest_motor_a": Given("20A", low=0.01, high=2000.0),
    "other_loads_a": Given("2.5A", high=2000.0),
    "electric_heat_a": Given("20A", high=2000.0, otherwise="no electric heat that runs together with these loads"),
    "nameplate_a": Given("30A", low=0.01, high=2000.0, otherwise="the nameplate gives no such figure: it would win"),
    "will_not_start": Given("no", otherwise="the unit starts on 1.75 times its largest motor's current"),
}


def _peak(once: str) -> dict[str, Given]:
    """Give the peak voltage of a capacitor; once: by which it was known before."""
    return {"peak_voltage_v": Given("523V", high=2000.0, says=_PEAK, also=(once,))}


_motor = partial(entry, given=_GIVEN, test="tests/calc/motor/test_motor.py")
_capacitor = partial(entry, given=_CAPACITOR, test="tests/calc/motor/test_capacitor.py")
_supply = partial(entry, given=_GIVEN, test="tests/calc/motor/test_supply.py")
_circuit = partial(entry, given=_CIRCUIT, test="tests/calc/motor/test_branch_circuit.py")
_trace = partial(entry, given=_GIVEN, test="tests/calc/motor/test_current_trace.py")

CALCULATIONS: Mapping[str, Calculation] = {
    "capacitance_under_load": _capacitor(
        _capacitance_under_load,
        "the capacitance of a run capacitor while its motor runs",
        given=_UNDER_LOAD,
        source="C = I / (2 pi f V); JCGM 100, 5.1.2 (uncertainties in quadrature)",
        tolerance="0.2 % of worked examples with the constant rounded",
    ),
    "capacitor_verdict": _capacitor(
        _capacitor_verdict,
        "whether a run capacitor, of one section or two, is sound",
        source=f"the label; JCGM 106; a bulged or leaking can: {_MEMORY}",
    ),
    "stored_energy": _capacitor(
        _stored_energy, "the energy in a charged capacitor", given=_CAPACITOR | _peak("voltage"), source="E = C V² / 2"
    ),
    "discharge_time": _capacitor(
        _discharge_time,
        "how long a resistor takes to discharge a capacitor",
        given=_CAPACITOR | _peak("from"),
        source=f"t = R C ln(peak voltage / end voltage); 50 V and a minute: {_MEMORY}, for NEC 460 leaves out "
        "capacitors that are part of other apparatus (NEC 460.1)",
    ),
    "load_ratio": _motor(
        motor.load_ratio,
        "a motor's current over that of its nameplate",
        result=_load,
        source="by definition",
    ),
    "voltage_unbalance": _supply(
        _voltage_unbalance,
        "how unbalanced three line voltages are, and what load the motor may then carry",
        source="NEMA MG 1, as quoted in manuals: at most 2 %; rows of the derating from memory say so",
        tolerance="0.01 % of worked examples; 0.015 of a derating table in print",
    ),
    "current_unbalance": _supply(
        _current_unbalance,
        "how unbalanced three line currents are, and whether a phase is lost",
        source="a training manual of the Refrigeration Service Engineers Society: at most 10 %; below a tenth of "
        f"the mean a phase is lost: {_MEMORY}",
        tolerance="0.01 % of a worked example",
    ),
    "supply_limits": _supply(_supply_limits, "whether a voltage is within 10 % of the nameplate's", source=_MEMORY),
    "three_phase_power": _supply(
        motor.three_phase_power,
        "the power of a balanced three-phase load",
        result=_power,
        source="P = sqrt(3) V I times the power factor",
    ),
    "power_factor": _supply(
        motor.power_factor,
        "the power factor of a three-phase load from its measured power",
        result=lambda factor: {"power_factor": factor, "caution": supply.CAUTION},
        source="by definition",
    ),
    "winding_check": _motor(
        motor.winding_check,
        "whether the resistances of a single-phase motor's windings go together",
        result=_windings,
        source=f"general texts of the trade; 5 %: {_MEMORY}",
    ),
    "mca": _circuit(
        motor.mca,
        "the minimum circuit ampacity of a unit",
        result=lambda it: {"ampacity_a": it.current_a, "says": it.source, "caution": branch_circuit.CAUTION},
        source="NEC 440.32, 440.33; electric heat at 125 %: NEC 424.4(B), UL 1995 (both from memory); nameplate first",
    ),
    "mocp": _circuit(
        motor.mocp,
        "the greatest fuse or breaker of a unit",
        result=lambda it: {"rating_a": it.current_a, "says": it.source, "caution": branch_circuit.CAUTION},
        source="NEC 440.22, 240.6(A); never below the minimum circuit ampacity; the nameplate wins",
    ),
    "motor_start": _trace(
        _motor_start,
        "how a motor starts, from its current at even intervals",
        source=f"{_MEMORY}; tried on the run-up of an induction motor by Kloss's formula",
        tolerance="the sampling interval",
    ),
    "short_cycling": _trace(
        _short_cycling,
        "whether a motor starts and stops too often, from its current at even intervals",
        given=_GIVEN
        | {
            "interval_s": Given("20s", low=1e-4, high=CYCLE_LIMITS.shortest_rest_s / 2, says=_SEES_A_REST),
            "currents_a": Given("0 A, 9 A, 9 A, 0 A, 9 A, 9 A, 0 A"),
        },
        source=_MEMORY,
        tolerance="the sampling interval",
    ),
}
