"""An exercise on the bench in a real browser: nothing is told before the verdict, and then to everyone."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from axe_playwright_python.async_playwright import Axe
from playwright.async_api import Browser, Locator, Page, expect

from tests.bench import Bench, bench, stock_subscriber
from tests.browser import chromium, new_page
from tests.dashboard.test_training import BLIND, REVEALED
from tests.e2e.test_page import (
    PATIENCE_MS,
    SIZES,
    SMALLEST_TARGET_PX,
    THEMES,
    Scene,
    barriers,
    ready,
    scene,
)

pytestmark = pytest.mark.browser


async def opened(browser: Browser, url: str) -> Page:
    page = await new_page(browser)
    page.set_default_timeout(PATIENCE_MS)
    await page.goto(url)
    return page


async def invited(it: Bench, browser: Browser, roof: Page) -> Page:
    """A lead on a page of their own, by the technician's invitation."""
    await roof.click("#invite-open")
    link = await roof.locator("[data-link=lead]").text_content()
    await roof.keyboard.press("Escape")
    lead = await opened(browser, it.page + "/join" + str(link).partition("/join")[2])
    await lead.fill("#name", "Robin")
    await lead.click("button")
    return await ready(lead)


@pytest.mark.parametrize(
    ("verdict", "brief"),
    [("undercharge", "Right · Too little refrigerant"), ("restriction", "Not right · Too little refrigerant")],
)
async def test_a_technician_commits_to_a_verdict_and_everyone_learns_the_truth(
    verdict: str, brief: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port, speed=100, blind=True) as it, chromium() as browser:
        roof = await ready(await opened(browser, it.page))
        panel = roof.locator("[data-live=bench]")
        await expect(panel).to_contain_text("Soap bubbles found its suction port's core leaking")
        await expect(roof.locator("[data-figure=subcooling]")).to_be_visible()
        await expect(roof.locator("[data-live=ruler]")).to_contain_text("Settled")
        await expect(roof.locator("[data-live=sentence]")).to_have_text("You judge.")
        shown = (await roof.content()).lower()
        assert not [word for word in ("a little low", "undercharge", "too little", "low charge") if word in shown]

        lead = await invited(it, browser, roof)
        await expect(lead.locator("[data-live=bench]")).to_contain_text("core leaking")
        await expect(lead.locator("#verdict-open")).to_be_hidden()
        await expect(lead.locator("#verdict-commit")).to_have_count(0)

        (advised,) = await stock_subscriber(it.broker_port, "dewline/1/bench/advice", count=1)
        assert "undercharge" not in str(advised)
        listening = asyncio.create_task(stock_subscriber(it.broker_port, "dewline/1/bench/bench/reveal", count=1))
        await roof.click("#verdict-open")
        reviewed, commit = roof.locator("#verdict-reviewed"), roof.locator("#verdict-commit")
        await expect(roof.locator("#verdict-dialog")).to_contain_text("A verdict ends the exercise")
        await roof.click("#verdict-review")
        await expect(reviewed).to_contain_text("Choose what is wrong first.")
        await roof.click("[data-value=loose_lug]")
        await roof.click("#verdict-review")
        await expect(reviewed).to_contain_text("Your verdict: a loose lug.")
        await expect(commit).to_be_enabled()
        await roof.click(f"[data-value={verdict}]")  # another choice must be reviewed again
        await expect(commit).to_be_disabled()
        await roof.click("#verdict-review")
        await commit.dblclick()

        result = roof.locator("[data-live=reveal]")
        await expect(result).to_contain_text("Subcooling is far below the nameplate's target")
        await expect(result).to_contain_text("oz too little")
        await expect(commit).to_be_hidden()
        await expect(roof.locator("#verdict-dialog")).to_contain_text("This unit is simulated.")
        (heard,) = await listening
        assert (heard["verdict"], heard["fault"]) == (verdict, "undercharge")
        await expect(result).to_contain_text(f"Points{heard['points']} of 12")

        await roof.keyboard.press("Escape")
        await expect(panel).to_contain_text("On the bench: A little low")
        await expect(panel).to_contain_text(brief)
        await roof.click("[data-choice=units] [data-value=si]")
        await roof.click("#verdict-open")
        await expect(result).to_contain_text("g too little")

        late = await opened(browser, it.page)
        for page in (lead, late):
            await expect(page.locator("[data-live=bench]")).to_contain_text(brief)
            await page.click("#verdict-open")
            await expect(page.locator("[data-live=reveal]")).to_contain_text("Subcooling is far below")
            await expect(page.locator("[data-live=sentence]")).not_to_have_text("You judge.")


# --- with a bench that exists only on the wire


async def test_a_rig_that_is_no_bench_shows_nothing_of_it(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port, simulated=False) as it:
        await it.rig.say("bench/about", BLIND, retain=True)
        page = await ready(await it.open())
        await expect(page.locator("[data-live=sentence]")).to_have_text("Wait. Still settling.")
        await expect(page.locator("[data-live=bench]")).to_be_hidden()
        await expect(page.locator("#verdict-open")).to_be_hidden()


async def exercise(it: Scene, **how: str) -> Page:
    await it.rig.say("bench/about", BLIND, retain=True)
    page = await ready(await it.open(**how))
    await page.click("#verdict-open")
    await page.click("[data-value=instrument]")
    await page.click("#verdict-review")
    await expect(page.locator("#verdict-reviewed")).to_contain_text("an instrument reads wrong")
    return page


async def test_a_bench_that_has_gone_is_told_and_nothing_is_revealed(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await exercise(it)
        await page.click("#verdict-commit")
        await expect(page.locator("#verdict-result")).to_contain_text("The bench has not answered within 3 s.")
        await expect(page.locator("[data-live=reveal]")).to_be_empty()


@pytest.mark.parametrize("theme", THEMES)
async def test_no_barrier_is_found_in_any_theme(theme: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await exercise(it, theme=theme)
        assert await barriers(page, theme) == []
        await it.rig.say("bench/reveal", REVEALED, retain=True)
        await expect(page.locator("[data-live=reveal]")).to_contain_text("8 oz too little")
        assert await barriers(page, theme) == []
        await page.keyboard.press("Escape")
        assert await barriers(page, theme) == []


@pytest.mark.parametrize("size", SIZES)
async def test_it_fits_and_can_be_touched_with_gloves(size: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    small = """least => [...document.querySelectorAll("#verdict-dialog button, [data-live=bench] :is(button, summary)")]
        .filter(target => target.checkVisibility())
        .map(target => [target.textContent, target.getBoundingClientRect()])
        .filter(([, box]) => box.width < least || box.height < least || box.right > innerWidth)
        .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)"""
    async with scene(tmp_path, free_port) as it:
        page = await exercise(it, size=size)
        assert await page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
        assert await page.evaluate(small, SMALLEST_TARGET_PX) == []
        await it.rig.say("bench/reveal", msgspec.structs.replace(REVEALED, right=True), retain=True)
        await expect(page.locator("[data-live=reveal]")).to_contain_text("Right")
        assert await page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
        assert await page.evaluate(small, SMALLEST_TARGET_PX) == []


# --- the controls at a simulated unit


@pytest.mark.browser
async def test_a_touch_at_the_unit_is_done_by_the_bench_and_one_that_must_not_be_says_why(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port, speed=20) as it, chromium() as browser:
        roof = await ready(await opened(browser, it.page))
        await roof.click("#hands-open")
        hands, refused = roof.locator("[data-live=hands]"), roof.locator("[data-live=hands-refused]")
        last = roof.locator("[data-live=hands-last]")

        def control(name: str) -> Locator:
            return hands.locator(f"[data-control='{name}']")

        async def touch(place: str, name: str, says: str) -> None:
            section = hands.locator(f"[data-place={place}]")
            if await section.get_attribute("open") is None:
                await section.locator("> summary").click()
            await expect(hands.locator("> [open]")).to_have_count(1)  # one place at a time
            await control(name).get_by_role("button", name=says, exact=True).click()

        await expect(last).to_have_text("Nothing has been done yet.")
        await touch("recovery", "Recovery machine", "Start")
        why = "Not done: stop the unit first: a recovery machine is for a unit at rest."
        await expect(refused).to_have_text(why)
        await expect(control("Recovery machine").locator(".hands-refused")).to_contain_text(why)
        await touch("hoses", "Hose, suction port", "Put on, no air in it")
        await expect(control("Hose, suction port").locator(".stands")).to_have_text("on")
        await expect(refused).to_have_text("")
        await expect(last).to_have_text("Done last: Hose on the suction port")
        await touch("power", "Disconnect", "Open")
        await expect(control("Disconnect").locator(".stands")).to_have_text("open")
        await touch("panel", "Panel", "Take off")
        await expect(control("Panel").locator(".stands")).to_have_text("off")
        await touch("clamp", "Jaw", "10 ×")
        await control("Jaw").locator("select").select_option("Compressor A")
        await touch("clamp", "Jaw", "Close")
        await expect(control("Jaw").locator(".hands-head .stands")).to_have_text("Compressor A, 10\u00a0×")
        await touch("capacitor", "Section fan", "Take lead off")
        await expect(control("Section fan").locator(".stands")).to_contain_text("lead off")
        await expect(roof.locator("[data-live=sentence]")).to_contain_text("The compressor does not run")
        result = await Axe().run(roof, options={"runOnly": ["wcag2a", "wcag2aa"]})
        assert not result.response["violations"]

        await roof.keyboard.press("Escape")
        lead = await invited(it, browser, roof)
        await expect(lead.locator("#hands-open")).to_have_count(0)
