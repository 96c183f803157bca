"""An exercise on the bench in a real browser: nothing is told before the verdict, and then to everyone."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from playwright.async_api import Browser, Locator, Page, expect

from tests.bench import Bench, bench, stock_subscriber
from tests.browser import borrow, chromium, give_back
from tests.dashboard.test_training import BLIND, REVEALED
from tests.e2e.scene import (
    LIGHT,
    PATIENCE_MS,
    QUIET,
    SIZES,
    Scene,
    barriers,
    no_barrier_in_any_theme,
    ready,
    resize,
    scene,
    wider_or_smaller,
)
from tests.processes import page_port

pytestmark = pytest.mark.browser


async def opened(browser: Browser, url: str) -> Page:
    width, height = SIZES["desk"]
    page = await borrow(browser, width=width, height=height, script=LIGHT)
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


async def test_a_technician_commits_to_a_verdict_and_everyone_learns_the_truth(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """One bench: a hidden fault, the verdict on it, and then what is touched at the unit."""
    verdict, brief = "undercharge", "Right · Too little refrigerant"
    ports = iter((free_port(), page_port()))
    async with bench(tmp_path, lambda: next(ports), speed=40, blind=True) as it, chromium() as browser:
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
        hands_of = [await page.locator("#hands-open").count() for page in (roof, lead)]
        assert hands_of == [1, 0]

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

        await roof.reload()  # as a page that is opened only then
        for page in (lead, roof):
            await expect(page.locator("[data-live=bench]")).to_contain_text(brief)
            await page.click("#verdict-open")
            await expect(page.locator("[data-live=reveal]")).to_contain_text("Subcooling is far below")
            await expect(page.locator("[data-live=sentence]")).not_to_have_text("You judge.")
        await give_back(lead, it.page + QUIET)
        await roof.keyboard.press("Escape")
        await touch_the_unit(roof)
        await give_back(roof, it.page + QUIET)


async def touch_the_unit(roof: Page) -> None:
    """A touch at the unit is done by the bench, and one that must not be says why."""
    await roof.click("[data-page=visit]")
    await roof.get_by_role("link", name="At the unit…").click()  # which opens them on the charging page
    await expect(roof.locator("#hands-dialog")).to_be_visible()
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
    await control("Jaw").locator("select").select_option("Compressor L1")
    await touch("clamp", "Jaw", "Close")
    await expect(control("Jaw").locator(".hands-head .stands")).to_have_text("Compressor L1, 10\u00a0×")
    await touch("capacitor", "Section fan", "Take lead off")
    await expect(control("Section fan").locator(".stands")).to_contain_text("lead off")
    await expect(roof.locator("[data-live=sentence]")).to_contain_text("The compressor does not run")
    assert await barriers(roof, "light", "#hands-dialog") == []


# --- with a bench that exists only on the wire


async def test_a_rig_that_is_no_bench_shows_nothing_of_it(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port, simulated=False) as it:
        await it.rig.say("bench/about", BLIND, retain=True)
        page = await ready(await it.open())
        await expect(page.locator("[data-live=sentence]")).to_have_text("Wait. Still settling.")
        await expect(page.locator("[data-live=bench]")).to_be_hidden()
        await expect(page.locator("#verdict-open")).to_be_hidden()


async def exercise(it: Scene) -> Page:
    await it.rig.say("bench/about", BLIND, retain=True)
    page = await ready(await it.open())
    await page.click("#verdict-open")
    await page.click("[data-value=instrument]")
    await page.click("#verdict-review")
    await expect(page.locator("#verdict-reviewed")).to_contain_text("an instrument reads wrong")
    return page


async def test_an_exercise_fits_and_shows_no_barrier_and_a_bench_that_has_gone_reveals_nothing(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async def fits() -> None:
        for size in SIZES:
            await resize(page, size)
            for part in ("#verdict-dialog", "[data-live=bench]"):
                assert await wider_or_smaller(page, part) == [], (part, size)

    async with scene(tmp_path, free_port) as it:
        page = await exercise(it)
        await no_barrier_in_any_theme(page, "#verdict-dialog")
        await fits()
        await page.click("#verdict-commit")
        await expect(page.locator("#verdict-result")).to_contain_text("The bench has not answered within 3 s.")
        await expect(page.locator("[data-live=reveal]")).to_be_empty()

        await it.rig.say("bench/reveal", msgspec.structs.replace(REVEALED, right=True), retain=True)
        await expect(page.locator("[data-live=reveal]")).to_contain_text("Right")
        await no_barrier_in_any_theme(page, "#verdict-dialog")
        await fits()
        await it.rig.say("bench/reveal", REVEALED, retain=True)
        await expect(page.locator("[data-live=reveal]")).to_contain_text("8 oz too little")
        await no_barrier_in_any_theme(page, "#verdict-dialog")
        await page.keyboard.press("Escape")
        await expect(page.locator("[data-live=bench]")).to_contain_text("Not right · Too little refrigerant")
        await no_barrier_in_any_theme(page, "[data-live=bench]")
