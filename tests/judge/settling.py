"""How early and how surely is a final value known, against when the plain steady-state rule fires?

Three kinds of change: one lag, two lags (some that turn back), and the simulated unit after refrigerant was added or
recovered, through the lags of its sensors. Noise of several sizes and memories is laid over each.
"""

import math
import random
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calc.settling import Settled, Settling, assess, rule_holds
from simulators.unit.model import Unit
from tests.judge.cases import DDEGF, draw_conditions, draw_design, figures_of

LONGEST_S = 2400
SHARES = (0.2, 0.3, 0.45, 0.6, 0.8)
"""At what parts of the time at which the plain rule fires the forecast is looked at."""

LOOK_S = 15
CLAMP_LAG_S = 12.0
LEAST_CHANGE_DK = 1.0
NEAR_DK = 0.5 * DDEGF


class Forecasts(NamedTuple):
    """One change: when the plain rule fired [s], when the forecast came to stay near [s], and what it said before.

    known_s: None if it was not near when the rule fired. said: at each of `SHARES`, error and standard uncertainty of
    the forecast [K], or None.
    """

    kind: str
    fired_s: int
    known_s: int | None
    said: list[tuple[float, float] | None]
    plain_error_dk: float


Array = NDArray[np.float64]


def one_lag(seed: int) -> tuple[list[Array], random.Random]:
    """Draw an exponential approach."""
    chance = random.Random(f"one lag {seed}")
    times_s = np.arange(0.0, LONGEST_S)
    amplitude_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 10.0)
    return [5.0 + amplitude_dk * np.exp(-times_s / chance.uniform(30.0, 420.0))], chance


def two_lags(seed: int) -> tuple[list[Array], random.Random]:
    """Draw an approach with a quick part before the slow one, of either sign."""
    chance = random.Random(f"two lags {seed}")
    times_s = np.arange(0.0, LONGEST_S)
    slow_dk = chance.choice((-1, 1)) * chance.uniform(1.5, 8.0)
    quick_dk = chance.uniform(-1.0, 1.0) * abs(slow_dk)
    slow = slow_dk * np.exp(-times_s / chance.uniform(70.0, 400.0))
    return [5.0 + slow + quick_dk * np.exp(-times_s / chance.uniform(4.0, 45.0))], chance


def unit(seed: int) -> tuple[list[Array], random.Random]:
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
    return [course for course in series if np.ptp(course) > LEAST_CHANGE_DK], chance


KINDS = {"one lag": one_lag, "two lags": two_lags, "simulated unit": unit}


def try_changes(kind: str, seed: int) -> list[Forecasts]:
    """Try the forecast on each figure of one change."""
    courses, chance = KINDS[kind](seed)
    noise = np.random.default_rng(chance.getrandbits(32))
    tried = [_try(kind, course, noise) for course in courses]
    return [forecasts for forecasts in tried if forecasts is not None]


def _try(kind: str, course: Array, generator: np.random.Generator) -> Forecasts | None:
    """Lay noise over a course; None if the plain rule never fires."""
    memory_s = float(generator.choice([0.0, 3.0, 8.0, 20.0, 33.0]))
    values = course + _noise(generator, course.size, generator.uniform(0.03, 0.2), memory_s)
    times_s, end_dk = np.arange(float(course.size)), float(course[-1])
    looks = range(240 + LOOK_S, course.size, LOOK_S)
    fired_s = next((look for look in looks if rule_holds(times_s[:look], values[:look])), None)
    if fired_s is None:
        return None

    def forecast(until_s: int) -> tuple[float, float] | None:
        match assess(times_s[:until_s], values[:until_s]):
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
    return Forecasts(kind, fired_s, known_s, said, plain_error_dk)


def _noise(generator: np.random.Generator, size: int, deviation_dk: float, memory_s: float) -> Array:
    """Draw noise that forgets itself with a time constant."""
    kept = math.exp(-1.0 / memory_s) if memory_s else 0.0
    fresh = generator.normal(0.0, deviation_dk * math.sqrt(1.0 - kept**2), size)
    fresh[0] = generator.normal(0.0, deviation_dk)
    for index in range(1, size):
        fresh[index] += kept * fresh[index - 1]
    return fresh
