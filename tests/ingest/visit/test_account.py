"""The account of a circuit: sums, leak rates against worked examples in print, and the dates that follow."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.visit.account import account, addition, month_later
from ingest.visit.earlier import history
from ingest.visit.ledgers import Ledgers
from ingest.visit.standing import Standing
from ingest.visit.tally import Entry
from ingest.wire.messages import Added, Correction, Finding, Placed, Recovered, VisitOpened
from ingest.wire.sheet import Circuit
from tests.ingest.visit.moves import CHARGE_KG, Visit, circuit

POUND_KG = 0.45359237  # NIST SP 811, B.8
COMFORT = {"appliance": "comfort_cooling", "is_light_commercial": False}


def at(day: str, hour: int = 15) -> float:
    """A moment of a day, universal time."""
    return datetime.fromisoformat(day).replace(hour=hour, tzinfo=UTC).timestamp()


def added(day: str, pounds: float, **fields: object) -> Entry:
    return Entry(f"{day} {pounds}", 1, pounds * POUND_KG, at(day), "1", **fields)  # type: ignore[arg-type]


def recovered(day: str, pounds: float) -> Entry:
    return Entry(f"{day} -{pounds}", -1, pounds * POUND_KG, at(day), "1")


def large(pounds: float, refrigerant: str = "R-22", **fields: object) -> Circuit:
    return circuit(refrigerant=refrigerant, charge_kg=pounds * POUND_KG, **COMFORT | fields)


def rates(it: Circuit, now: list[Entry], *earlier: list[Entry]) -> dict[str, float]:
    return {rate.method: rate.percent for rate in account(it, now, earlier).rates}


def test_the_rates_are_those_in_print() -> None:
    """2 lb into 50 lb, 30 days after the last addition: 48.7 % by annualizing, in several published guides to 40 CFR
    82.152; 30 lb into 200 lb after 120 days: 45.6 %. Rolling, by the definition: what the last 365 days took."""
    found = rates(large(50), [added("2027-05-31", 2.0)], [added("2027-05-01", 3.0)], [added("2026-09-01", 1.5)])
    assert found["annualizing"] == pytest.approx(48.6667, abs=1e-3)
    assert found["rolling"] == pytest.approx(13.0)  # 2 + 3 + 1.5 of 50 lb
    assert rates(large(200), [added("2027-05-01", 30.0)], [added("2027-01-01", 1.0)])["annualizing"] == pytest.approx(
        45.625
    )


def test_a_first_addition_counts_a_year_and_exactly_at_the_limit_is_not_over_it() -> None:
    """1.5 lb into 15 lb, the first: 10 %, by the definition; 84.106(c)(2) is for more than 10 % of comfort cooling."""
    it = large(15, "R-410A")
    exactly = account(it, [added("2027-05-31", 1.5)], ())
    assert [(rate.percent, rate.limit_percent, rate.is_over) for rate in exactly.rates] == [(10.0, 10.0, False)] * 2
    over = account(it, [added("2027-05-31", 1.5001)], ())
    assert [rate.is_over for rate in over.rates] == [True, True]
    assert over.rule == "40 CFR 84.106"


def test_additions_of_one_visit_and_of_one_day_are_one() -> None:
    """In small steps, and after the phone rang: a rate is of what it took, not of the last step."""
    steps = [added("2027-05-31", 0.5), added("2027-05-31", 1.0), added("2027-05-31", 0.5)]
    whole = rates(large(50), [added("2027-05-31", 2.0)], [added("2027-05-01", 3.0)])
    assert rates(large(50), steps, [added("2027-05-01", 3.0)]) == pytest.approx(whole)
    assert rates(large(50), steps[1:], [added("2027-05-01", 3.0)], steps[:1]) == pytest.approx(whole)


def test_a_charge_renewed_by_weight_counts_with_what_was_missing() -> None:
    """40 lb came out and 50 went in: 10 lb were lost (common practice, no source)."""
    found = rates(large(50), [recovered("2027-05-31", 40.0), added("2027-05-31", 50.0, purpose="weigh_in")])
    assert found == pytest.approx({"annualizing": 20.0, "rolling": 20.0})


@pytest.mark.parametrize("purpose", ["new_installation", "retrofit", "seasonal"])
def test_what_no_leak_took_counts_for_no_rate(purpose: str) -> None:
    """No rate is due after a retrofit, a new installation or a seasonal variance: 40 CFR 82.157, 84.106, as taught."""
    assert rates(large(50), [added("2027-05-31", 20.0, purpose=purpose)]) == {}
    assert rates(large(50), [added("2027-06-30", 2.0)], [added("2027-05-31", 20.0, purpose=purpose)]) == {
        "annualizing": pytest.approx(4.0),
        "rolling": pytest.approx(4.0),
    }


def test_a_leap_year_has_its_day() -> None:
    """Of the last 365 days: from 2027-12-31 to 2028-12-30 are 365 days in a leap year, so that day is out."""
    it = large(50)
    assert rates(it, [added("2028-12-30", 1.0)], [added("2027-12-31", 4.0)])["rolling"] == pytest.approx(2.0)
    assert rates(it, [added("2028-12-29", 1.0)], [added("2027-12-31", 4.0)])["rolling"] == pytest.approx(10.0)
    across = rates(it, [added("2028-03-01", 1.0)], [added("2028-02-28", 4.0)])
    assert across["annualizing"] == pytest.approx(100 * 1 / 50 * 365 / 2)  # the 29th lies between
    a_year = rates(it, [added("2028-12-31", 5.0)], [added("2027-12-31", 1.0)])
    assert a_year["annualizing"] == pytest.approx(10.0)  # 366 days are counted as 365


def test_no_rate_where_no_rule_covers_it_and_the_account_says_why() -> None:
    it = circuit(charge_kg=CHARGE_KG)
    found = account(it, [added("2027-05-31", 1.0)], [[added("2027-05-01", 1.0)], [recovered("2027-05-02", 0.1)]])
    assert (found.rule, found.rates, found.visits_before) == ("", (), 1)
    assert found.says is not None
    assert found.says.us.startswith("No federal leak rule covers this circuit, because R-410A depletes no ozone")
    assert found.added_before_kg == pytest.approx(POUND_KG, abs=1e-6)


def test_a_charge_that_cannot_be_right_has_no_rate() -> None:
    assert rates(large(50), [added("2027-05-31", 101.0)]) == {}


def test_where_the_owner_has_not_said_which_kind_it_is_no_limit_is_held_against_it() -> None:
    (first, _) = account(large(50, appliance=""), [added("2027-05-31", 10.0)], ()).rates
    assert (first.percent, first.limit_percent, first.is_over) == (pytest.approx(20.0), None, None)


def test_every_addition_has_a_day_to_look_again() -> None:
    """Within a month, as (EU) 2024/573 asks after a repair; at the end of a month its last day."""
    assert account(circuit(), [added("2028-01-31", 1.0)], ()).recheck_by == "2028-02-29"
    assert account(circuit(), [added("2027-01-31", 1.0)], ()).recheck_by == "2027-02-28"
    assert account(circuit(), [recovered("2027-01-31", 1.0)], ()).recheck_by == ""
    assert month_later(date(2027, 12, 31)) == date(2028, 1, 31)


def test_what_the_european_union_asks_stands_in_the_account() -> None:
    """2.4 kg of R-410A are 5 t: gov.uk."""
    small, larger = account(circuit(charge_kg=2.3), [], ()), account(circuit(charge_kg=2.4), [], ())
    assert (small.check_months, larger.check_months) == (None, 12)
    assert larger.co2_equivalent_t == pytest.approx(5.0, abs=0.02)
    assert account(circuit(charge_kg=2.401), [], ()).co2_equivalent_t == 5.012  # at (675 + 3500) / 2: IPCC, AR4
    assert account(circuit(charge_kg=2.4, has_leak_detection=True), [], ()).check_months == 24
    assert account(circuit(charge_kg=2.4, is_sealed=True), [], ()).check_months is None
    for refrigerant, charge_kg, kind in (
        ("R-22", 50.0, "ozone"),
        ("R-22", None, "ozone"),
        ("R-410A", None, "no_charge"),
    ):
        unknown = account(circuit(refrigerant=refrigerant, charge_kg=charge_kg), [], ())
        assert (unknown.co2_equivalent_t, unknown.check_months) == (None, None)
        assert unknown.checks_say is not None
        assert unknown.checks_say.kind == f"leak_check.{kind}"


def test_masses_are_told_to_a_milligram_and_rates_to_a_millionth() -> None:
    moves = [Entry("a", 1, 0.12345674, at("2027-05-31"), "1"), Entry("b", -1, 0.01234564, at("2027-05-31"), "1")]
    before = [Entry("c", 1, 0.04567894, at("2027-05-01"), "1")]
    found = account(circuit(charge_kg=30.0), moves, [before])
    assert (found.added_kg, found.recovered_kg, found.net_kg) == (0.123457, 0.012346, 0.111111)
    assert found.added_before_kg == 0.045679
    visits = [before, [recovered("2027-05-02", 0.1)], before]
    assert account(circuit(charge_kg=30.0), moves, visits).visits_before == 2  # at which something was added
    for appliance in ("", "comfort_cooling"):
        seventh = account(large(50, appliance=appliance), [added("2027-05-31", 50 / 7)], ())
        assert [rate.percent for rate in seventh.rates] == [14.285714] * 2  # 100 / 7


# --- moves by circuit, over visits


def test_two_circuits_of_one_unit_are_two_appliances() -> None:
    visit = Visit(circuit("A", charge_kg=20 * POUND_KG, **COMFORT), circuit("B", charge_kg=20 * POUND_KG, **COMFORT))
    visit.adds(0.2)
    visit.adds(0.5, circuit="B")
    visit.recovers(0.1, circuit="B")
    visit.take(Placed("p", visit.now_s, on="B", channels=["suction_pressure"]))
    visit.adds(0.3)  # of the one in view
    one, two = visit.standing.message().circuits
    assert (one.circuit, one.added_kg, one.recovered_kg, one.moves) == ("A", 0.2, 0.0, 1)
    assert (two.circuit, two.added_kg, two.recovered_kg, two.net_kg, two.moves) == ("B", 0.8, 0.1, 0.7, 3)
    assert [rate.percent for rate in two.rates] == pytest.approx([100 * 0.7 / (20 * POUND_KG)] * 2, abs=1e-4)
    assert visit.standing.message().added_kg == 1.0  # of the unit


def test_a_move_of_another_circuit_is_no_change_of_the_one_in_view() -> None:
    visit = Visit(circuit("A"), circuit("B"))
    assert visit.standing.take(Added("m1", visit.now_s, mass_kg=0.2, circuit="B")) == 0.0
    assert visit.standing.take(Added("m2", visit.now_s, mass_kg=0.2)) == 0.2
    assert visit.standing.take(Correction("m3", visit.now_s, of="m1", mass_kg=0.2, circuit="A")) == 0.2
    assert visit.standing.take(Correction("m4", visit.now_s, of="m3", mass_kg=0.1)) == -0.1


def test_a_move_changes_the_charge_of_the_circuit_that_is_meant_as_long_as_none_is_in_view() -> None:
    """By this the judge begins to wait anew: a fresh rig has named no circuit yet."""
    standing = Standing("v1")
    standing.moved.know([circuit("1"), circuit("2")], "1")
    standing.moved.judged("subcooling")
    assert standing.take(Added("m1", 0.0, mass_kg=0.2, circuit="2")) == 0.0
    assert standing.moved.has_settled("subcooling")
    assert standing.take(Added("m2", 1.0, mass_kg=0.2, circuit="1")) == 0.2
    assert not standing.moved.has_settled("subcooling")
    assert standing.take(Added("m3", 2.0, mass_kg=0.1)) == 0.1
    assert standing.take(Correction("m4", 3.0, of="m2", mass_kg=0.1, circuit="1")) == -0.1


def test_what_was_moved_before_anybody_named_a_circuit_is_of_the_only_one() -> None:
    ledgers = Ledgers()
    ledgers.take(Added("m1", 0.0, mass_kg=0.2), "")
    ledgers.take(Recovered("m2", 1.0, mass_kg=0.05, circuit="1"), "1")
    assert ledgers.sums("1").added_kg == 0.0
    ledgers.unnamed = "1"
    assert (ledgers.sums("1").added_kg, ledgers.sums("1").recovered_kg, ledgers.circuits()) == (0.2, 0.05, ["1"])


def test_earlier_visits_are_worked_out_from_their_marks_alone() -> None:
    first = [
        VisitOpened("o1", 0.0, circuit="A"),
        Added("m1", 10.0, mass_kg=0.2),
        Added("m2", 20.0, mass_kg=0.3, circuit="B"),
        Correction("c1", 30.0, of="m1", mass_kg=0.1),
        Added("m3", 40.0, mass_kg=0.4),
        Correction("c2", 50.0, of="m3"),
        Finding("f1", 60.0, check="leaks", grade="seen", outcome="not_met", choices={"joints": "leak"}, circuit="B"),
    ]
    second = [Finding("f2", 100.0, check="leaks", grade="seen", outcome="not_met", choices={"coil_ends": "leak"})]
    third = [VisitOpened("o3", 200.0, circuit="B"), Finding("f3", 210.0, check="opened", grade="said", outcome="met")]
    known = history([("v1", first), ("v2", second)])
    assert [[it.mass_kg for it in visit] for visit in known.of("A")] == [[0.1]]
    assert [[it.mass_kg for it in visit] for visit in known.of("B")] == [[0.3]]
    assert known.open_leaks == {"B": 60.0, "": 100.0}
    assert history([("v1", first), ("v3", third)]).open_leaks == {}


def test_nothing_added_that_counts_is_no_addition() -> None:
    assert addition([]) is None
    assert addition([recovered("2027-05-31", 1.0)]) is None
    assert addition([added("2027-05-31", 1.0), recovered("2027-05-31", 1.0)]) is None


MOVES = st.lists(
    st.tuples(
        st.sampled_from(["added", "recovered", "correction"]),
        st.floats(0.001, 5.0),
        st.sampled_from(["", "A", "B"]),
        st.integers(0, 9),
    ),
    max_size=12,
)


@given(MOVES)
def test_the_circuits_together_come_to_what_the_visit_comes_to(moves: list[tuple[str, float, str, int]]) -> None:
    """Two ledgers of one journal: the whole one, and the one by circuits, whatever is corrected and put elsewhere."""
    standing = Standing("v1", [VisitOpened("v", 0.0, circuit="A")])
    for number, (kind, mass_kg, name, of) in enumerate(moves):
        if kind == "correction":
            changed = mass_kg if of % 2 else None
            standing.take(Correction(f"m{number}", float(number), of=f"m{of}", mass_kg=changed, circuit=name))
        else:
            make = Added if kind == "added" else Recovered
            standing.take(make(f"m{number}", float(number), mass_kg=mass_kg, circuit=name))
    said = standing.message()
    assert sum(it.added_kg for it in said.circuits) == pytest.approx(said.added_kg, abs=1e-5)
    assert sum(it.recovered_kg for it in said.circuits) == pytest.approx(said.recovered_kg, abs=1e-5)
    assert sum(it.moves for it in said.circuits) == said.moves


def test_what_was_moved_without_a_word_of_a_circuit_counts_for_the_one_that_is_meant_and_for_no_other() -> None:
    unnamed, named = (
        Added(f"a{name}", at("2027-05-01"), mass_kg=mass_kg, phase="liquid", circuit=name)
        for name, mass_kg in (("", 0.1), ("2", 0.2))
    )
    before = history([("v1", [unnamed, named]), ("v2", [VisitOpened("o2", at("2027-05-02"))])])
    masses = [
        [[entry.mass_kg for entry in visit] for visit in before.of(circuit, unnamed=is_meant)]
        for circuit, is_meant in (("1", True), ("1", False), ("2", True), ("2", False))
    ]
    assert masses == [[[0.1]], [], [[0.1, 0.2]], [[0.2]]]
    assert [entry.mass_kg for entry in before.visits[0].of("2")] == [0.2]
    assert before.of("1") == []
    assert (before.is_first, history([]).is_first) == (False, True)
    renamed = before.renamed({"2": "north"})
    assert [[entry.mass_kg for entry in visit] for visit in renamed.of("north")] == [[0.2]]
    assert renamed.of("2") == []
