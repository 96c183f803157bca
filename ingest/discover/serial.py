"""Looking for an instrument at a serial port: listen first, and ask who is there only where nothing speaks.

Bytes arrive at any speed, if only as garbage: a port that is silent at one is silent at all, and one that is not gives
itself away at the right one.
"""

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import cast

import serial
from serial.tools.list_ports import comports

from ingest.discover.guess import Output, displayed_outputs, interval_s, named_output
from ingest.discover.propose import Found
from ingest.frames import Decode, Frame, FrameError, LinkError, LinkSetupError, Stamp, Unreadable, Value
from ingest.kinds.kind import Stream
from ingest.kinds.scpi import ScpiConfig
from ingest.kinds.table import KINDS, LinkConfig
from ingest.link.port_settings import PortSettings
from ingest.link.serial_thread import LARGEST_CHUNK_BYTES, PORT_ERRORS, open_port

SPEEDS = (9600, 115200, 57600, 38400, 19200, 4800, 2400)
ANSWER_TIMEOUT_S = 2.0
_IDENTITY_QUERY = b"*IDN?\n"

Arrivals = Sequence[tuple[bytes, float]]
"""Chunks of bytes, each with the moment it came [s]."""


def list_serial_ports() -> dict[str, str]:
    """Name the ports of this machine, by the names that outlast unplugging where they have such; with descriptions."""
    lasting = {os.path.realpath(link): str(link) for link in Path("/dev/serial/by-id").glob("*")}
    return {
        lasting.get(os.path.realpath(port.device), port.device): "" if port.description == "n/a" else port.description
        for port in comports()
    }


def examine_port(port: str, description: str, *, listen_s: float, baud: int | None, may_ask: bool) -> Found:
    """Find out what is at a port. It blocks, for up to `listen_s` at each of SPEEDS where bytes come that mean nothing.

    baud: at which to listen first, and to ask. may_ask: whether to send `*IDN?` where nothing is heard.
    """
    where = f"{port} ({description})" if description else port
    users = _users(port)
    if users:
        return Found(where, (f"left alone: process {', '.join(users)} has it open",))
    look = _Look(port, where, description or Path(port).name, listen_s, baud or SPEEDS[0])
    try:
        with open_port(PortSettings(port, look.baud)) as device:
            return look.listen(device) or (look.ask(device) if may_ask else look.silence("it was not asked"))
    except (LinkError, LinkSetupError) as error:
        return Found(where, (str(error),))
    except PORT_ERRORS as error:
        return Found(where, (f"lost while it was examined: {error}",))


def _users(port: str) -> list[str]:
    """Find the processes that have a port open, as far as Linux shows them to us.

    The lock that we take on a port keeps out only those who ask for one. A pseudo-terminal is left to that: whoever
    made it mostly holds it open.
    """
    device = os.path.realpath(port)
    if device.startswith("/dev/pts/"):
        return []
    return sorted({link.parts[2] for link in Path("/proc").glob("[0-9]*/fd/*") if _target(link) == device})


def _target(link: Path) -> str:
    try:
        return str(link.readlink())
    except OSError:  # it was closed meanwhile, or is not ours to see
        return ""


@dataclass(frozen=True, slots=True)
class _Look:
    port: str
    where: str
    name: str
    listen_s: float
    baud: int

    def listen(self, device: serial.Serial) -> Found | None:
        """Listen at one speed after the other; None where the port is silent."""
        for baud in (self.baud, *(speed for speed in SPEEDS if speed != self.baud)):
            device.baudrate = baud
            arrivals = list(_listen(device, self.listen_s))
            if not arrivals and baud == self.baud:
                return None
            spoken = _recognised(self.port, baud, arrivals)
            if spoken:
                said = f"listened at {baud} baud, sent nothing: {spoken.form}"
                return Found(self.where, (said,), self.name, spoken.link, spoken.interval_s, spoken.outputs)
        return Found(self.where, ("bytes come, and make no sense at any of the usual speeds; sent nothing",))

    def ask(self, device: serial.Serial) -> Found:
        """Ask who is there."""
        device.baudrate = self.baud
        device.reset_input_buffer()
        device.write(_IDENTITY_QUERY)
        answer = b"".join(chunk for chunk, _ in _listen(device, ANSWER_TIMEOUT_S, until=b"\n")).strip()
        sent = f"sent *IDN? at {self.baud} baud, which asks who is there and changes nothing"
        if not answer:
            return self.silence(f"{sent}; no answer")
        queries = {"ac current": "MEAS:CURR:AC?", "ac voltage": "MEAS:VOLT:AC?"}
        unread = Unreadable.UNKNOWN
        return Found(
            self.where,
            (
                f"{sent}; the answer: {answer.decode('ascii', 'backslashreplace')}",
                "CHECK: the queries are a guess and were not sent, since MEAS switches a meter over; see its papers",
            ),
            self.name,
            ScpiConfig(port=self.port, queries=queries, baud=self.baud),
            outputs=tuple(named_output(field, unread) for field in queries),
        )

    def silence(self, then: str) -> Found:
        """Say that nothing was heard."""
        return Found(self.where, (f"nothing heard in {self.listen_s:g} s", then))


def _listen(device: serial.Serial, seconds: float, until: bytes | None = None) -> Iterator[tuple[bytes, float]]:
    end_s = monotonic() + seconds
    while monotonic() < end_s:
        chunk: bytes = device.read(1)
        if chunk:
            chunk += device.read(min(device.in_waiting, LARGEST_CHUNK_BYTES))
            yield chunk, monotonic()
            if until and until in chunk:
                return


@dataclass(frozen=True, slots=True)
class _Spoken:
    """What bytes turned out to be."""

    form: str
    link: LinkConfig
    interval_s: float
    outputs: tuple[Output, ...]


def _recognised(port: str, baud: int, arrivals: Arrivals) -> _Spoken | None:
    """Try every kind that speaks by itself."""
    for kind in KINDS.values():
        for stream in kind.streams():
            values, times_s = _decoded(arrivals, stream.feed, stream.decode)
            if len(times_s) >= stream.fewest:
                return _Spoken(
                    stream.form,
                    cast("LinkConfig", stream.configure(port, baud)),
                    interval_s(times_s),
                    _outputs(stream, values),
                )
    return None


def _outputs(stream: Stream, values: Mapping[str, Value]) -> tuple[Output, ...]:
    if stream.units is not None:
        return displayed_outputs(values, stream.units)
    return tuple(named_output(field, value) for field, value in values.items())


def _decoded(
    arrivals: Arrivals, feed: Callable[[bytes], list[bytes]], decode: Decode
) -> tuple[Mapping[str, Value], list[float]]:
    """Decode what can be decoded: the newest value of every field, and when frames with values came [s]."""
    values: dict[str, Value] = {}
    times_s = []
    for chunk, time_s in arrivals:
        for frame in feed(chunk):
            try:
                found = decode(Frame(frame, Stamp(0, 0)))
            except FrameError:
                continue
            if found:
                values.update(found)
                times_s.append(time_s)
    return values, times_s
