"""Visits that are obeyed, through everything between sensors and sentences: `make voice` has many more."""

import pytest

from tests.judge.voice import of_scenario, scenarios


@pytest.mark.parametrize("name", ["low_charge", "dirty_condenser", "all_is_well", "fixed_orifice_low"])
def test_a_visit_that_is_obeyed_never_contradicts_itself_and_its_last_word_is_true(name: str) -> None:
    assert name in scenarios()
    visit = of_scenario(name, advice_s=30.0)
    assert not visit.against_itself
    assert visit.flips <= 6
    state, lead = visit.end
    if visit.truth in ("", "undercharge"):
        assert state in ("near enough", "done"), visit.last
        assert visit.of_right == pytest.approx(
            1.0, abs=0.02
        )  # the plate, or the maker's chart, has a target of its own
        assert visit.is_as_near_as_said
        assert visit.within is not None
        assert visit.within < 0.1
        assert (visit.moves > 0) is (visit.truth == "undercharge")
    else:
        assert (state, lead) == ("look", visit.truth)
