"""Eight rigs and the leads who watch them, in real browsers over a real broker: one of each situation.

The order is the house's own decision (docs/decisions/0041). That every state reads without colour is WCAG 2.2, 1.4.1;
that nothing scrolls sideways at 390 px is 1.4.10; the smallest target of 48 px is the house's own.
"""

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.async_api import Browser, BrowserContext, Page, expect

from dashboard.invitations import make_invitation
from dashboard.settings import Settings
from ingest.wire.messages import Added, NoteAsk, Question
from tests.brokers import Mosquitto, mosquitto
from tests.browser import chromium
from tests.e2e.scene import SIZES, SMALLEST_TARGET_PX, no_barrier_in_any_theme
from tests.page import serving_page, settings
from tests.processes import eventually
from tests.watched import RIGS, Watched, arrive, eight_rigs, warned

pytestmark = pytest.mark.browser

ORDER = ["stop", "asked", "against", "stuck", "silent", "soon", "going", "over"]
PATIENCE_MS = 60_000


@dataclass
class Shop:
    """A shop with eight rigs, a page's server for its leads, and another at one rig. Each person has a browser."""

    broker: Mosquitto
    rigs: Watched
    leads: Settings
    unit: Settings
    browser: Browser
    opened: AsyncExitStack

    async def lead(self, name: str = "Robin", *, at: str = "/watch", size: str = "tablet lying") -> Page:
        """Open a page as a lead who entered by a link."""
        page = await self._page(size)
        _, _, token = make_invitation(self.leads, "lead").partition("token=")
        sent = {"Origin": _url(self.leads)}
        form = {"token": token, "name": name}
        await page.request.post(f"{_url(self.leads)}/join", form=form, headers=sent, max_redirects=0)
        await page.goto(_url(self.leads) + at)
        return page

    async def technician(self, at: str = "/visit") -> Page:
        page = await self._page("tablet")
        await page.goto(_url(self.unit) + at)
        return page

    async def _page(self, size: str) -> Page:
        width, height = SIZES[size]
        viewport = {"width": width, "height": height}
        context: BrowserContext = await self.browser.new_context(reduced_motion="reduce", viewport=viewport)  # type: ignore[arg-type] # a TypedDict
        self.opened.push_async_callback(context.close)
        page = await context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        return page


def _url(known: Settings) -> str:
    return f"http://127.0.0.1:{known.port}"


@asynccontextmanager
async def shop(directory: Path, free_port: Callable[[], int], at: str = "soon") -> AsyncIterator[Shop]:
    """Open the shop. at: what the rig with the technician's own page is an example of."""
    name = next(name for name, (kind, _) in RIGS.items() if kind == at)
    async with (
        mosquitto(free_port(), directory) as broker,
        eight_rigs(broker.address.port) as rigs,
        chromium() as browser,
    ):
        leads = settings(directory, free_port(), broker=broker.address)
        unit = settings(directory / "unit", free_port(), broker=broker.address, rig=name)
        async with serving_page(leads) as hub, serving_page(unit) as at_unit, AsyncExitStack() as pages:

            async def listen() -> bool:
                return hub.publish is not None and at_unit.publish is not None

            await eventually("both servers listen", listen)
            for rig in rigs.rigs.values():
                await arrive(rig, time.time())
            talking = asyncio.create_task(rigs.talk())
            try:
                yield Shop(broker, rigs, leads, unit, browser, pages)
            finally:
                talking.cancel()
                await asyncio.wait([talking])


async def kinds(page: Page) -> list[str | None]:
    return [await card.get_attribute("data-kind") for card in await page.locator(".rig-card").all()]


async def shows(page: Page, expected: list[str]) -> None:
    """Wait until the cards stand so, from the first to the last."""

    async def stand() -> bool:
        return await kinds(page) == expected

    await eventually(f"the cards stand as {expected}", stand)


async def test_the_order_is_right_in_every_size_and_follows_what_happens(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with shop(tmp_path, free_port) as it:
        page = await it.lead()
        await shows(page, ORDER)
        assert await page.locator("[data-live=count]").text_content() == "8 rigs: 3 need you now"
        tags = await page.locator(".rig-tag").all_inner_texts()
        tag_of = dict(RIGS.values())
        assert [tag.split("\n")[0].removesuffix("Bench").strip() for tag in tags] == [tag_of[kind] for kind in ORDER]
        for size, (width, height) in SIZES.items():
            await page.set_viewport_size({"width": width, "height": height})
            assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth"), size
            small = await page.locator("a, button").evaluate_all(
                f"all => all.filter(it => it.getBoundingClientRect().height < {SMALLEST_TARGET_PX}).length"
            )
            assert small == 0, size
        await no_barrier_in_any_theme(page)
        going = it.rigs["going"]
        await going.take(Question("q9", time.time(), "Lee", "technician", "Do I open the valve?"))
        await shows(page, ["stop", "asked", "asked", "against", "stuck", "silent", "soon", "over"])
        await expect(page.locator(f"#rig-{going.name} .rig-says")).to_have_text("Lee asks: Do I open the valve?")
        it.rigs.silent.add("van-6")
        await shows(page, ["stop", "asked", "asked", "against", "stuck", "silent", "silent", "over"])


async def test_every_situation_reads_without_colour(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with shop(tmp_path, free_port) as it:
        page = await it.lead()
        await shows(page, ORDER)
        bands = [(await band.inner_text()).split("\n")[0].strip() for band in await page.locator(".band").all()]
        assert len({band.casefold() for band in bands}) == 8
        icons = await page.locator(".band .icon").count()
        assert icons == 8
        await expect(page.locator("#rig-van-6 .rig-next")).to_contain_text("Subcooling settled about")
        label = await page.locator("#rig-van-6 svg").get_attribute("aria-label") or ""
        assert label.startswith("Subcooling 6.8 ± 0.9 °F of 10.0. Superheat 18.")


async def test_a_stop_from_a_rig_that_was_opened_reaches_the_technician_and_comes_back(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with shop(tmp_path, free_port) as it:
        sam, robin, kim = await it.technician(), await it.lead(), await it.lead("Kim")
        await shows(robin, ORDER)
        await robin.locator("#rig-van-6 a", has_text="Charge").click()
        await robin.locator("[data-figure=superheat]").wait_for()
        await expect(robin.locator("h1")).to_have_text("RTU-K7Q-4")
        await expect(robin.locator("[data-live=lag]")).to_contain_text("behind")
        await expect(sam.locator("[data-live=who]")).to_contain_text("Robin watches, and Kim watches among other rigs")
        await robin.click("#stop-at-once")
        await expect(sam.locator("#stop")).to_be_visible()
        await expect(sam.locator("[data-live=stop-by]")).to_contain_text("Robin")
        await shows(kim, ["stop", "stop", "asked", "against", "stuck", "silent", "going", "over"])
        await expect(kim.locator("#rig-van-6 .rig-says")).to_contain_text("Shown to technician")
        await sam.click("#stop-key")
        await expect(kim.locator("#rig-van-6 .rig-says")).to_contain_text("technician has stopped.")
        await expect(robin.locator(".stop-stands")).to_contain_text("asked to stop")
        asked = {name: [kind for kind, _ in rig.asked] for name, rig in it.rigs.rigs.items()}
        assert {name for name, kinds in asked.items() if kinds} == {"van-6"}
        await robin.click("#go-on")
        await shows(kim, ORDER)


async def test_one_lead_answers_and_the_other_sees_it(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with shop(tmp_path, free_port, at="asked") as it:
        robin, kim = await it.lead(at="/rig/van-2/visit"), await it.lead("Kim")
        await shows(kim, ORDER)
        await robin.locator(".talk button", has_text="Reply").first.click()
        await robin.locator("#sheet textarea").fill("It is charge.")
        await robin.locator("#sheet button", has_text="Send").click()
        await expect(kim.locator("#rig-van-2 .rig-answered")).to_contain_text("Robin answered")
        await expect(kim.locator("#rig-van-2 .rig-answered")).to_contain_text("It is charge.")
        await expect(kim.locator("#rig-van-2")).not_to_have_attribute("data-kind", "asked")


async def test_what_a_lead_writes_on_the_page_of_a_rig_goes_there_and_nowhere_else(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """A note is sent by a callback of Dash, and by a page that was served before those of another rig."""
    async with shop(tmp_path, free_port) as it:
        robin, kim = await it.lead(at="/rig/van-6/"), await it.lead("Kim", at="/rig/van-7/")
        for page, says in ((robin, "Let it sit."), (kim, "Read the fan.")):
            await page.locator("[data-figure=superheat]").wait_for()
            await page.fill("#note-text", says)
        await robin.click("#note-send")
        await kim.click("#note-send")
        await expect(robin.locator("#outcome")).to_contain_text("The note is recorded.")
        await expect(kim.locator("#outcome")).to_contain_text("The note is recorded.")
        said = {name: [getattr(ask, "text", "") for _, ask in rig.asked] for name, rig in it.rigs.rigs.items()}
        assert {name: texts for name, texts in said.items() if texts} == {
            "van-6": ["Let it sit."],
            "van-7": ["Read the fan."],
        }


async def test_a_lead_points_at_a_moment_of_the_trace_and_the_technician_sees_it_there(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with shop(tmp_path, free_port) as it:
        sam, robin = await it.technician("/"), await it.lead(at="/rig/van-6/")
        await robin.locator("[data-live=traces] .main-svg").first.wait_for()
        await robin.locator("[data-live=traces]").click(position={"x": 120, "y": 60})
        about = await robin.locator("[data-live=pointed]").text_content() or ""
        assert about.startswith("About ")
        await robin.fill("#note-text", "Here the fan stopped.")
        await robin.click("#note-send")
        await expect(sam.locator("[data-live=note-text]")).to_have_text("Here the fan stopped.")
        moment = about.removeprefix("About ").removesuffix(" ×")
        await expect(sam.locator("[data-live=note-by]")).to_contain_text(f"about {moment}")
        await expect(sam.locator("[data-live=traces]")).to_contain_text("Note")
        await expect(robin.locator("[data-live=pointed]")).to_be_hidden()
        (asked,) = [ask for kind, ask in it.rigs["soon"].asked if kind == "note"]
        assert isinstance(asked, NoteAsk)
        assert asked.at_s is not None
        assert asked.at_s < time.time()
        await expect(sam.locator(".pointable, .pointed")).to_have_count(0)


async def test_an_intention_and_what_became_of_it_are_told_as_they_come(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with shop(tmp_path, free_port) as it:
        page = await it.lead()
        await shows(page, ORDER)
        soon = it.rigs["soon"]
        await soon.say("marks", warned("a7", time.time(), whom="Lee"))
        await expect(page.locator("#rig-van-6")).to_have_attribute("data-kind", "against")
        await expect(page.locator("#rig-van-6 .rig-says")).to_contain_text("Lee was warned")
        await soon.take(Added("a7", time.time(), "Lee", "technician", mass_kg=0.1))
        await expect(page.locator("#rig-van-6 .rig-says")).to_contain_text("Lee went on in spite of this")


async def test_the_page_says_when_the_broker_is_lost(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with shop(tmp_path, free_port) as it:
        page = await it.lead()
        await shows(page, ORDER)
        await expect(page.locator("[data-live=alarm]")).to_be_empty()
        it.rigs.talking = False
        await it.broker.kill()
        await expect(page.locator("[data-live=alarm]")).to_contain_text("Broker lost: what stands here is old")
        await it.broker.start()
        await expect(page.locator("[data-live=alarm]")).to_be_empty()


async def test_a_page_without_rigs_says_so(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with mosquitto(free_port(), tmp_path) as broker, chromium() as browser, AsyncExitStack() as opened:
        known = settings(tmp_path, free_port(), broker=broker.address)
        async with serving_page(known):
            it = Shop(broker, Watched({}), known, known, browser, opened)
            page = await it.lead(size="phone")
            await expect(page.locator("[data-live=nothing]")).to_contain_text("No rig has been heard yet")
            await opened.aclose()
