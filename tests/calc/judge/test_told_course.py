"""What is told of a figure that has not settled is left only once the other has held for a minute.

How long that is, and what is told at once, is common practice, no source.
"""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.estimate import Estimate
from calc.judge.told_course import ToldCourse, keep_course
from calc.settling import NotSteady, Settled, Settling, Why

EVERY_S, FOR_S = 10.0, 60.0
AHEAD, UNSTEADY = Settling(Estimate(5.0, 0.2), 400.0), NotSteady(Why.SWINGING, 0.6)
SETTLED = Settled(Estimate(5.0, 0.1))
Course = Settled | Settling | NotSteady


def told(courses: list[Course]) -> list[Course]:
    said, out = None, []
    for look, course in enumerate(courses):
        kept, said = keep_course(course, said, look * EVERY_S)
        out.append(kept)
    return out


@pytest.mark.parametrize(("first", "other"), [(AHEAD, UNSTEADY), (UNSTEADY, AHEAD)])
def test_the_other_is_told_after_a_minute_and_not_before(first: Course, other: Course) -> None:
    kept = told([first, *[other] * 7])
    assert [type(it) for it in kept] == [type(first)] * 6 + [type(other)] * 2


@pytest.mark.parametrize(("first", "other"), [(AHEAD, UNSTEADY), (UNSTEADY, AHEAD)])
def test_a_break_begins_the_minute_anew(first: Course, other: Course) -> None:
    kept = told([first, *[other] * 5, first, *[other] * 5])
    assert {type(it) for it in kept} == {type(first)}


def test_while_it_is_kept_its_wait_runs_down_and_its_end_stays() -> None:
    last = told([Settling(Estimate(5.0, 0.2), 45.0), *[UNSTEADY] * 5])[-1]
    assert isinstance(last, Settling)
    assert (last.forecast, last.seconds_to_settle) == (Estimate(5.0, 0.2), 0.0)
    before = told([AHEAD, *[UNSTEADY] * 3])[-1]
    assert isinstance(before, Settling)
    assert before.seconds_to_settle == 370.0


def test_of_the_same_kind_the_newest_is_told() -> None:
    newer, drifts = Settling(Estimate(6.0, 0.1), 100.0), NotSteady(Why.DRIFTING)
    assert told([AHEAD, newer]) == [AHEAD, newer]
    assert told([UNSTEADY, drifts]) == [UNSTEADY, drifts]


@pytest.mark.parametrize("at_once", [SETTLED, *map(NotSteady, (Why.JUST_BEGUN, Why.JUST_CHANGED, Why.STARTING))])
@pytest.mark.parametrize("other", [AHEAD, UNSTEADY])
def test_what_is_known_at_once_is_told_at_once_and_holds_nothing(at_once: Course, other: Course) -> None:
    assert told([other, at_once, other]) == [other, at_once, other]


def test_what_was_said_long_ago_holds_nothing() -> None:
    assert keep_course(UNSTEADY, ToldCourse(AHEAD, None, 0.0), 61.0)[0] == UNSTEADY
    assert keep_course(UNSTEADY, ToldCourse(AHEAD, None, 0.0), 59.0)[0] != UNSTEADY


@given(st.lists(st.sampled_from([AHEAD, UNSTEADY]), min_size=2, max_size=100))
def test_it_never_changes_more_than_once_a_minute(courses: list[Course]) -> None:
    kept = told(courses)
    changes = [look for look in range(1, len(kept)) if type(kept[look]) is not type(kept[look - 1])]
    assert all(later - earlier >= FOR_S / EVERY_S for earlier, later in pairwise(changes))
