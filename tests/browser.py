"""A real headless Chromium, and what a person would read on the page."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from playwright.async_api import Browser, Page, async_playwright, expect

from tests.processes import BUSY

CHROMIUM = "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


expect.set_options(timeout=BUSY * 5_000)

shared: Browser | None = None
"""The browser that all tests of a run share, while there is one."""


@asynccontextmanager
async def launched() -> AsyncIterator[Browser]:
    """A browser of its own until the block ends."""
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        try:
            yield browser
        finally:
            await browser.close()


@asynccontextmanager
async def chromium() -> AsyncIterator[Browser]:
    """A browser without a page: the shared one, whose pages are closed when the block ends, or one of its own."""
    if shared is None:
        async with launched() as browser:
            yield browser
        return
    for context in shared.contexts:  # of a test that was cut short
        await context.close()
    try:
        yield shared
    finally:
        for context in shared.contexts:
            await context.close()


async def figure(page: Page, name: str) -> float | None:
    """The large number of the ruler, as it stands on the screen; None where there is none."""
    text = await page.locator(f"[data-figure={name}]").text_content(timeout=10_000)
    try:
        return float((text or "").replace("−", "-"))
    except ValueError:
        return None
