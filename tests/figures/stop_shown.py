"""How soon a lead's stop fills the technician's screen: through the real broker, daemon, page server and Chromium."""

import asyncio
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack
from pathlib import Path
from statistics import median

import aiomqtt
from playwright.async_api import Page, expect

from ingest.wire.messages import StopAsk, encode
from tests.bench import RIG, bench
from tests.browser import chromium, new_page
from tests.figures import Figure
from tests.processes import unused_port
from tests.touching import TABLET

STOPS = 20
BETWEEN_S = 0.37
"""From one that is acknowledged to the next: no whole number of ticks, so that they come at every moment of one."""
MILLISECONDS = 1000.0

NOTE_STOPS = """
window.stopsShown = [];
document.addEventListener("DOMContentLoaded", () => {
  const stop = document.getElementById("stop");
  new MutationObserver(() => {
    if (!stop.open) return;
    requestAnimationFrame(() => setTimeout(() => {
      const { width, height } = stop.getBoundingClientRect();
      const fills = width >= innerWidth && height >= innerHeight;
      window.stopsShown.push([Date.now(), stop.querySelector("[data-live=stop-text]").textContent, fills]);
    }));
  }).observe(stop, { attributes: true, attributeFilter: ["open"] });
});
"""
"""When each was painted, with its words, and whether nothing of the page is left beside it."""


async def measure() -> AsyncIterator[Figure]:
    """Ask for one stop after the other as a lead does, and take each off the screen as a technician does."""
    async with AsyncExitStack() as opened:
        directory = Path(opened.enter_context(tempfile.TemporaryDirectory()))
        it = await opened.enter_async_context(bench(directory, unused_port))
        browser = await opened.enter_async_context(chromium())
        lead = await opened.enter_async_context(aiomqtt.Client(**it.address.client_arguments()))
        page = await new_page(browser, width=TABLET["width"], height=TABLET["height"], script=NOTE_STOPS)
        await page.goto(f"{it.page}/visit")
        await page.locator(".round-line").first.wait_for()
        delays_s = [await _delay_s(page, lead, number) for number in range(STOPS)]
        yield Figure(
            "a lead's stop -> the technician's screen is full of it",
            f"median {median(delays_s) * MILLISECONDS:.0f} ms, worst {max(delays_s) * MILLISECONDS:.0f} ms, "
            f"n = {len(delays_s)}",
            "<= 1 s",
        )


async def _delay_s(page: Page, lead: aiomqtt.Client, number: int) -> float:
    """Ask for a stop, see it on the screen, acknowledge it, and see the screen again."""
    words = f"Shut the cylinder, for the {number}. time."
    asked_s = time.time()
    ask = StopAsk(f"stop-{number}", "Robin", text=words)
    await lead.publish(f"dewline/1/{RIG}/ask/lead/{ask.kind}", encode(ask), qos=1)
    await expect(page.locator("#stop [data-live=stop-text]")).to_have_text(words)
    await page.wait_for_function("words => window.stopsShown.some(([, text]) => text === words)", arg=words)
    shown_ms, _, fills = next(it for it in await page.evaluate("window.stopsShown") if it[1] == words)
    assert fills, "something of the page is left beside the stop"
    await page.locator("#stop-key").click()
    await expect(page.locator("#stop")).to_be_hidden()
    await asyncio.sleep(BETWEEN_S)
    return float(shown_ms) / MILLISECONDS - asked_s
