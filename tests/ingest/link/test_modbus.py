"""The Modbus link with simulated devices on a pseudo-terminal and on loopback, and with pymodbus' own server.

The server is the independent peer for how a request and an answer are framed and numbers laid out; the devices can be
unplugged, late, busy, or wrong.
"""

import asyncio
import os
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from pathlib import Path

import pytest
from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from ingest.broker.endpoint import free_loopback_port
from ingest.decode.modbus import ModbusDecoder
from ingest.decode.register_map import Block, Register, blocks
from ingest.frames import Delivered, Frame, Link, LinkError, LinkSetupError, Notice, Stamp, Unreadable
from ingest.link.modbus_poll import Poll
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.port_settings import Parity, PortSettings
from simulators.device.modbus import ModbusDevice, ModbusRtuDevice, ModbusTcpDevice
from simulators.device.modbus_frames import BUSY, ILLEGAL_ADDRESS, SimulatedRegister
from simulators.device.pty_port import PtyPort
from tests.listening import TIMEOUT_S, listening

VALUES = {"suction": 118.25, "liquid": 340.5, "outdoor": 95.0}
SIMULATED = {
    "suction": SimulatedRegister(address=0, order="CDAB"),
    "liquid": SimulatedRegister(address=2),
    "outdoor": SimulatedRegister(address=100, table="input", steps_per_unit=10),
}
REGISTERS = (
    Register(field="suction", device=1, table="holding", address=0, number_type="f32", order="CDAB"),
    Register(field="liquid", device=1, table="holding", address=2, number_type="f32"),
    Register(
        field="outdoor",
        device=1,
        table="input",
        address=100,
        number_type="i16",
        scale=0.1,
        overload=frozenset({0x7FFF}),
        invalid=frozenset({0x8000}),
    ),
)


@pytest.fixture(params=["rtu", "tcp"])
async def device(request: pytest.FixtureRequest, tmp_path: Path) -> AsyncIterator[ModbusDevice]:
    values = dict(VALUES)
    device: ModbusDevice
    if request.param == "rtu":
        device = ModbusRtuDevice(lambda: values, address=tmp_path / "usb-bus", registers=SIMULATED)
    else:
        device = ModbusTcpDevice(lambda: values, registers=SIMULATED)
    async with device:
        yield device


@dataclass(frozen=True)
class TcpPlace:
    port: int


Place = PortSettings | TcpPlace


def place_of(device: ModbusDevice) -> Place:
    if isinstance(device, ModbusTcpDevice):
        return TcpPlace(device.port)
    return rtu_settings(device.address, 19200, "none")  # a pseudo-terminal can have no other


def reading(
    place: Place, to_read: Sequence[Block], *, poll_s: float = 0.05, answer_timeout_s: float = TIMEOUT_S
) -> Link:
    if isinstance(place, TcpPlace):
        return ModbusTcp("127.0.0.1", place.port, to_read, poll_s, answer_timeout_s)
    return ModbusRtu(place, to_read, poll_s, answer_timeout_s)


def link_to(place: Place, registers: Sequence[Register] = REGISTERS, **changes: float) -> Link:
    return reading(place, blocks(registers), **changes)


def values_of(frames: Sequence[Frame], registers: Sequence[Register] = REGISTERS) -> dict[str, object]:
    decode = ModbusDecoder(blocks(registers))
    return {field: value for frame in frames for field, value in decode(frame).items()}


async def test_neighbours_come_in_one_answer_and_every_round_is_stamped(device: ModbusDevice) -> None:
    async with listening(link_to(place_of(device))) as listener:
        frames = await listener.heard(6)
    assert [frame.source for frame in frames[:6]] == ["1 holding 0", "1 input 100"] * 3
    assert values_of(frames) == VALUES
    assert listener.connections == 1
    assert frames[2].stamp.monotonic_ns - frames[0].stamp.monotonic_ns > 30e6  # polled every 0.05 s, not flat out


async def test_unplugged_it_is_lost_at_once_and_found_again(device: ModbusDevice) -> None:
    async with listening(link_to(place_of(device), answer_timeout_s=60)) as listener:
        await listener.heard(2)
        device.unplug()
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "was lost" in str(error)
    device.replug()
    async with listening(link_to(place_of(device))) as listener:
        assert values_of(await listener.heard(2)) == VALUES


async def test_what_is_not_there_is_named_with_what_to_do(device: ModbusDevice) -> None:
    device.unplug()
    async with listening(link_to(place_of(device))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert device.address in str(error)
    assert "plug the instrument in" in str(error) or "is the device on" in str(error)
    assert listener.connections == 0


async def test_a_refused_register_stops_the_instrument(device: ModbusDevice) -> None:
    wrong = Register(field="superfluous", device=1, table="holding", address=4000, number_type="u16")
    async with listening(link_to(place_of(device), [wrong])) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "exception 2" in str(error)
    assert "4000" in str(error)
    assert "superfluous" in str(error)


async def test_a_busy_device_is_asked_again(device: ModbusDevice) -> None:
    device.refuses_with = BUSY
    async with listening(link_to(place_of(device))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "exception 6" in str(error)


async def test_a_late_answer_is_not_taken_for_the_next_one(device: ModbusDevice) -> None:
    """Both blocks are alike: two holding registers. Only their order of arrival tells them apart on a serial line."""
    apart = (REGISTERS[0], Register(field="liquid", device=1, table="holding", address=2, number_type="f32"))
    alike = [Block(1, "holding", register.address, (register,)) for register in apart]
    decode = ModbusDecoder(alike)
    async with listening(reading(place_of(device), alike)) as listener:
        await listener.heard(2)
        device.delay_s = 1.25 * TIMEOUT_S  # past the timeout, and before the answer to a request sent then
        await listener.until(lambda: bool(listener.problems))
        device.delay_s = 0.5 * TIMEOUT_S
        frames = await listener.heard(len(listener.frames) + 4)
    assert {(field, value) for frame in frames for field, value in decode(frame).items()} == {
        ("suction", 118.25),
        ("liquid", 340.5),
    }


async def test_a_device_that_falls_silent_is_lost(device: ModbusDevice) -> None:
    async with listening(link_to(place_of(device), answer_timeout_s=TIMEOUT_S / 2)) as listener:
        await listener.heard(2)
        device.delay_s = 60
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "does not answer" in str(error)


async def test_damage_on_the_line_costs_no_more_than_a_round(tmp_path: Path) -> None:
    device = ModbusRtuDevice(lambda: VALUES, address=tmp_path / "usb-bus", registers=SIMULATED)
    async with device, listening(link_to(place_of(device))) as listener:
        await listener.heard(2)
        for damage in (b"\xff" * 300, b"\x01\x03\x08garbage!\x00\x00", b"\x01\x83\x02"):
            device.send(damage)
            frames = await listener.heard(len(listener.frames) + 4)
    assert values_of(frames) == VALUES
    assert listener.connections == 1


async def test_no_number_is_told_in_the_devices_own_way(tmp_path: Path) -> None:
    values = {"suction": float("inf"), "liquid": float("nan"), "outdoor": float("inf")}
    device = ModbusRtuDevice(lambda: values, address=tmp_path / "usb-bus", registers=SIMULATED)
    async with device, listening(link_to(place_of(device))) as listener:
        frames = await listener.heard(2)
    assert values_of(frames) == {
        "suction": Unreadable.OVERLOAD,
        "liquid": Unreadable.UNKNOWN,
        "outdoor": Unreadable.OVERLOAD,
    }


async def test_a_port_in_use_is_left_alone(tmp_path: Path) -> None:
    device = ModbusRtuDevice(lambda: VALUES, address=tmp_path / "usb-bus", registers=SIMULATED)
    async with device, listening(link_to(place_of(device))) as first:
        await first.heard(2)
        async with listening(link_to(place_of(device))) as second:
            error = await second.error()
        assert isinstance(error, LinkError)
        assert "another program has it open" in str(error)
        await first.heard(len(first.frames) + 2)


@pytest.mark.parametrize(("baud", "parity", "says"), [(19200, "even", "19200 baud, 8E1"), (-1, "none", "-1 baud")])
async def test_what_a_port_cannot_do_is_a_mistake_of_the_configuration(
    tmp_path: Path, baud: int, parity: Parity, says: str
) -> None:
    device = ModbusRtuDevice(lambda: VALUES, address=tmp_path / "usb-bus", registers=SIMULATED)
    async with device, listening(link_to(rtu_settings(device.address, baud, parity))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert says in str(error)


@asynccontextmanager
async def bridge(directory: Path) -> AsyncIterator[tuple[Path, Path]]:
    """Two serial ports with a cable between them."""
    ports = PtyPort(directory / "near"), PtyPort(directory / "far")
    near, far = (port.plug() for port in ports)
    loop = asyncio.get_running_loop()
    loop.add_reader(near, lambda: os.write(far, os.read(near, 4096)))
    loop.add_reader(far, lambda: os.write(near, os.read(far, 4096)))
    try:
        yield ports[0].address, ports[1].address
    finally:
        loop.remove_reader(near)
        loop.remove_reader(far)
        for port in ports:
            port.unplug()


Serve = Callable[[list[SimDevice]], AbstractAsyncContextManager[Place]]


@pytest.fixture(params=["rtu", "tcp"])
def independent_server(request: pytest.FixtureRequest, tmp_path: Path) -> Serve:
    return partial(serve_rtu, tmp_path) if request.param == "rtu" else serve_tcp


@asynccontextmanager
async def serve_rtu(directory: Path, devices: list[SimDevice]) -> AsyncIterator[Place]:
    async with bridge(directory) as (near, far):
        server = ModbusSerialServer(devices, port=str(far), baudrate=19200, stopbits=2)
        await server.serve_forever(background=True)
        try:
            yield rtu_settings(str(near), 19200, "none")
        finally:
            await server.shutdown()  # type: ignore[no-untyped-call]


@asynccontextmanager
async def serve_tcp(devices: list[SimDevice]) -> AsyncIterator[Place]:
    port = free_loopback_port()
    server = ModbusTcpServer(devices, address=("127.0.0.1", port))
    await server.serve_forever(background=True)
    try:
        yield TcpPlace(port)
    finally:
        await server.shutdown()  # type: ignore[no-untyped-call]


async def test_an_independent_server_is_understood(independent_server: Serve) -> None:
    """The numbers are laid out by pymodbus, as ABCD, which is its default."""
    registers = [
        Register(field="f32", device=1, table="holding", address=0, number_type="f32"),
        Register(field="i32", device=1, table="holding", address=2, number_type="i32"),
        Register(field="u32", device=1, table="holding", address=4, number_type="u32"),
        Register(field="i16", device=1, table="holding", address=6, number_type="i16"),
        Register(field="u16", device=1, table="holding", address=7, number_type="u16"),
        Register(field="second device", device=2, table="input", address=9, number_type="i16", scale=0.1, offset=-40),
    ]
    data = [
        SimData(0, values=-118.25, datatype=DataType.FLOAT32),
        SimData(2, values=-70_000, datatype=DataType.INT32),
        SimData(4, values=4_000_000_000, datatype=DataType.UINT32),
        SimData(6, values=-2, datatype=DataType.INT16),
        SimData(7, values=65_535, datatype=DataType.UINT16),
    ]
    second = SimData(9, values=635, datatype=DataType.INT16)
    async with (
        independent_server([SimDevice(1, simdata=data), SimDevice(2, simdata=[second])]) as place,
        listening(link_to(place, registers)) as listener,
    ):
        frames = await listener.heard(2)
    assert [frame.source for frame in frames[:2]] == ["1 holding 0", "2 input 9"]
    assert values_of(frames, registers) == {
        "f32": -118.25,
        "i32": -70_000,
        "u32": 4_000_000_000,
        "i16": -2,
        "u16": 65_535,
        "second device": pytest.approx(23.5),
    }


async def test_one_silent_device_leaves_the_other_alone(independent_server: Serve) -> None:
    there = Register(field="there", device=1, table="holding", address=0, number_type="u16")
    not_there = Register(field="not there", device=7, table="holding", address=0, number_type="u16")
    device = SimDevice(1, simdata=[SimData(0, values=21, datatype=DataType.UINT16)])
    async with (
        independent_server([device]) as place,
        listening(link_to(place, [there, not_there])) as listener,
    ):
        frames = await listener.heard(3)
    assert {frame.source for frame in frames} == {"1 holding 0"}
    assert values_of(frames, [there]) == {"there": 21}


async def test_a_silent_device_is_named_and_asked_ever_more_rarely(tmp_path: Path) -> None:
    """On the line of device 1 there is no device 7, and nothing answers in its place."""
    gone = Register(field="gone", device=7, table="holding", address=0, number_type="f32")
    timeout_s = TIMEOUT_S / 2
    device = ModbusRtuDevice(lambda: VALUES, address=tmp_path / "usb-bus", registers=SIMULATED)
    link = link_to(place_of(device), [gone, REGISTERS[0]], poll_s=0.02, answer_timeout_s=timeout_s)
    async with device, listening(link) as listener:
        frames = await listener.heard(80)
        assert "device 7 does not answer" in listener.problems["device 7"]
        assert "device 1" not in " ".join(listener.problems)
    stamps_s = [frame.stamp.monotonic_ns / 1e9 for frame in frames]
    gaps_s = sorted(later - earlier for earlier, later in pairwise(stamps_s))
    assert gaps_s[len(gaps_s) // 2] < timeout_s, "most rounds are not held up at all"


def test_beside_a_silent_device_the_other_is_always_fresh() -> None:
    """Ten minutes by a clock of our own: an answer takes 30 ms, a silence the whole timeout of 1 s."""
    there, gone = (
        Block(
            device, "holding", 0, (Register(field="x", device=device, table="holding", address=0, number_type="u16"),)
        )
        for device in (1, 7)
    )
    now_s = 0.0
    answered_s: list[float] = []
    tries_of_the_silent = 0
    delivered: list[Delivered] = []
    poll = Poll("the line", [gone, there], 1.0, delivered.append, lambda: None)
    while now_s < 600.0:
        next_round_s = now_s + 0.5
        for block in poll.due(now_s):
            if block is there:
                now_s += 0.03
                answered_s.append(now_s)
                poll.answered(block, bytes(2), Stamp(0, 0))
            else:
                now_s += 1.0
                tries_of_the_silent += 1
                poll.unanswered(block, now_s)
        poll.end_round()
        now_s = max(now_s, next_round_s)
    stale_s = 3.0  # three times an interval of 1 s
    assert max(later - earlier for earlier, later in pairwise(answered_s)) < stale_s
    assert len(answered_s) > 1000
    assert 600 / 17 < tries_of_the_silent < 60
    told = {notice.part: notice.problem for notice in delivered if isinstance(notice, Notice)}
    assert "device 7 does not answer" in told["device 7"]
    assert "device 1" not in told


async def test_an_exception_while_booting_costs_a_round(device: ModbusDevice) -> None:
    async with listening(link_to(place_of(device))) as listener:
        await listener.heard(2)
        device.refuses_with = ILLEGAL_ADDRESS
        await listener.until(lambda: "exception 2" in " ".join(listener.problems.values()))
        device.refuses_with = None
        await listener.heard(len(listener.frames) + 4)
        assert listener.problems == {}
    assert listener.connections == 1


async def test_one_refused_register_leaves_the_others_alone(device: ModbusDevice) -> None:
    wrong = Register(field="superfluous", device=1, table="holding", address=40001, number_type="u16")
    async with listening(link_to(place_of(device), [*REGISTERS, wrong])) as listener:
        frames = await listener.heard(6)
        await listener.until(lambda: bool(listener.problems))
    assert values_of(frames) == VALUES
    assert "superfluous" in listener.problems["1 holding 40001"]
    assert "a manual's 40001 is address 0 of the holding registers" in listener.problems["1 holding 40001"]


async def test_an_independent_server_refuses_what_it_lacks(independent_server: Serve) -> None:
    device = SimDevice(1, simdata=[SimData(0, values=21, datatype=DataType.UINT16)])
    lacking = Register(field="lacking", device=1, table="holding", address=50, number_type="u16")
    async with independent_server([device]) as place, listening(link_to(place, [lacking])) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "exception 2" in str(error)


@pytest.mark.parametrize("late", [True, False], ids=["late", "silent"])
def test_a_device_that_always_answers_late_is_not_called_silent(late: bool) -> None:
    """What it wants is a longer timeout: its address, speed and parity are right."""
    register = Register(field="x", device=7, table="holding", address=0, number_type="u16")
    block = Block(7, "holding", 0, (register,))
    delivered: list[Delivered] = []
    poll = Poll("the line", [block], 0.5, delivered.append, lambda: None)
    for round_s in (0.0, 10.0):
        for due in poll.due(round_s):
            poll.unanswered(due, round_s + 0.5)
            if late:
                poll.late(due, 0.8)
    told = {notice.part: notice.problem for notice in delivered if isinstance(notice, Notice)}
    with pytest.raises(LinkError) as lost:
        poll.end_round()
    for said in (told["device 7"], str(lost.value)):
        assert ("answers late, after 0.8 s" in said, "`timeout` must be longer than 0.5 s" in said) == (late, late)
        assert ("does not answer" in said) != late
