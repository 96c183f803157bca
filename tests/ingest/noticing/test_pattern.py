"""Which blower follows the fan switch: as it runs on after a call, as another unit's runs, and where none can tell."""

import random
from collections.abc import Callable, Sequence
from itertools import pairwise

import pytest

from ingest.noticing.noticer import Noticer
from ingest.visit.deciding import Facts
from ingest.visit.pattern import pattern
from ingest.visit.standing import Standing
from ingest.wire.messages import PatternAsk, Proposed, ProposedUnit, Reading
from tests.ingest.noticing.courses import T0_S, UNIT, Course, known

HELD_S = 120.0  # each state for 2 min or longer: common practice, no source
SURE = 0.95  # ingest/visit/checks/a_before.toml: common practice, no source


def times_of(seed: int, states: int = 6) -> list[float]:
    facts = Facts(UNIT, {"blower_current": Reading(0.0, T0_S)}, frozenset(), frozenset())
    head = (f"a{seed}", T0_S, "Sam", "technician")
    return list(pattern(PatternAsk(f"a{seed}", "Sam", states=states), head, Standing("v1"), facts).times_s)  # type: ignore[arg-type]


def ran(
    times_s: Sequence[float], runs: Callable[[float], bool], seed: int = 0, spread_a: float = 0.15
) -> list[Proposed]:
    """Let a blower of 4 A run as it likes over a pattern, on a clamp with noise, and see what is proposed of a unit."""
    course = Course(of=known(pattern_s=tuple(times_s)), spreads={"blower_current": spread_a})
    noise = random.Random(seed)

    def amps(since_s: float) -> float:
        return (4.0 if runs(T0_S + since_s) else 0.0) + noise.gauss(0.0, 0.15)

    course.go(times_s[-1] - T0_S + HELD_S + 60.0, blower_current=amps)
    return [it for it in course.proposed if isinstance(it.what, ProposedUnit)]


def following(times_s: Sequence[float], delay_s: float, run_on_s: float) -> Callable[[float], bool]:
    shifted = [at + (run_on_s if index % 2 else delay_s) for index, at in enumerate(times_s)]
    return lambda time_s: sum(at <= time_s for at in shifted) % 2 == 1


def of_its_own(seed: int, mean_s: float = 500.0) -> Callable[[float], bool]:
    """As another unit's thermostat calls: states of random lengths."""
    draw = random.Random(seed)
    edges, at_s = [], T0_S
    while at_s < T0_S + 7200:
        at_s += draw.expovariate(1 / mean_s)
        edges.append(at_s)
    return lambda time_s: (sum(at <= time_s for at in edges) + seed) % 2 == 1


@pytest.mark.parametrize(("delay_s", "run_on_s"), [(0, 0), (8, 52), (30, 90)])
@pytest.mark.parametrize("states", [4, 6])
def test_the_unit_whose_blower_follows_is_proposed(states: int, delay_s: float, run_on_s: float) -> None:
    for seed in range(2):
        times_s = times_of(seed, states)
        (seen,) = ran(times_s, following(times_s, delay_s, run_on_s), seed)
        assert isinstance(seen.what, ProposedUnit)
        assert seen.what.tag == UNIT.tag
        assert SURE <= seen.what.probability <= 1
        assert (seen.from_s, seen.to_s) == (times_s[0], times_s[-1] + HELD_S)
        assert seen.time_s <= seen.to_s + 10
        assert seen.says.kind == "noticed.pattern_unit"
        assert UNIT.tag in seen.says.us


@pytest.mark.hours
def test_where_another_unit_runs_as_its_own_thermostat_calls_it_is_none_of_these() -> None:
    for seed in range(6):
        (seen,) = ran(times_of(seed), of_its_own(seed), seed)
        assert isinstance(seen.what, ProposedUnit)
        assert (seen.what.tag, seen.says.kind) == ("", "noticed.pattern_none"), seed
        assert seen.what.probability >= SURE


@pytest.mark.parametrize("always", [False, True])
def test_a_blower_that_never_changes_follows_nothing(always: bool) -> None:
    (seen,) = ran(times_of(1), lambda _: always)
    assert isinstance(seen.what, ProposedUnit)
    assert seen.says.kind == "noticed.pattern_none"


def test_two_units_whose_fans_are_switched_by_different_lists_are_told_apart() -> None:
    mine, others = times_of(1), times_of(2)
    assert mine != others
    (seen,) = ran(mine, following(others, 8, 52))
    assert isinstance(seen.what, ProposedUnit)
    assert seen.what.tag == ""


def test_two_lists_that_are_alike_but_for_one_state_are_told_apart() -> None:
    mine = times_of(1)
    others = [*mine[:3], *(at + 60.0 for at in mine[3:])]
    (seen,) = ran(mine, following(others, 8, 52))
    assert isinstance(seen.what, ProposedUnit)
    assert seen.what.tag == ""


def test_two_that_are_switched_together_look_alike_to_one_clamp() -> None:
    """Each of them follows: the clamp tells that this one does, and nobody that the other does not."""
    mine = times_of(1)
    for delay_s, run_on_s in ((8.0, 52.0), (12.0, 60.0)):
        (seen,) = ran(mine, following(mine, delay_s, run_on_s))
        assert isinstance(seen.what, ProposedUnit)
        assert seen.what.tag == UNIT.tag


def test_a_clamp_that_is_too_coarse_cannot_tell() -> None:
    mine = times_of(1)
    (seen,) = ran(mine, following(mine, 8, 52), spread_a=2000.0)
    assert isinstance(seen.what, ProposedUnit)
    assert (seen.what.tag, seen.says.kind) == ("", "noticed.pattern_cannot_tell")
    assert 1 - SURE < seen.what.probability < SURE


@pytest.mark.hours
def test_a_hand_that_is_early_or_late_by_some_seconds_is_followed_all_the_same() -> None:
    hand = random.Random(7)
    for seed in range(4):
        mine = times_of(seed)
        (seen,) = ran(mine, following([at + hand.uniform(-4.0, 8.0) for at in mine], 8, 52), seed)
        assert isinstance(seen.what, ProposedUnit)
        assert seen.what.tag == UNIT.tag, seed


def test_it_is_told_once_and_again_for_a_new_pattern_only() -> None:
    times_s = times_of(3, 4)
    course = Course(of=known(pattern_s=tuple(times_s)))
    follows = following(times_s, 8, 52)
    span_s = times_s[-1] - T0_S + HELD_S + 60.0
    course.go(span_s, blower_current=lambda since_s: 4.0 * follows(T0_S + since_s))
    course.go(1200.0)
    assert len([it for it in course.proposed if isinstance(it.what, ProposedUnit)]) == 1
    shift_s = course.time_s - T0_S
    again = [at + shift_s for at in times_s]
    course.of = known(pattern_s=tuple(again))
    course.go(span_s, blower_current=lambda since_s: 4.0 * follows(T0_S + since_s))
    assert len([it for it in course.proposed if isinstance(it.what, ProposedUnit)]) == 2


def test_a_daemon_that_starts_anew_goes_on_and_tells_it_once() -> None:
    times_s = times_of(3, 4)
    follows = following(times_s, 8, 52)
    of = known(pattern_s=tuple(times_s))
    course = Course(of=of)
    span_s = times_s[-1] - T0_S + HELD_S
    course.go(span_s / 2, blower_current=lambda since_s: 4.0 * follows(T0_S + since_s))
    anew = Course(Noticer("v1"), of=of)
    anew.noticer.go_on(course.packs, [], of)
    anew.ticks, half_s = course.ticks, course.time_s - T0_S
    anew.go(span_s / 2 + 10.0, blower_current=lambda since_s: 4.0 * follows(T0_S + half_s + since_s))
    (seen,) = [it for it in anew.proposed if isinstance(it.what, ProposedUnit)]
    third = Noticer("v1")
    assert list(third.go_on([*course.packs, *anew.packs], [seen], of)) == []


@pytest.mark.parametrize("missing", ["the beginning", "the end", "all"])
def test_what_was_not_seen_whole_is_not_told(missing: str) -> None:
    times_s = times_of(5, 4)
    follows = following(times_s, 8, 52)
    span_s = times_s[-1] - T0_S + HELD_S + 30.0
    stale = {"the beginning": (0.0, times_s[0] + 20 - T0_S), "the end": (span_s - 60, span_s), "all": (0.0, span_s)}
    from_s, to_s = stale[missing]
    course = Course(of=known(pattern_s=tuple(times_s)))
    edges = sorted({0.0, from_s, to_s, span_s})
    for begins, ends in pairwise(edges):
        if from_s <= begins < to_s:
            course.go(ends - begins, blower_current=None)
        else:
            course.go(
                ends - begins,
                blower_current=lambda since_s, begins=begins: 4.0 * follows(T0_S + begins + since_s),  # type: ignore[misc]
            )
    assert [it for it in course.proposed if isinstance(it.what, ProposedUnit)] == []
