"""What a tick and an advice cost, in calls of functions of ours: as many on every machine, however busy it is.

Nothing outside has a figure for it: they were counted here, and what comes to a tenth more is to be seen before it is
felt. `python -m tests.figures daemon_load` measures the same load on a processor.
"""

import math
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import numpy as np
import pytest

import calc
import ingest
from calc.course import fit_both
from ingest.advice.advisor import Advisor
from ingest.channels import Channels
from ingest.clock import Moment
from ingest.config.load import load, resolve
from ingest.frames import Stamp
from ingest.noticing.noticer import Noticer
from ingest.noticing.sight import Known
from ingest.rig import Rig
from ingest.tick import make_pack
from ingest.wire.messages import Pack
from tests.figures.daemon_load import CHANNELS, configuration

OURS = tuple(str(Path(*room.__path__)) for room in (calc, ingest))
BAROMETER_PA = 101_325.0
TICK_S, TICKS = 0.25, 400
T0_S = 1_790_000_000.0

MOST_OF_A_TICK = 1.1 * 1005
MOST_OF_AN_ADVICE = 1.1 * 4209
MOST_OF_BOTH_FORECASTS = 1.1 * 781


def calls(act: Callable[[], object]) -> int:
    """Count the calls of functions of calc and ingest."""
    counted = 0

    def count(frame: FrameType, event: str, _: object) -> None:
        nonlocal counted
        counted += event == "call" and frame.f_code.co_filename.startswith(OURS)

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        act()
    finally:
        sys.setprofile(before)
    return counted


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Rig:
    """Ten instruments, one channel each."""
    path = tmp_path_factory.mktemp("load") / "rig.toml"
    path.write_text(configuration(path.parent), encoding="utf-8")
    return resolve(load(path), path)


class Ticks:
    """A rig whose readings swing, tick by tick, and what follows each."""

    def __init__(self, rig: Rig, settled: str) -> None:
        self.rig = rig
        self.known = Known(rig.unit, BAROMETER_PA, settled=settled)
        self.channels = Channels(rig, lambda stamp: T0_S + stamp.monotonic_ns / 1e9)
        self.advisor = Advisor(rig.speed, None)
        self.noticer = Noticer("visit")
        self.now_s = 1000.0

    def next(self) -> Pack:
        self.now_s += TICK_S
        for name, (_, _, about) in CHANNELS.items():
            self.channels.accept(name, Stamp(int(self.now_s * 1e9), 0), {"value": about + math.sin(self.now_s)})
        pack = make_pack(self.rig, 1, self.channels, Moment(self.now_s, T0_S + self.now_s, 0))
        self.advisor.follow(pack, self.rig, BAROMETER_PA)
        self.noticer.follow(pack, self.known)
        return pack


@pytest.mark.parametrize("settled", ["", "superheat"])
def test_a_tick_and_an_advice_call_no_more_functions_than_they_did(rig: Rig, settled: str) -> None:
    it = Ticks(rig, settled)
    for _ in range(TICKS):
        pack = it.next()
    of_a_tick = calls(lambda: [it.next() for _ in range(40)]) / 40
    of_an_advice = calls(lambda: it.advisor.advise(pack, rig, BAROMETER_PA, it.channels.repetitions()))
    assert of_a_tick < MOST_OF_A_TICK
    assert of_an_advice < MOST_OF_AN_ADVICE


def test_the_forecasts_of_both_figures_solve_for_every_memory_of_the_noise_at_once() -> None:
    times_s = np.arange(300.0)
    falling_dk = 5.0 + 8.0 * np.exp(-times_s / 180.0)
    assert calls(lambda: fit_both(times_s, falling_dk, 2.0 * falling_dk)) < MOST_OF_BOTH_FORECASTS
