"""Whether anybody works at the visit: what was proved dead must not outlive a night, whichever clock stands still.

Twelve hours: common practice, no source.
"""

import asyncio

import pytest

from ingest.parts.attendance import At, Attendance
from ingest.wire.messages import (
    HoseSet,
    LeftAlone,
    LinkChanged,
    Mark,
    Note,
    Resumed,
    Seen,
    VisitOpened,
)

BEGAN_S = 1.7e9
WORKED_S = BEGAN_S + 3600.0
HOSE = HoseSet("h1", WORKED_S, "Sam", "technician", port="liquid", on=True)
HOUR_S = 3600.0


class Rig:
    """A rig at a visit that began at BEGAN_S, whose clocks agreed then."""

    def __init__(self, *marks: Mark) -> None:
        self.now = At(WORKED_S, WORKED_S)
        self.is_open = True
        self.marks: list[Mark] = []
        self.attendance = Attendance(lambda: self.now, lambda: self.is_open, self._add)
        assert self.attendance.left_s() is None  # there is no visit yet
        self.attendance.begin(At(BEGAN_S, BEGAN_S), [(mark, mark.time_s) for mark in marks])

    async def _add(self, mark: Mark) -> None:
        self.marks.append(mark)
        self.take(mark)

    def go_on(self, wall_h: float, steady_h: float | None = None) -> None:
        """Let hours go by, on the wall and by the clock that nobody sets."""
        by_h = wall_h if steady_h is None else steady_h
        self.now = At(self.now.time_s + wall_h * HOUR_S, self.now.steady_s + by_h * HOUR_S)

    def take(self, mark: Mark) -> None:
        """Record a mark now."""
        self.attendance.take(mark, self.now.steady_s)


@pytest.mark.parametrize(("wall_h", "steady_h", "left_h"), [(12, 12, None), (13, 13, 13), (14, 0, 14), (-6, 13, 13)])
def test_by_whichever_clock_it_is_longer_it_was_left(wall_h: float, steady_h: float, left_h: float | None) -> None:
    """A machine that sleeps stops the one clock, and somebody who sets the other hides the hours."""
    rig = Rig(HOSE)
    rig.go_on(wall_h, steady_h)
    assert rig.attendance.left_s() == (None if left_h is None else left_h * HOUR_S)


def test_it_is_told_until_that_is_a_mark_and_anew_after_somebody_worked() -> None:
    rig = Rig(HOSE)
    rig.go_on(13)
    assert rig.attendance.left_s() == 13 * HOUR_S
    rig.take(LeftAlone("l1", rig.now.time_s, idle_s=13 * HOUR_S))
    rig.go_on(13)
    assert rig.attendance.left_s() is None
    rig.take(Resumed("r1", rig.now.time_s, "Sam", "technician"))
    rig.go_on(13)
    assert rig.attendance.left_s() == 13 * HOUR_S


@pytest.mark.parametrize(
    "mark",
    [
        Note("n1", WORKED_S + 6 * HOUR_S, "Robin", "lead", text="Mind the filter."),
        Note("n2", WORKED_S + 6 * HOUR_S, "Sam", "technician", text="Back tomorrow."),  # from home, as far as is known
        Seen("s1", WORKED_S + 6 * HOUR_S, "Sam", "technician", of="q1"),  # a page in the truck says so by itself
        LinkChanged("i1", WORKED_S + 6 * HOUR_S, text="low side probe: waiting"),
        VisitOpened("o2", WORKED_S + 6 * HOUR_S, "Sam", "technician", unit="RTU-4"),  # whether it is the same is asked
    ],
)
def test_who_reads_or_writes_need_not_be_at_the_unit(mark: Mark) -> None:
    rig = Rig(HOSE, mark)
    rig.go_on(13)
    assert rig.attendance.left_s() == 13 * HOUR_S


def test_a_signed_visit_is_left_on_purpose() -> None:
    rig = Rig(HOSE)
    rig.is_open = False
    rig.go_on(13)
    assert rig.attendance.left_s() is None


def test_a_visit_at_which_nobody_ever_worked_is_left_since_it_began() -> None:
    rig = Rig()
    rig.go_on(12)
    assert rig.attendance.left_s() == 13 * HOUR_S


async def test_that_it_was_left_is_a_mark_once_whoever_looks() -> None:
    """Whoever asks looks at the same time as the minute does."""
    rig = Rig(HOSE)
    rig.go_on(13)
    await asyncio.gather(rig.attendance.look(), rig.attendance.look())
    assert [(type(mark), mark.time_s) for mark in rig.marks] == [(LeftAlone, rig.now.time_s)]
