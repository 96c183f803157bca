"""How links keep time and clean up: late stamps, and what a hundred unpluggings leave behind."""

import asyncio
import os
import tempfile
import threading
import time
import tty
from contextlib import AsyncExitStack
from pathlib import Path

from ingest.link_serial import SerialLines
from ingest.port_settings import PortSettings
from simulators import fake_bluez
from tests.figures import Figure
from tests.listening import listening
from tests.test_fault_unplug import Held, Make, bluetooth_probe, cycle, meter, serial_probe

BLOCKED_S = 0.35
LINES = 200
CYCLES = 100


def measure() -> list[Figure]:
    """Measure on real pseudo-terminals and, where there is a D-Bus, on the fake BlueZ."""
    figures = [asyncio.run(_late_stamps())]
    figures += [
        asyncio.run(_left_behind(make, what)) for what, make in (("text probe", serial_probe), ("meter", meter))
    ]
    if fake_bluez.available() is None:
        figures.append(asyncio.run(_left_behind(bluetooth_probe, "Bluetooth probe")))
    return figures


async def _late_stamps() -> Figure:
    master, slave = os.openpty()
    tty.setraw(slave)
    sent_ns: list[int] = []

    def send() -> None:
        for number in range(LINES):
            sent_ns.append(time.monotonic_ns())
            os.write(master, b"%d\n" % number)
            time.sleep(BLOCKED_S / LINES)

    async with listening(SerialLines(PortSettings(os.ttyname(slave), 9600))) as listener:
        await listener.connected()
        os.write(master, b"\n")
        sender = threading.Thread(target=send)
        sender.start()
        time.sleep(BLOCKED_S)  # noqa: ASYNC251 - what is measured
        frames = await listener.heard(LINES)
    sender.join()
    os.close(master)
    os.close(slave)
    late_ms = sorted((frame.stamp.monotonic_ns - sent) / 1e6 for frame, sent in zip(frames, sent_ns, strict=True))
    measured = f"median {late_ms[LINES // 2]:.2f} ms, worst {late_ms[-1]:.2f} ms"
    return Figure(f"stamps of a serial line, event loop blocked {BLOCKED_S * 1000:.0f} ms", measured, "within 2 ms")


async def _left_behind(make: Make, what: str) -> Figure:
    async with AsyncExitStack() as stack:
        directory = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        device, link = await make(stack, directory)
        await cycle(device, link)
        before, started_s = Held.now(), time.perf_counter()
        for _ in range(CYCLES):
            await cycle(device, link)
        taken_s, after = time.perf_counter() - started_s, Held.now()
    grown = "; ".join(f"{name} {now - then:+d}" for name, then, now in zip(Held._fields, before, after, strict=True))
    return Figure(
        f"{what}: {CYCLES} unpluggings",
        f"{grown}; {taken_s / CYCLES * 1000:.0f} ms each",
        "nothing left behind",
    )
