"""Many rounds with an answer that comes too late: under which name the values came.

python -m tests.figures.late_answers [ROUNDS]
"""

import asyncio
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import product
from pathlib import Path

from tests.figures import Figure
from tests.figures.__main__ import show
from tests.late_answers import LINKS, TIMEOUT_S, rounds

ROUNDS = 100
LATENESS = {"2.25 s where 2 s are waited for": (1.125, 1.125), "2.1 to 3.5 times the timeout": (2.1, 3.5)}


def measure(count: int = ROUNDS) -> Iterator[Figure]:
    """Measure over real pseudo-terminals and loopback, side by side: they wait. The timeout is 40 ms, not seconds."""
    cases = [(kind, what, count) for kind, what in product(LINKS, LATENESS)]
    with ProcessPoolExecutor(len(cases)) as beside:
        yield from beside.map(_measure, *zip(*cases, strict=True))


def _measure(kind: str, what: str, count: int) -> Figure:
    with tempfile.TemporaryDirectory() as directory:
        came = asyncio.run(rounds(kind, Path(directory), count, LATENESS[what]))
    return Figure(
        f"{kind}: one of six answers {what} (timeout {TIMEOUT_S * 1000:.0f} ms), {count} rounds",
        f"{len(came.wrong)} of {came.frames.total()} values under another name; in {came.frames['e']} rounds that "
        f"went on {came.told} told as late, {came.silences} as missing",
        "none under another name, each late one told",
    )


if __name__ == "__main__":
    for figure in measure(*map(int, sys.argv[1:])):
        show(figure)
