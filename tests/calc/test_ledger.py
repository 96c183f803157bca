"""The ledger: sums and corrections held against a plain list that is worked out anew each time, and amounts that ask.

The thresholds are common practice without a source; the figures here are those that a person at a scale would try.
"""

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, rule

from calc.amounts import objection
from calc.ledger import Doubtful, Ledger, doubtful_amount

MASSES_KG = st.floats(0.001, 5.0)
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8: 1 oz (avoirdupois) = 2.834 952 E-02 kg


class AgainstAList(RuleBasedStateMachine):
    """Every entry in a list; the sums are worked out from all of it, the last word on each move counting."""

    entries = Bundle("entries")

    def __init__(self) -> None:
        super().__init__()
        self.ledger = Ledger()
        self.written: list[tuple[str, int, float]] = []
        self.charge_kg = 0.0
        self.number = 0

    def name(self) -> str:
        self.number += 1
        return f"e{self.number}"

    @rule(target=entries, mass_kg=MASSES_KG, sign=st.sampled_from([1, -1]))
    def move(self, mass_kg: float, sign: int) -> tuple[str, str]:
        entry = self.name()
        enter = self.ledger.added if sign > 0 else self.ledger.recovered
        self.charge_kg += enter(entry, mass_kg)
        self.written.append((entry, sign, mass_kg))
        return entry, entry

    @rule(target=entries, of=entries, mass_kg=st.none() | MASSES_KG)
    def correct(self, of: tuple[str, str], mass_kg: float | None) -> tuple[str, str]:
        entry = self.name()
        self.charge_kg += self.ledger.corrected(entry, of[0], mass_kg)
        sign = next(sign for move, sign, _ in self.written if move == of[1])
        self.written.append((of[1], sign, mass_kg or 0.0))
        return entry, of[1]

    @rule(of=entries)
    def repeat(self, of: tuple[str, str]) -> None:
        """What comes twice counts once."""
        assert self.ledger.added(of[1], 9.0) == 0.0
        assert self.ledger.corrected("nobody's", "unknown", 1.0) == 0.0

    @invariant()
    def sums_are_those_of_the_list(self) -> None:
        last = {move: (sign, mass_kg) for move, sign, mass_kg in self.written}
        added = sum(mass_kg for sign, mass_kg in last.values() if sign > 0)
        recovered = sum(mass_kg for sign, mass_kg in last.values() if sign < 0)
        assert self.ledger.added_kg == pytest.approx(added)
        assert self.ledger.recovered_kg == pytest.approx(recovered)
        assert self.ledger.net_kg == pytest.approx(self.charge_kg, abs=1e-6)
        assert self.ledger.count == sum(mass_kg > 0 for _, mass_kg in last.values())


TestAgainstAList = AgainstAList.TestCase


def test_a_correction_that_comes_twice_counts_once() -> None:
    """As after a lost answer; between the two another one was made, and the later word stands."""
    ledger = Ledger()
    ledger.added("a", 2.0)
    assert ledger.corrected("c", "a", 0.2) == -1.8
    assert ledger.corrected("d", "a", 0.3) == 0.1
    assert ledger.corrected("c", "a", 0.2) == 0.0
    assert ledger.added_kg == 0.3


@pytest.mark.parametrize(
    ("ounces", "net", "recovered", "plate", "why"),
    [
        (500.0, 0.0, 0.0, 120.0, Doubtful.IMPOSSIBLE),  # a unit of 7 lb 8 oz
        (241.0, 0.0, 0.0, 120.0, Doubtful.IMPOSSIBLE),
        (239.0, 0.0, 0.0, 120.0, Doubtful.SUM_PASSES_NAMEPLATE),
        (-241.0, 0.0, 0.0, 120.0, Doubtful.IMPOSSIBLE),
        (31.0, 0.0, 0.0, 120.0, Doubtful.LARGE_STEP),
        (30.0, 0.0, 0.0, 120.0, None),
        (6.0, 113.0, 0.0, 120.0, None),
        (6.0, 115.0, 0.0, 120.0, Doubtful.SUM_PASSES_NAMEPLATE),
        (6.0, -20.0, 20.0, 120.0, None),
        (30.0, 100.0, 20.0, 120.0, Doubtful.SUM_PASSES_NAMEPLATE),  # what came out is in the net already
        (240.0, -120.0, 120.0, 120.0, Doubtful.LARGE_STEP),  # twice the nameplate, to the ounce, is not more than that
        (-120.0, 0.0, 0.0, 120.0, None),  # all of it, for a repair
        (-119.2, -0.8, 0.8, 120.0, None),  # to the last, though in kilograms the two are a hair over the nameplate
        (-6.0, -115.0, 115.0, 120.0, Doubtful.MORE_THAN_NAMEPLATE_OUT),
        (-6.0, 0.0, 0.0, 120.0, None),
        (80.0, 0.0, 0.0, None, Doubtful.LARGE_WITHOUT_NAMEPLATE),
        (71.0, 0.0, 0.0, None, Doubtful.LARGE_WITHOUT_NAMEPLATE),  # 2.013 kg
        (70.0, 0.0, 0.0, None, None),  # 1.984 kg
        (-71.0, 0.0, 0.0, None, Doubtful.LARGE_WITHOUT_NAMEPLATE),
        (1800.0, 0.0, 0.0, None, Doubtful.IMPOSSIBLE),  # 112 lb, and no cylinder holds it
    ],
)
def test_which_amounts_ask(
    ounces: float, net: float, recovered: float, plate: float | None, why: Doubtful | None
) -> None:
    found = doubtful_amount(
        ounces * OUNCE_KG,
        net * OUNCE_KG,
        recovered * OUNCE_KG,
        nameplate_kg=None if plate is None else plate * OUNCE_KG,
    )
    assert found is why


def test_a_move_is_known_by_its_entry_and_by_each_correction_of_it() -> None:
    ledger = Ledger()
    ledger.added("a", 2.0)
    ledger.recovered("b", 0.1)
    ledger.corrected("c", "a", 0.2)
    assert [ledger.mass_kg(entry) for entry in ("a", "b", "c", "unknown")] == [0.2, 0.1, 0.2, None]
    assert [ledger.is_added(entry) for entry in ("a", "b", "c", "unknown")] == [True, False, True, False]


@pytest.mark.parametrize(("kilograms", "why"), [(2.0, None), (50.0, Doubtful.LARGE_WITHOUT_NAMEPLATE)])
def test_an_amount_at_a_limit_is_not_over_it(kilograms: float, why: Doubtful | None) -> None:
    assert doubtful_amount(kilograms, 0.0, 0.0, nameplate_kg=None) is why


@pytest.mark.parametrize(
    ("change_kg", "net_kg", "recovered_kg", "why"),
    [
        (1.000001, 0.0, 0.0, None),
        (1.000002, 0.0, 0.0, Doubtful.LARGE_STEP),
        (2.000002, 2.000002, 0.0, Doubtful.LARGE_STEP),
        (0.5, 3.500005, 0.0, Doubtful.SUM_PASSES_NAMEPLATE),
        (-2.000002, 0.0, 2.000002, None),
        (-0.5, 0.0, 3.500005, Doubtful.MORE_THAN_NAMEPLATE_OUT),
    ],
)
def test_a_millionth_is_no_more_than_rounding(
    change_kg: float, net_kg: float, recovered_kg: float, why: Doubtful | None
) -> None:
    assert doubtful_amount(change_kg, net_kg, recovered_kg, nameplate_kg=4.0) is why


def test_where_a_withdrawn_move_leaves_more_than_the_nameplate_that_is_asked_about() -> None:
    assert doubtful_amount(0.0, 5.0, 0.0, nameplate_kg=4.0) is Doubtful.SUM_PASSES_NAMEPLATE


def test_more_than_a_unit_can_be_is_said_of_what_goes_in_and_of_what_came_out() -> None:
    known = {"net_kg": 0.0, "recovered_kg": 0.0, "nameplate_kg": 3.4}
    into, out_of = (str(objection(Doubtful.IMPOSSIBLE, change_kg, **known)) for change_kg in (14.2, -14.2))
    assert "no unit of this size takes that" in into
    assert "recovered: the nameplate's charge" in out_of
    assert "no unit of this size holds that" in out_of
