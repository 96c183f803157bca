"""How early and how surely is a final value known, against when the plain steady-state rule fires?

Six kinds of change: one lag, two lags (some that turn back), two lags in a row after a dead time, a quick move beyond
the end with a slow return, ringing, and the simulated unit after refrigerant was added or recovered, through the lags
of its sensors. And a ramp, which has no end. Noise of several sizes and memories is laid over each. How long the lags
are and how far the changes go is made up; a second-order system of damping below 1 rings as `ringing` does.
"""

import math
import random
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.settling import NotSteady, Settled, Settling, assess, rule_holds
from simulators.unit.model import Unit
from tests.judge.cases import DDEGF, draw_conditions, draw_design, figures_of

LONGEST_S = 2400
SHARES = (0.2, 0.3, 0.4, 0.6, 0.8)
"""At what parts of the time at which the plain rule fires the forecast is looked at."""

LOOK_S = 15
CLAMP_LAG_S = 12.0
LEAST_CHANGE_DK = 1.0
NEAR_DK = 0.5 * DDEGF
FALSE_DK = 1.0 * DDEGF
AFTER_S = 150
"""So long after the plain rule first fired it is watched whether a figure is called settled too early."""

RAMP_TOLD_S = (240, 300, 420, 600)
"""When it is looked at what is said of a ramp."""


class Forecasts(NamedTuple):
    """One change: when the plain rule fired [s], when the forecast came to stay near [s], and what it said before.

    known_s: None if it was not near when the rule fired. said: at each of `SHARES`, error and standard uncertainty of
    the forecast [K], or None. falsely_settled: whether it was ever called settled more than 1 °F from its end.
    """

    kind: str
    fired_s: int
    known_s: int | None
    said: list[tuple[float, float] | None]
    plain_error_dk: float
    falsely_settled: bool


class Ramp(NamedTuple):
    """What is said of a ramp at each of `RAMP_TOLD_S`: "drifting", or "an end", "settled" or why it is not steady."""

    said: list[str]


Array = NDArray[np.float64]


class Change(NamedTuple):
    """Figures that a change moves; and of each the one beside it, which goes by the same constants, of other sizes.

    Of the simulated unit both are as they are: superheat beside subcooling, and subcooling beside superheat.
    """

    figures: list[Array]
    beside: list[Array]


def one_lag(seed: int) -> tuple[Change, random.Random]:
    """Draw an exponential approach."""
    chance, others = random.Random(f"one lag {seed}"), random.Random(f"one lag beside {seed}")
    amplitude_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 10.0)
    lag = np.exp(-np.arange(0.0, LONGEST_S) / chance.uniform(30.0, 420.0))
    return Change([5.0 + amplitude_dk * lag], [8.0 + others.uniform(-8.0, 8.0) * lag]), chance


def two_lags(seed: int) -> tuple[Change, random.Random]:
    """Draw an approach with a quick part before the slow one, of either sign."""
    chance, others = random.Random(f"two lags {seed}"), random.Random(f"two lags beside {seed}")
    times_s = np.arange(0.0, LONGEST_S)
    slow_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 8.0)
    quick_dk = chance.uniform(-1.0, 1.0) * abs(slow_dk)
    slow = np.exp(-times_s / chance.uniform(70.0, 400.0))
    quick = np.exp(-times_s / chance.uniform(4.0, 45.0))
    other = 8.0 + others.uniform(-8.0, 8.0) * slow + others.uniform(-8.0, 8.0) * quick
    return Change([5.0 + slow_dk * slow + quick_dk * quick], [other]), chance


def two_lags_with_dead_time(seed: int) -> tuple[Change, random.Random]:
    """Draw an approach that begins late, and goes through two lags in a row."""
    chance = random.Random(f"two lags with dead time {seed}")
    others = random.Random(f"two lags with dead time beside {seed}")
    slow_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 8.0)
    slow_s, quick_s = chance.uniform(70.0, 400.0), chance.uniform(4.0, 45.0)
    since_s = np.maximum(np.arange(0.0, LONGEST_S) - chance.uniform(5.0, 40.0), 0.0)
    left = (slow_s * np.exp(-since_s / slow_s) - quick_s * np.exp(-since_s / quick_s)) / (slow_s - quick_s)
    return Change([5.0 + slow_dk * left], [8.0 + others.uniform(-8.0, 8.0) * left]), chance


def overshoot(seed: int) -> tuple[Change, random.Random]:
    """Draw a quick move beyond the end, and a slow return."""
    chance = random.Random(f"overshoot with slow return {seed}")
    others = random.Random(f"overshoot with slow return beside {seed}")
    times_s = np.arange(0.0, LONGEST_S)
    beyond_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 6.0)
    quick_dk = -chance.uniform(1.2, 2.5) * beyond_dk
    slow = np.exp(-times_s / chance.uniform(70.0, 400.0))
    quick = np.exp(-times_s / chance.uniform(4.0, 45.0))
    other = 8.0 + others.uniform(-8.0, 8.0) * slow + others.uniform(-8.0, 8.0) * quick
    return Change([5.0 + beyond_dk * slow + quick_dk * quick], [other]), chance


def ringing(seed: int) -> tuple[Change, random.Random]:
    """Draw the answer to a step of what rings: a valve and its bulb, of so much damping."""
    chance, others = random.Random(f"ringing {seed}"), random.Random(f"ringing beside {seed}")
    damping, decay_per_s = chance.uniform(0.45, 0.9), 1 / chance.uniform(30.0, 200.0)
    times_s, ratio = np.arange(0.0, LONGEST_S), math.sqrt(1 - damping**2) / damping
    phase = ratio * decay_per_s * times_s
    swing = np.exp(-decay_per_s * times_s) * (np.cos(phase) + np.sin(phase) / ratio)
    size_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 8.0)
    return Change([5.0 + size_dk * swing], [8.0 + others.uniform(-8.0, 8.0) * swing]), chance


def unit(seed: int) -> tuple[Change, random.Random]:
    """Let a random unit settle, move some refrigerant, and follow superheat and subcooling."""
    chance = random.Random(f"unit {seed}")
    design = draw_design(chance)
    charge_kg = design.parameters.charge_kg * chance.uniform(0.75, 1.15)
    parameters = replace(design.parameters, charge_kg=charge_kg, conditions=draw_conditions(chance))
    parameters = replace(
        parameters,
        sump=replace(
            parameters.sump,
            time_constant_s=parameters.sump.time_constant_s * chance.uniform(0.6, 1.5),
            shell_heat_capacity=parameters.sump.shell_heat_capacity * chance.uniform(0.7, 1.4),
        ),
    )
    running = Unit(parameters)
    mass_kg = charge_kg * chance.uniform(0.03, 0.10)
    if chance.random() < 0.7:
        running.add(mass_kg, "liquid" if chance.random() < 0.7 else "vapour")
    else:
        running.recover(mass_kg)
    courses = []
    felt: dict[str, float] = {}
    for _ in range(LONGEST_S):
        running.step(1.0)
        state = dict(running.true_state())
        for name in ("suction_line_temperature", "liquid_line_temperature"):
            felt[name] = felt.get(name, state[name]) + (state[name] - felt.get(name, state[name])) / CLAMP_LAG_S
        courses.append(figures_of(parameters.refrigerant, state | felt))
    series = [np.array([figures[name] for figures in courses]) for name in ("superheat", "subcooling")]
    pairs = [pair for pair in (series, series[::-1]) if np.ptp(pair[0]) > LEAST_CHANGE_DK]
    return Change([pair[0] for pair in pairs], [pair[1] for pair in pairs]), chance


KINDS = {
    "one lag": one_lag,
    "two lags": two_lags,
    "two lags with dead time": two_lags_with_dead_time,
    "overshoot with slow return": overshoot,
    "ringing": ringing,
    "simulated unit": unit,
}


def try_changes(kind: str, seed: int, *, by_itself: bool = False) -> list[Forecasts]:
    """Try the forecast on each figure of one change, beside the other one or by itself."""
    change, chance = KINDS[kind](seed)
    noise, other_noise = (np.random.default_rng(chance.getrandbits(32)) for _ in range(2))
    noisy = [course + _any_noise(noise, course.size) for course in change.figures]
    beside = [course + _any_noise(other_noise, course.size) for course in change.beside]
    others = [None] * len(beside) if by_itself else beside
    tried = [_try(kind, *figure) for figure in zip(change.figures, noisy, others, strict=True)]
    return [forecasts for forecasts in tried if forecasts is not None]


def _try(kind: str, course: Array, values: Array, beside: Array | None) -> Forecasts | None:
    """Look at what is said of a course that was read so; None if the plain rule never fires."""
    times_s, end_dk = np.arange(float(course.size)), float(course[-1])
    looks = range(240 + LOOK_S, course.size, LOOK_S)
    fired_s = next((look for look in looks if rule_holds(times_s[:look], values[:look])), None)
    if fired_s is None:
        return None

    def judged(until_s: int) -> Settled | Settling | NotSteady:
        seen_s = times_s[:until_s]
        return assess(seen_s, values[:until_s], beside=None if beside is None else (seen_s, beside[:until_s]))

    def forecast(until_s: int) -> tuple[float, float] | None:
        match judged(until_s):
            case Settling(found, _) | Settled(found):
                return found.value - end_dk, found.standard_uncertainty
        return None

    said = [forecast(max(round(share * fired_s), 61)) for share in SHARES]
    known_s = None
    for look in range(fired_s, 60, -LOOK_S):
        found = forecast(look)
        if found is None or abs(found[0]) > NEAR_DK:
            break
        known_s = look
    plain_error_dk = abs(float(values[fired_s - 60 : fired_s].mean()) - end_dk)
    later = range(fired_s, min(fired_s + AFTER_S, course.size), LOOK_S)
    falsely_settled = any(
        abs(course[look - 1] - end_dk) > FALSE_DK and isinstance(judged(look), Settled) for look in later
    )
    return Forecasts(kind, fired_s, known_s, said, plain_error_dk, falsely_settled)


def try_ramp(seed: int) -> Ramp:
    """Let weather or load move a figure that was at rest by 0.15 to 0.2 °F per minute, and less the one beside it."""
    chance, others = random.Random(f"ramp {seed}"), random.Random(f"ramp beside {seed}")
    times_s = np.arange(0.0, RAMP_TOLD_S[-1] + 1.0)
    ramp = chance.choice((-1, 1)) * chance.uniform(0.15, 0.2) * DDEGF / 60 * times_s
    values = 5.0 + _any_noise(np.random.default_rng(chance.getrandbits(32)), times_s.size) + ramp
    beside = 8.0 + _any_noise(np.random.default_rng(others.getrandbits(32)), times_s.size)
    beside += others.uniform(-0.15, 0.15) * DDEGF / 60 * times_s
    said = []
    for until_s in RAMP_TOLD_S:
        seen = slice(until_s + 1)
        match assess(times_s[seen], values[seen], beside=(times_s[seen], beside[seen])):
            case Settled():
                said.append("settled")
            case Settling():
                said.append("an end")
            case NotSteady(why):
                said.append(why.value)
    return Ramp(said)


def _any_noise(generator: np.random.Generator, size: int) -> Array:
    memory_s = float(generator.choice([0.0, 3.0, 8.0, 20.0, 33.0]))
    return _noise(generator, size, generator.uniform(0.03, 0.2), memory_s)


def _noise(generator: np.random.Generator, size: int, deviation_dk: float, memory_s: float) -> Array:
    """Draw noise that forgets itself with a time constant."""
    kept = math.exp(-1.0 / memory_s) if memory_s else 0.0
    fresh = generator.normal(0.0, deviation_dk * math.sqrt(1.0 - kept**2), size)
    fresh[0] = generator.normal(0.0, deviation_dk)
    for index in range(1, size):
        fresh[index] += kept * fresh[index - 1]
    return fresh
