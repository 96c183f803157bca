"""A start of a simulated unit with something the matter, and what instruments of the trade show of it."""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from calc.start_diagnosis import StartKind, StartRecord, Trace
from simulators.unit.controls import CutOuts
from simulators.unit.faults import Faults
from simulators.unit.model import Unit
from simulators.unit.parameters import UnitParameters
from simulators.unit.sizing import Build, size

BEFORE_S, AFTER_S = 3.0, 12.0
STEP_S = 0.05

BUILDS = (
    Build(12_000.0, 3.2, compressor_rla_a=11.0, condenser_fan_fla_a=1.5),
    Build(18_000.0, 5.0, "R-454B", compressor_rla_a=18.0, condenser_fan_fla_a=2.5, nominal_voltage_v=208.0),
    Build(35_000.0, 9.0, "R-410A", "fixed_orifice", 17.0, 2.0, nominal_voltage_v=460.0),
    Build(9_000.0, 2.6, "R-22", "fixed_orifice", 14.0, 1.2, phases=1),
    Build(12_000.0, 3.4, "R-410A", "txv", 19.0, 1.6, phases=1, nominal_voltage_v=240.0),
    Build(10_000.0, 2.4, "R-32", "txv", 15.0, 1.4, phases=1),
)
"""Invented units, of one and three phases; amps as such plates have them (common practice, no source)."""

Start = Callable[[random.Random, UnitParameters], tuple[Unit, Callable[[Unit], None]]]
"""Makes a unit ready, and gives what is done at the call."""


def _call(unit: Unit) -> None:
    unit.call(cooling=True)


def _nothing(unit: Unit) -> None:
    """Nobody calls."""


def _rested(parameters: UnitParameters) -> Unit:
    return Unit(parameters, at_rest=True)


def _started(_: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    return _rested(made), _call


def _no_call(_: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    return _rested(made), _nothing


def _no_supply(_: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    unit = _rested(made)
    unit.disconnect(closed=False)
    return unit, _call


def _delay_timer(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    unit = Unit(made)
    unit.step(20.0)
    unit.call(cooling=False)
    unit.step(drawn.uniform(15.0, 240.0))
    return unit, _call


def _high_cut_out(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    made = replace(made, cut_outs=replace(CutOuts(), high_by_hand=True, high_opens_k=drawn.uniform(332.0, 337.0)))
    unit = Unit(replace(made, conditions=replace(made.conditions, outdoor_air_k=drawn.uniform(310.0, 318.0))))
    unit.let_air_pass(condenser=0.2)
    unit.electric.block("fan", blocked=True)
    return unit, _until_it_trips(unit, drawn)


def _low_cut_out(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    made = replace(made, cut_outs=replace(CutOuts(), low_by_hand=True, low_opens_k=drawn.uniform(244.0, 256.0)))
    unit = Unit(replace(made, faults=Faults(liquid_line_restriction=0.97)))
    return unit, _until_it_trips(unit, drawn)


def _until_it_trips(unit: Unit, drawn: random.Random) -> Callable[[Unit], None]:
    for _ in range(2400):
        if unit.cut_out:
            break
        unit.at_stop = unit.true_state()  # type: ignore[attr-defined]
        unit.step(0.5)
    else:
        raise AssertionError("no cut-out opened: draw worse air")
    unit.step(drawn.uniform(20.0, 900.0))
    return _call


def _leak_detector(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    unit = Unit(made)
    unit.sense_leak(refrigerant=True)
    unit.step(drawn.uniform(30.0, 900.0))
    return unit, _call


def _stalled(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    if made.compressor_motor.phases == 1 and drawn.random() < 0.5:
        return _rested(replace(made, faults=Faults(herm_capacitor=0.0))), _call
    return _held_fast(made, "compressor"), _call


def _held_fast(made: UnitParameters, motor: str) -> Unit:
    unit = _rested(made)
    unit.electric.block(motor, blocked=True)
    return unit


def _weak_capacitor(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    return _rested(replace(made, faults=Faults(herm_capacitor=drawn.uniform(0.4, 0.7)))), _call


def _fan(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    if drawn.random() < 0.3:
        return _held_fast(made, "fan"), _call
    return _rested(replace(made, faults=Faults(fan_capacitor=drawn.uniform(0.0, 0.3)))), _call


def _lost_phase(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    unit = _rested(made)
    unit.electric.lose_leg(drawn.choice("abc"))  # type: ignore[arg-type]
    return unit, _call


def _backwards(drawn: random.Random, made: UnitParameters) -> tuple[Unit, Callable[[Unit], None]]:
    unit = _rested(made)
    one, other = drawn.choice(("ab", "bc", "ca"))
    unit.electric.swap_supply(one, other)  # type: ignore[arg-type]
    return unit, _call


MATTERS: dict[StartKind, tuple[Start, tuple[int, ...]]] = {
    StartKind.STARTED: (_started, (1, 3)),
    StartKind.NO_CALL: (_no_call, (1, 3)),
    StartKind.NO_SUPPLY: (_no_supply, (1, 3)),
    StartKind.DELAY_TIMER: (_delay_timer, (1, 3)),
    StartKind.HIGH_CUT_OUT: (_high_cut_out, (1, 3)),
    StartKind.LOW_CUT_OUT: (_low_cut_out, (1, 3)),
    StartKind.LEAK_DETECTOR: (_leak_detector, (1, 3)),
    StartKind.STALLED: (_stalled, (1, 3)),
    StartKind.WEAK_CAPACITOR: (_weak_capacitor, (1,)),
    StartKind.FAN: (_fan, (1, 3)),
    StartKind.LOST_PHASE: (_lost_phase, (3,)),
    StartKind.BACKWARDS: (_backwards, (3,)),
}


@dataclass(frozen=True)
class Drawn:
    """What was the matter, and what was recorded of it."""

    truth: StartKind
    record: StartRecord
    seed: int


def draw(seed: int, truth: StartKind | None = None, *, well_equipped: bool = True) -> Drawn:
    """Draw a unit, something the matter with it, and instruments; well equipped, as the rig asks for, or with gaps."""
    drawn = random.Random(seed)
    truth = truth or drawn.choice(list(MATTERS))
    start, phases = MATTERS[truth]
    build = drawn.choice([it for it in BUILDS if it.phases in phases])
    made = size(build)
    volts = build.nominal_voltage_v * drawn.uniform(0.95, 1.05)
    outdoor_k = drawn.uniform(292.0, 312.0)
    made = replace(made, conditions=replace(made.conditions, outdoor_air_k=outdoor_k, line_voltage_v=volts))
    unit, act = start(drawn, made)
    record = _recorded(drawn, unit, build, act, truth, well_equipped=well_equipped)
    if truth is StartKind.WEAK_CAPACITOR and not unit.is_running:
        truth = StartKind.STALLED  # too weak to start it at all
    return Drawn(truth, record, seed)


def _recorded(
    drawn: random.Random,
    unit: Unit,
    build: Build,
    act: Callable[[Unit], None],
    truth: StartKind,
    *,
    well_equipped: bool,
) -> StartRecord:
    times, states = [], []
    coil = []
    for index in range(round((BEFORE_S + AFTER_S) / STEP_S)):
        if index == round(BEFORE_S / STEP_S):
            act(unit)
        unit.step(STEP_S)
        times.append(STEP_S * (index + 1))
        states.append(unit.true_state())
        coil.append(unit._electrics.motion.coil_v)
    course = {name: np.array([state[name] for state in states]) for name in states[0]}
    course["coil_voltage"] = np.array(coil)
    instruments = _Instruments(drawn, np.array(times), course, well_equipped=well_equipped)
    at_stop = getattr(unit, "at_stop", {})
    wanted = {name: at_stop[name] for name in ("suction_pressure", "liquid_pressure") if name in at_stop}
    calls = truth is not StartKind.NO_CALL
    return StartRecord(
        traces=instruments.traces(build.phases),
        phases=build.phases,
        compressor_rla_a=build.compressor_rla_a,
        condenser_fan_fla_a=build.condenser_fan_fla_a,
        nominal_voltage_v=build.nominal_voltage_v,
        refrigerant=build.refrigerant,
        called_s=BEFORE_S,
        is_called=drawn.choice([calls, None]),
        since_stop_s=_since_stop(unit) if well_equipped or drawn.random() < 0.6 else None,
        at_stop=wanted if well_equipped or drawn.random() < 0.5 else {},
        outdoor_air_k=unit._parameters.conditions.outdoor_air_k,
        detector_alarms=truth is StartKind.LEAK_DETECTOR if well_equipped or drawn.random() < 0.5 else None,
    )


def _since_stop(unit: Unit) -> float:
    return unit._controls._off_s


class _Instruments:
    """Clamps of 4 a second that average over some tenths, or hold their peak; volts; pressures of 2 a second."""

    def __init__(
        self, drawn: random.Random, times: np.ndarray, course: dict[str, np.ndarray], *, well_equipped: bool
    ) -> None:
        self._noise = np.random.default_rng(drawn.getrandbits(32))
        self._drawn, self._times, self._course = drawn, times, course
        self._well = well_equipped
        self._clamp_s = drawn.choice([0.1, 0.25, 0.25, 0.5])
        self._lag_s = drawn.choice([0.0, 0.1, 0.3])
        self._holds_peak = drawn.random() < 0.3

    def traces(self, phases: int) -> dict[str, Trace]:
        found = {}
        three = phases == 3 and (self._well or self._drawn.random() < 0.4)
        clamps = (
            [f"compressor_current_{it}" for it in "abc"]
            if three
            else [
                self._drawn.choice(
                    ["compressor_current_a", "compressor_current_b"] if phases == 3 else ["compressor_current"]
                )
            ]
        )
        for name in (*clamps, "condenser_fan_current", "blower_current"):
            if name in clamps or self._is_there(0.6):
                found[name] = self._clamp(name)
        pairs = ("ab", "bc", "ca") if phases == 3 and (self._well or self._drawn.random() < 0.4) else ("ab",)
        if self._is_there(0.6):
            found |= {f"line_voltage_{pair}": self._read(f"line_voltage_{pair}", 0.25, 0.1, 0.5) for pair in pairs}
        if self._is_there(0.7):
            lag_s = self._drawn.choice([0.2, 0.5, 1.0])
            found |= {name: self._read(name, 0.5, lag_s, 2000.0) for name in ("suction_pressure", "liquid_pressure")}
        if self._drawn.random() < 0.3:
            found["coil_voltage"] = self._read("coil_voltage", 0.25, 0.1, 0.2)
        return found

    def _is_there(self, chance: float) -> bool:
        return self._well or self._drawn.random() < chance

    def _clamp(self, name: str) -> Trace:
        trace = self._read(name, self._clamp_s, self._lag_s, 0.05, holds_peak=self._holds_peak)
        gain = 1 + self._noise.normal(0.0, 0.015)
        return Trace(trace.times_s, np.maximum(gain * trace.values, 0.0))

    def _read(self, name: str, interval_s: float, lag_s: float, noise: float, *, holds_peak: bool = False) -> Trace:
        true, lagged = self._course[name], np.empty(self._times.size)
        value = float(true[0])
        for index, now in enumerate(true):
            value += (now - value) * (STEP_S / (lag_s + STEP_S))
            lagged[index] = value
        every = round(interval_s / STEP_S)
        first = self._drawn.randrange(every)
        places = np.arange(first, self._times.size, every)
        values = np.array(
            [lagged[max(place - every + 1, 0) : place + 1].max() if holds_peak else lagged[place] for place in places]
        )
        return Trace(self._times[places], values + self._noise.normal(0.0, noise, places.size))
