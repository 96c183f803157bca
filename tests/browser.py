"""A real headless Chromium, and what a person would read on the page."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from playwright.async_api import Browser, Page, async_playwright

CHROMIUM = "/usr/bin/chromium"
QUIET = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@asynccontextmanager
async def chromium() -> AsyncIterator[Browser]:
    """A browser of its own until the block ends."""
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        try:
            yield browser
        finally:
            await browser.close()


async def figure(page: Page, name: str) -> float | None:
    """The large number of the ruler, as it stands on the screen; None where there is none."""
    text = await page.locator(f"[data-figure={name}]").text_content(timeout=10_000)
    try:
        return float((text or "").replace("−", "-"))
    except ValueError:
        return None
