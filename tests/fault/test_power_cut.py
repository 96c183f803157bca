"""Power cuts at any moment: nothing confirmed is lost. The same cuts lose packs where SQLite is told to sync less.

`DEWLINE_POWER_CUTS` says how many cuts of each kind are tried; `make power-cuts` tries 400.
"""

import os
from pathlib import Path

import pytest

from tests.fault.power_cut import Image, Outcome, cut_power

CUTS = int(os.environ.get("DEWLINE_POWER_CUTS", "40"))


def outcomes(directory: Path, *, synchronous: str, torn: bool) -> list[Outcome]:
    found = []
    for seed in range(CUTS):
        place = directory / str(seed)
        place.mkdir()
        found.append(cut_power(place, seed, synchronous=synchronous, torn=torn))
    return found


@pytest.mark.parametrize("torn", [False, True])
def test_over_a_power_cut_nothing_confirmed_is_lost(tmp_path: Path, torn: bool) -> None:
    found = outcomes(tmp_path, synchronous="FULL", torn=torn)
    assert all(outcome.whole for outcome in found)
    assert all(outcome.found == list(range(1, len(outcome.found) + 1)) for outcome in found)
    assert [outcome.lost for outcome in found] == [0] * CUTS
    assert sum(outcome.confirmed for outcome in found) > 5 * CUTS, "the cuts came before anything was recorded"


@pytest.mark.parametrize("torn", [False, True])
def test_the_same_cuts_lose_packs_where_sqlite_syncs_less(tmp_path: Path, torn: bool) -> None:
    """Or they would prove nothing."""
    found = outcomes(tmp_path, synchronous="NORMAL", torn=torn)
    assert sum(outcome.lost > 0 for outcome in found) > CUTS / 2


def test_the_platter_has_what_was_synced_and_perhaps_more() -> None:
    image = Image()
    image.write(0, b"synced")
    image.sync()
    image.write(6, b" or not")
    assert image.content == b"synced"
    image.write(3, None)
    image.sync()
    assert image.content == b"syn"
