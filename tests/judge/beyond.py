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


def unmet(results: Results) -> list[str]:
    """List what is asked for and not reached."""
    sound = [it for it in results.wide if it.truth == NO_FAULT]
    first = share(it.running.ranking[0][0] == it.truth for it in results.wide)
    faulty = share(it.running.is_known and it.running.ranking[0][0] != NO_FAULT for it in sound)
    asked = [
        ("two faults are found", share(it.is_found for it in results.pairs), 0.70, 1.0),
        ("two faults are called nothing wrong", share(map(is_nothing_first, results.pairs)), 0.0, 0.05),
        ("the first is right at a first visit", first, 0.75, 1.0),
        ("the first is right after a sound visit", share(map(_is_right, results.remembered)), 0.92, 1.0),
        ("sound units are called faulty", faulty, 0.0, 0.05),
    ]
    missed = [f"{name}: {found:.1%}" for name, found, low, high in asked if not low <= found <= high]
    return missed + [
        f"of {len(group)} that were said to be {said:.0%} likely {right:.0%} were right"
        for _, _, group, said, right in _bands(wide_firsts(results))
        if len(group) >= 50 and abs(said - right) > 0.05
    ]
