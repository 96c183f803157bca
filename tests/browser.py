"""A real headless Chromium, and what a person would read on the page."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from playwright.async_api import Browser, Page, ViewportSize, async_playwright, expect

from tests.processes import BUSY, within

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
    await _close_all(shared)  # of a test that was cut short
    try:
        yield shared
    finally:
        await _close_all(shared)


async def _close_all(browser: Browser) -> None:
    for context in browser.contexts:
        await within("the browser closes a page", context.close())


async def new_page(browser: Browser, *, width: int, height: int, script: str) -> Page:
    """A page of this size that runs a script before any other; Playwright waits for none of this with a timeout.

    It is one without motion: a colour half way to another is no colour of the page.
    """
    size = ViewportSize(width=width, height=height)
    context = await within("the browser has a context", browser.new_context(viewport=size, reduced_motion="reduce"))
    await within("the browser takes a script", context.add_init_script(script))
    return await within("the browser has a page", context.new_page())


async def figure(page: Page, name: str) -> float | None:
    """The large number of the ruler, as it stands on the screen; None where there is none."""
    text = await page.locator(f"[data-figure={name}]").text_content(timeout=10_000)
    try:
        return float((text or "").replace("−", "-"))
    except ValueError:
        return None
