"""Beyond one fault at a first visit, as rows of docs/judge.md: two at once, and a unit that was found sound before."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from calc.diagnosis import Fault
from tests.judge import Results
from tests.judge.cases import NO_FAULT
from tests.judge.drawing import EDGES
from tests.judge.memory import Remembered
from tests.judge.two_faults import TwoJudged

Row = Sequence[str]
First = tuple[float, bool]
"""The probability of what comes first, and whether it is right."""


def share(things: Iterable[bool]) -> float:
    """Give the share of what holds; 0 of nothing."""
    counted = list(things)
    return sum(counted) / len(counted) if counted else 0.0


def is_nothing_first(case: TwoJudged) -> bool:
    """Tell whether a unit with two faults is called sound."""
    return case.ranking[0][0] == NO_FAULT


def two_rows(pairs: Sequence[TwoJudged]) -> list[Row]:
    """Say what becomes of two faults at once."""
    either = [case.ranking[0][0] in case.truths for case in pairs]
    return [
        ("both among the first three, or several first", f"{share(it.is_found for it in pairs):.1%}", "≥ 70 %"),
        ("several at once comes first", f"{share(it.ranking[0][0] == Fault.SEVERAL for it in pairs):.1%}", ""),
        ("one of the two comes first", f"{share(either):.1%}", ""),
        ("both are named among the first three, alone or as several", f"{share(it.is_named for it in pairs):.1%}", ""),
        ("nothing wrong comes first", f"{share(map(is_nothing_first, pairs)):.1%}", "≤ 5 %"),
    ]


def pair_rows(pairs: Sequence[TwoJudged]) -> list[Row]:
    """Say the same of each pair."""
    rows = []
    for truths in dict.fromkeys(it.truths for it in pairs):
        cases = [it for it in pairs if it.truths == truths]
        found, sound = share(it.is_found for it in cases), share(map(is_nothing_first, cases))
        rows.append((" and ".join(truths), str(len(cases)), f"{found:.0%}", f"{sound:.0%}"))
    return rows


def _is_right(case: Remembered, *, first_visit: bool = False) -> bool:
    return (case.first_visit if first_visit else case.remembered).ranking[0][0] == case.truth


def memory_rows(remembered: Sequence[Remembered]) -> list[Row]:
    """Say what an earlier sound visit adds."""
    kinds = (
        ("all", remembered, "≥ 92 %"),
        ("read by the same instruments as then", [it for it in remembered if it.has_same_instruments], ""),
        ("read by others", [it for it in remembered if not it.has_same_instruments], ""),
        ("expansion valve", [it for it in remembered if it.metering_device != "fixed_orifice"], ""),
        ("fixed orifice", [it for it in remembered if it.metering_device == "fixed_orifice"], ""),
    )
    rows = [
        (
            f"the truth comes first, {name}",
            f"{share(_is_right(it, first_visit=True) for it in cases):.1%}",
            f"{share(map(_is_right, cases)):.1%}",
            asked,
        )
        for name, cases, asked in kinds
    ]
    sound = [it for it in remembered if it.truth == NO_FAULT]
    false_alarm = (
        share(it.first_visit.is_known and not _is_right(it, first_visit=True) for it in sound),
        share(it.remembered.is_known and not _is_right(it) for it in sound),
    )
    return [
        *rows,
        ("sound, and a fault is likelier than not", *(f"{it:.1%}" for it in false_alarm), "≤ 5 %"),
    ]


def wide_firsts(results: Results) -> list[First]:
    """Take what comes first of wider designs, with one fault, none or two, for which "several at once" is right."""
    one = [(it.running.ranking[0][1], it.running.ranking[0][0] == it.truth) for it in results.wide]
    return one + [(it.ranking[0][1], it.ranking[0][0] == Fault.SEVERAL) for it in results.pairs]


def memory_firsts(results: Results) -> list[First]:
    """Likewise of units that were found sound before."""
    return [(it.remembered.ranking[0][1], _is_right(it)) for it in results.remembered]


def band_rows(firsts: Sequence[First]) -> list[Row]:
    """Set what was said beside what was right, in ranges of it."""
    return [
        (f"{low:.0%} to {min(high, 1.0):.0%}", str(len(group)), f"{mean:.0%}", f"{right:.1%}")
        for low, high, group, mean, right in _bands(firsts)
    ]


def _bands(firsts: Sequence[First]) -> list[tuple[float, float, list[First], float, float]]:
    groups = [(low, high, [it for it in firsts if low <= it[0] < high]) for low, high in pairwise(EDGES)]
    return [
        (low, high, group, sum(said for said, _ in group) / len(group), share(right for _, right in group))
        for low, high, group in groups
        if group
    ]


CHANCE = 0.001


def at_least(found: Sequence[bool], asked: float) -> bool:
    """Tell whether so few as these are found by chance in one of a thousand samples or more, were it as asked."""
    from scipy.stats import binom  # dear, and few need it

    return sum(found) >= int(binom.ppf(CHANCE, len(found), asked))


def at_most(found: Sequence[bool], asked: float) -> bool:
    """Likewise so many."""
    from scipy.stats import binom

    return sum(found) <= int(binom.ppf(1 - CHANCE, len(found), asked))


def unmet(results: Results) -> list[str]:
    """List what is asked for and so clearly missed that it is no chance."""
    sound = [it for it in results.wide if it.truth == NO_FAULT]
    least = [
        ("two faults are found", [it.is_found for it in results.pairs], 0.70),
        ("the first is right", [it.running.ranking[0][0] == it.truth for it in results.wide], 0.75),
        ("the first is right after a sound visit", [_is_right(it) for it in results.remembered], 0.92),
    ]
    most = [
        ("two faults are called nothing wrong", [is_nothing_first(it) for it in results.pairs], 0.05),
        (
            "a sound unit is faulty",
            [it.running.is_known and it.running.ranking[0][0] != NO_FAULT for it in sound],
            0.05,
        ),
    ]
    missed = [f"{name}: {share(found):.1%}" for name, found, asked in least if not at_least(found, asked)]
    missed += [f"{name}: {share(found):.1%}" for name, found, asked in most if not at_most(found, asked)]
    for _, _, group, said, right in _bands(wide_firsts(results)):
        is_right = [it for _, it in group]
        near = at_least(is_right, max(said - _NEAR, 0.0)) and at_most(is_right, min(said + _NEAR, 1.0))
        if len(group) >= 50 and not near:
            missed.append(f"of {len(group)} that were said to be {said:.0%} likely {right:.0%} were right")
    return missed


_NEAR = 0.05
