"""Pictures of each page as it looks today, for the documents: `make pictures`. Each is looked at before it is kept.

A bench with its real daemon, broker and page; for a lead's wall, eight rigs on a broker of their own. All in them is
invented.
"""

import asyncio
import shutil
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

from playwright.async_api import Browser, Page, expect

from ingest.wire.messages import UnitHistory
from ingest.wire.sheet import Sheet
from tests.bench import bench
from tests.browser import chromium, new_page
from tests.e2e.scene import scene
from tests.e2e.test_unit_page import CAN, SHEET, TAG, VISITS, on_unit_page
from tests.e2e.test_watch import ORDER, shop, shows
from tests.processes import unused_port

DOCS = Path(__file__).parents[1] / "docs"
LYING, STANDING = (1180, 820), (820, 1180)
SETTLED_MS = 120_000
LIGHT, SUN = ("localStorage.theme = 'light'", "localStorage.theme = 'sun'")


async def _pages_of_a_bench(directory: Path) -> None:
    async with (
        bench(directory, unused_port, speed=20.0, scenario="low_charge", name="Ada") as it,
        chromium() as browser,
    ):
        await _picture(browser, it.page, "charge", LYING, LIGHT, _advised)
        await _picture(browser, it.page, "charge-in-the-sun", STANDING, SUN, _advised)
        await _picture(browser, it.page, "glance", STANDING, SUN, _glance)
        await _picture(browser, f"{it.page}/visit", "visit", STANDING, LIGHT, _proposed)


async def _picture(
    browser: Browser, url: str, name: str, size: tuple[int, int], script: str, until: Callable[[Page], Awaitable[None]]
) -> None:
    width, height = size
    page = await new_page(browser, width=width, height=height, script=script)
    page.set_default_timeout(SETTLED_MS)
    await page.goto(url)
    await until(page)
    await _keep(page, name)


async def _keep(page: Page, name: str) -> None:
    await page.screenshot(path=DOCS / f"{name}.png")
    print(f"docs/{name}.png")


async def _advised(page: Page) -> None:
    await expect(page.locator("[data-live=sentence]")).to_contain_text("add", timeout=SETTLED_MS)
    await page.wait_for_timeout(3000)  # the traces are drawn every other second


async def _glance(page: Page) -> None:
    await _advised(page)
    await page.get_by_role("button", name="Glance").click()


async def _proposed(page: Page) -> None:
    await expect(page.locator("[data-live=gathered]")).to_be_visible(timeout=SETTLED_MS)


async def _wall(directory: Path) -> None:
    async with shop(directory, unused_port) as it:
        lead = await it.lead(size="desk")
        await shows(lead, ORDER)
        await _keep(lead, "watch")


async def _unit(directory: Path) -> None:
    async with scene(directory, unused_port) as it:
        sheet = Sheet(TAG, SHEET.circuits, place="Harbour Street library, roof, south row", parts=SHEET.parts)
        await it.rig.say(f"unit/{TAG}", sheet, retain=True)
        await it.rig.say("history", UnitHistory(TAG, VISITS, [CAN]), retain=True)
        page = await on_unit_page(it)
        await expect(page.locator("figure.trend")).to_be_visible()
        await _keep(page, "unit")


async def main() -> int:
    """Draw all of them."""
    for draw in (_pages_of_a_bench, _unit, _wall):
        directory = Path(tempfile.mkdtemp(prefix="dewline-pictures-"))
        try:
            await draw(directory)
        finally:
            shutil.rmtree(directory)
    return 0


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
