"""What came late is told from what came at once, whatever the clocks do meanwhile."""

import pytest

from dashboard.lateness import Lateness, Now
from ingest.wire.messages import Pack

WALL_S, RIG_S, PAGE_S = 1.7e9, 500.0, 90_000.0


def pack(at_s: float, *, set_by_s: float = 0.0, slept_s: float = 0.0, session: int = 1) -> Pack:
    """A pack of this moment. set_by: how far the rig's wall clock is off; slept: how long the rig has slept by then."""
    return Pack("bench", 1, session, 0, RIG_S + at_s - slept_s, WALL_S + at_s + set_by_s, {})


def heard(at_s: float, *, slept_s: float = 0.0) -> Now:
    return Now(PAGE_S + at_s - slept_s, WALL_S - 7200.0 + at_s)  # this page's wall clock is two hours slow


def listening() -> Lateness:
    lateness = Lateness()
    assert [lateness.of(pack(at_s), heard(at_s + 0.05)) for at_s in (0.0, 0.25, 0.5)] == [0.0, 0.0, 0.0]
    return lateness


def test_a_backlog_is_as_late_as_the_outage_was_long() -> None:
    lateness = listening()
    assert lateness.of(pack(1.0), heard(181.0)) == pytest.approx(179.95, abs=0.1)
    assert lateness.of(pack(150.0), heard(184.0)) == pytest.approx(33.95, abs=0.1)
    assert lateness.of(pack(186.0), heard(186.1)) == 0.0


def test_a_network_that_holds_a_pack_up_for_a_moment_makes_nothing_late() -> None:
    lateness = listening()
    assert lateness.of(pack(1.0), heard(2.9)) == 0.0
    assert lateness.of(pack(2.0), heard(4.2)) == pytest.approx(2.15, abs=0.05)


@pytest.mark.parametrize("set_by_s", [3600.0, -3600.0, 86400.0 * 365])
def test_a_wall_clock_that_is_set_and_set_back_makes_nothing_late(set_by_s: float) -> None:
    lateness = listening()
    assert lateness.of(pack(10.0, set_by_s=set_by_s), heard(10.05)) == 0.0
    assert lateness.of(pack(20.0), heard(20.05)) == 0.0


def test_a_machine_that_slept_makes_nothing_late() -> None:
    lateness = listening()
    assert lateness.of(pack(3610.0, slept_s=3600.0), heard(3610.05)) == 0.0
    lateness = listening()
    assert lateness.of(pack(3610.0), heard(3610.05, slept_s=3600.0)) == 0.0
    assert lateness.of(pack(3620.0), heard(3620.05, slept_s=3600.0)) == 0.0


def test_clocks_that_drift_apart_over_a_day_make_nothing_late() -> None:
    lateness = Lateness()
    drift = 5e-5  # 50 ppm, as data sheets of quartz crystals give it
    for minute in range(24 * 60):
        at_s = 60.0 * minute
        slow = Pack("bench", 1, 1, 0, RIG_S + at_s * (1 - drift), WALL_S + at_s * (1 - drift), {})
        assert lateness.of(slow, heard(at_s)) == 0.0


@pytest.mark.parametrize("set_by_s", [0.0, -86400.0 * 365], ids=["kept time", "lost its time"])
def test_a_new_session_is_measured_anew(set_by_s: float) -> None:
    """The machine has booted: its monotonic clock counts from nought, and its wall clock may have lost its battery."""
    lateness = listening()
    restarted = Pack("bench", 1, 2, 0, 3.0, WALL_S + 60.0 + set_by_s, {})
    assert lateness.of(restarted, heard(60.1)) == 0.0
