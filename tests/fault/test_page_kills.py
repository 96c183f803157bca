"""A visit whose page server and browser are killed at each of its steps: nothing is lost, asked or recorded twice.

Real processes: a broker, the daemon, the page server, Chromium. A few of the kills in the tests; `make visit-kills` has
the page server killed before and after every touch that records, and the browser as well.
"""

import asyncio
import os
import random
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any

import psutil
import pytest
from playwright.async_api import Locator, Page, async_playwright, expect

from ingest.record.reading import RecordFile
from ingest.visit.checklist import guided
from ingest.visit.standing import Standing
from ingest.wire.messages import Visit, decode
from tests.brokers import Ear, listening_to, mosquitto
from tests.browser import CHROMIUM, QUIET, chromium, new_page
from tests.processes import BUSY, Command, eventually, running
from tests.rigs import write_configuration

pytestmark = pytest.mark.browser

ALL = "DEWLINE_VISIT_KILLS" in os.environ
WIDTH, HEIGHT = 820, 1180
LATEST_S = 0.05
"""Killed so long after a touch at most: by then the page server has passed it on, or is about to."""

AGAIN_AFTER = 8
"""So many looks at the record later, what was touched is touched again: a page that was closed says nothing of it."""

Entered = dict[str, str]

STEPS: list[tuple[str, Entered]] = [
    ("complaint", {"chosen complaint": "Does not cool.", "chosen last_visit": "none", "chosen work": "circuit"}),
    ("which_unit", {"chosen tag": "RTU-K7Q-4", "chosen told_by": "tag"}),
    ("look_first", {"chosen found": "nothing", "chosen bypassed": "outside"}),
    ("what_is_in_it", {"chosen safety_class": "A1", "chosen cylinder": "same"}),
    ("supply", {"nameplate.low": "230 V", "rest.a_b": "231 V", "running.a_b": "229 V"}),
    ("probes_on", {"chosen unit_is": "runs", "pressure.suction": "118 psig", "pressure.liquid": "339 psig"}),
    ("air", {
        "chosen mode": "cooling", "chosen dampers": "closed", "chosen stages": "all", "chosen coil": "dry",
        "chosen condition": "met", "outdoor": "86 °F",
    }),
]  # fmt: skip
"""The checks of a visit, as they are opened by hand one after the other, and what is entered in each."""


class Served:
    """A page server that can be killed, beside a daemon and a broker that stay."""

    def __init__(self, arguments: list[str], directory: Path) -> None:
        self._arguments = arguments
        self._logs = (directory / f"page-{number}.log" for number in count(1))
        self._running = AsyncExitStack()
        self._command: Command | None = None

    async def start(self) -> None:
        self._command = await self._running.enter_async_context(running(self._arguments, next(self._logs)))

    async def kill(self) -> None:
        assert self._command is not None
        self._command.process.kill()
        await self._command.process.wait()
        await self._running.aclose()


class House:
    """A rig with its page. ear: what it publishes. record: its file."""

    def __init__(self, ear: Ear, served: Served, page_port: int, record: Path) -> None:
        self.ear, self.served, self.page_port, self.record = ear, served, page_port, record
        self.address = f"http://127.0.0.1:{page_port}/visit"

    def findings(self) -> list[str]:
        """Give the checks in the order in which they were recorded."""
        return [mark.check for mark in self.marks() if mark.kind == "finding"]

    def marks(self) -> list[Any]:
        """Give the marks of the visit, as they stand in the record."""
        record = RecordFile(self.record)
        visit = record.newest_visit()
        assert visit is not None
        return [each.mark for each in record.marks_after(visit, 0)]

    def told(self) -> Visit:
        """Give how the visit stands, as the rig says."""
        return decode(self.ear.payloads("dewline/1/bench/visit")[-1], Visit)


@asynccontextmanager
async def house(directory: Path, free_port: Callable[[], int]) -> AsyncIterator[House]:
    """Start all of it, until the block ends."""
    page_port, record = free_port(), directory / "bench.sqlite"
    async with mosquitto(free_port(), directory) as broker, listening_to(broker.address) as ear:
        url = f"mqtt://127.0.0.1:{broker.address.port}"
        rig = write_configuration(directory, f'url = "{url}"')
        page = ["dashboard", "--broker", url, "--record", str(record), "--port", str(page_port)]
        served = Served([*page, "--data-directory", str(directory)], directory)
        async with running(["daemon", "--config", str(rig)], directory / "daemon.log"):
            await served.start()
            try:
                await ear.until(lambda: bool(ear.payloads("dewline/1/bench/visit")))
                await eventually("the page is served", lambda: answers(page_port))
                yield House(ear, served, page_port, record)
            finally:
                await served.kill()


async def answers(port: int) -> bool:
    """Whether something listens there."""
    try:
        _, writer = await asyncio.open_connection("127.0.0.1", port)
    except ConnectionError:
        return False
    writer.close()
    return True


async def ready(page: Page) -> None:
    """Wait until the page shows checks of the visit."""
    await page.locator(".round-line").first.wait_for()


def card_of(page: Page, check: str) -> Locator:
    """Find a check: alone, as a person opened it, or a line of its group."""
    return page.locator(f'[data-live=check] > [data-card="{check}"], .round-line[data-card="{check}"]')


async def opened(page: Page, check: str) -> Locator:
    """Give the card of a check: as it stands open, else opened by its row."""
    card = page.locator(f'[data-live=check] > [data-card="{check}"]')
    if not await card.is_visible():
        row = page.locator("[data-live=groups] .row", has_text=guided()[check].check.title)
        await row.evaluate("row => { row.closest('details').open = true; }")
        await row.click()
    await expect(card).to_have_count(1)
    return card


async def enter(card: Locator, entered: Entered) -> None:
    """Enter what is known of a check, but for a choice that is left alone: the key that answers it records it all."""
    for name, words in entered.items():
        place = card.locator(f'[data-field="{name}"]')
        if await card.locator(f'.card-field-choice.answered-below[data-field="{name}"]').count():
            continue
        if not await place.is_visible():
            await card.locator(".otherwise > summary").click()
        option = place.locator(f'button[data-key$=" {words}"]')
        if await option.count() and await option.is_visible():
            if await option.get_attribute("aria-pressed") != "true":
                await option.click()
        else:
            await place.locator("input, textarea").fill(words)


_STANDS = """places => Object.fromEntries(places.map(place => {
    const pressed = place.querySelector('button[aria-pressed="true"]');
    const typed = place.querySelector("input:not([type=file]), textarea");
    return [place.dataset.field, pressed ? pressed.dataset.key.split(" ").at(-1) : (typed?.value ?? "")];
}))"""
"""What stands in fields, read at once: their card may be drawn anew at any moment."""


async def stands(card: Locator) -> Entered:
    """Read what stands in a card."""
    found: Entered = await card.locator("[data-field]").evaluate_all(_STANDS)
    return {name: words for name, words in found.items() if words}


async def left_of(card: Locator) -> list[str]:
    """Name what is left to answer when all else stands: the key that answers it records the check."""
    left: list[str] = await card.locator(".answered-below").evaluate_all("them => them.map(it => it.dataset.field)")
    return left


async def record(card: Locator, entered: Entered) -> None:
    """Touch the key that records a check which stands alone, and what is left to answer of it."""
    key = card.locator("> .card-keys .button-main")
    for name in await left_of(card):
        key = card.locator(f'[data-key="answers {name} {entered[name]}"]')
    await key.click(no_wait_after=True)


async def heard_again(page: Page, house: House) -> None:
    """Wait until the page hears its server, which was killed."""
    await eventually("the page is served", lambda: answers(house.page_port))
    await expect(page.locator("[data-live=alarm]")).not_to_contain_text("lost its server")


async def recorded(page: Page, house: House, check: str, entered: Entered) -> None:
    """Touch the key that records until the rig has it, as a person does where nothing came of it."""
    for number in range(int(10 * BUSY)):
        if check in house.findings():
            return
        said = await card_of(page, check).locator("> .card-result").all_text_contents()
        if number == AGAIN_AFTER or any(said):
            await record(await opened(page, check), entered)
        await asyncio.sleep(0.25)
    pytest.fail(f"the finding of {check} was not recorded")


async def kill_page_server(house: House, page: Page) -> None:
    """Kill it, see that the page notices, and start it again."""
    await house.served.kill()
    await expect(page.locator("[data-live=alarm]")).to_contain_text("lost its server")
    await house.served.start()
    await heard_again(page, house)


async def the_same_stands(page: Page, check: str, before: Entered) -> None:
    """See that a check stands open as it stood before."""
    card = card_of(page, check)
    await expect(card).to_have_count(1)
    assert await stands(card) == before


async def all_is_as_it_was(house: House, page: Page, done: list[str]) -> None:
    """See that everything is in the record once, in order, and that the fold of it is what the rig says."""
    assert house.findings() == done
    said, marks = house.told(), house.marks()
    again = Standing(said.visit, marks).message()
    assert again.findings == said.findings
    assert again.progress == said.progress
    met = [it.check for it in said.findings if it.outcome == "met"]
    asked = page.locator("[data-live=check] > [data-card], .round-line[data-card]")

    async def asks_on() -> bool:
        words: list[str] = await asked.evaluate_all("cards => cards.map(card => card.dataset.card)")  # at once
        return bool(words) and not set(words) & set(met)

    await eventually("the page asks for what is open, and nothing twice", asks_on)


async def test_what_is_touched_while_the_page_server_is_dead_is_recorded_once_it_is_back(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    check, entered = STEPS[0]
    async with house(tmp_path, free_port) as it, chromium() as browser:
        page = await new_page(browser, width=WIDTH, height=HEIGHT)
        await page.goto(it.address)
        await ready(page)
        card = await opened(page, check)
        await enter(card, entered)
        before = await stands(card)
        await it.served.kill()
        await record(card, entered)
        await expect(card.locator("> .card-result")).to_contain_text("Touch it again once it is back")
        await it.served.start()
        await heard_again(page, it)
        await the_same_stands(page, check, before)
        await recorded(page, it, check, entered)
        await eventually("the page is where the rig is", lambda: is_settled(it, [check]))
        await all_is_as_it_was(it, page, [check])


@pytest.mark.skipif(not ALL, reason="a minute: make visit-kills")
async def test_whatever_moment_the_page_server_is_killed_at_the_visit_goes_on(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    chance = random.Random(20261130)
    done: list[str] = []
    async with house(tmp_path, free_port) as it, chromium() as browser:
        page = await new_page(browser, width=WIDTH, height=HEIGHT)
        await page.goto(it.address)
        await ready(page)
        for number, (check, entered) in enumerate(STEPS):
            card = await opened(page, check)
            await enter(card, entered)
            before = await stands(card)
            assert {name for name, words in entered.items() if before.get(name) != words} == set(await left_of(card))
            await kill_page_server(it, page)
            await the_same_stands(page, check, before)
            await page.reload()  # or it was closed meanwhile
            await the_same_stands(page, check, before)
            await record(await opened(page, check), entered)
            await asyncio.sleep(chance.uniform(0.0, LATEST_S))
            await it.served.kill()
            await it.served.start()
            if number % 2:
                await heard_again(page, it)
            else:
                await eventually("the page is served", lambda: answers(it.page_port))
                await page.goto(it.address)  # it was closed meanwhile
                await ready(page)
            await recorded(page, it, check, entered)
            done.append(check)
        await eventually("the page is where the rig is", lambda: is_settled(it, done))
        await all_is_as_it_was(it, page, done)


async def is_settled(house: House, done: list[str]) -> bool:
    """Whether the rig has told of all that was recorded."""
    return len(house.told().findings) == len(done)


@pytest.mark.skipif(not ALL, reason="a minute: make visit-kills")
async def test_a_browser_that_is_killed_comes_back_to_the_same_card(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """Its profile is on the disk within some seconds of an entry; it is killed once that is there."""
    profile = tmp_path / "profile"
    done: list[str] = []
    async with house(tmp_path, free_port) as it:
        for check, entered in STEPS:
            async with killable(profile) as page:
                await page.goto(it.address)
                await ready(page)
                card = await opened(page, check)
                await enter(card, entered)
                before = await stands(card)
                await eventually("the drafts are on the disk", lambda page=page: is_kept(page, profile))  # type: ignore[misc]
            async with killable(profile) as page:
                await page.goto(it.address)
                await ready(page)
                await the_same_stands(page, check, before)
                await record(await opened(page, check), entered)
                await recorded(page, it, check, entered)
            done.append(check)
        async with killable(profile) as page:
            await page.goto(it.address)
            await ready(page)
            await eventually("the rig tells all", lambda: is_settled(it, done))
            await all_is_as_it_was(it, page, done)


@asynccontextmanager
async def killable(profile: Path) -> AsyncIterator[Page]:
    """A browser that keeps its profile, killed when the block ends."""
    async with async_playwright() as playwright:
        context = await playwright.chromium.launch_persistent_context(
            profile, executable_path=CHROMIUM, args=QUIET, viewport={"width": WIDTH, "height": HEIGHT}
        )
        yield context.pages[0]
        kill_browser_of(profile)


def kill_browser_of(profile: Path) -> None:
    """Kill the browser that has this profile, and all that it started."""
    for process in psutil.process_iter():
        with suppress(psutil.NoSuchProcess, psutil.ZombieProcess, psutil.AccessDenied):
            if f"--user-data-dir={profile}" in process.cmdline():
                process.send_signal(signal.SIGKILL)


async def is_kept(page: Page, profile: Path) -> bool:
    """Whether what the page keeps is in a file of the profile."""
    kept = await page.evaluate("localStorage.getItem('visit-drafts')")
    forms = (kept.encode("latin-1", "replace"), kept.encode("utf-16-le"))
    files = (profile / "Default" / "Local Storage" / "leveldb").glob("*.log")
    return any(form in file.read_bytes() for file in files for form in forms)
