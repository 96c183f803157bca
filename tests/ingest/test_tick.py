"""The tick: its deadlines, and what it puts into a pack."""

import asyncio
from pathlib import Path

import pytest

from ingest.channels import Channels
from ingest.clock import Moment
from ingest.frames import Stamp
from ingest.tick import every, make_pack
from tests.rigs import make_rig


class EnoughError(Exception):
    pass


async def deadlines(monkeypatch: pytest.MonkeyPatch, lateness_s: list[float]) -> list[float]:
    """When `every` acts on a loop whose time a test turns, each act taking so long."""
    loop = asyncio.get_running_loop()
    now_s = 100.0
    acts: list[float] = []
    monkeypatch.setattr(loop, "time", lambda: now_s)

    def act() -> None:
        nonlocal now_s
        acts.append(round(now_s - 100.0, 6))
        if len(acts) > len(lateness_s):
            raise EnoughError
        now_s += lateness_s[len(acts) - 1]

    async def sleep(seconds: float) -> None:
        nonlocal now_s
        now_s += max(0.0, seconds)

    with pytest.raises(EnoughError):
        await every(0.25, act, sleep)
    monkeypatch.undo()
    return acts


async def test_lateness_does_not_add_up(monkeypatch: pytest.MonkeyPatch) -> None:
    assert await deadlines(monkeypatch, [0.01, 0.02, 0.003, 0.0]) == [0.0, 0.25, 0.5, 0.75, 1.0]


async def test_missed_deadlines_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    assert await deadlines(monkeypatch, [0.01, 0.6, 0.01]) == [0.0, 0.25, 1.0, 1.25]


async def test_it_goes_on_when_a_whole_period_late(monkeypatch: pytest.MonkeyPatch) -> None:
    assert await deadlines(monkeypatch, [0.25, 0.25]) == [0.0, 0.25, 0.5]


def test_a_pack_holds_readings_and_figures(tmp_path: Path) -> None:
    rig = make_rig(tmp_path)
    channels = Channels(rig, lambda stamp: stamp.time_ns / 1e9)
    channels.accept("low side probe", Stamp(10**12, 17 * 10**17), {"pressure": 118.0, "temperature": 50.0})
    pack = make_pack(rig, 3, channels, Moment(1000.2, 1_700_000_000.2, 1))
    assert (pack.rig, pack.session, pack.epoch, pack.saved) == ("bench", 3, 1, False)
    # CoolProp 8.0.0: R-410A at 118 psig (14.696 psia barometric) has its dew point at 39.843 °F
    superheat = pack.readings["superheat"]
    assert superheat.value is not None
    assert superheat.value * 9 / 5 == pytest.approx(50 - 39.843, abs=0.01)
    assert superheat.time_s == 1_700_000_000.0
    assert pack.readings["subcooling"].value is None
