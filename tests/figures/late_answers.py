"""A thousand rounds with an answer that comes too late: under which name the values came."""

import asyncio
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.figures import Figure
from tests.late_answers import LINKS, TIMEOUT_S, rounds

ROUNDS = 1000
LATENESS = {"2.25 s where 2 s are waited for": (1.125, 1.125), "2.1 to 3.5 times the timeout": (2.1, 3.5)}


def measure() -> Iterator[Figure]:
    """Measure over real pseudo-terminals and loopback; the timeout is 40 ms instead of seconds."""
    for kind in LINKS:
        for what, latest in LATENESS.items():
            yield _measure(kind, what, latest)


def _measure(kind: str, what: str, latest: tuple[float, float]) -> Figure:
    with tempfile.TemporaryDirectory() as directory:
        came = asyncio.run(rounds(kind, Path(directory), ROUNDS, latest))
    return Figure(
        f"{kind}: one of six answers {what} (timeout {TIMEOUT_S * 1000:.0f} ms), {ROUNDS} rounds",
        f"{len(came.wrong)} of {came.frames.total()} values under another name; "
        f"{came.told} late ones told in {came.frames['e']} rounds that went on",
        "none under another name; of SCPI each late one told",
    )
