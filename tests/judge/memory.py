"""A unit that was found sound at one earlier visit, in other weather: what is made of it today.

Every other unit is read by the same instruments as then, whose errors stay as they are but for a part; the others by
instruments that err anew.
"""

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from calc.baseline import baseline
from calc.diagnosis import explain
from calc.situation import Situation
from simulators.unit.model import Unit
from tests.judge.cases import (
    ACCURACIES,
    FAULTS,
    NO_FAULT,
    WIDE,
    Case,
    Design,
    Family,
    draw_conditions,
    draw_design,
    draw_fault,
)
from tests.judge.diagnosis import FULL_NAME, Answer, answer_of, situation_of

_STAYS = 0.9
"""The part of the variance of an instrument's error that is the same at the next visit: common practice, no source."""


class Remembered(NamedTuple):
    """One case: what is true, and what is said of it at a first visit, and with the memory of a sound one."""

    truth: str
    metering_device: str
    has_same_instruments: bool
    first_visit: Answer
    remembered: Answer


def judge_remembered(seed: int, family: Family = WIDE) -> list[Remembered]:
    """Ask for the cause in each case of a unit: as if nobody had seen it before, and as one that was found sound."""
    return [
        Remembered(
            truth=FULL_NAME.get(now.truth, now.truth),
            metering_device=now.design.metering_device,
            has_same_instruments=has_same_instruments,
            first_visit=answer_of(explain(situation_of(now, {}))),
            remembered=answer_of(explain(_known(now, before))),
        )
        for before, now, has_same_instruments in draw_remembered(seed, family)
    ]


def draw_remembered(seed: int, family: Family = WIDE) -> Iterator[tuple[Case, Case, bool]]:
    """Draw a unit; show it sound, and then with each fault and twice without, in other weather each time.

    The third is whether the same instruments read it. The same seed gives the same cases.
    """
    chance = random.Random(f"memory {seed}")
    design = draw_design(chance, family=family)
    for truth in (*FAULTS, NO_FAULT, NO_FAULT):
        has_same_instruments = chance.random() < 0.5
        errors = _errors(chance)
        before = _case(design, NO_FAULT, chance, errors)
        now = _case(design, truth, chance, _later(errors, chance) if has_same_instruments else _errors(chance))
        yield before, now, has_same_instruments


def _known(now: Case, before: Case) -> Situation:
    return replace(situation_of(now, {}), found_sound=baseline(situation_of(before, {})))


def _case(design: Design, truth: str, chance: random.Random, errors: Mapping[str, float]) -> Case:
    size, charge, faults = draw_fault(chance, truth)
    right = design.parameters
    parameters = replace(right, conditions=draw_conditions(chance), charge_kg=right.charge_kg * charge, faults=faults)
    state = Unit(parameters).true_state()
    readings = {name: state[name] + error for name, error in errors.items() if name in state}
    return Case(truth, size, design, parameters, readings, {})


def _errors(chance: random.Random) -> dict[str, float]:
    return {name: chance.gauss(0.0, limit / 2) for name, limit in ACCURACIES.items()}


def _later(errors: Mapping[str, float], chance: random.Random) -> dict[str, float]:
    anew = math.sqrt(1 - _STAYS)
    return {
        name: math.sqrt(_STAYS) * error + anew * chance.gauss(0.0, ACCURACIES[name] / 2)
        for name, error in errors.items()
    }
