"""Somebody does all that the judge says: nothing goes into a full unit, whatever slips within what is usual.

A handful of visits at which refrigerant went in before an instrument was a cause, and of those at which it still was
moved since; `make obedient` plays two thousand.
"""

from pathlib import Path

import pytest

from tests.judge.cases import OWN, WIDE, Family
from tests.judge.obedience import at_most, play_one, write
from tests.judge.obedient import Slip, Visit, play, play_short

WENT_WRONG = {
    500_024: ("nothing wrong", "gauge"),
    500_038: ("nothing wrong", "liquid clamp"),
    500_125: ("condenser fouling", "liquid clamp"),
    500_240: ("liquid-line restriction", "liquid clamp"),
}

MOVED_SINCE = {
    4_000_021: ("nothing wrong", "none"),  # superheat 5.2 ± 2.0 °F off, where 5 °F are right
    4_000_217: ("non-condensables", "gauge"),  # the pressure at rest was read by the gauge that was off
    4_000_246: ("nothing wrong", "refrigerant typed"),  # by the table alone, and its maker charged it otherwise
    4_000_288: ("liquid-line restriction", "gauge"),  # 17 psi low, it took all subcooling away
    5_000_172: ("liquid-line restriction", "gauge"),  # that was mended; then by the table, and by little else
    5_000_013: ("non-condensables", "within three limits"),  # so little air that the pressure at rest does not show it
}


@pytest.fixture(scope="module")
def visits() -> dict[int, Visit]:
    return {seed: play(seed, OWN) for seed in WENT_WRONG}


def test_refrigerant_goes_into_no_full_unit(visits: dict[int, Visit]) -> None:
    for seed, visit in visits.items():
        truth, kind = WENT_WRONG[seed]
        assert (visit.truth, visit.slip.kind) == (truth, kind)
        assert visit.slip != Slip("none")
        assert (visit.wrong, visit.of_right) == ([], 1.0)


@pytest.mark.parametrize("seed", MOVED_SINCE)
def test_nothing_is_moved_in_a_unit_that_is_right(seed: int) -> None:
    visit = play_one(seed)
    assert (visit.truth, visit.slip.kind) == MOVED_SINCE[seed]
    assert (visit.wrong, visit.moves, visit.of_right) == ([], 0, 1.0)


def test_of_a_sound_unit_an_instrument_is_looked_at_before(visits: dict[int, Visit]) -> None:
    sound = [visit for visit in visits.values() if visit.truth == "nothing wrong"]
    assert len(sound) == 2
    assert all(visit.checks >= 1 for visit in sound)


@pytest.mark.parametrize(("seed", "family"), [(3_300_000, OWN), (3_300_001, WIDE)])
def test_by_its_own_chart_an_orifice_that_came_short_ends_within_2_percent(seed: int, family: Family) -> None:
    """Units that came 15 to 30 % short, read exactly: by the table of all makers they end 5 to 7 % short."""
    by_chart, by_table = (play_short(seed, family, has_chart=has, is_exact=True) for has in (True, False))
    for visit in (by_chart, by_table):
        assert visit.moves >= 2
        assert visit.end.startswith("near enough")
        assert visit.is_as_near_as_said
    assert abs(by_chart.of_right - 1.0) <= 0.02 < abs(by_table.of_right - 1.0)
    assert by_chart.left is not None
    assert by_table.left is not None
    assert by_chart.left.expanded() < 0.5 * by_table.left.expanded()


@pytest.mark.parametrize("count", [1, 30, 2000])
def test_of_nothing_found_the_limit_is_known_in_closed_form(count: int) -> None:
    """Clopper and Pearson 1934: (1 - p) to the power of n is 5 %."""
    assert at_most(0, count) == pytest.approx(1 - 0.05 ** (1 / count))


def test_the_page_counts_what_was_played(visits: dict[int, Visit], tmp_path: Path) -> None:
    write(list(visits.values()), tmp_path / "page.md")
    page = (tmp_path / "page.md").read_text("utf-8")
    assert "| all | 4 |" in page
    assert "| wrong: liquid clamp | 3 |" in page
    assert "| wrong: gauge | 1 |" in page
