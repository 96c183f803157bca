"""Modbus devices: on a pseudo-terminal (RTU), or on a port of loopback (TCP)."""

import asyncio
import os
import socket
from abc import abstractmethod
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from simulators.device.device import Read, SimulatedDevice
from simulators.device.modbus_frames import TCP_HEADER, SimulatedRegister, answer, crc, place_of, refuse
from simulators.device.pty_port import PtyPort

DEVICE = 1
LONGEST_RTU_FRAME_BYTES = 256
SILENCE_S = 0.05
"""Ends a frame: longer than the standard's 3.5 characters, since a machine at work may hold bytes up."""

_CHUNK_BYTES = 4096


class ModbusDevice(SimulatedDevice):
    """What both kinds do: answer from the newest sample, `delay_s` after the request.

    registers: by the name of the value in `read`. delays_s: by table and first address, where an answer takes another
    time. refuses_with: an exception with which it answers every request for now. precedes_with: an exception that goes
    out at once before each answer. hears: says whether a request reaches it. These two on a serial line only.
    repeats_after_s: by table and first address, how long after its answer that goes out a second time.
    """

    def __init__(self, read: Read, *, registers: Mapping[str, SimulatedRegister], interval_s: float = 0.1) -> None:
        super().__init__(read, interval_s)
        self.delay_s = 0.0
        self.delays_s: dict[tuple[str, int], float] = {}
        self.repeats_after_s: dict[tuple[str, int], float] = {}
        self.refuses_with: int | None = None
        self.precedes_with: int | None = None
        self.hears: Callable[[bytes], bool] = lambda _: True
        self._registers = registers
        self._words: dict[tuple[str, int], int] = {}

    @abstractmethod
    def send(self, data: bytes) -> None:
        """Send these bytes as they are: damage, or an answer that nobody asked for."""

    def _sample(self) -> None:
        for name, value in self._read().items():
            self._words.update(self._registers[name].words(value))

    def _answer(self, request: bytes) -> bytes:
        return answer(request, self._words) if self.refuses_with is None else refuse(request[0], self.refuses_with)

    def _later(self, request: bytes, send: Callable[[bytes], None], frame: bytes) -> None:
        place = place_of(request)
        delay_s = self.delays_s.get(place, self.delay_s)
        self._answer_after(delay_s, send, frame)
        if place in self.repeats_after_s:
            asyncio.get_running_loop().call_later(delay_s + self.repeats_after_s[place], send, frame)


class ModbusRtuDevice(ModbusDevice):
    """A device alone on a serial line. address: the symbolic link at which its port appears."""

    def __init__(
        self, read: Read, *, address: Path, registers: Mapping[str, SimulatedRegister], interval_s: float = 0.1
    ) -> None:
        super().__init__(read, registers=registers, interval_s=interval_s)
        self._port = PtyPort(address)
        self._master: int | None = None
        self._begun = b""
        self._heard_s = 0.0

    @property
    def address(self) -> str:
        """The path of its port."""
        return str(self._port.address)

    def unplug(self) -> None:
        """Pull the plug."""
        if self._master is not None:
            asyncio.get_running_loop().remove_reader(self._master)
            self._master = None
        self._port.unplug()

    def replug(self) -> None:
        """Plug it in again: a new port behind the same name."""
        self._sample()
        self._begun = b""
        self._busy_until_s = 0.0
        self._master = self._port.plug()
        asyncio.get_running_loop().add_reader(self._master, self._receive, self._master)

    def send(self, data: bytes) -> None:
        """See ModbusDevice."""
        self._port.write(data)

    def _receive(self, master: int) -> None:
        """Take a request at the byte at which its check fits; after a silence whatever was before is damage."""
        now_s = asyncio.get_running_loop().time()
        if now_s - self._heard_s > SILENCE_S:
            self._begun = b""
        self._heard_s = now_s
        for byte in os.read(master, _CHUNK_BYTES):
            self._begun = (self._begun + bytes([byte]))[-LONGEST_RTU_FRAME_BYTES:]
            frame, check = self._begun[:-2], self._begun[-2:]
            if len(frame) > 1 and crc(frame) == check:
                self._begun = b""
                self._take(frame)

    def _take(self, frame: bytes) -> None:
        if frame[0] == DEVICE and self.hears(frame[1:]):
            if self.precedes_with is not None:
                first = bytes([DEVICE]) + refuse(frame[1], self.precedes_with)
                self.send(first + crc(first))
            answered = bytes([DEVICE]) + self._answer(frame[1:])
            self._later(frame[1:], self.send, answered + crc(answered))


class ModbusTcpDevice(ModbusDevice):
    """A device on loopback. It has a port of its own from the start, the same after every unplugging."""

    def __init__(self, read: Read, *, registers: Mapping[str, SimulatedRegister], interval_s: float = 0.1) -> None:
        super().__init__(read, registers=registers, interval_s=interval_s)
        self.port = 0
        self._listener: socket.socket | None = None
        self._connections: dict[socket.socket, bytes] = {}

    @property
    def address(self) -> str:
        """Its address and port."""
        return f"127.0.0.1:{self.port}"

    def unplug(self) -> None:
        """Pull the plug."""
        for connection in list(self._connections):
            self._close(connection)
        if self._listener is not None:
            asyncio.get_running_loop().remove_reader(self._listener)
            self._listener.close()
            self._listener = None

    def replug(self) -> None:
        """Plug it in again, at the same port."""
        self._sample()
        self._listener = socket.create_server(("127.0.0.1", self.port))
        self.port = self._listener.getsockname()[1]
        asyncio.get_running_loop().add_reader(self._listener, self._accept, self._listener)

    def send(self, data: bytes) -> None:
        """See ModbusDevice."""
        for connection in self._connections:
            self._send_to(connection, data)

    def _accept(self, listener: socket.socket) -> None:
        connection, _ = listener.accept()
        connection.settimeout(0)
        self._connections[connection] = b""
        asyncio.get_running_loop().add_reader(connection, self._receive, connection)

    def _receive(self, connection: socket.socket) -> None:
        try:
            chunk = connection.recv(_CHUNK_BYTES)
        except ConnectionError:
            chunk = b""
        if not chunk:
            self._close(connection)
            return
        begun = self._connections[connection] + chunk
        while len(begun) > TCP_HEADER.size:
            transaction, _, length, device = TCP_HEADER.unpack(begun[: TCP_HEADER.size])
            end = TCP_HEADER.size - 1 + length
            if len(begun) < end:
                break
            request = begun[TCP_HEADER.size : end]
            answered = self._answer(request)
            frame = TCP_HEADER.pack(transaction, 0, len(answered) + 1, device) + answered
            self._later(request, lambda frame: self._send_to(connection, frame), frame)
            begun = begun[end:]
        self._connections[connection] = begun

    def _send_to(self, connection: socket.socket, data: bytes) -> None:
        with suppress(OSError):  # whoever asked may have gone
            connection.send(data)

    def _close(self, connection: socket.socket) -> None:
        asyncio.get_running_loop().remove_reader(connection)
        del self._connections[connection]
        connection.close()
