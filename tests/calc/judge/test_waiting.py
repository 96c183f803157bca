"""A wait that is told: shorter at once, longer only after half a minute, and always on its way to its end."""

from hypothesis import given
from hypothesis import strategies as st

from calc.judge.waiting import ToldWait, tell_wait

EVERY_S = 2.0
LATER_S, FOR_S = 60.0, 30.0
"""More than a minute longer, for half a minute: common practice, no source."""

forecasts = st.lists(st.floats(0.0, 1800.0), min_size=1, max_size=200)


def told(forecast_s: list[float]) -> list[ToldWait]:
    waits: list[ToldWait] = []
    for tick, left_s in enumerate(forecast_s):
        waits.append(tell_wait(left_s, waits[-1] if waits else None, tick * EVERY_S))
    return waits


@given(forecasts)
def test_it_grows_only_where_the_forecast_has_been_clearly_longer_for_half_a_minute(forecast_s: list[float]) -> None:
    waits = told(forecast_s)
    for tick in range(1, len(waits)):
        if waits[tick].until_s <= waits[tick - 1].until_s:
            continue
        before_s = waits[tick - 1].until_s
        lately = range(tick - int(FOR_S / EVERY_S), tick + 1)
        assert lately[0] >= 0
        for each in lately:
            said_s, end_s = waits[each - 1].until_s if each else before_s, each * EVERY_S + forecast_s[each]
            assert said_s == before_s
            assert end_s - before_s > min(LATER_S, max(0.0, before_s - each * EVERY_S))


@given(forecasts)
def test_it_is_never_longer_than_forecast_and_never_far_behind_for_long(forecast_s: list[float]) -> None:
    waits = told(forecast_s)
    behind_s = 0.0
    for tick, (wait, left_s) in enumerate(zip(waits, forecast_s, strict=True)):
        end_s = tick * EVERY_S + left_s
        assert wait.until_s <= end_s
        behind_s = behind_s + EVERY_S if end_s - wait.until_s > LATER_S else 0.0
        assert behind_s <= FOR_S


def test_a_forecast_that_flickers_by_a_minute_counts_down_evenly() -> None:
    """Eight and nine minutes in turn, each two seconds."""
    waits = told([480.0 - 2 * tick + (50.0 if tick % 2 else 0.0) for tick in range(200)])
    assert {wait.until_s for wait in waits} == {480.0}


def test_what_was_said_long_ago_holds_nothing() -> None:
    assert tell_wait(600.0, ToldWait(100.0, None, 0.0), 31.0).until_s == 631.0
    assert tell_wait(600.0, ToldWait(100.0, None, 0.0), 30.0).until_s == 100.0


def test_a_minute_is_not_clearly_longer_and_half_a_second_more_is_once_it_has_lasted() -> None:
    said = tell_wait(600.0, None, 0.0)
    for now_s in (2.0, 32.0, 62.0, 92.0):
        said = tell_wait(600.0 + LATER_S - now_s, said, now_s)
        assert said.until_s == 600.0
    untils_s = []
    for now_s in (100.0, 115.0, 129.5, 130.0):  # the last is half a minute after the first
        said = tell_wait(600.0 + LATER_S + 0.5 - now_s, said, now_s)
        untils_s.append(said.until_s)
    assert untils_s == [600.0, 600.0, 600.0, 660.5]


def test_where_less_is_left_than_a_minute_less_is_clearly_longer() -> None:
    """20 s are left of what was said, and 25 s more are forecast; at the end of it even half a second is."""
    for now_s, more_s in ((80.0, 25.0), (100.0, 0.5)):
        said = tell_wait(100.0 + more_s - now_s, ToldWait(100.0, None, now_s), now_s)
        later_s = now_s + FOR_S
        assert tell_wait(100.0 + more_s - later_s, said, later_s).until_s == 100.0 + more_s
        kept = tell_wait(100.0 + more_s / 2 - now_s, ToldWait(100.0, None, now_s), now_s)
        assert (kept.longer_since_s is None) == (now_s == 80.0)  # 12.5 s of 20 s are not
