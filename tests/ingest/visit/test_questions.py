"""By what a yes answers a question: it is the same question as long as it is about the same, whatever time it is."""

import re

import pytest

from calc.quantities import Quantity
from calc.sentences import Part, amount, minutes, text, weighed
from ingest.visit.questions import name_of
from ingest.wire.wording import Wording


def named(*parts: Part, kind: str = "guard.too_soon") -> str:
    return name_of(Wording("", "", kind, parts))


def test_a_question_in_which_nothing_lasts_has_the_name_of_its_kind() -> None:
    assert named() == named(minutes("ago", 300.0)) == named(minutes("ago", 360.0)) == "guard.too_soon"
    assert named(amount("pressure", 3e4, Quantity.PRESSURE)) == named(amount("pressure", 2e4, Quantity.PRESSURE))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (text("port", "suction"), text("port", "liquid")),
        (weighed("amount", 0.1), weighed("amount", 0.2)),
        (amount("sum", 3.4, Quantity.MASS), amount("sum", 3.5, Quantity.MASS)),
        (text("other", "Kim"), text("by", "Kim")),
    ],
)
def test_about_another_name_or_mass_it_is_another_question(one: Part, other: Part) -> None:
    assert named(one) != named(other)
    assert named(one) == named(one, minutes("ago", 60.0))
    assert re.fullmatch(r"guard\.too_soon:[0-9a-f]{12}", named(one))
    assert named(one).partition(":")[2] == named(one, kind="guard.leak_open").partition(":")[2]
