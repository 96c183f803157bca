"""How often a start of a simulated unit is told rightly, wrongly, or not: `make physics` tries hundreds."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from calc.start_diagnosis import StartFound, StartKind, diagnose
from tests.starts.drawn import MATTERS, Drawn, draw

Verdict = Literal["right", "cannot tell", "wrong"]


@dataclass(frozen=True)
class Told:
    """A start, what was told of it, and whether that is so."""

    drawn: Drawn
    found: StartFound
    verdict: Verdict


def told(seed: int, *, well_equipped: bool) -> Told:
    """Draw a start, each matter in its turn, and judge it."""
    matters = list(MATTERS)
    drawn = draw(seed, matters[seed % len(matters)], well_equipped=well_equipped)
    found = diagnose(drawn.record)
    return Told(drawn, found, _verdict(drawn.truth, found))


def _verdict(truth: StartKind, found: StartFound) -> Verdict:
    if found.kind is truth:
        return "right"
    says_nothing_of_fan = truth is StartKind.FAN and "tell.fan_amps" in found.would_tell
    return "cannot tell" if found.kind is StartKind.CANNOT_TELL or says_nothing_of_fan else "wrong"


def counted(cases: Iterable[Told]) -> Counter[Verdict]:
    """Count the verdicts, and print what was not right."""
    counts: Counter[Verdict] = Counter()
    for case in cases:
        counts[case.verdict] += 1
        if case.verdict != "right":
            told_as = f"{case.found.kind.value} {case.found.would_tell}"
            print(f"seed {case.drawn.seed}: {case.drawn.truth.value} told as {told_as}, {case.verdict}")
    return counts
