"""Whose charge is left: of the circuit that is named, or of the one that is meant where none is; until it is opened.

That a decision is of one circuit, and ends with what is done to it: common practice, no source.
"""

from collections.abc import Sequence

import pytest

from ingest.visit.charges_left import ChargesLeft
from ingest.visit.ledgers import Ledgers
from ingest.wire.messages import ChargeLeft, Finding, Mark, Wording
from tests.ingest.visit.checks import TIME_S

ONE, TWO = "1", "2"


def left(circuit: str) -> ChargeLeft:
    advised = Wording("Add 5 oz.", "Add 140 g.", "headline.add")
    head = (f"left {circuit}", TIME_S, "Sam", "technician")
    return ChargeLeft(*head, reason="none_today", circuit=circuit, advised=advised)


def opened(circuit: str, outcome: str = "met") -> Finding:
    it = {"check": "opened", "grade": "said", "outcome": outcome, "circuit": circuit}
    return Finding(f"opened {circuit}", TIME_S, "Sam", "technician", **it)  # type: ignore[arg-type]


def stand(marks: Sequence[Mark], unnamed: str = ONE) -> dict[str, bool]:
    ledgers = Ledgers()
    ledgers.unnamed = unnamed
    fold = ChargesLeft(ledgers)
    for mark in marks:
        fold.take(mark)
    return {circuit: fold.of(circuit) is not None for circuit in (ONE, TWO, "")}


@pytest.mark.parametrize(
    ("marks", "of"),
    [
        ([left(ONE)], {ONE}),
        ([left("")], {ONE, ""}),  # where none is named the first is meant
        ([left(TWO)], {TWO}),
        ([left(ONE), opened(ONE)], set()),
        ([left(ONE), opened(ONE, "skipped")], {ONE}),  # it was asked for, and not done
        ([left(ONE), opened("")], set()),
        ([left(TWO), opened("")], {TWO}),
        ([left(TWO), opened(TWO)], set()),
        ([left(""), opened(TWO)], {ONE, ""}),
        ([opened(ONE), left(ONE)], {ONE}),  # it was decided with that known
    ],
)
def test_it_is_of_one_circuit_until_that_is_opened(marks: list[Mark], of: set[str]) -> None:
    assert {circuit for circuit, stands in stand(marks).items() if stands} == of


def test_each_stands_in_the_order_in_which_it_was_left() -> None:
    ledgers = Ledgers()
    ledgers.unnamed = ONE
    fold = ChargesLeft(ledgers)
    for mark in (left(TWO), left(ONE), opened(TWO)):
        fold.take(mark)
    assert [mark.circuit for mark in fold.all()] == [ONE]
