"""The page read from three metres, in a real browser: what stands in it, that it fits, and that rain opens nothing."""

import time

import pytest
from playwright.async_api import Page, expect

from ingest.wire.messages import Stop
from tests import wire_rig
from tests.e2e.scene import SIZES, Shown, no_barrier_in_any_theme, resize, shown, wider_or_smaller
from tests.processes import eventually

__all__ = ["shown"]
pytestmark = pytest.mark.browser

ARM_PX = 77
"""Figures read from three metres are 15 mm high (a two-hundredth of the distance, common practice, no source), which a
tablet of 820 px in 160 mm draws with 77 px."""

DIGIT_OF_EM = 0.727
"""The height of a figure in Inter, of its size (the font's own cap height, 1490 of 2048 units)."""


async def _opened(page: Page) -> None:
    await page.get_by_role("button", name="Glance").click()
    await expect(page.locator("#glance")).to_be_visible()


async def test_the_word_the_figures_and_what_is_awaited_fit_each_screen(shown: Shown) -> None:
    async with shown.anew() as (_, page):
        await _opened(page)
        await expect(page.locator("[data-live=glance-word]")).to_have_text("Wait")
        await expect(page.locator("[data-live=glance-sentence]")).to_have_text("Wait. Still settling.")
        superheat = page.locator("[data-live=glance-superheat-value]")
        await expect(superheat).to_have_text("18.3")
        for size in SIZES:
            await resize(page, size)
            assert await wider_or_smaller(page, "#glance") == [], size
            overflows = "part => part.scrollHeight > part.clientHeight || part.scrollWidth > part.clientWidth"
            assert not await page.locator("#glance").evaluate(overflows), size
        await resize(page, "tablet")
        size_px = await superheat.evaluate("part => parseFloat(getComputedStyle(part).fontSize)")
        assert size_px * DIGIT_OF_EM >= ARM_PX
        await no_barrier_in_any_theme(page, "#glance")


async def test_a_touch_anywhere_opens_nothing_and_a_second_of_holding_leads_back(shown: Shown) -> None:
    async with shown.anew(size="tablet") as (_, page):
        await _opened(page)
        glance, back = page.locator("#glance"), page.locator("#glance-back")
        for place in ({"x": 100, "y": 300}, {"x": 400, "y": 700}):
            await glance.click(position=place)
        await back.click()
        await expect(glance).to_be_visible()
        box = await back.bounding_box()
        assert box
        await page.mouse.move(box["x"] + 40, box["y"] + 40)
        await page.mouse.down()
        await expect(glance).to_be_hidden()
        await page.mouse.up()
        await _opened(page)
        await back.focus()
        await page.keyboard.press("Enter")
        await expect(glance).to_be_hidden()


async def test_a_leads_stop_and_a_silence_are_told_there_too(shown: Shown) -> None:
    async with shown.anew(size="tablet") as (it, page):
        await _opened(page)
        it.talking = False
        await expect(page.locator("[data-live=glance-word]")).to_have_text("No data")
        await expect(page.locator("[data-live=glance-sentence]")).to_contain_text("these figures are old")
        await expect(page.locator("[data-live=glance-may-start]")).to_be_visible()  # nobody knows that it runs
        await expect(page.locator(".glance-figures")).to_have_css("opacity", "0.38")
        it.talking = True
        await expect(page.locator("[data-live=glance-word]")).to_have_text("Wait")
        await expect(page.locator("[data-live=glance-may-start]")).to_be_hidden()
        await it.rig.take(Stop("s1", time.time(), by="Robin", role="lead", text="Hands off: it restarts by itself."))
        stop = page.locator("#stop")
        await expect(stop).to_contain_text("Hands off")
        await page.locator("#stop-key").click()  # it lies above the glance
        await expect(stop).to_be_hidden()


async def test_what_stands_as_an_alarm_is_the_word(shown: Shown) -> None:
    async with shown.anew(size="tablet") as (it, page):
        await _opened(page)
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()))
        await expect(page.locator("[data-live=glance-word]")).to_have_text("Stop")
        await expect(page.locator("[data-live=glance-alarm]")).not_to_be_empty()
        await no_barrier_in_any_theme(page, "#glance")


SPOKEN = """() => {
    window.said = [];
    speechSynthesis.speak = it => window.said.push(it.text);
}"""
"""Headless Chromium has no voice: what it is given to say is kept."""


async def test_what_is_chosen_is_read_aloud_and_nothing_else(shown: Shown) -> None:
    async with shown.anew(size="tablet") as (it, page):
        await page.evaluate(SPOKEN)
        await page.click("#comfort-open")
        dialog = page.get_by_role("dialog", name="Screen and sound")
        key = dialog.get_by_role("button", name="Reasons to stop")
        await expect(key).to_have_attribute("aria-pressed", "false")
        await key.click()
        await expect(key).to_have_attribute("aria-pressed", "true")
        await no_barrier_in_any_theme(page, "#comfort-dialog")
        assert await wider_or_smaller(page, "#comfort-dialog") == []
        await dialog.get_by_role("button", name="Close").click()
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()))

        async def said() -> bool:
            heard = await page.evaluate("window.said")
            return heard == ["No data.", "Add nothing: floodback."]  # its example as it was chosen, then what came

        await eventually("the alarm is read aloud", said)
