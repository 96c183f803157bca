"""No answer is ever taken for another, however late; each late one is told of."""

from contextlib import suppress
from pathlib import Path

import pytest

from ingest.decode.modbus import ModbusDecoder
from ingest.frames import Frame, LinkError
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from simulators.device.modbus import ModbusRtuDevice
from tests.late_answers import BLOCKS, LINKS, NAMES, SIMULATED, TIMEOUT_S, VALUES, rounds
from tests.listening import listening

ROUNDS = 25
"""`make late-answers` goes through a thousand."""


@pytest.mark.parametrize("kind", LINKS)
@pytest.mark.parametrize("latest", [(1.125, 1.125), (2.1, 3.5), (0.5, 1.5)], ids=["2.25 s of 2 s", "twice", "mixed"])
async def test_no_value_comes_under_another_name(kind: str, latest: tuple[float, float], tmp_path: Path) -> None:
    came = await rounds(kind, tmp_path, ROUNDS, latest)
    assert came.wrong == []
    assert all(came.frames[name] >= ROUNDS // 2 for name in NAMES if name != "late"), came.frames
    if kind != "modbus_tcp" and latest[0] > 1:
        assert came.frames["late"] <= 1  # on a busy machine the deadline itself may come late
        assert came.told >= ROUNDS // 2
        assert "timeout` must be longer than 0.04 s" in came.last_told
    if kind == "modbus_tcp" and latest[0] > 1:
        assert came.silences >= ROUNDS // 2
    if kind == "scpi" and latest[0] > 1:
        assert came.told >= came.frames["e"]  # which is asked next: every round that got there told of the late one


async def frames_of(device: ModbusRtuDevice, count: int) -> list[Frame]:
    """Listen to a device, again where the link is lost."""
    link = ModbusRtu(rtu_settings(device.address, 19200, "none"), BLOCKS, 0.0, TIMEOUT_S)
    frames: list[Frame] = []
    while len(frames) < count:
        async with listening(link) as listener:
            with suppress(LinkError):
                await listener.heard(count - len(frames))
        frames += listener.frames
    return frames


def wrong_among(frames: list[Frame]) -> list[tuple[str, object]]:
    pairs = [pair for frame in frames for pair in ModbusDecoder(BLOCKS)(frame).items()]
    return [(name, value) for name, value in pairs if value != VALUES[name]]


@pytest.mark.parametrize("delay", [0.3, 0.9, 1.5], ids=lambda delay: f"{delay} of the timeout")
@pytest.mark.parametrize("exception", [5, 6, 11])
async def test_a_value_that_follows_an_exception_comes_under_no_other_name(
    exception: int, delay: float, tmp_path: Path
) -> None:
    turn = 0

    async with ModbusRtuDevice(lambda: VALUES, address=tmp_path / "bus", registers=SIMULATED) as device:

        def hears(request: bytes) -> bool:
            nonlocal turn
            turn += request[0] == 3  # holding registers: MODBUS Application Protocol V1.1b3, 6.3
            device.precedes_with = exception if request[0] == 3 and turn % 3 == 0 else None
            device.delay_s = delay * TIMEOUT_S if device.precedes_with else 0.0
            return True

        device.hears = hears
        frames = await frames_of(device, 40)
    assert wrong_among(frames) == []


async def test_a_device_that_left_many_probes_unanswered_is_soon_back(tmp_path: Path) -> None:
    lost_probes, asked, since_it_behaves = 12, [], []

    def hears(request: bytes) -> bool:
        """Lose a value, many probes, and the first value after them; then behave."""
        is_probe = request[0] != 3
        probes = sum(asked)
        if probes > lost_probes and not (is_probe or since_it_behaves):
            since_it_behaves.append("lost")
            return False
        if since_it_behaves:
            since_it_behaves.append("probe" if is_probe else "value")
            return True
        asked.append(is_probe)
        return is_probe and probes >= lost_probes

    async with ModbusRtuDevice(lambda: VALUES, address=tmp_path / "bus", registers=SIMULATED) as device:
        device.hears = hears
        frames = await frames_of(device, 12)
    assert wrong_among(frames) == []
    assert since_it_behaves[:4] == ["lost", "probe", "probe", "value"]
