"""How links keep time and clean up: late stamps, and what a hundred unpluggings leave behind."""

import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from pathlib import Path

from simulators.device import fake_bluez
from tests.fault.test_unplug import Held, Make, bluetooth_probe, cycle, meter, serial_probe
from tests.figures import Figure
from tests.late_stamps import BLOCKED_S, LINKS, late_s

BLOCKINGS = 10
CYCLES = 100


async def measure() -> AsyncIterator[Figure]:
    """Measure on real pseudo-terminals and, where there is a D-Bus, on the fake BlueZ."""
    for kind in LINKS:
        yield await _late_stamps(kind)
    yield await _left_behind(serial_probe, "text probe")
    yield await _left_behind(meter, "meter")
    if fake_bluez.available() is None:
        yield await _left_behind(bluetooth_probe, "Bluetooth probe")


async def _late_stamps(kind: str) -> Figure:
    late_ms = sorted([1000 * late for _ in range(BLOCKINGS) for late in await late_s(kind)])
    count = len(late_ms)
    measured = f"99 % within {late_ms[count * 99 // 100]:.2f} ms, worst {late_ms[-1]:.2f} ms of {count}"
    return Figure(f"stamps of {kind}, event loop blocked {BLOCKED_S * 1000:.0f} ms", measured, "within 2 ms")


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
