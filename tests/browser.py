"""A real headless Chromium, and what a person would read on the page."""

from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager, suppress

from playwright.async_api import Browser, BrowserContext, Error, Page, async_playwright, expect

from tests.processes import BUSY, eventually, within

CHROMIUM = "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


expect.set_options(timeout=BUSY * 5_000)

shared: Browser | None = None
"""The browser that all tests of a run share, while there is one."""

_launches = AsyncExitStack()
"""What was launched to share."""

_kept: BrowserContext | None = None
"""Where the first page of a test opens: a window of the shared browser that stays, for a new one is dear."""

_tabs: list[Page] = []
"""Tabs of the shared browser that stay, each in a window of its own: what they have compiled of a page serves the next
test whose page stands at the same address."""

_lent: set[Page] = set()
"""Those of them that the present test has."""


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
async def sharing() -> AsyncIterator[None]:
    """A browser for all tests until the block ends."""
    global shared  # noqa: PLW0603 - one for all
    async with _launches:
        shared = await _launches.enter_async_context(launched())
        yield
        shared = None


@asynccontextmanager
async def chromium() -> AsyncIterator[Browser]:
    """A browser without a page: the shared one, whose pages are closed when the block ends, or one of its own."""
    if shared is None:
        async with launched() as browser:
            yield browser
        return
    browser = await _living(shared)
    try:
        yield browser
    finally:
        await _close_all(browser)


async def _living(browser: Browser) -> Browser:
    """The shared browser without a page, launched anew where it has died: it takes one test with it, not all after."""
    global shared  # noqa: PLW0603 - one for all
    try:
        await _close_all(browser)  # of a test that was cut short
    except Error:
        with suppress(Error):
            await _launches.aclose()
        _tabs.clear()
        _lent.clear()
        browser = shared = await _launches.enter_async_context(launched())
    return browser


async def _close_all(browser: Browser) -> None:
    """Close what no test has any more; a tab that was not given back is in a state that nobody knows."""
    _tabs[:] = [tab for tab in _tabs if tab not in _lent]
    _lent.clear()
    staying = {tab.context for tab in _tabs}
    for context in browser.contexts:
        if context is _kept:
            await within("the browser forgets a page", _forget(context))
        elif context not in staying:
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


async def borrow(browser: Browser, *, width: int, height: int, script: str) -> Page:
    """A tab that stays, for this test alone; every test runs the same script in it before any other.

    For a test that leaves nothing in it that outlasts the page: no listener, no clock.
    """
    tab = next((tab for tab in _tabs if tab not in _lent and tab.context.browser is browser), None)
    if tab is None:
        context = await within("the browser has a window", browser.new_context(reduced_motion="reduce"))
        tab = await within("the browser has a tab", context.new_page())
        await within("the tab takes a script", tab.add_init_script(script))
        _tabs.append(tab)
    _lent.add(tab)
    await within("the tab has its size", tab.set_viewport_size({"width": width, "height": height}))
    return tab


async def give_back(tab: Page, rest: str) -> None:
    """Let a tab know nothing more of a test, and rest at the same server: elsewhere what it has compiled would go."""
    await tab.unroute_all()
    await within("the tab rests", tab.goto(rest))
    await tab.evaluate("localStorage.clear()")
    await tab.context.clear_cookies()
    _lent.discard(tab)


async def figure(page: Page, name: str) -> float | None:
    """The large number of the ruler, as it stands on the screen; None where there is none."""
    text = await page.locator(f"[data-figure={name}]").text_content(timeout=10_000)
    try:
        return float((text or "").replace("−", "-"))
    except ValueError:
        return None


async def reads(page: Page, **figures: float) -> None:
    """Wait until the large numbers read so: a page that was just opened has them with the first pack."""

    async def stands() -> bool:
        return [await figure(page, name) for name in figures] == list(figures.values())

    await eventually(f"the page reads {figures}", stands)
