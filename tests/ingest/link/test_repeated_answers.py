"""Instruments that answer once more than they were asked: no value ever comes under another's name, and it is told.

Over real pseudo-terminals and loopback. Every value differs from every other and never changes, so that one under
another's name shows.
"""

import asyncio
from pathlib import Path

import pytest

from ingest.decode.scpi import decode_scpi
from ingest.frames import Frame
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from simulators.device.scpi import ScpiDevice
from tests.listening import Listener, listening

AFTER_S = [0.0, 0.004, 0.015, 0.025]
"""How soon a repeated answer was seen to come after the first: a trial of ours, no source."""

AMPS = {"compressor": 18.4, "fan": 1.2, "blower": 3.6}
QUERIES = {name: f"MEAS:CURR:AC? (@{place})" for place, name in enumerate(AMPS)}
ORDER = "the order of its answers"


def scpi_device(directory: Path) -> ScpiDevice:
    return ScpiDevice(
        lambda: AMPS, address=directory / "meter", queries={query: name for name, query in QUERIES.items()}
    )


def scpi_link(meter: ScpiDevice, names: list[str], poll_s: float) -> ScpiMeter:
    queries = {name: QUERIES[name] for name in names}
    return ScpiMeter(PortSettings(meter.address, 9600), queries, poll_s=poll_s, answer_timeout_s=0.5)


def wrong_of(frames: list[Frame]) -> list[tuple[str, object]]:
    pairs = [pair for frame in frames for pair in decode_scpi(frame).items()]
    return [(name, value) for name, value in pairs if value != AMPS[name]]


async def told(listener: Listener, times: int, part: str) -> None:
    await listener.until(lambda: sum(bool(n.problem) and n.part == part for n in listener.notices) >= times)


@pytest.mark.parametrize("delay_s", [0.0, 0.006, 0.02], ids="answers after {}".format)
@pytest.mark.parametrize("after_s", AFTER_S, ids="once more after {}".format)
async def test_a_meter_that_repeats_an_answer_moves_no_value(after_s: float, delay_s: float, tmp_path: Path) -> None:
    async with scpi_device(tmp_path) as meter:
        meter.delay_s = delay_s
        async with listening(scpi_link(meter, list(AMPS), 0.03)) as listener:
            for name in ("compressor", "fan", "blower"):
                await listener.heard(len(listener.frames) + 3)
                meter.repeats_after_s = {name: after_s}
                await listener.until(lambda: ORDER in listener.problems)
                meter.repeats_after_s = {}
                await listener.until(lambda: ORDER not in listener.problems)
            frames = await listener.heard(len(listener.frames) + 3)
        assert wrong_of(frames) == []
        assert listener.connections == 1


async def test_a_round_with_a_line_too_many_is_dropped_whole(tmp_path: Path) -> None:
    """The repeated answer comes while the next one is awaited: which of the values is which, nobody can tell."""
    async with scpi_device(tmp_path) as meter:
        meter.delay_s = 0.02
        meter.repeats_after_s = {"fan": 0.01}
        async with listening(scpi_link(meter, list(AMPS), 0.0)) as listener:
            await told(listener, 3, ORDER)
            assert listener.frames == []
            assert "all values of its round are dropped (3 in a row)" in listener.notices[-1].problem


@pytest.mark.parametrize("line", [b"+9.99E+02\n", b"+9.99E+02\r\n+9.98E+02\n", b"OL\n", b"READY\n"])
@pytest.mark.parametrize("before_s", [0.0, 0.01, 0.03, 0.05])
async def test_a_line_that_nobody_asked_for_is_no_value(line: bytes, before_s: float, tmp_path: Path) -> None:
    async with scpi_device(tmp_path) as meter:
        meter.delay_s = 0.02
        async with listening(scpi_link(meter, ["compressor", "fan"], 0.02)) as listener:
            await listener.heard(2)
            await asyncio.sleep(before_s)
            meter.send(line)
            await told(listener, 1, ORDER)
            frames = await listener.heard(len(listener.frames) + 4)
            await listener.until(lambda: ORDER not in listener.problems)
        assert wrong_of(frames) == []


async def test_a_repeated_answer_does_not_take_the_place_of_a_refused_one(tmp_path: Path) -> None:
    """Its count is right: one too many, and one that never comes."""
    async with scpi_device(tmp_path) as meter:
        queries = {"compressor": QUERIES["compressor"], "fan": QUERIES["fan"], "wrong": "MEAS:PRES?"}
        link = ScpiMeter(PortSettings(meter.address, 9600), queries, poll_s=0.02, answer_timeout_s=0.1)
        async with listening(link) as listener:
            await listener.heard(4)
            meter.delay_s, meter.repeats_after_s = 0.01, {"compressor": 0.005}
            await told(listener, 3, ORDER)
            meter.repeats_after_s = {}
            frames = await listener.heard(len(listener.frames) + 4)
        assert {frame.source for frame in frames} == {"compressor", "fan"}
        assert wrong_of(frames) == []
