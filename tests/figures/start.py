"""How long a technician waits: from the command to the first live number, when everything is installed."""

import tempfile
import time
from collections.abc import AsyncIterator
from pathlib import Path

from tests.bench import Bench, bench, kill
from tests.browser import chromium
from tests.figures import Figure
from tests.processes import eventually, unused_port

KILLS = 10


async def measure() -> AsyncIterator[Figure]:
    """Start the bench with its page, and wait for a superheat on the screen."""
    async with chromium() as browser:
        page = await browser.new_page()
        with tempfile.TemporaryDirectory() as directory:
            began_s = time.perf_counter()
            async with bench(Path(directory), unused_port) as it:
                yield Figure("installed -> the page is served", f"{time.perf_counter() - began_s:.1f} s", "-")
                await page.goto(it.page)
                await page.locator("[data-figure=superheat]").wait_for()
                shown_s = time.perf_counter() - began_s
                yield Figure("installed -> first live number on the screen", f"{shown_s:.1f} s", "<= 5 s")
                recovered_s = [await _recovery_s(it) for _ in range(KILLS)]
                yield Figure(
                    f"daemon killed {KILLS} times -> recording again", f"worst {max(recovered_s):.1f} s", "< 2 s"
                )


async def _recovery_s(it: Bench) -> float:
    """Kill the daemon, which the bench starts again, and wait for the next committed pack."""
    daemon = it.daemon()
    assert daemon is not None
    kill(daemon)
    newest = it.packs_on_disk()[-1][0]
    began_s = time.perf_counter()

    async def has_newer() -> bool:
        return it.packs_on_disk()[-1][0] > newest

    await eventually("the daemon records again", has_newer)
    return time.perf_counter() - began_s
