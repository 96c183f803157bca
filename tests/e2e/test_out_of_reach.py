"""A rig out of reach: a page that says so, keeps no figure, and comes back by itself (W3C Service Workers)."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.async_api import expect

from tests.browser import chromium, new_page
from tests.page import serving_page, settings

pytestmark = pytest.mark.browser


async def test_a_page_that_cannot_be_reached_says_so_shows_no_figure_and_comes_back(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with chromium() as browser:
        page = await new_page(browser, width=820, height=1180)
        async with serving_page(known):
            await page.goto(f"http://127.0.0.1:{known.port}/visit")
            await page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            await expect(page.locator("[data-live=tag]")).to_have_text("Waiting for a rig")
        await page.reload()
        await expect(page.get_by_role("heading", name="The rig cannot be reached from here")).to_be_visible()
        assert await page.locator("[data-live]").count() == 0
        kept = await page.evaluate(
            "caches.keys().then(names => Promise.all(names.map(name => caches.open(name).then("
            "kept => kept.keys().then(all => all.map(it => new URL(it.url).pathname))))))"
        )
        assert kept == [["/assets/shared/browser/offline.html"]]
        async with serving_page(known):
            await expect(page.locator("[data-live=tag]")).to_have_text("Waiting for a rig", timeout=30_000)


async def test_it_can_be_installed_from_every_page(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with chromium() as browser, serving_page(known):
        for at in ("/", "/visit", "/unit"):
            page = await new_page(browser, width=820, height=1180)
            await page.goto(f"http://127.0.0.1:{known.port}{at}")
            told = await page.evaluate(
                "fetch(document.querySelector('link[rel=manifest]').href).then(answer => answer.json())"
            )
            assert (told["start_url"], told["display"]) == ("/visit", "standalone")
            await page.close()
