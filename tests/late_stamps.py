"""How late every serial link stamps while the event loop is blocked.

The instruments run in threads of their own, so that they speak on time, and note when they do. A stamp of the event
loop would be late by what is left of the blocking: on average half of it.
"""

import asyncio
import os
import select
import threading
import time
import tty
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType

from ingest.decode.fs9721 import LENGTH, is_fs9721
from ingest.decode.register_map import Register, blocks
from ingest.frames import Link
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_frames import SerialFrames
from ingest.link.serial_lines import SerialLines
from simulators.device.meter import frame
from simulators.device.modbus_frames import answer, crc
from tests.listening import listening

BLOCKED_S = 0.35
PAUSE_S = 0.005
HELD_UP_S = 0.0005
"""An instrument that takes longer than this to send was kept from running itself: its reading tells nothing."""

Make = Callable[[str], Link]
"""A link to the instrument at a port."""


class Instrument:
    """The far end of a pseudo-terminal.

    sent_ns: when it sent each of its readings, noted just before; took_ns: until it had sent it.
    """

    def __init__(self, master: int, speak: "Speak") -> None:
        self.sent_ns: list[int] = []
        self.took_ns: list[int] = []
        self._master = master
        self._speak = speak
        self._silenced = False
        self._sending = threading.Lock()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        while not self._ended.is_set():
            self._speak(self)

    def silence(self) -> None:
        """Let it send no more readings. It still says what else it is asked, on which a link may wait."""
        with self._sending:
            self._silenced = True

    def end(self) -> None:
        """Let it finish its turn, and end."""
        self._ended.set()
        self._thread.join()

    def send(self, reading: bytes) -> None:
        """Send a reading."""
        with self._sending:
            if not self._silenced:
                self.sent_ns.append(time.monotonic_ns())
                os.write(self._master, reading)
                self.took_ns.append(time.monotonic_ns() - self.sent_ns[-1])

    def say(self, words: bytes) -> None:
        """Send something else."""
        os.write(self._master, words)

    def hear(self) -> bytes:
        """Wait a moment for what is asked."""
        ready, _, _ = select.select([self._master], [], [], PAUSE_S)
        return os.read(self._master, 4096) if ready else b""


Speak = Callable[[Instrument], None]
"""One turn of an instrument."""


def send_line(instrument: Instrument) -> None:
    time.sleep(PAUSE_S)
    instrument.send(b"%d\n" % len(instrument.sent_ns))


def send_display(instrument: Instrument) -> None:
    time.sleep(PAUSE_S)
    instrument.send(frame(len(instrument.sent_ns) % 4000, {"A", "AC", "RS232"}))


def answer_scpi(instrument: Instrument) -> None:
    for query in instrument.hear().splitlines():
        if query == b"*IDN?":
            instrument.say(b"SIMULATED,METER,0,1\n")
        elif query == b"SYST:ERR?":
            instrument.say(b'0,"No error"\n')
        elif query == b"MEAS:CURR:AC?":
            instrument.send(b"%d\n" % len(instrument.sent_ns))


def answer_modbus(instrument: Instrument) -> None:
    request = instrument.hear()
    if request:
        answered = request[:1] + answer(request[1:-2], {("holding", 0): len(instrument.sent_ns)})
        instrument.send(answered + crc(answered))


def _lines(port: str) -> Link:
    return SerialLines(PortSettings(port, 9600))


def _meter(port: str) -> Link:
    return SerialFrames(PortSettings(port, 2400), LENGTH, is_fs9721)


def _scpi(port: str) -> Link:
    return ScpiMeter(PortSettings(port, 9600), {"amps": "MEAS:CURR:AC?"}, poll_s=0.01)


def _modbus(port: str) -> Link:
    register = Register(field="it", device=1, table="holding", address=0, number_type="u16")
    return ModbusRtu(rtu_settings(port, 19200, "none"), blocks([register]), poll_s=0.01)


LINKS: Mapping[str, tuple[Make, Speak]] = MappingProxyType(
    {
        "serial_lines": (_lines, send_line),
        "serial_meter": (_meter, send_display),
        "scpi": (_scpi, answer_scpi),
        "modbus_rtu": (_modbus, answer_modbus),
    }
)
"""By kind of link: the link, and the instrument that speaks to it."""


@contextmanager
def _speaking(speak: Speak) -> Iterator[tuple[str, Instrument]]:
    """Run an instrument until the block ends. Gives its port."""
    master, slave = os.openpty()
    tty.setraw(slave)
    instrument = Instrument(master, speak)
    try:
        yield os.ttyname(slave), instrument
    finally:
        instrument.end()
        os.close(master)
        os.close(slave)


async def late_s(kind: str) -> list[float]:
    """Block the event loop once, and tell how late what was sent meanwhile was stamped [s]."""
    make, speak = LINKS[kind]
    with _speaking(speak) as (port, instrument):
        async with listening(make(port)) as listener:
            await listener.heard(2)
            blocked_ns, free_ns = await _block_the_loop()
            instrument.silence()
            sent_ns, took_ns = instrument.sent_ns, instrument.took_ns
            await listener.until(lambda: listener.frames[-1].stamp.monotonic_ns > sent_ns[-1])
    stamps_ns = [frame.stamp.monotonic_ns for frame in listener.frames]
    # From the end, since the first that it sent may have come before we listened.
    readings = zip(reversed(stamps_ns), reversed(sent_ns), reversed(took_ns), strict=False)
    return [
        (stamp - sent) / 1e9 for stamp, sent, took in readings if blocked_ns < sent < free_ns and took < HELD_UP_S * 1e9
    ]


async def _block_the_loop() -> tuple[int, int]:
    """Sleep in a callback; gives from when to when."""
    moments: list[int] = []

    def block() -> None:
        moments.append(time.monotonic_ns())
        time.sleep(BLOCKED_S)
        moments.append(time.monotonic_ns())

    asyncio.get_running_loop().call_soon(block)
    await asyncio.sleep(0)
    return moments[0], moments[1]
