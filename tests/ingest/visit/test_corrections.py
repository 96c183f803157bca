"""An amount that was wrong, put right: weighed like a first one, by how much and where, and by nothing else."""

import pytest

from ingest.visit.deciding import RefusedError
from ingest.wire.messages import Reading
from tests.ingest.visit.moves import T0_S, Visit, circuit


@pytest.mark.parametrize("mass_kg", [None, 0.0])
def test_what_never_moved_is_taken_back_without_a_question(mass_kg: float | None) -> None:
    """A small unit: whatever is put in its place is asked about."""
    visit = Visit(circuit(charge_kg=0.3))
    visit.brings("8", refrigerant="R-410A")
    moved = visit.adds(0.05, cylinder="8")
    visit.corrects(moved.id, mass_kg)
    assert visit.warned == []
    assert visit.standing.message().added_kg == 0.0
    assert visit.standing.message().cylinders[0].taken_kg == 0.0


def test_a_right_amount_is_not_asked_about_and_a_wrong_one_is() -> None:
    visit = Visit(circuit(charge_kg=3.0))
    for moves, sums in ((visit.adds, "amount.sum"), (visit.recovers, "amount.sum_out")):
        moved = moves(0.2)
        visit.corrects(moved.id, 0.25)
        assert visit.warned == []
        visit.corrects(moved.id, 3.5)
        assert visit.warned == [(sums,)]
        with pytest.raises(RefusedError, match="nameplate"):
            visit.corrects(moved.id, 6.5)
        visit.warned.clear()
        visit.corrects(moved.id, None)


@pytest.mark.parametrize(
    ("is_added", "kind"), [(True, "guard.other_refrigerant"), (False, "guard.other_refrigerant_out")]
)
def test_which_way_it_went_stays(kind: str, *, is_added: bool) -> None:
    visit = Visit(circuit("1"), circuit("2", "R-22"))
    visit.brings("7", use="recovery")
    moved = (visit.adds if is_added else visit.recovers)(0.2, cylinder="7")
    visit.warned.clear()
    with pytest.raises(RefusedError):
        visit.corrects(moved.id, 0.2, circuit="2")
    assert visit.warned == [(kind,)]


def test_where_nothing_is_named_it_stays_where_it_was() -> None:
    visit = Visit(circuit("1"), circuit("2"))
    visit.brings("7")
    moved = visit.adds(0.2, cylinder="7", circuit="2")
    visit.corrects(moved.id, 0.3)
    _, two = visit.standing.message().circuits
    assert (two.circuit, two.added_kg) == ("2", 0.3)
    assert [it.taken_kg for it in visit.standing.message().cylinders] == [0.3]


def test_a_cylinder_that_nobody_described_is_refused_though_there_is_none() -> None:
    with pytest.raises(RefusedError, match="describe it first; described: none yet"):
        Visit().adds(0.1, cylinder="8")


def test_a_figure_that_reads_nothing_now_need_not_have_settled() -> None:
    visit = Visit()
    visit.see(runs=True, readings={"subcooling": Reading(None, T0_S)})
    visit.adds(0.1)
    assert visit.warned == []
