"""Two faults at once, each of moderate size, in a unit that nobody has seen before: what is made of them.

Every pair of the faults that the judge is tried on one by one, but too little and too much refrigerant, which are not
together. "Found" is when both are among the first three causes, or "several at once" comes first.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from itertools import combinations
from typing import NamedTuple

from calc.diagnosis import Cause, Fault, explain
from simulators.unit.model import Unit
from simulators.unit.parameters import Faults
from tests.judge.cases import FAULTS, WIDE, Case, Family, at_rest, draw_conditions, draw_design, draw_fault, measure
from tests.judge.diagnosis import FULL_NAME, situation_of

PAIRS = tuple(pair for pair in combinations(FAULTS, 2) if pair != ("undercharge", "overcharge"))


class TwoJudged(NamedTuple):
    """One unit with two faults, and what was said of it: every fault with its probability, the likeliest first.

    together: what "several at once" is taken to be.
    """

    truths: tuple[str, str]
    metering_device: str
    ranking: list[tuple[str, float]]
    together: tuple[str, ...]

    @property
    def is_found(self) -> bool:
        """Whether both are among the first three, or several come first."""
        return self.ranking[0][0] == Fault.SEVERAL or self.both_among_three

    @property
    def both_among_three(self) -> bool:
        """Whether both are among the first three, by themselves."""
        return set(self.truths) <= {fault for fault, _ in self.ranking[:3]}

    @property
    def is_named(self) -> bool:
        """Whether both names are told among the first three causes: each by itself, or as those that go together."""
        told = {fault for fault, _ in self.ranking[:3]}
        return set(self.truths) <= told | (set(self.together) if Fault.SEVERAL in told else set())


def judge_pairs(seed: int, family: Family = WIDE, pairs: Sequence[tuple[str, str]] = PAIRS) -> list[TwoJudged]:
    """Ask for the cause in a unit with each pair of faults in turn, from the running unit alone."""
    return [judge_two(pair, case) for pair, case in draw_pairs(seed, family, pairs)]


def judge_two(pair: tuple[str, str], case: Case) -> TwoJudged:
    """Ask for the cause."""
    explained = explain(situation_of(case, {}))
    return TwoJudged(
        truths=(FULL_NAME.get(pair[0], pair[0]), FULL_NAME.get(pair[1], pair[1])),
        metering_device=case.design.metering_device,
        ranking=[(found.fault.value, round(found.probability, 4)) for found in explained],
        together=_together(explained),
    )


def _together(explained: Sequence[Cause]) -> tuple[str, ...]:
    return next(tuple(it.value for it in found.together) for found in explained if found.fault is Fault.SEVERAL)


def draw_pairs(
    seed: int, family: Family = WIDE, pairs: Sequence[tuple[str, str]] = PAIRS
) -> Iterator[tuple[tuple[str, str], Case]]:
    """Draw a unit, and show it with each pair of faults, in other weather each time. The same seed gives the same."""
    chance = random.Random(f"two faults {seed}")
    design = draw_design(chance, family=family)
    for pair in pairs:
        (_, first_charge, first), (_, second_charge, second) = (draw_fault(chance, fault) for fault in pair)
        parameters = replace(
            design.parameters,
            conditions=draw_conditions(chance),
            charge_kg=design.parameters.charge_kg * first_charge * second_charge,
            faults=_joined(first, second),
        )
        yield (
            pair,
            Case(
                truth=" and ".join(pair),
                size=0.0,
                design=design,
                parameters=parameters,
                readings=measure(Unit(parameters).true_state(), chance),
                readings_at_rest=measure(at_rest(parameters, chance.gauss(0.0, 1.0)), chance),
            ),
        )


def _joined(first: Faults, second: Faults) -> Faults:
    """Put two different faults into one unit."""
    none = Faults()
    changed = {it.name: value for it in fields(none) if (value := getattr(second, it.name)) != getattr(none, it.name)}
    return replace(first, **changed)
