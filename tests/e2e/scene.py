"""The pages of a rig that exists only on the wire, in a real browser: what the tests of them share."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path

import pytest
import pytest_asyncio
from axe_playwright_python.async_playwright import Axe
from playwright.async_api import Browser, Page, expect

from dashboard.hub import Hub
from dashboard.invitations import make_invitation
from dashboard.roles import Visitor, visitor
from dashboard.settings import Settings
from ingest.visit.standing import Standing
from tests import wire_rig
from tests.brokers import Mosquitto, mosquitto
from tests.browser import borrow, chromium, give_back
from tests.page import serving_page, settings
from tests.processes import eventually, page_port, unused_port
from tests.wire_rig import WireRig

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "tablet lying": (1180, 820), "desk": (1440, 900)}
THEMES = ("light", "dark", "sun")
SMALLEST_TARGET_PX = 48
PATIENCE_MS = 60_000
EVERY_S = 1.0
"""Packs come slower than from a daemon: each is painted, and a test that only waits pays for that."""
LIGHT = "if (location.protocol === 'http:') localStorage.theme ??= 'light'"
QUIET = "/assets/shared/browser/icons/dewline.svg"
"""Where a page rests between two tests: at nothing that moves."""


@dataclass
class Scene:
    """A page that watches a rig. `talk` keeps packs coming; `values` and `old` channels can be changed."""

    broker: Mosquitto
    rig: WireRig
    known: Settings
    hub: Hub
    browser: Browser
    values: dict[str, float | None]
    old: dict[str, float]
    pages: list[Page] = field(default_factory=list)
    saved: bool = True
    talking: bool = True
    sequence: int = 0

    async def tell(self, time_s: float) -> None:
        self.sequence += 1
        number = self.sequence if self.saved else None
        unsaved = 0 if self.saved else 3
        await self.rig.say("readings", wire_rig.pack(number, self.values, time_s=time_s, old=self.old, unsaved=unsaved))

    async def talk(self) -> None:
        while True:
            if self.talking:
                await self.tell(time.time())
            await asyncio.sleep(EVERY_S)

    async def open(self, *, size: str = "tablet lying", at: str = "/") -> Page:
        width, height = SIZES[size]
        page = await borrow(self.browser, width=width, height=height, script=LIGHT)
        self.pages.append(page)
        page.set_default_timeout(PATIENCE_MS)
        await page.goto(self.url + at)
        return page

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.known.port}"

    async def open_as_lead(self, *, size: str = "tablet lying", link: str = "") -> Page:
        """Open the page by an invitation, as Robin."""
        _, door, token = (link or make_invitation(self.known, "lead")).partition("/join")
        page = await self.open(size=size, at=door + token)
        await page.fill("#name", "Robin")
        await page.click("button")
        return page

    async def join_as_lead(self, page: Page, at: str = "/") -> Page:
        """Let an open page, or one that is opened, enter by an invitation as its button would, and go on as Robin's."""
        _, _, token = make_invitation(self.known, "lead").partition("token=")
        form, sent = {"token": token, "name": "Robin"}, {"Origin": self.url}
        answer = await page.request.post(f"{self.url}/join", form=form, headers=sent, max_redirects=0)
        assert answer.status == HTTPStatus.SEE_OTHER, await answer.text()
        await page.goto(self.url + at)
        return page


@asynccontextmanager
async def scene(directory: Path, free_port: Callable[[], int], **changes: object) -> AsyncIterator[Scene]:
    started_s = time.time() - 41 * 60
    """A broker, a rig and a server of their own; their pages open in tabs that stay, at an address that stays."""
    async with mosquitto(free_port(), directory) as broker, chromium() as browser:
        known = settings(directory, page_port(), broker=broker.address)
        async with wire_rig.wire_rig(broker.address.port) as rig, serving_page(known) as hub:
            await rig.arrive(wire_rig.about(started_s=started_s, **changes))

            async def heard() -> bool:
                return hub.advice is not None

            await eventually("the page listens: what is told before is not kept by a broker", heard)
            it = Scene(broker, rig, known, hub, browser, dict(wire_rig.values()), {})
            talking = asyncio.create_task(it.talk())
            try:
                yield it
                for page in it.pages:
                    await give_back(page, it.url + QUIET)
            finally:
                talking.cancel()
                await asyncio.wait([talking])


async def drawn(page: Page) -> None:
    """Let a page draw what it has heard."""
    await page.evaluate("new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")


async def resize(page: Page, size: str) -> None:
    """Give the page another size, and let it be drawn anew."""
    width, height = SIZES[size]
    await page.set_viewport_size({"width": width, "height": height})
    await page.wait_for_function("size => innerWidth === size[0] && innerHeight === size[1]", arg=[width, height])
    await drawn(page)


async def ready(page: Page) -> Page:
    await page.locator("[data-figure=superheat]").wait_for()
    return page


async def no_barrier_in_any_theme(page: Page, *parts: str) -> None:
    """Try the page as it stands in each theme, chosen by its key, also where a dialog lies over that.

    Or only parts of it, where the rest was tried before.
    """
    for theme in (*THEMES[1:], THEMES[0]):
        await page.locator(f"[data-choice=theme] [data-value={theme}]").evaluate("key => key.click()")
        await expect(page.locator("html")).to_have_attribute("data-theme", theme)
        assert await barriers(page, theme, *parts) == [], theme


async def barriers(page: Page, theme: str = "light", *parts: str) -> list[str]:
    """What keeps somebody from using the page; of a theme that is not the first, what its colours do.

    WCAG 2.2, success criterion 1.4.6: at least 7:1 in the sun.
    """
    rules = {"light": [], "dark": ["color-contrast"], "sun": ["color-contrast-enhanced"]}[theme]
    options = {"resultTypes": ["violations"], **({"runOnly": rules} if rules else {})}
    for part in parts:
        await expect(page.locator(part)).to_be_visible()
    if not await page.evaluate("'axe' in window"):
        await page.evaluate(Axe().axe_script)
    found = await page.evaluate(
        "([parts, options]) => axe.run(parts.length ? { include: parts } : document, options)", [parts, options]
    )
    return [f"{each['id']}: {node['html'][:160]}" for each in found["violations"] for node in each["nodes"]]


async def wider_or_smaller(page: Page, within: str = ":root") -> list[str]:
    """What does not fit on the screen, and what a glove would miss."""
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    return await page.locator(within).evaluate(
        """(part, least) => [...part.querySelectorAll("button, input, textarea, a, summary")]
            .filter(target => target.checkVisibility())
            .map(target => [target.id || target.textContent, target.getBoundingClientRect()])
            .filter(([, box]) => box.width < least || box.height < least || box.right > innerWidth)
            .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)""",
        SMALLEST_TARGET_PX,
    )


COVERED = """parts => parts.filter(part => {
    const box = part.getBoundingClientRect();
    const seen = y => part.contains(document.elementFromPoint((box.left + box.right) / 2, y));
    return !seen(box.top + 2) || !seen(box.bottom - 2);
}).map(part => part.textContent)"""


BACKGROUND = "key => getComputedStyle(key).backgroundColor"


@contextmanager
def watched_by_a_long_name(it: Scene) -> Iterator[None]:
    """The header is three lines high then."""
    who = visitor.set(Visitor("lead", "Alexandra Featherstone-Robinson"))
    viewer = it.hub.join("us")
    visitor.reset(who)
    try:
        yield
    finally:
        it.hub.leave(viewer)


@dataclass
class Shown:
    """One page that stays open over many tests, which change what it is told; for those that fill in no dialog."""

    scene: Scene
    page: Page
    visits: int = 1
    known_state: bool = True

    @asynccontextmanager
    async def anew(self, size: str = "tablet lying", **changes: object) -> AsyncIterator[tuple[Scene, Page]]:
        """Begin another visit, with the page as it opens; the rig is silent again when the block ends."""
        it, rig = self.scene, self.scene.rig
        self.visits += 1
        rig.refuse_with, rig.asks_back, rig.standing = "", None, Standing("v1")
        rig.asked.clear()
        it.values, it.old, it.saved, it.talking = dict(wire_rig.values()), {}, True, True
        minutes = 41 + self.visits
        started_s = time.time() - 60 * minutes - 5
        await rig.arrive(wire_rig.about(started_s=started_s, **{"visit": f"visit-{self.visits}", **changes}))
        await it.tell(time.time())
        told = it.sequence

        async def heard() -> bool:
            return it.hub.newest is not None and (it.hub.newest.sequence or 0) >= told

        await eventually("the page's server has heard of the other visit", heard)
        await self._open_anew(size)
        hours = f"{minutes // 60}:{minutes % 60:02d}"
        await expect(self.page.locator("[data-live=visit]")).to_have_text(hours)
        await drawn(await ready(self.page))
        self.known_state = False
        yield it, self.page
        self.known_state = True
        it.talking = False

    async def _open_anew(self, size: str) -> None:
        """Show the page as it opens: with its first choices, listening from the beginning, as a choice of units does.

        After a test that failed nobody knows what stands in it.
        """
        if self.known_state:
            await self.page.evaluate(AS_IT_OPENS)
            for choice, value in (("theme", "light"), ("units", "us")):
                key = self.page.locator(f"[data-choice={choice}] [data-value={value}]")
                await key.evaluate("key => key.click()")
        else:
            await self.page.reload()
        await resize(self.page, size)


AS_IT_OPENS = """() => {
    for (const dialog of document.querySelectorAll("dialog[open]")) dialog.close();
    document.querySelector("[data-live=log-whole]").dataset.shows = "";
    document.querySelector(".opinion").classList.remove("all");
    for (const folded of document.querySelectorAll(".judgement, .cause, .fold")) folded.open = false;
    for (const cautions of document.querySelectorAll(".beware, .rest")) cautions.dataset.shown = "";
    document.activeElement.blur();
    localStorage.clear();
    scrollTo(0, 0);
}"""


@pytest_asyncio.fixture(scope="module", loop_scope="session")
async def shown(_browser: None, tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Shown]:
    """The page that the tests of a file share."""
    async with scene(tmp_path_factory.mktemp("shown"), unused_port) as it:
        yield Shown(it, await ready(await it.open()))
