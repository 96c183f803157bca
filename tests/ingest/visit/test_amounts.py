"""What a doubtful amount asks: the way it went, and what the visit comes to with it."""

import pytest

from calc.amounts import objection
from calc.ledger import Doubtful

OUNCE_KG = 0.028349523125  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg


@pytest.mark.parametrize(
    ("why", "ounces", "words"),
    [
        (Doubtful.SUM_PASSES_NAMEPLATE, 8.0, "With 8 oz added this visit comes to 7 lb, and"),  # 104 + 8
        (Doubtful.MORE_THAN_NAMEPLATE_OUT, -8.0, "With 8 oz recovered this visit comes to 5 lb 8 oz out, and"),
        (Doubtful.SUM_PASSES_NAMEPLATE, 40.0, "With 2 lb 8 oz added this visit comes to 9 lb, and"),
    ],
)
def test_the_sum_is_of_what_went_the_same_way(why: Doubtful, ounces: float, words: str) -> None:
    asked = objection(
        why, ounces * OUNCE_KG, net_kg=104 * OUNCE_KG, recovered_kg=80 * OUNCE_KG, nameplate_kg=100 * OUNCE_KG
    )
    assert words in str(asked)


def test_a_small_amount_that_is_too_large_is_told_with_its_way() -> None:
    """A unit of 3 oz."""
    for ounces, way in ((6.5, "added"), (-6.5, "recovered")):
        change_kg = ounces * OUNCE_KG
        asked = objection(Doubtful.IMPOSSIBLE, change_kg, net_kg=0.0, recovered_kg=0.0, nameplate_kg=3 * OUNCE_KG)
        assert str(asked).startswith(f"6.5 oz {way}: the nameplate's charge is 3 oz")
        told = objection(Doubtful.IMPOSSIBLE, change_kg, net_kg=0.0, recovered_kg=0.0, nameplate_kg=3 * OUNCE_KG)
        assert told.kind == ("amount.impossible" if way == "added" else "amount.impossible_out")
