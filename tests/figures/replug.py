"""How soon an instrument is back: from its port, its host or its advert being there again to the next value."""

import asyncio
import tempfile
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from simulators.device import fake_bluez
from tests.figures import Figure
from tests.replug import LINKS, back_after_s

CYCLES = 30
AWAY_S = 0.5, 6.0


def measure() -> Iterator[Figure]:
    """Measure on real pseudo-terminals, loopback and, where there is a D-Bus, on the fake BlueZ; all links at once."""
    kinds = [kind for kind in LINKS if kind != "bluetooth" or fake_bluez.available() is None]
    yield from asyncio.run(_measure(kinds))


async def _measure(kinds: list[str]) -> list[Figure]:
    with tempfile.TemporaryDirectory() as directory:
        times_s = await asyncio.gather(*(back_after_s(kind, Path(directory), CYCLES, AWAY_S) for kind in kinds))
    return [
        Figure(
            f"{kind} back after replugging, {CYCLES} times",
            f"median {median(taken_s):.2f} s, worst {max(taken_s):.2f} s",
            "median within 1 s",
        )
        for kind, taken_s in zip(kinds, times_s, strict=True)
    ]
