"""Whether anybody works at the visit: what was proved dead must not outlive a night, whether the rig slept or not.

Twelve hours: common practice, no source.
"""

import pytest

from ingest.parts.attendance import Attendance
from ingest.wire.messages import HoseSet, LeftAlone, LinkChanged, Mark, Note, VisitOpened

BEGAN_S = 1.7e9
HOSE = HoseSet("h1", BEGAN_S + 3600.0, "Sam", "technician", port="liquid", on=True)


class Rig:
    """A rig whose visit began at BEGAN_S, with its clock and what it told."""

    def __init__(self, *marks: Mark) -> None:
        self.now_s = BEGAN_S + 3600.0
        self.is_open = True
        self.told_s: list[float] = []
        self.attendance = Attendance(lambda: self.now_s, lambda: self.is_open, self.told_s.append)
        self.attendance.look()  # before there is a visit
        self.attendance.begin(BEGAN_S, marks)

    def look(self, later_s: float) -> None:
        """Let time go by."""
        self.now_s += later_s
        self.attendance.look()


@pytest.mark.parametrize(("hours", "told_s"), [(12, []), (13, [13 * 3600.0])])
def test_a_rig_that_goes_on_reading_tells_that_nobody_works(hours: int, told_s: list[float]) -> None:
    rig = Rig(HOSE)
    rig.look(hours * 3600.0)
    assert rig.told_s == told_s


def test_it_is_told_until_it_is_a_mark_and_then_once() -> None:
    rig = Rig(HOSE)
    rig.look(13 * 3600.0)
    rig.look(60.0)  # the disk refused it
    assert rig.told_s == [13 * 3600.0, 13 * 3600.0 + 60.0]
    rig.attendance.take(LeftAlone("l1", rig.now_s, idle_s=13 * 3600.0))
    rig.look(60.0)
    assert len(rig.told_s) == 2
    rig.attendance.take(HoseSet("h2", rig.now_s, "Sam", "technician", port="liquid", on=False))
    rig.look(13 * 3600.0)
    assert rig.told_s[2:] == [13 * 3600.0]


def test_a_visit_taken_up_again_tells_it_at_once() -> None:
    rig = Rig(HOSE)
    rig.now_s += 24 * 3600.0
    opened = VisitOpened("o2", rig.now_s, "Sam", "technician", unit="RTU-4")  # which does not say that it is the same
    rig.attendance.begin(BEGAN_S, [HOSE, opened])
    assert rig.told_s == [24 * 3600.0]
    rig.attendance.begin(BEGAN_S, [HOSE, opened, LeftAlone("l1", rig.now_s, idle_s=24 * 3600.0)])  # a restart
    assert rig.told_s == [24 * 3600.0]


def test_a_lead_and_an_instrument_are_nobody_at_the_unit() -> None:
    note = Note("n1", BEGAN_S + 3700.0, "Robin", "lead", text="Mind the filter.")
    rig = Rig(HOSE, note, LinkChanged("i1", BEGAN_S + 3800.0, text="low side probe: waiting"))
    rig.look(13 * 3600.0)
    assert rig.told_s == [13 * 3600.0]


def test_a_signed_visit_is_left_on_purpose_and_one_of_the_future_is_not_left() -> None:
    rig = Rig(HOSE)
    rig.is_open = False
    rig.look(13 * 3600.0)
    rig.is_open, rig.now_s = True, BEGAN_S - 13 * 3600.0
    rig.look(0.0)
    assert rig.told_s == []
