"""A real headless Chromium, and what a person would read on the page."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from playwright.async_api import Browser, BrowserContext, Page, async_playwright, expect

from tests.processes import BUSY, within

CHROMIUM = "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


expect.set_options(timeout=BUSY * 5_000)

shared: Browser | None = None
"""The browser that all tests of a run share, while there is one."""

_kept: BrowserContext | None = None
"""Where the first page of a test opens: a window of the shared browser that stays, for a new one is dear."""


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
        if context is _kept:
            await within("the browser forgets a page", _forget(context))
        else:
            await within("the browser closes a page", context.close())


async def _forget(context: BrowserContext) -> None:
    """Leave a window as it was before a test: with one empty page and nothing known to it."""
    _, *opened = context.pages
    for page in opened:
        if page.url.startswith("http"):
            await page.evaluate("localStorage.clear()")
        await page.close()
    await context.clear_cookies()


async def _context(browser: Browser) -> BrowserContext:
    """A window without memory and without motion: a colour half way to another is no colour of the page."""
    global _kept  # noqa: PLW0603 - as long as the shared browser
    if _kept is not None and _kept.browser is browser and len(_kept.pages) == 1:
        return _kept
    context = await within("the browser has a window", browser.new_context(reduced_motion="reduce"))
    if browser is shared and (_kept is None or _kept.browser is not browser):
        _kept = context
        await within("the window stays while it has a page", context.new_page())
    return context


async def new_page(browser: Browser, *, width: int = 1280, height: int = 720, script: str = "") -> Page:
    """A page of this size that runs a script before any other; Playwright waits for none of this with a timeout."""
    context = await _context(browser)
    page = await within("the browser has a page", context.new_page())
    await within("the page has its size", page.set_viewport_size({"width": width, "height": height}))
    if script:
        await within("the page takes a script", page.add_init_script(script))
    return page


async def figure(page: Page, name: str) -> float | None:
    """The large number of the ruler, as it stands on the screen; None where there is none."""
    text = await page.locator(f"[data-figure={name}]").text_content(timeout=10_000)
    try:
        return float((text or "").replace("−", "-"))
    except ValueError:
        return None
