"""Signs that an instrument is back: its port appears, its host takes connections. Nothing is sent to it."""

import asyncio
from contextlib import suppress
from pathlib import Path

from ingest.link.port_settings import host_of

LOOK_S = 0.2
"""From one look to the next."""


async def port_appears(port: str) -> None:
    """Wait until a port is there that was not, or is another than it was: plugged in again between two looks.

    One that another machine shares is there where that takes connections again.
    """
    if (shared := host_of(port)) is not None:
        await host_appears(*shared)
        return
    path = Path(port)
    first = _identity(path)
    while True:
        await asyncio.sleep(LOOK_S)
        now = _identity(path)
        if now is not None and now != first:
            return
        first = now


async def host_appears(host: str, port: int) -> None:
    """Wait until a host takes a connection, after it once did not. One that takes them all the time gives no sign."""
    was_away = False
    while True:
        try:
            async with asyncio.timeout(1.0):
                _, writer = await asyncio.open_connection(host, port)
        except OSError:  # TimeoutError is one
            was_away = True
        else:
            await _close(writer)
            if was_away:
                return
        await asyncio.sleep(LOOK_S)


async def _close(writer: asyncio.StreamWriter) -> None:
    writer.close()
    with suppress(OSError):
        await writer.wait_closed()


def _identity(path: Path) -> tuple[int, ...] | None:
    """Tell one appearance of a port from the next, by the name's and the device's inode and the time of its making."""
    try:
        name, device = path.lstat(), path.stat()
    except OSError:
        return None
    return name.st_ino, name.st_ctime_ns, device.st_rdev, device.st_ino, device.st_ctime_ns
