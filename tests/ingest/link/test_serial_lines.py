"""The serial link on real pseudo-terminals."""

import asyncio
import os
import termios
import threading
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest

from ingest.frames import Frame, LinkError, LinkSetupError
from ingest.link.port_settings import PortSettings
from ingest.link.serial_lines import SerialLines
from ingest.link.serial_thread import open_port
from tests.listening import listening
from tests.processes import eventually

LONGEST_LINE_BYTES = 4096
"""A probe's line is some hundred bytes: common practice, no source."""
WAITING_FRAMES = 1024
"""What may wait between thread and event loop: seconds of the fastest probe."""


class Terminal:
    """A pseudo-terminal: what is written at one end arrives at `port`."""

    def __init__(self) -> None:
        self.master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)

    def write(self, data: bytes) -> None:
        os.write(self.master, data)

    def close(self) -> None:
        os.close(self.master)
        os.close(self._slave)


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    terminal = Terminal()
    yield terminal
    terminal.close()


async def test_lines_come_whole_and_the_cut_first_one_not(terminal: Terminal) -> None:
    terminal.write(b"stale, from before we opened the port\n")
    async with listening(SerialLines(PortSettings(terminal.port, 9600))) as listener:
        await listener.connected()
        terminal.write(b"8.2,50\n118.3,50.1\r\n")
        terminal.write(b"118.4,")
        await listener.heard(1)
        terminal.write(b"50.2\n")
        frames = await listener.heard(2)
    assert [frame.payload for frame in frames] == [b"118.3,50.1", b"118.4,50.2"]
    assert listener.connections == 1


async def test_what_a_blocked_loop_leaves_waiting_is_bounded_and_nothing_is_lost(terminal: Terminal) -> None:
    count = 3 * WAITING_FRAMES
    padding = b" " * 100

    def send_all() -> None:
        for number in range(count):
            terminal.write(b"%d%s\n" % (number, padding))

    async with listening(SerialLines(PortSettings(terminal.port, 9600))) as listener:
        await listener.connected()
        terminal.write(b"\n")
        sender = threading.Thread(target=send_all)
        sender.start()
        time.sleep(0.3)  # noqa: ASYNC251 - the port's buffer and ours are full long before
        assert sender.is_alive(), "the sender was to be held up by a full port"
        frames = await listener.heard(count)
        sender.join()
    assert [int(frame.payload) for frame in frames] == list(range(count))


async def test_cancelling_ends_the_thread_even_when_it_waits_to_hand_over(terminal: Terminal) -> None:
    async with listening(SerialLines(PortSettings(terminal.port, 9600))) as listener:
        await listener.connected()
        terminal.write(b"\n" + b"x\n" * (WAITING_FRAMES + 100))
        time.sleep(0.1)  # noqa: ASYNC251 - nobody takes frames meanwhile
        assert not await has_no_thread()
    await eventually("its thread has ended", has_no_thread)


async def has_no_thread() -> bool:
    return not [thread for thread in threading.enumerate() if thread.name.startswith("port ")]


async def test_an_endless_line_is_one_frame_too_long(terminal: Terminal) -> None:
    async with listening(SerialLines(PortSettings(terminal.port, 9600))) as listener:
        await listener.connected()
        terminal.write(b"\n")
        for _ in range(40):
            terminal.write(b"x" * 1000)
            await asyncio.sleep(0)
        terminal.write(b"\n118.2\n")
        frames = await listener.heard(2)
    assert [len(frame.payload) for frame in frames] == [LONGEST_LINE_BYTES + 1, 5]


async def test_a_missing_port_is_named_with_what_to_do(tmp_path: Path) -> None:
    port = str(tmp_path / "usb-probe")
    async with listening(SerialLines(PortSettings(port, 9600))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert port in str(error)
    assert "plug the instrument in" in str(error)
    assert listener.connections == 0


async def test_a_port_in_use_is_left_alone(terminal: Terminal) -> None:
    async with listening(SerialLines(PortSettings(terminal.port, 9600))) as first:
        await first.connected()
        async with listening(SerialLines(PortSettings(terminal.port, 9600))) as second:
            error = await second.error()
        assert isinstance(error, LinkError)
        assert "another program has it open" in str(error)
        terminal.write(b"\nstill here\n")
        assert (await first.heard(1))[0].payload == b"still here"


async def test_something_that_is_no_serial_port(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.touch()
    async with listening(SerialLines(PortSettings(str(file), 9600))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert str(file) in str(error)


async def test_an_impossible_speed_is_a_mistake_of_the_configuration(terminal: Terminal) -> None:
    async with listening(SerialLines(PortSettings(terminal.port, -1))) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "baud" in str(error)


async def test_an_error_in_deliver_is_not_swallowed_and_does_not_stop_the_link(terminal: Terminal) -> None:
    problems: list[object] = []
    asyncio.get_running_loop().set_exception_handler(lambda _, context: problems.append(context["exception"]))
    heard: list[Frame] = []

    def deliver(frame: Frame) -> None:
        heard.append(frame)
        if len(heard) == 1:
            raise ZeroDivisionError

        second.set()

    connected, second = asyncio.Event(), asyncio.Event()
    task = asyncio.create_task(SerialLines(PortSettings(terminal.port, 9600)).run(deliver, connected.set))
    await connected.wait()
    terminal.write(b"\n1\n2\n")
    async with asyncio.timeout(5):
        await second.wait()
    task.cancel()
    await asyncio.wait([task])
    assert [type(problem) for problem in problems] == [ZeroDivisionError]


@pytest.mark.parametrize(("rts", "dtr"), [(True, True), (True, False), (False, True), (False, False)])
def test_the_lines_that_power_a_cable_reach_the_port(terminal: Terminal, *, rts: bool, dtr: bool) -> None:
    """A pseudo-terminal has no such lines; what pyserial was told to do with them is asked instead."""
    with open_port(PortSettings(terminal.port, 9600, rts=rts, dtr=dtr)) as device:
        assert (device.rts, device.dtr) == (rts, dtr)


def test_the_format_of_bytes_reaches_the_port(terminal: Terminal) -> None:
    """A pseudo-terminal has 8 bits and no parity. Linux refuses the rest, mostly only when asked a second time."""
    with open_port(PortSettings(terminal.port, 4800, stop_bits=2)) as device:
        assert termios.tcgetattr(device.fd)[2] & termios.CSTOPB
    for settings in (PortSettings(terminal.port, 19200, "odd"), PortSettings(terminal.port, 2400, data_bits=7)):
        with pytest.raises(LinkSetupError, match=str(settings)):
            open_port(settings)


async def test_an_instrument_that_speaks_when_it_is_asked_is_asked_again_and_again(terminal: Terminal) -> None:
    """As many bench scales and boards do: what is asked comes back as an echo, and the first answer counts."""
    asked = []

    def answer() -> None:
        for number in range(3):
            asked.append(os.read(terminal.master, 64))
            terminal.write(b"READ?\r\n%d.5 kg\r\n" % number)

    talking = threading.Thread(target=answer)
    talking.start()
    link = SerialLines(PortSettings(terminal.port, 9600), b"READ?\r\n", 0.05)
    async with listening(link) as listener:
        frames = await listener.heard(6)
    talking.join()
    assert asked == [b"READ?\r\n"] * 3
    assert [frame.payload for frame in frames][1::2] == [b"0.5 kg", b"1.5 kg", b"2.5 kg"]
