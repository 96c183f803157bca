"""Sums that are kept as moves come: those of adding all of them up, and no more work for the last than the first."""

import math
import sys
from collections.abc import Callable
from functools import partial
from types import FrameType

from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.visit.ledgers import Ledgers
from ingest.visit.standing import Standing
from ingest.visit.tally import summed
from ingest.wire.messages import Added, AddedAsk, Correction, CylinderDescribed, Mark, Recovered
from tests.figures.visit_fold import moves
from tests.ingest.visit.moves import Visit

PLACES = ("", "1", "2")
CYLINDERS = ("", "7", "9")


@st.composite
def marks(draw: st.DrawFn) -> list[Mark]:
    """A visit at which moves are noted, corrected, withdrawn and put elsewhere, and cylinders weighed again."""
    known: list[Mark] = []
    masses = st.floats(1e-4, 50.0)
    for number in range(draw(st.integers(1, 25))):
        name, time_s = f"m{number}", draw(st.floats(0.0, 1e3))
        where = {"circuit": draw(st.sampled_from(PLACES)), "cylinder": draw(st.sampled_from(CYLINDERS))}
        match draw(st.sampled_from(["added", "recovered", "correction", "correction", "weighed"])):
            case "added":
                purpose = draw(st.sampled_from(["", "weigh_in"]))
                known.append(Added(name, time_s, mass_kg=draw(masses), purpose=purpose, **where))  # type: ignore[arg-type]
            case "recovered":
                known.append(Recovered(name, time_s, mass_kg=draw(masses), **where))
            case "correction" if known:
                of = draw(st.sampled_from([mark.id for mark in known]))
                known.append(Correction(name, time_s, of=of, mass_kg=draw(st.none() | masses), **where))
            case _:
                gross_kg = draw(st.none() | st.just(60.0))
                known.append(CylinderDescribed(name, time_s, name="7", use="virgin", gross_kg=gross_kg))
    return known


@settings(max_examples=150)
@given(marks(), st.sampled_from(PLACES), st.integers(0, 25))
def test_what_is_kept_as_it_comes_is_what_all_of_it_comes_to(known: list[Mark], unnamed: str, left_out: int) -> None:
    """Exact sums: math.fsum, which rounds once (Shewchuk 1997, as the standard library has it)."""
    ledgers = Ledgers()
    ledgers.unnamed = unnamed
    weighed: set[str] = set()
    for mark in known:
        if isinstance(mark, CylinderDescribed):
            weighed = set(ledgers.entries) if mark.gross_kg is not None else set()
        ledgers.take(mark, "")
    without = f"m{left_out}"
    for circuit in PLACES:
        assert ledgers.sums(circuit) == summed(ledgers.of(circuit))
        others = [it for it in ledgers.of(circuit) if it.id != without]
        assert ledgers.sums(circuit, without=without) == summed(others)
        assert ledgers.sums(circuit) == summed(ledgers.of(circuit)), "what was left out once is back"
        weighs = any(it.sign > 0 and it.purpose == "weigh_in" for it in ledgers.of(circuit))
        assert ledgers.has_weighed_in(circuit) is weighs
    for cylinder in ("7", "9", "unknown"):
        of_it = [it for it in ledgers.entries.values() if it.cylinder == cylinder and it.mass_kg > 0]
        ours = [it for it in of_it if it.id != without]
        before = weighed if cylinder == "7" else set()
        found = ledgers.cylinder(cylinder, without=without)
        assert found.taken_kg == math.fsum(it.mass_kg for it in ours if it.sign > 0)
        assert found.given_kg == math.fsum(it.mass_kg for it in ours if it.sign < 0)
        assert found.net_since_kg == math.fsum(it.sign * it.mass_kg for it in ours if it.id not in before)
        assert found.first_out == next((it for it in ours if it.sign < 0), None)
        assert ledgers.cylinder(cylinder).first_out == next((it for it in of_it if it.sign < 0), None)


def calls(act: Callable[[], object]) -> int:
    """Count the functions of a visit that are entered or gone on with, which is the same on a busy machine."""
    count = 0

    def look(frame: FrameType, event: str, _: object) -> None:
        nonlocal count
        count += event == "call" and "/visit/" in frame.f_code.co_filename

    before = sys.getprofile()
    sys.setprofile(look)
    try:
        act()
    finally:
        sys.setprofile(before)
    return count


def test_ten_times_the_moves_are_ten_times_the_work() -> None:
    """Of a sum that goes over all moves at each of them it would be a hundred times."""
    few, many = (calls(partial(Standing, "v1", moves(count))) for count in (100, 1000))
    assert 8 * few < many < 11 * few


def test_the_last_of_many_moves_is_decided_on_as_the_first() -> None:
    work = []
    for count in (100, 1000):
        visit = Visit()
        for mark in moves(count):
            visit.take(mark)
        ask = AddedAsk("", "Sam", mass_kg=0.01, phase="liquid", cylinder="7")
        visit.ask(ask)  # what is worked out once is not counted
        work.append(calls(partial(visit.ask, ask)))
    assert 0 < work[1] < 2 * work[0]  # more speaks against the later one; to look at all of them would be tenfold
