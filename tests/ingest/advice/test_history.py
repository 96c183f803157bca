"""What was read of late, in the unit's own time: twenty minutes, once a second. Common practice, no source."""

import pytest

from ingest.advice.history import History
from ingest.wire.messages import Reading


def reading(value: float | None, quality: str = "ok") -> dict[str, Reading]:
    return {"superheat": Reading(value, 0.0, quality)}


def test_it_holds_twenty_minutes_and_no_more() -> None:
    history = History()
    for second in range(1500):
        history.add(float(second), reading(float(second)))
    times_s, values = history.course("superheat")
    assert times_s == values == [float(second) for second in range(299, 1500)]
    history.add(2698.0, {})
    assert history.course("superheat") == ([1498.0, 1499.0], [1498.0, 1499.0])
    history.add(10_000.0, {})
    assert history.course("superheat") == ([], [])


def test_of_each_second_the_first_tick_counts() -> None:
    history = History()
    for tick in range(13):
        history.add(100.0 + tick / 4, reading(float(tick)))
    assert history.course("superheat") == ([100.0, 101.0, 102.0, 103.0], [0.0, 4.0, 8.0, 12.0])


def test_times_are_the_units_own_and_the_clocks_again() -> None:
    """A bench at four times the speed: a quarter of a second is a second of the unit."""
    history = History(4.0)
    for tick in range(3):
        history.add(100.0 + tick / 4, reading(float(tick)))
    assert history.course("superheat") == ([400.0, 401.0, 402.0], [0.0, 1.0, 2.0])
    assert history.undisturbed_s(110.0) == 40.0
    assert (history.unit_s(10.0), history.clock_s(10.0)) == (40.0, 2.5)
    assert (History().unit_s(10.0), History().clock_s(10.0)) == (10.0, 10.0)


@pytest.mark.parametrize(
    ("value", "quality", "kept"),
    [
        (5.0, "ok", True),
        (5.0, "uncalibrated", True),
        (5.0, "stale", False),
        (None, "ok", False),
        (None, "stale", False),
    ],
)
def test_what_is_unknown_or_stale_is_left_out(value: float | None, quality: str, kept: bool) -> None:
    history = History()
    history.add(0.0, reading(value, quality))
    assert history.course("superheat") == (([0.0], [5.0]) if kept else ([], []))


def test_a_change_of_charge_forgets_it_all() -> None:
    history = History()
    assert history.undisturbed_s(50.0) == 0.0
    history.add(10.0, reading(1.0))
    assert (history.undisturbed_s(50.0), history.because) == (40.0, "")
    history.restart("since.moved")
    assert history.because == "since.moved"
    assert history.course("superheat") == ([], [])
    assert history.undisturbed_s(50.0) == 0.0
    history.add(10.25, reading(2.0))
    assert history.course("superheat") == ([10.25], [2.0])
    assert history.undisturbed_s(50.25) == 40.0


def test_the_mean_is_of_the_last_minute_with_both_its_ends() -> None:
    history = History()
    for second in range(121):
        history.add(float(second), reading(float(second)))
    assert history.mean("superheat", 120.0) == 90.0  # of 60 to 120
    assert history.mean("superheat", 180.0) == 120.0
    assert history.mean("superheat", 180.5) is None
    assert history.mean("subcooling", 120.0) is None
