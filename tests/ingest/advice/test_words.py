"""The figures in an advice: what is told of them, how finely, and from where on."""

import math

import msgspec
import pytest

from calc.estimate import Estimate
from calc.situation import Move
from ingest.advice.history import History
from ingest.wire.messages import Advice, Reading
from tests.ingest.advice.test_sentence import (
    AIR,
    CHARGED,
    FAHRENHEIT,
    UNDERCHARGED,
    advise,
    readings,
    running,
    settled_on,
    situation,
    watch,
)

SOUND = {**running(low_f=45.0, high_f=115.0, subcooling_f=10.0, superheat_f=12.0), **AIR}


def kinds(advice: Advice) -> list[str]:
    return [detail.kind for detail in advice.details]


def is_rounded(value: float | None, digits: int) -> bool:
    return value is not None and value == round(value, digits) != round(value, digits - 1)


def test_figures_go_out_to_a_thousandth_of_a_kelvin_and_whole_seconds() -> None:
    history, now = watch(400, 10.123)
    settled = advise(situation(now, 400.0), history).steadiness["subcooling"]
    assert settled.state == "settled"
    assert settled.value_dk == pytest.approx(10.123 * FAHRENHEIT, abs=0.002)
    # no course is taken as known to less than 0.05 K
    assert settled.expanded_dk == pytest.approx(2 * math.hypot(0.45 * FAHRENHEIT, 0.05), abs=0.005)
    assert is_rounded(settled.value_dk, 3)
    assert settled.expanded_dk == round(settled.expanded_dk, 3)
    history, now = watch(241, 10.123, away_f=-12.3)
    advice = advise(situation(now, 241.0), history)
    settling = advice.steadiness["subcooling"]
    assert settling.forecast is not None
    assert is_rounded(settling.slope_dk_per_min, 3)
    assert is_rounded(settling.forecast.value_dk, 3)
    assert is_rounded(settling.forecast.expanded_dk, 3)
    assert settling.forecast.seconds == round(settling.forecast.seconds)
    assert advice.awaited is not None
    assert advice.awaited.seconds_left == settling.forecast.seconds


def test_a_swing_goes_out_to_a_hundredth_of_a_kelvin() -> None:
    history = History()
    for second in range(900):
        now = readings(10.0 + 3.0 * math.sin(second / 15))
        history.add(float(second), now)
    it = advise(situation(now, 900.0), history).steadiness["subcooling"]
    assert (it.state, it.why) == ("not_steady", "hunting")
    assert it.swing_dk == pytest.approx(3.0 * FAHRENHEIT, rel=0.05)
    assert is_rounded(it.swing_dk, 2)


def test_the_time_is_that_of_the_pack_to_a_millisecond() -> None:
    history, now = watch(5, 10.0)
    seen = situation(now, 5.0)
    seen = seen._replace(pack=msgspec.structs.replace(seen.pack, time_s=1_700_000_005.12345))
    assert advise(seen, history).time_s == 1_700_000_005.123


@pytest.mark.parametrize(("load", "told"), [(0.99, False), (1.0, False), (1.01, True)])
def test_amps_over_the_rated_ones_are_remarked_upon(load: float, told: bool) -> None:
    """RLA is no limit (trade press): nothing else comes of it."""
    advice = settled_on({**SOUND, "compressor_load_ratio": Reading(load, 0.0, "ok", "", 0.01)})
    assert ("detail.above_rla" in kinds(advice)) is told
    assert advice.state == "done"


@pytest.mark.parametrize(
    ("name", "quality"),
    [("compressor_load_ratio", "stale"), ("compressor_load_ratio", "overload"), ("compressor_current", "out_of_range")],
)
def test_amps_that_cannot_be_relied_on_are_not(name: str, quality: str) -> None:
    sure = {"compressor_load_ratio": Reading(1.2, 0.0, "ok", "", 0.01), "compressor_current": Reading(14.0, 0.0)}
    assert "detail.above_rla" in kinds(settled_on({**SOUND, **sure}))
    poor = msgspec.structs.replace(sure[name], quality=quality)
    assert "detail.above_rla" not in kinds(settled_on({**SOUND, **sure, name: poor}))


def test_the_amps_are_those_of_the_last_minute_and_not_of_a_moment() -> None:
    history = History()
    for second in range(1000):
        load = Reading(1.3 if second > 990 else 0.8, 0.0, "ok", "", 0.01)
        now = {**SOUND, "compressor_load_ratio": load}
        history.add(float(second), now)
    assert "detail.above_rla" not in kinds(advise(situation(now, 1000.0, CHARGED), history))


def test_a_formal_wait_of_some_seconds_is_told_in_seconds() -> None:
    history, now = watch(880, final_f=10.0)
    advice = advise(situation(now, 880.0), history)
    (formal,) = [detail for detail in advice.details if detail.kind == "detail.formal"]
    assert "waits 15 min" in formal.us
    assert formal.us.endswith("in 20 s.")
    assert advice.awaited is not None
    assert (advice.awaited.seconds_left, advice.awaited.of_seconds) == (20.0, 900.0)


def test_causes_below_one_in_fifty_are_not_told() -> None:
    causes = settled_on({**UNDERCHARGED, **AIR}).causes
    assert min(cause.probability + cause.beside for cause in causes) >= 0.02
    assert len(causes) < 11
    assert sum(cause.probability for cause in causes) > 0.9


@pytest.mark.parametrize(("moved_kg", "leaks"), [(None, True), (-0.2, True), (0.2, False)])
def test_leaks_are_looked_for_until_something_was_added(moved_kg: float | None, leaks: bool) -> None:
    """What was recovered before says nothing of a leak."""
    now = {**UNDERCHARGED, **AIR}
    history = History()
    for tick in range(4000):
        history.add(tick / 4, now)
    moves = () if moved_kg is None else (Move(moved_kg, Estimate(2.0, 0.3), Estimate(2.2, 0.3)),)
    advice = advise(situation(now, 1000.0, CHARGED, moves=moves), history)  # type: ignore[arg-type]
    assert advice.state == "move"
    assert advice.sentence.kind.startswith("headline.add_first") is leaks
    assert ("check.undercharge" in kinds(advice)) is leaks
