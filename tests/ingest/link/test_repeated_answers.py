"""Instruments that answer once more than they were asked: no value ever comes under another's name, and it is told.

Over real pseudo-terminals and loopback. Every value differs from every other and never changes, so that one under
another's name shows.
"""

import asyncio
from pathlib import Path

import pytest

from ingest.decode.modbus import ModbusDecoder
from ingest.decode.register_map import Block, Register
from ingest.decode.scpi import decode_scpi
from ingest.frames import Frame
from ingest.link.modbus_held import confirming
from ingest.link.modbus_request import Request
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from simulators.device.modbus import ModbusDevice, ModbusRtuDevice, ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.scpi import ScpiDevice
from tests.listening import TIMEOUT_S, Listener, listening

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
    return ScpiMeter(PortSettings(meter.address, 9600), queries, poll_s=poll_s, answer_timeout_s=TIMEOUT_S)


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
            problem = listener.notices[-1].problem
            assert "all values of its round are dropped. Were another answer lost as well" in problem
            assert problem.endswith("this meter takes one query at a time (3 in a row)")


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
        link = ScpiMeter(PortSettings(meter.address, 9600), queries, poll_s=0.02, answer_timeout_s=TIMEOUT_S / 2)
        async with listening(link) as listener:
            await listener.heard(4)
            meter.delay_s, meter.repeats_after_s = 0.01, {"compressor": 0.005}
            await told(listener, 3, ORDER)
            meter.repeats_after_s = {}
            frames = await listener.heard(len(listener.frames) + 4)
        assert {frame.source for frame in frames} == {"compressor", "fan"}
        assert wrong_of(frames) == []


PLACES = {"compressor": 0, "fan": 20, "blower": 40}
ALIKE = [
    Block(1, "holding", at, (Register(field=name, device=1, table="holding", address=at, number_type="f32"),))
    for name, at in PLACES.items()
]
HUNDREDTHS = [
    Block(
        1,
        "holding",
        at,
        (Register(field=name, device=1, table="holding", address=at, number_type="i16", scale=0.01),),
    )
    for name, at in PLACES.items()
]
ORDER_OF_1 = "the order of the answers of device 1"


def modbus(directory: Path, blocks: list[Block] = ALIKE) -> ModbusRtuDevice:
    steps = None if blocks is ALIKE else 100.0
    registers = {name: SimulatedRegister(address=at, steps_per_unit=steps) for name, at in PLACES.items()}
    return ModbusRtuDevice(lambda: AMPS, address=directory / "bus", registers=registers)


def rtu_link(device: ModbusDevice, blocks: list[Block], poll_s: float, timeout_s: float = TIMEOUT_S) -> ModbusRtu:
    return ModbusRtu(rtu_settings(device.address, 19200, "none"), blocks, poll_s, timeout_s)


@pytest.mark.parametrize("blocks", [ALIKE, HUNDREDTHS], ids=["f32", "i16"])
@pytest.mark.parametrize("delay_s", [0.0, 0.006, 0.02], ids="answers after {}".format)
@pytest.mark.parametrize("after_s", [0.0, 0.004, 0.012, 0.025], ids="once more after {}".format)
async def test_a_modbus_device_that_repeats_an_answer_moves_no_value(
    after_s: float, delay_s: float, blocks: list[Block], tmp_path: Path
) -> None:
    async with modbus(tmp_path, blocks) as device:
        device.delay_s = delay_s
        async with listening(rtu_link(device, blocks, 0.03)) as listener:
            for name in ("compressor", "fan", "blower"):
                await listener.heard(len(listener.frames) + 3)
                device.repeats_after_s = {("holding", PLACES[name]): after_s}
                await listener.until(lambda: ORDER_OF_1 in listener.problems)
                device.repeats_after_s = {}
                await listener.until(lambda: ORDER_OF_1 not in listener.problems)
            frames = await listener.heard(len(listener.frames) + 3)
        rounded = {(name, round(value, 2)) for frame in frames for name, value in values_of(frame, blocks)}
        assert rounded == set(AMPS.items())
        assert listener.connections == 1


def values_of(frame: Frame, blocks: list[Block]) -> list[tuple[str, float]]:
    return [(name, value) for name, value in ModbusDecoder(blocks)(frame).items() if isinstance(value, float)]


async def test_one_block_that_stays_silent_leaves_its_likes_alone(tmp_path: Path) -> None:
    async with modbus(tmp_path) as device:
        device.hears = lambda request: request[1:3] != PLACES["fan"].to_bytes(2, "big")
        async with listening(rtu_link(device, ALIKE, 0.02, TIMEOUT_S / 2)) as listener:
            frames = await listener.heard(8)
        assert {frame.source for frame in frames} == {"1 holding 0", "1 holding 40"}
        assert listener.connections == 1


async def test_a_device_that_never_confirms_gives_values_all_the_same_and_it_is_told(tmp_path: Path) -> None:
    async with modbus(tmp_path) as device:
        device.hears = lambda request: request[3:5] == bytes([0, 2])  # two registers, and nothing else
        async with listening(rtu_link(device, ALIKE, 0.02, TIMEOUT_S / 2)) as listener:
            await listener.heard(6)
            assert "if it repeats one, nobody will see" in listener.problems[ORDER_OF_1]


async def test_over_tcp_a_repeated_answer_is_known_by_its_number(tmp_path: Path) -> None:
    registers = {name: SimulatedRegister(address=at) for name, at in PLACES.items()}
    async with ModbusTcpDevice(lambda: AMPS, registers=registers) as device:
        device.delay_s = 0.006
        async with listening(ModbusTcp("127.0.0.1", device.port, ALIKE, 0.02, TIMEOUT_S)) as listener:
            for after_s in (0.0, 0.004, 0.012):
                device.repeats_after_s = {("holding", at): after_s for at in PLACES.values()}
                frames = await listener.heard(len(listener.frames) + 12)
        rounded = {(name, round(value, 2)) for frame in frames for name, value in values_of(frame, ALIKE)}
        assert rounded == set(AMPS.items())


def test_only_a_device_with_requests_that_are_alike_is_asked_to_confirm() -> None:
    assert confirming(ALIKE) == Request(1, "holding", 0, 1)  # half of the first
    assert confirming(HUNDREDTHS) == Request(1, "input", 0, 1)
    assert confirming([ALIKE[0], HUNDREDTHS[1]]) is None
    assert confirming([ALIKE[0], HUNDREDTHS[1], HUNDREDTHS[2]]) == Request(1, "input", 0, 1)
