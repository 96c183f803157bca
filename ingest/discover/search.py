"""Looking for instruments: at serial ports, over Bluetooth, and where Modbus devices are said to be.

Listening comes first. To a port is sent only what changes nothing in an instrument: `*IDN?`, by which IEEE 488.2 asks
who is there, and only where nothing was heard; and to Modbus devices requests to read. A port that another program has
open is left alone. What was sent is told with what was found.
"""

import asyncio
from collections.abc import Coroutine, Sequence
from dataclasses import dataclass
from typing import Any

from ingest.discover.bluetooth import find_bluetooth
from ingest.discover.modbus import find_modbus
from ingest.discover.propose import Found
from ingest.discover.serial import examine_port, list_serial_ports
from ingest.link.port_settings import Parity


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """Where to look, and for how long.

    seconds: how long to listen. ports: only these serial ports; None for all there are. baud: at which to listen first,
    and to ask. may_ask: whether to send `*IDN?` to a silent port. connect: Bluetooth devices to read from, by name or
    address, besides those that say that they measure. modbus: a serial port, or a host and perhaps its port. registers:
    the first and the last to read there.
    """

    seconds: float = 5.0
    ports: Sequence[str] | None = None
    baud: int | None = None
    may_ask: bool = True
    bluetooth: bool = True
    connect: Sequence[str] = ()
    modbus: str = ""
    parity: Parity = "even"
    device: int = 1
    registers: tuple[int, int] = (0, 19)


async def find_instruments(search: Search) -> list[Found]:
    """Look everywhere at once. What was found comes in a fixed order: ports, Modbus, Bluetooth."""
    ports = list_serial_ports() if search.ports is None else dict.fromkeys(search.ports, "")
    looks: list[Coroutine[Any, Any, Found]] = [
        asyncio.to_thread(
            examine_port, port, description, listen_s=search.seconds, baud=search.baud, may_ask=search.may_ask
        )
        for port, description in sorted(ports.items())
        if port != search.modbus
    ]
    if search.modbus:
        looks.append(
            find_modbus(
                search.modbus,
                device=search.device,
                registers=search.registers,
                baud=search.baud,
                parity=search.parity,
            )
        )
    over_bluetooth = find_bluetooth(search.seconds, search.connect) if search.bluetooth else _nothing()
    found, in_reach = await asyncio.gather(asyncio.gather(*looks), over_bluetooth)
    return [*found, *in_reach]


async def _nothing() -> list[Found]:
    return []
