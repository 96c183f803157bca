"""Signs that an instrument is back, on real ports and sockets: what was there all the time is none."""

import asyncio
import os
import socket
from collections.abc import Coroutine
from pathlib import Path
from typing import Any

import pytest

from ingest.link.presence import LOOK_S, host_appears, port_appears
from simulators.device.pty_port import PtyPort
from tests.processes import unused_port

LONG_S = 10.0


async def goes_on(waiting: "asyncio.Task[None]") -> bool:
    done, _ = await asyncio.wait([waiting], timeout=3 * LOOK_S)
    return not done


def begun(sign: Coroutine[Any, Any, None]) -> "asyncio.Task[None]":
    return asyncio.create_task(sign)


@pytest.mark.parametrize("is_there_at_first", [True, False])
async def test_a_port_that_is_plugged_in_again(tmp_path: Path, *, is_there_at_first: bool) -> None:
    port = PtyPort(tmp_path / "usb-probe")
    if is_there_at_first:
        port.plug()
    waiting = begun(port_appears(str(port.address)))
    assert await goes_on(waiting)
    port.unplug()
    assert await goes_on(waiting)
    port.plug()
    await asyncio.wait_for(waiting, LONG_S)
    port.unplug()


async def test_a_port_that_is_plugged_in_again_between_two_looks(tmp_path: Path) -> None:
    port = PtyPort(tmp_path / "usb-probe")
    port.plug()
    waiting = begun(port_appears(str(port.address)))
    assert await goes_on(waiting)
    port.unplug()
    port.plug()
    await asyncio.wait_for(waiting, LONG_S)
    port.unplug()


async def test_bytes_that_come_are_no_sign(tmp_path: Path) -> None:
    port = PtyPort(tmp_path / "usb-probe")
    master = port.plug()
    waiting = begun(port_appears(str(port.address)))
    await asyncio.sleep(LOOK_S)
    os.write(master, b"118.2\n")
    assert await goes_on(waiting)
    waiting.cancel()
    port.unplug()


def listening_at(port: int) -> socket.socket:
    """Take connections, and say nothing; the system does, without our help."""
    return socket.create_server(("127.0.0.1", port), backlog=100)


async def test_a_host_that_is_there_again() -> None:
    port = unused_port()
    waiting = begun(host_appears("127.0.0.1", port))
    assert await goes_on(waiting)
    with listening_at(port):
        await asyncio.wait_for(waiting, LONG_S)


async def test_a_host_that_was_there_all_the_time_is_no_sign() -> None:
    port = unused_port()
    with listening_at(port):
        waiting = begun(host_appears("127.0.0.1", port))
        assert await goes_on(waiting)
        waiting.cancel()
        await asyncio.wait([waiting])
