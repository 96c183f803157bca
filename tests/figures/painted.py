"""How fresh the screen is: from the arrival of a sample to the figure painted, and what twenty viewers cost."""

import asyncio
import tempfile
from collections import Counter
from collections.abc import AsyncIterator, Sequence
from contextlib import AsyncExitStack
from pathlib import Path
from typing import Any

from playwright.async_api import Page

from tests.bench import Bench, bench, stock_subscriber
from tests.browser import chromium
from tests.figures import Figure
from tests.processes import unused_port

READINGS = "dewline/1/bench/readings"
PACKS = 240
VIEWERS = 20
WATCHED_S = 15.0
MILLISECONDS = 1000.0

NOTE_PAINTS = """
window.painted = [];
const Heard = window.EventSource;
window.EventSource = class extends Heard {
  constructor(...given) {
    super(...given);
    this.addEventListener("frame", (event) => { window.frameTime = JSON.parse(event.data).time; });
  }
};
document.addEventListener("DOMContentLoaded", () => {
  const drawn = (change) => change.target instanceof Element && change.target.closest("[data-live=ruler]");
  new MutationObserver((changes) => {
    if (window.frameTime === undefined || !changes.some(drawn)) return;
    setTimeout(() => window.painted.push([window.frameTime, Date.now() / 1000]));
  }).observe(document, { subtree: true, childList: true });
});
"""
"""A task queued while a frame is drawn runs once that frame is painted. What is drawn before the first frame, from the
history, is no tick's."""


async def measure() -> AsyncIterator[Figure]:
    """Watch the real page on the bench, in Chromium, against what a stock client hears."""
    async with AsyncExitStack() as opened:
        directory = Path(opened.enter_context(tempfile.TemporaryDirectory()))
        it = await opened.enter_async_context(bench(directory, unused_port))
        browser = await opened.enter_async_context(chromium())
        page = await browser.new_page()
        for figure in await _freshness(it, page):
            yield figure
        await page.close()
        yield await _viewers(it)


async def _freshness(it: Bench, page: Page) -> list[Figure]:
    await page.add_init_script(NOTE_PAINTS)
    await page.goto(it.page)
    await page.locator("[data-figure=superheat]").wait_for()
    packs = await stock_subscriber(it.broker_port, READINGS, count=PACKS, patience_s=90)
    painted_at: dict[float, float] = {}
    for tick_s, painted_s in await page.evaluate("window.painted"):
        painted_at.setdefault(round(tick_s, 3), painted_s)
    beyond_tick = [painted_at[tick_s] - tick_s for tick_s in _ticks(packs) if tick_s in painted_at]
    since_arrival = [painted_at[tick_s] - arrived_s for tick_s, arrived_s in _arrivals(packs) if tick_s in painted_at]
    return [
        Figure("arrival of a sample -> painted", _spread(since_arrival), "p95 <= 400 ms"),
        Figure("tick -> painted", _spread(beyond_tick), "p95 <= 100 ms"),
    ]


def _ticks(packs: Sequence[list[dict[str, Any]]]) -> list[float]:
    return [round(pack[0]["bt"], 3) for pack in packs]


def _arrivals(packs: Sequence[list[dict[str, Any]]]) -> list[tuple[float, float]]:
    """The first tick that carries each sample of the suction pressure, with the moment that sample arrived [s]."""
    first: dict[float, float] = {}
    for pack in packs:
        tick_s = round(pack[0]["bt"], 3)
        offset_s = next(record["t"] for record in pack if record["n"] == "suction_pressure")
        first.setdefault(round(tick_s + offset_s, 2), tick_s)
    return [(tick_s, arrived_s) for arrived_s, tick_s in list(first.items())[1:]]


def _spread(delays_s: Sequence[float]) -> str:
    ordered = sorted(delays_s)
    median, late = ordered[len(ordered) // 2], ordered[int(0.95 * len(ordered))]
    return f"p50 {median * MILLISECONDS:.0f} ms, p95 {late * MILLISECONDS:.0f} ms, n = {len(ordered)}"


async def _viewers(it: Bench) -> Figure:
    frames = Counter[str]()
    tasks = [asyncio.create_task(_view(it, frames)) for _ in range(VIEWERS)]
    await asyncio.sleep(2)
    dashboard = it.process("dashboard")
    assert dashboard is not None
    frames.clear()
    before = dashboard.cpu_times()
    await asyncio.sleep(WATCHED_S)
    after = dashboard.cpu_times()
    each = frames.total() / VIEWERS / WATCHED_S
    for task in tasks:
        task.cancel()
    await asyncio.wait(tasks)
    share = (after.user + after.system - before.user - before.system) / WATCHED_S
    measured = f"{share:.1%} of one core, {each:.1f} frames/s each"
    return Figure(f"dashboard, {VIEWERS} viewers at 4 Hz", measured, "<= 5 % of one core")


async def _view(it: Bench, frames: Counter[str]) -> None:
    """Read the stream as a browser does, and count its frames."""
    reader, writer = await asyncio.open_connection("127.0.0.1", it.page_port, limit=2**20)
    writer.write(f"GET /api/stream?units=us HTTP/1.1\r\nHost: 127.0.0.1:{it.page_port}\r\n\r\n".encode())
    try:
        async for line in reader:
            if line.startswith(b"event: frame"):
                frames["frame"] += 1
    finally:
        writer.close()
