"""Looking for instruments: at serial ports, over Bluetooth, and where Modbus devices are said to be.

Listening comes first. To a port is sent only what changes nothing in an instrument: `*IDN?`, by which IEEE 488.2 asks
who is there, and only where nothing was heard; and to Modbus devices requests to read. A port that another program has
open is left alone. What was sent is told with what was found.
"""

import asyncio
from collections.abc import Awaitable, Callable, Coroutine, Sequence
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


async def find_instruments(search: Search, tell: Callable[[str], None] = lambda _: None) -> list[Found]:
    """Look everywhere at once. What was found comes in a fixed order: ports, Modbus, Bluetooth.

    tell: told in a line each where it looks, and what it found as soon as it did.
    """
    ports = list_serial_ports() if search.ports is None else dict.fromkeys(search.ports, "")
    looks: list[Coroutine[Any, Any, list[Found]]] = [
        _look(
            port,
            f"listening for {search.seconds:g} s",
            asyncio.to_thread(
                examine_port, port, description, listen_s=search.seconds, baud=search.baud, may_ask=search.may_ask
            ),
            tell,
        )
        for port, description in sorted(ports.items())
        if port != search.modbus
    ]
    if search.modbus:
        reading = find_modbus(
            search.modbus,
            device=search.device,
            registers=search.registers,
            baud=search.baud,
            parity=search.parity,
        )
        looks.append(_look(search.modbus, "reading Modbus registers", reading, tell))
    if search.bluetooth:
        listening = find_bluetooth(search.seconds, search.connect)
        looks.append(_look("Bluetooth", f"listening for {search.seconds:g} s", listening, tell))
    if not looks:
        tell("no serial ports to look at")
    return [each for found in await asyncio.gather(*looks) for each in found]


async def _look(
    where: str, doing: str, look: Awaitable[Found | list[Found]], tell: Callable[[str], None]
) -> list[Found]:
    tell(f"{where}: {doing}")
    found = await look
    all_of_it = found if isinstance(found, list) else [found]
    for each in all_of_it:
        tell(f"{each.where}: {each.name or '; '.join(each.notes[:1]) or 'found'}")
    if not all_of_it:
        tell(f"{where}: nothing found")
    return all_of_it
