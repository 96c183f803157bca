"""A thread for each serial port, so that a stamp says when bytes arrived.

The event loop would say when it got round to them. Frames cross to it at most WAITING_FRAMES at a time; if it
takes no more, the thread stops reading and the port keeps what comes in a buffer of its own: nothing grows.

A driver may hold a thread up for ever, in opening a port or in closing it. Such a thread is left behind, and told of;
it ends with the process.
"""

import asyncio
import errno
import logging
import math
import sys
import threading
import time
from collections.abc import Callable

import serial

from ingest.frames import Connected, Deliver, Delivered, LinkError, LinkSetupError
from ingest.link.port_settings import PortSettings, is_shared

if sys.platform == "win32":
    PORT_ERRORS: tuple[type[Exception], ...] = (OSError,)
else:
    import termios

    PORT_ERRORS = (OSError, termios.error)
"""What pyserial raises when a port goes away under it."""

logger = logging.getLogger(__name__)

WAITING_FRAMES = 1024
LARGEST_CHUNK_BYTES = 4096
READ_TIMEOUT_S = 0.1
"""How long a read waits for a first byte; it bounds how long a thread takes to notice that it shall stop."""

WRITE_TIMEOUT_S = 1.5
LET_GO_S = 2.0
"""How long a thread may take to let go of its port; more than any wait of ours in it."""


class Stopped(Exception):  # noqa: N818 - the way out of a conversation, not an error
    """The link was cancelled: the thread is to end now."""


class Port:
    """An open serial port, as its thread sees it. Any method raises Stopped when the link is cancelled."""

    def __init__(self, device: serial.Serial, stopping: threading.Event) -> None:
        self._device = device
        self._stopping = stopping

    def read(self, until_s: float = math.inf) -> bytes:
        """Read the bytes that are there, waiting READ_TIMEOUT_S for the first; empty if none came.

        until_s: a moment of the monotonic clock; it waits no longer than that.
        """
        if self._stopping.is_set():
            raise Stopped
        wait_s = max(0.0, until_s - time.monotonic())
        if wait_s < READ_TIMEOUT_S:
            self._device.timeout = wait_s
        chunk: bytes = self._device.read(1)
        if wait_s < READ_TIMEOUT_S:
            self._device.timeout = READ_TIMEOUT_S
        if chunk:
            chunk += self._device.read(min(self._device.in_waiting, LARGEST_CHUNK_BYTES))
        return chunk

    def read_waiting(self) -> bytes:
        """Read the bytes that are there, without waiting for any."""
        if self._stopping.is_set():
            raise Stopped
        waiting: bytes = self._device.read(min(self._device.in_waiting, LARGEST_CHUNK_BYTES))
        return waiting

    def write(self, data: bytes) -> None:
        """Send all of `data`."""
        if self._stopping.is_set():
            raise Stopped
        self._device.write(data)


Conversation = Callable[[Port, Deliver, Connected], None]
"""What a link does with its open port, in the port's thread, until Stopped or a port error ends it."""


class _Crossing:
    """Hands frames from the thread to the event loop, and makes the thread wait when it is full."""

    def __init__(self, loop: asyncio.AbstractEventLoop, deliver: Deliver, stopping: threading.Event) -> None:
        self._loop = loop
        self._deliver = deliver
        self._stopping = stopping
        self._room = threading.Semaphore(WAITING_FRAMES)

    def send(self, delivered: Delivered) -> None:
        while not self._room.acquire(timeout=READ_TIMEOUT_S):
            if self._stopping.is_set():
                raise Stopped
        self._loop.call_soon_threadsafe(self._arrive, delivered)

    def _arrive(self, delivered: Delivered) -> None:
        self._room.release()
        self._deliver(delivered)


async def converse(settings: PortSettings, conversation: Conversation, deliver: Deliver, connected: Connected) -> None:
    """Open a port in a thread of its own and hold a conversation there, as Link.run promises.

    Raises:
        LinkError: the port cannot be opened, or was lost.
        LinkSetupError: the port cannot work as configured.

    """
    loop = asyncio.get_running_loop()
    stopping = threading.Event()
    crossing = _Crossing(loop, deliver, stopping)

    def announce() -> None:
        loop.call_soon_threadsafe(connected)

    def hold() -> None:
        try:
            with open_port(settings) as device:
                conversation(Port(device, stopping), crossing.send, announce)
        except PORT_ERRORS as error:
            raise LinkError(f"{settings.port} was lost; check plug, cable and battery") from error
        except Stopped:
            return

    ended = _in_thread(hold, f"port {settings.port}")
    try:
        await asyncio.wait([ended])
    except asyncio.CancelledError:
        stopping.set()
        await asyncio.wait([ended], timeout=LET_GO_S)
        if not ended.done():
            logger.error(  # noqa: TRY400 - the driver's fault
                "%s: its driver does not let go of the port; it is left behind", settings.port
            )
        raise
    ended.result()


def _in_thread(work: Callable[[], None], name: str) -> asyncio.Future[None]:
    """Run in a thread that the end of the process does not wait for; gives what becomes of it."""
    loop = asyncio.get_running_loop()
    ended = loop.create_future()

    def tell(error: BaseException | None) -> None:
        if error is None:
            ended.set_result(None)
        else:
            ended.set_exception(error)
            ended.exception()  # who was cancelled meanwhile does not ask for it

    def run() -> None:
        error: BaseException | None = None
        try:
            work()
        except Exception as raised:  # noqa: BLE001 - it goes on where the future is waited for
            error = raised
        try:
            loop.call_soon_threadsafe(tell, error)
        except RuntimeError:
            logger.debug("%s ended after the event loop", name)

    threading.Thread(target=run, name=name, daemon=True).start()
    return ended


_ADVICE = {
    errno.ENOENT: "plug the instrument in, or correct `port`",
    errno.ENODEV: "plug the instrument in again",
    errno.EACCES: "this user may not open it: join the group that owns the port (often `dialout`)",
    errno.EAGAIN: "another program has it open: close that one",
    errno.EBUSY: "another program has it open: close that one",
}


def open_port(settings: PortSettings) -> serial.Serial:
    """Open a serial port for us alone: one of this machine, or one that another shares over a network.

    Raises:
        LinkError: it is not there, in use, or not ours to open.
        LinkSetupError: it cannot be set as configured.

    """
    if is_shared(settings.port):  # pyserial has no bound there on writing; who else opens it, the other machine says
        device = serial.serial_for_url(settings.port, do_not_open=True)
    else:
        device = serial.Serial(write_timeout=WRITE_TIMEOUT_S, exclusive=True)
    device.rts, device.dtr = settings.rts, settings.dtr  # before it opens, so that they never stand the other way
    try:
        device.port, device.baudrate = settings.port, settings.baud
        device.parity, device.bytesize = settings.parity[0].upper(), settings.data_bits
        device.stopbits = settings.stop_bits
        device.open()
        device.timeout = READ_TIMEOUT_S  # sets the port again: what it takes in part only is refused this time
    except ValueError as error:
        raise LinkSetupError(f"{settings.port} at {settings}: {error}; correct `port` or `baud`") from error
    except PORT_ERRORS as error:
        device.close()
        code = error.args[0] if error.args else None
        if code == errno.EINVAL:
            raise LinkSetupError(f"{settings.port} cannot be set to {settings}: correct `baud` or `parity`") from error
        advice = _ADVICE.get(code, str(error)) if code else str(error)
        raise LinkError(f"{settings.port} cannot be opened: {advice}") from error
    return device
