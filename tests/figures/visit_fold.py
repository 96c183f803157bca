"""How long a visit of thousands of moves takes to fold, and one more move to be decided on, beside a tenth of them."""

import time
from collections.abc import Iterator

from ingest.visit.decisions import DECISIONS
from ingest.visit.standing import Standing
from ingest.wire.messages import Added, AddedAsk, CylinderDescribed, Mark, Recovered
from tests.figures import Figure
from tests.ingest.visit.moves import T0_S, Visit

_FEW, _MANY = 1_000, 10_000
_DECIDED, _ROUNDS = 50, 3


def measure() -> Iterator[Figure]:
    """Measure the best of several rounds by the time of the processor."""
    few_s, many_s = (min(_fold_s(count) for _ in range(_ROUNDS)) for count in (_FEW, _MANY))
    yield Figure("visit, 10,000 moves folded", f"{many_s:.2f} s, {many_s / few_s:.1f}x of 1,000", "<= 15x of 1,000")
    few_s, many_s = (min(_decided_s(count) for _ in range(_ROUNDS)) for count in (_FEW, _MANY))
    yield Figure(
        "visit, a move decided on after 10,000",
        f"{many_s * 1e3:.2f} ms, {many_s / few_s:.1f}x of after 1,000",
        "<= 2x of after 1,000",
    )


def moves(count: int) -> list[Mark]:
    """Make moves of two circuits and of none that is named, from and into one cylinder that was weighed."""
    cylinder = CylinderDescribed("c", T0_S, name="7", use="virgin", refrigerant="R-410A", tare_kg=3.0, gross_kg=900.0)
    return [
        cylinder,
        *(
            (Recovered if number % 3 == 2 else Added)(
                f"m{number}",
                T0_S + number,
                mass_kg=0.01 + 0.001 * (number % 7),
                circuit=("", "1", "2")[number % 3],
                cylinder="7",
            )
            for number in range(count)
        ),
    ]


def _fold_s(count: int) -> float:
    marks = moves(count)
    began_s = time.process_time()
    Standing("v1", marks)
    return time.process_time() - began_s


def _decided_s(count: int) -> float:
    visit = Visit()
    for mark in moves(count):
        visit.take(mark)
    ask = AddedAsk("", "Sam", mass_kg=0.01, phase="liquid", cylinder="7", confirmed=True)
    began_s = time.process_time()
    for _ in range(_DECIDED):
        DECISIONS[AddedAsk](ask, visit.head, visit.standing, visit.facts)
    return (time.process_time() - began_s) / _DECIDED
