"""Who has access, by touch: a link is made and used, a password opens the page, and both are ended at once."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.async_api import expect

from dashboard.people.accounts import Accounts
from tests.browser import chromium, new_page
from tests.e2e.scene import SIZES, barriers, wider_or_smaller
from tests.page import serving_page, settings

pytestmark = pytest.mark.browser

PASSWORD = "four plain words here"


async def test_somebody_is_let_in_and_shut_out_by_touch(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    Accounts(tmp_path).give("Robin", "lead", PASSWORD)
    page_of = f"http://127.0.0.1:{known.port}"
    async with serving_page(known), chromium() as browser:
        technician, robin, kim = [await new_page(browser, width=820, height=1180) for _ in range(3)]
        await robin.goto(f"{page_of}/enter")
        await robin.get_by_label("Your name").fill("Robin")
        await robin.get_by_label("Your password").fill("not this one, surely")
        await robin.get_by_role("button", name="Open the page").click()
        await expect(robin.get_by_role("alert")).to_have_text("That name and that password do not open this page.")
        assert await barriers(robin) == []
        await robin.get_by_label("Your name").fill("Robin")
        await robin.get_by_label("Your password").fill(PASSWORD)
        await robin.get_by_role("button", name="Open the page").click()
        await expect(robin.get_by_text("Robin, lead: watching")).to_be_visible()

        await technician.goto(f"{page_of}/people")
        await technician.get_by_label("viewer").check()
        await technician.get_by_role("button", name="Make a link").click()
        await expect(technician.locator("svg.code")).to_be_visible()
        for theme in ("light", "dark"):
            assert await barriers(technician, theme) == []
        link = await technician.locator("code").first.inner_text()
        await kim.goto(link)
        await kim.get_by_role("textbox").fill("Kim")
        await kim.get_by_role("button", name="Open the page").click()
        await expect(kim.get_by_text("Kim, viewer: watching")).to_be_visible()
        await expect(kim.get_by_text("Nothing is recorded from here.")).to_be_visible()
        assert await kim.get_by_role("button", name="Stop").count() == 0

        await technician.goto(f"{page_of}/people")
        await technician.get_by_role("button", name="End: Kim").click()
        await expect(technician.get_by_role("status")).to_contain_text("Kim is out.")
        await technician.get_by_role("button", name="Remove: Robin").click()
        await expect(technician.get_by_role("status")).to_contain_text("Robin is out, and the password opens no more.")
        for shut_out in (kim, robin):
            await shut_out.reload()
            await expect(shut_out.get_by_text("Your login has ended.")).to_be_visible()


@pytest.mark.parametrize("size", ["tablet", "tablet lying", "phone"])
async def test_it_fits_every_screen(size: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    Accounts(tmp_path).give("Robin of the longest name that one can have", "lead", PASSWORD)
    async with serving_page(known), chromium() as browser:
        width, height = SIZES[size]
        page = await new_page(browser, width=width, height=height)
        for path in ("people", "enter"):
            await page.goto(f"http://127.0.0.1:{known.port}/{path}")
            assert await wider_or_smaller(page) == [], path
