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
