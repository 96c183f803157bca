"""Where Modbus devices are: behind a serial port, or at a network address."""

import errno
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from pymodbus.client import AsyncModbusSerialClient, AsyncModbusTcpClient

from ingest.frames import LinkError, LinkSetupError
from ingest.serial_thread import PORT_ERRORS, open_port

ModbusClient = AsyncModbusSerialClient | AsyncModbusTcpClient


@dataclass(frozen=True, slots=True)
class RtuLine:
    """A serial port with a bus of devices behind it."""

    port: str
    baud: int = 19200
    parity: Literal["even", "odd", "none"] = "even"

    def __str__(self) -> str:
        return self.port

    @property
    def pause_s(self) -> float:
        """How long the line must be silent between frames [s].

        3.5 characters of 11 bits, and 1.75 ms beyond 19200 baud: MODBUS over Serial Line V1.02, 2.5.1.1.
        """
        return max(3.5 * 11 / self.baud, 0.00175)

    def client(self, timeout_s: float, lost: Callable[[], None]) -> ModbusClient:
        """Make a client. lost: called when its connection breaks.

        Without parity there is a second stop bit: MODBUS over Serial Line V1.02, 2.5.1.
        """
        return AsyncModbusSerialClient(
            self.port,
            baudrate=self.baud,
            parity=self.parity[0].upper(),
            stopbits=2 if self.parity == "none" else 1,
            timeout=timeout_s,
            retries=0,
            reconnect_delay=0,
            trace_connect=_when_lost(lost),
        )

    async def connect(self, client: ModbusClient) -> None:
        """Open the port.

        Raises:
            LinkError: it cannot be opened.
            LinkSetupError: it cannot work as configured.

        """
        try:
            is_open = await client.connect()
        except (ValueError, *PORT_ERRORS) as error:
            if isinstance(error, ValueError) or error.args[0] == errno.EINVAL:
                raise LinkSetupError(
                    f"{self.port} cannot be set to {self.baud} baud, {self.parity} parity: correct `baud` or `parity`"
                ) from error
            raise LinkError(f"{self.port} was lost while it was opened") from error
        if not is_open:
            open_port(self.port, self.baud).close()  # to learn the reason, which the client keeps to itself
            raise LinkError(f"{self.port} was not there a moment ago")


@dataclass(frozen=True, slots=True)
class TcpHost:
    """A device, or a gateway to several, at a network address."""

    host: str
    port: int = 502

    def __str__(self) -> str:
        return f"{self.host}:{self.port}"

    @property
    def pause_s(self) -> float:
        """None is needed."""
        return 0.0

    def client(self, timeout_s: float, lost: Callable[[], None]) -> ModbusClient:
        """Make a client. lost: called when its connection breaks."""
        return AsyncModbusTcpClient(
            self.host,
            port=self.port,
            timeout=timeout_s,
            retries=0,
            reconnect_delay=0,
            trace_connect=_when_lost(lost),
        )

    async def connect(self, client: ModbusClient) -> None:
        """Connect.

        Raises:
            LinkError: the host takes no connection.

        """
        if not await client.connect():
            raise LinkError(f"{self} takes no connection; is the device on, and are host and port right?")


Line = RtuLine | TcpHost


def _when_lost(lost: Callable[[], None]) -> Callable[[bool], None]:
    return lambda connected: None if connected else lost()
