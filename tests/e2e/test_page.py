"""The Charge page in a real browser, fed over a real broker by a rig that exists only on the wire."""

import asyncio
import math
import re
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import msgspec
import pytest
from axe_playwright_python.async_playwright import Axe
from playwright.async_api import Browser, Page, expect

from dashboard.hub import Hub
from dashboard.invitations import Doorkeeper, make_invitation
from dashboard.roles import Visitor, visitor
from dashboard.settings import Settings
from ingest.wire.messages import Added, NextStepMessage, Note, NotSaved, Status, Steadiness, Wording
from tests import wire_rig
from tests.brokers import Mosquitto, mosquitto
from tests.browser import chromium, figure, new_page
from tests.page import serving_page, settings
from tests.processes import eventually
from tests.wire_rig import WireRig

pytestmark = pytest.mark.browser

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "tablet lying": (1180, 820), "desk": (1440, 900)}
THEMES = ("light", "dark", "sun")
SMALLEST_TARGET_PX = 48
PATIENCE_MS = 60_000


@dataclass
class Scene:
    """A page that watches a rig. `live` keeps packs coming; `known` values and `old` channels can be changed."""

    broker: Mosquitto
    rig: WireRig
    known: Settings
    hub: Hub
    browser: Browser
    values: dict[str, float | None]
    old: dict[str, float]
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
            await asyncio.sleep(0.25)

    async def open(self, *, size: str = "tablet lying", theme: str = "light", at: str = "/") -> Page:
        width, height = SIZES[size]
        page = await new_page(self.browser, width=width, height=height, script=f"localStorage.theme ??= '{theme}'")
        page.set_default_timeout(PATIENCE_MS)
        await page.goto(f"http://127.0.0.1:{self.known.port}{at}")
        return page


@asynccontextmanager
async def scene(directory: Path, free_port: Callable[[], int], **changes: object) -> AsyncIterator[Scene]:
    started_s = time.time() - 41 * 60
    async with mosquitto(free_port(), directory) as broker, chromium() as browser:
        known = settings(directory, free_port(), broker=broker.address)
        async with wire_rig.wire_rig(broker.address.port) as rig, serving_page(known) as hub:
            await rig.arrive(wire_rig.about(started_s=started_s, **changes))

            async def heard() -> bool:
                return hub.advice is not None

            await eventually("the page listens: what is told before is not kept by a broker", heard)
            it = Scene(broker, rig, known, hub, browser, dict(wire_rig.values()), {})
            talking = asyncio.create_task(it.talk())
            try:
                yield it
            finally:
                talking.cancel()
                await asyncio.wait([talking])


async def ready(page: Page) -> Page:
    await page.locator("[data-figure=superheat]").wait_for()
    return page


async def test_the_figures_carry_their_uncertainty_and_change_units_without_a_reload(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        assert (await figure(page, "superheat"), await figure(page, "subcooling")) == (18.3, 6.8)
        ruler = page.locator("[data-live=ruler]")
        await expect(ruler).to_contain_text("± 1.0 °F")  # k = 2: 2 x 0.29 K = 1.04 °F
        await expect(ruler).to_contain_text("dew point 39.8")
        await expect(ruler).to_contain_text("118.2 psig")
        await page.evaluate("window.stillHere = true")
        await page.click("[data-choice=units] [data-value=si]")
        await expect(ruler).to_contain_text("815 kPa gauge")  # 118.2 psi x 6.894 757 (NIST SP 811, B.8)
        assert await figure(page, "superheat") == 10.2
        assert await page.evaluate("window.stillHere")
        await page.reload()
        await ready(page)
        await expect(page.locator("[data-choice=units] [data-value=si]")).to_have_attribute("aria-pressed", "true")


async def test_a_pack_is_painted_soon_after_it_is_published(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        for superheat in (11.1, 12.2, 13.3):
            it.values.update(wire_rig.values(superheat))

            async def painted(expected: float = superheat) -> bool:
                return await figure(page, "superheat") == expected

            await eventually("the new figure is painted", painted, within_s=5)


async def test_silence_is_told_within_seconds_and_nothing_old_passes_for_new(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await expect(page.locator("[data-live=saved]")).to_contain_text("Saved")
        await expect(page.locator("[data-live=sentence]")).to_have_text("Wait. Still settling.")
        it.talking = False
        silence = page.locator("[data-live=silence]")
        await expect(silence).to_contain_text("No data for")
        await expect(silence).to_contain_text("these figures are old")
        for faded in (".ruler-drawing", ".chart >> nth=0", ".readings >> nth=0"):
            await expect(page.locator(faded)).to_have_css("opacity", "0.38")
        await expect(silence).to_have_css("opacity", "1")
        await expect(page.locator("[data-live=instrument-count]")).to_contain_text("? of")
        await expect(page.locator("[data-live=instrument-count]")).not_to_have_class(re.compile(r"\bgood\b"))
        await expect(page.locator("[data-live=saved]")).to_contain_text("No data")
        await expect(page.locator("[data-live=sentence]")).to_have_text("No data from the rig.")
        await expect(page.locator("[data-live=details]")).to_be_empty()  # no "in 4 min" of before
        await expect(page.locator("[data-live=ruler]")).to_contain_text("s old")
        it.talking = True
        await expect(page.locator("[data-live=silence]")).to_be_empty()
        await expect(page.locator(".ruler-drawing")).to_have_css("opacity", "1")
        await expect(page.locator("[data-live=sentence]")).to_have_text("Wait. Still settling.")


async def test_a_page_opened_in_a_silence_knows_how_long_it_lasts(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.talking = False
        await it.tell(time.time())
        await asyncio.sleep(1.5)
        page = await it.open()
        await expect(page.locator("[data-live=silence]")).to_contain_text("No data for")


async def test_one_stale_instrument_fades_alone_and_says_how_old_it_is(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port, lost=["high side probe"]) as it:
        it.old.update(dict.fromkeys(("liquid_pressure", "liquid_line_temperature", "subcooling"), 42.0))
        page = await ready(await it.open())
        await expect(page.locator("[data-live=instrument-count]")).to_contain_text("Instruments 3 of 4")
        row = page.locator("[data-reading=liquid_pressure]")
        await expect(row).to_contain_text("42 s old")
        await expect(row).to_have_class("doubtful")
        await expect(page.locator("[data-reading=suction_pressure]")).not_to_have_class("doubtful")
        table = page.locator("[data-instrument='high side probe']")
        await expect(table).to_contain_text("Lost, trying again")
        await expect(table).to_contain_text("the port is gone")
        await expect(page.locator("[data-live=ruler]")).to_contain_text("42 s old")


async def test_an_unknown_figure_says_why(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.values.update({"subcooling": None, "liquid_bubble_point": None, "liquid_pressure": None})
        page = await ready(await it.open())
        assert await figure(page, "subcooling") is None
        await expect(page.locator("[data-live=ruler]")).to_contain_text("no sensor")
        assert await figure(page, "superheat") == 18.3


async def test_what_is_not_saved_is_not_shown_as_saved(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.saved = False
        page = await ready(await it.open(size="phone"))
        await expect(page.locator("[data-live=saved]")).to_contain_text("NOT SAVED")
        await expect(page.locator("[data-live=alarm]")).to_be_visible()
        it.saved = True
        await expect(page.locator("[data-live=saved]")).to_contain_text("Saved")
        await expect(page.locator("[data-live=alarm]")).to_be_hidden()


@pytest.mark.parametrize("role", ["technician", "lead"])
async def test_not_saved_stands_on_top_with_its_path_its_reason_and_its_cure(
    role: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await it.open(
            at="/" if role == "technician" else "/join" + make_invitation(it.known, role).partition("/join")[2]
        )
        if role == "lead":
            await page.fill("#name", "Robin")
            await page.click("button")
        await ready(page)
        why = NotSaved(
            "/var/lib/visit.sqlite", "the disk is full", "Free some space; recording then goes on.", time.time()
        )
        await it.rig.say("status", Status("online", 1, why), retain=True)
        banner = page.locator(".alarm")
        await expect(banner).to_contain_text("NOT SAVED since")
        for told in ("/var/lib/visit.sqlite", "the disk is full", "Free some space"):
            await expect(banner).to_contain_text(told)
        box, header = await banner.bounding_box(), await page.locator("header").first.bounding_box()
        assert box is not None
        assert header is not None
        assert box["y"] - header["height"] < 12
        await expect(page.locator("[data-live=saved]")).to_have_text("NOT SAVED")
        await it.rig.say("status", Status("online", 1), retain=True)
        await expect(banner).to_be_hidden()
        await expect(page.locator("[data-live=saved]")).to_contain_text("Saved")


async def test_refrigerant_added_is_reviewed_recorded_and_shown(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.click("#added-open")
        dialog = page.locator("#added-dialog")
        await expect(dialog).to_contain_text("R-410A is a blend: out of the cylinder as liquid")
        await expect(dialog).to_contain_text("Gloves and eye protection")
        await expect(dialog.locator("[data-value=liquid]")).to_have_attribute("aria-pressed", "true")
        record = page.locator("#added-confirm")
        await expect(record).to_be_disabled()
        await expect(page.locator("#added-amount")).to_have_value("")  # nothing is advised
        await page.fill("#added-amount", "six")
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("cannot be read")
        await page.fill("#added-amount", "500 oz")  # into a unit of 3.4 kg: refused before it is sent, in these units
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text(
            "31 lb 4 oz added: the nameplate's charge is 7 lb"
        )
        await expect(page.locator("#added-reviewed")).not_to_contain_text("kg")
        await expect(record).to_be_disabled()
        await page.fill("#added-amount", "6")
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("6 oz of R-410A added as liquid.")
        await page.fill("#added-amount", "60")  # whatever changes after the review must be reviewed again
        await expect(record).to_be_disabled()
        await page.fill("#added-amount", "6")
        await dialog.locator("[data-value=vapour]").click()
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("must be charged as liquid")
        await dialog.locator("[data-value=liquid]").click()
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("added as liquid")
        assert not it.rig.asked
        await record.dblclick()
        await expect(dialog).to_be_hidden()  # once it is recorded
        await expect(page.locator("#outcome")).to_contain_text("Recorded: +6 oz liquid")
        await expect(page.locator("[data-live=log]")).to_contain_text("+6 oz liquid")
        await expect(page.locator("#outcome")).to_contain_text("Now wait until the figures have settled")
        await expect(page.locator("[data-live=traces]")).to_contain_text("+6 oz liquid")
        await expect(page.locator("[data-live=totals]")).to_have_text("added 6 oz")
        assert len({ask.id for _, ask in it.rig.asked}) == 1  # touched twice, recorded once
        assert it.rig.asked[0][1].mass_kg == pytest.approx(0.17009714, rel=1e-6)  # NIST SP 811, B.8


async def enter_amount(page: Page, amount: str, *, dialog: str = "added") -> None:
    await page.fill(f"#{dialog}-amount", amount)
    await page.click(f"#{dialog}-review")
    await expect(page.locator(f"#{dialog}-confirm")).to_be_enabled()


@pytest.mark.parametrize(
    ("units", "written", "kilograms"),
    [
        ("us", "7 lb 4 oz", 3.28854468),  # NIST SP 811, B.8: 1 lb = 4.535 924 E-01 kg, 1 oz = 2.834 952 E-02 kg
        ("us", "6 oz", 0.17009714),
        ("us", "170 g", 0.170),
        ("si", "170", 0.170),
        ("si", "1.2 kg", 1.2),
        ("si", "6 oz", 0.17009714),
    ],
)
async def test_amounts_are_taken_as_the_trade_writes_them(
    units: str, written: str, kilograms: float, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.click(f"[data-choice=units] [data-value={units}]")
        await page.click("#recovered-open")
        await enter_amount(page, written, dialog="recovered")
        await page.click("#recovered-confirm")
        await expect(page.locator("#recovered-dialog")).to_be_hidden()
        ((kind, ask),) = it.rig.asked
        assert kind == "recovered"
        assert ask.mass_kg == pytest.approx(kilograms, rel=1e-7)


SETS_THE_CURSOR = "it => it.addEventListener('mouseup', () => it.setSelectionRange(9, 9), { once: true })"
"""As a browser does that lets the end of a touch undo what was selected when it began."""


async def test_what_is_advised_is_filled_in_and_may_be_changed(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        step = NextStepMessage(0.1134, 0.3, 0.2, 0.4, "liquid", limited_by="")
        advice = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[], next_step=step)
        await it.rig.say("advice", advice, retain=True)
        page = await ready(await it.open())
        await expect(page.locator(".cause")).to_have_count(2)
        await page.click("#added-open")
        amount = page.locator("#added-amount")
        await expect(amount).to_have_value("4 oz")
        await amount.click()
        await page.keyboard.type("12")  # in place of what stands there, not behind it
        await expect(amount).to_have_value("12")
        await page.locator("#added-dialog [data-value=vapour]").focus()
        await amount.evaluate(SETS_THE_CURSOR)
        await amount.click()
        await page.keyboard.type("8")
        await expect(amount).to_have_value("8")
        await page.locator("#added-dialog [data-value=vapour]").focus()
        await amount.focus()
        await page.keyboard.type("6 oz")
        await expect(amount).to_have_value("6 oz")
        await amount.press("Home")
        await page.keyboard.type("1")  # nor is it selected while it is being written
        await expect(amount).to_have_value("16 oz")
        await enter_amount(page, "5 oz")
        await page.keyboard.press("Escape")
        await page.click("#recovered-open")
        await expect(page.locator("#recovered-amount")).to_have_value("")  # nobody advises to recover
        await page.keyboard.press("Escape")
        stop = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), next_step=step)
        await it.rig.say("advice", stop, retain=True)
        await expect(page.get_by_role("alert", name="Stop")).to_be_visible()
        await page.click("#added-open")
        await expect(page.locator("#added-dialog")).to_contain_text("Add no more")
        await expect(page.locator("#added-amount")).to_have_value("")


async def test_an_unlikely_amount_is_asked_about_before_it_is_written(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.asks_back = Wording("60 oz added in one go. Is that so?", "1.70 kg added in one go. Is that so?")
        page = await ready(await it.open())
        await page.click("#added-open")
        await enter_amount(page, "60 oz")
        reviewed = page.locator("#added-reviewed")
        await expect(reviewed).to_contain_text("3 lb 12 oz of R-410A added as liquid.")
        await expect(reviewed).to_contain_text("3 lb 12 oz added in one go, and the nameplate's charge is 7 lb")
        await expect(reviewed).not_to_contain_text("to keep it")
        record = page.locator("#added-confirm")
        await record.click()
        await expect(page.locator("#added-reviewed")).to_have_text("60 oz added in one go. Is that so?")
        await expect(record).to_have_text("Yes, record it")
        await page.fill("#added-amount", "6 oz")  # a second thought takes the question back
        await expect(record).to_be_disabled()
        await enter_amount(page, "60 oz")
        await record.click()
        await expect(record).to_have_text("Yes, record it")
        await record.click()
        await expect(page.locator("#added-dialog")).to_be_hidden()
        assert [ask.confirmed for _, ask in it.rig.asked] == [False, False, True]
        assert len({ask.id for _, ask in it.rig.asked}) == 1


async def test_an_amount_is_corrected_by_one_touch_from_the_log_and_nothing_is_erased(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    slip = Added("m1", time.time() - 240, by="Sam", role="technician", mass_kg=1.7009714, phase="liquid")
    async with scene(tmp_path, free_port, marks=[slip]) as it:
        page = await ready(await it.open())
        log = page.locator("[data-live=log]")
        await log.get_by_role("button", name="Correct +3 lb 12 oz liquid").click()
        await expect(page.locator("#correction-dialog")).to_contain_text("+3 lb 12 oz liquid, recorded by Sam.")
        await expect(page.locator("#correction-amount")).to_have_value("3 lb 12 oz")
        await page.click("#correction-amount")
        await page.keyboard.type("5")
        await expect(page.locator("#correction-amount")).to_have_value("5")
        await enter_amount(page, "6 oz", dialog="correction")
        await expect(page.locator("#correction-reviewed")).to_contain_text("It was 6 oz.")
        await page.click("#correction-confirm")
        await expect(page.locator("#correction-dialog")).to_be_hidden()
        ((kind, ask),) = it.rig.asked
        assert (kind, ask.of) == ("correction", "m1")
        assert ask.mass_kg == pytest.approx(0.17009714, rel=1e-6)  # NIST SP 811, B.8
        await expect(log).to_contain_text("It was 6 oz")
        await expect(log.locator(".corrected")).to_contain_text("+3 lb 12 oz liquid")
        await expect(page.locator("[data-live=totals]")).to_have_text("added 6 oz")
        traces = page.locator("[data-live=traces]")
        await expect(traces).to_contain_text("+6 oz liquid")  # what it really was, where it was moved
        await expect(traces).not_to_contain_text("3 lb 12 oz")
        await expect(page.locator("#outcome")).to_have_text("Recorded: It was 6 oz.")  # on paper nothing settles
        await log.get_by_role("button", name="Correct +3 lb 12 oz liquid").click()
        await expect(page.locator("#correction-amount")).to_have_value("6 oz")
        await page.locator("#correction-dialog [data-value=nothing]").click()
        await expect(page.locator("#correction-amount")).to_be_hidden()  # "It really was 6 oz" would contradict it
        await page.click("#correction-review")
        await expect(page.locator("#correction-reviewed")).to_contain_text("Nothing was moved.")
        await page.click("#correction-confirm")
        await expect(log).to_contain_text("Amount withdrawn")
        assert it.rig.asked[-1][1].mass_kg is None


async def test_a_lead_corrects_nothing_and_sees_every_mark(tmp_path: Path, free_port: Callable[[], int]) -> None:
    marks = [Added(f"m{number}", time.time() - 240 + number, by="Sam", mass_kg=0.1) for number in range(8)]
    async with scene(tmp_path, free_port, marks=marks) as it:
        lead = await it.open(at="/join" + make_invitation(it.known, "lead").partition("/join")[2])
        await lead.fill("#name", "Robin")
        await lead.click("button")
        await ready(lead)
        log = lead.locator("[data-live=log]")
        await expect(log.locator("li")).to_have_count(5)
        await lead.get_by_role("button", name="Show all 8").click()
        await expect(log.locator("li")).to_have_count(8)
        await expect(log.get_by_role("button")).to_have_count(0)


COVERED = """parts => parts.filter(part => {
    const box = part.getBoundingClientRect();
    const seen = y => part.contains(document.elementFromPoint((box.left + box.right) / 2, y));
    return !seen(box.top + 2) || !seen(box.bottom - 2);
}).map(part => part.textContent)"""


@pytest.mark.parametrize("size", ["tablet lying", "phone"])
async def test_what_came_of_a_record_and_the_next_touch_stand_in_view(
    size: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.refuse_with = "not saved: the disk is full"
        page = await ready(await it.open(size=size))
        await page.set_viewport_size({"width": SIZES[size][0], "height": 600})  # less, or one line more of cautions
        await page.click("#added-open")
        await enter_amount(page, "60 oz")
        dialog = page.locator("#added-dialog")
        await dialog.evaluate("it => it.scrollTo(0, 0)")
        touched = page.locator("#added-review, #added-confirm, #added-reviewed, #added-result")
        assert await touched.evaluate_all(COVERED) == [""]  # nothing has come out yet
        await page.locator("#added-confirm").evaluate("it => it.click()")  # without scrolling to it
        await expect(page.locator("#added-result")).to_contain_text("the disk is full")
        assert await touched.evaluate_all(COVERED) == []
        await page.fill("#added-amount", "6 oz")
        await expect(page.locator("#added-result")).to_be_empty()  # it was of another amount


async def test_a_refusal_of_the_rig_is_shown_and_nothing_is_called_recorded(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.refuse_with = "not saved: the disk is full"
        page = await ready(await it.open())
        await page.click("#take-reading")
        await expect(page.locator("#outcome")).to_contain_text("the disk is full")
        it.rig.refuse_with = ""
        await page.click("#take-reading")
        await expect(page.locator("#outcome")).to_have_text("The reading is recorded.")


FIGURES_BEHIND_THE_KEYS = """Math.max(0, document.querySelector(".amps").getBoundingClientRect().bottom
    - document.querySelector(".actions").getBoundingClientRect().top)"""


def watched_by_a_long_name(it: Scene) -> None:
    """The header is three lines high then."""
    who = visitor.set(Visitor("lead", "Alexandra Featherstone-Robinson"))
    it.hub.join("us")
    visitor.reset(who)


async def test_what_was_recorded_is_told_for_a_while_and_what_was_not_until_the_next_touch(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port, speed=20.0) as it:
        page = await ready(await it.open())
        watched_by_a_long_name(it)
        await expect(page.locator("[data-live=watchers]")).to_contain_text("Featherstone-Robinson watches")
        await page.clock.install()
        outcome = page.locator("#outcome")
        for _ in range(2):
            await page.click("#take-reading")
            await expect(outcome).to_have_text("The reading is recorded.")
            assert await page.evaluate(FIGURES_BEHIND_THE_KEYS) == 0
            await page.clock.fast_forward(16_000)
            await expect(outcome).to_be_empty()
        it.rig.refuse_with = "not saved: the disk is full"
        await page.click("#take-reading")
        await expect(outcome).to_contain_text("the disk is full")
        await page.clock.fast_forward(60_000)
        await expect(page.locator("[data-live=saved]")).to_contain_text("Saved 0")  # the page goes on
        await expect(outcome).to_contain_text("the disk is full")


@pytest.mark.parametrize("stop", [False, True])
@pytest.mark.parametrize("size", SIZES)
async def test_a_note_that_comes_while_the_page_is_scrolled_stands_in_view(
    size: str, stop: bool, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    marks = [Added(f"m{number}", time.time() - 240 + number, by="Sam", mass_kg=0.1) for number in range(8)]
    async with scene(tmp_path, free_port, marks=marks) as it:
        page = await ready(await it.open(size=size))
        await it.rig.say(
            "advice", wire_rig.opinion(time_s=time.time()) if stop else wire_rig.advice(time_s=time.time())
        )
        await page.click("[data-live=log-whole]")
        await page.evaluate("scrollTo(0, document.body.scrollHeight)")
        note = Note("n1", time.time(), by="Robin", role="lead", text="Stop. " + "Let it sit, you are close. " * 18)
        it.rig.standing.take(note)
        await it.rig.say("marks", note)
        await it.rig.say("visit", it.rig.standing.message(), retain=True)
        await expect(page.locator("[data-live=note-by]")).to_contain_text("Robin")
        assert await page.locator("[data-live=note-by], #got-it").evaluate_all(COVERED) == []
        await page.click("#got-it")
        await expect(page.locator("[data-live=note]")).to_be_hidden()


async def test_an_invited_lead_warns_the_technician_and_sees_that_it_was_read(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        roof = await ready(await it.open())
        await roof.click("#invite-open")
        link = await roof.locator("[data-link=lead]").text_content()
        await roof.keyboard.press("Escape")
        lead = await it.open(size="phone", at="/join" + str(link).partition("/join")[2])
        await lead.fill("#name", "Robin")
        await lead.click("button")
        await ready(lead)
        for button in ("added-open", "recovered-open", "take-reading", "invite-open"):
            await expect(lead.locator(f"#{button}")).to_have_count(0)
        await lead.fill("#note-text", "Let it sit, you are close.")
        await lead.click("#note-send")
        note = roof.locator("[data-live=note]")
        await expect(note).to_contain_text("Let it sit, you are close.")
        await expect(note).to_contain_text("Robin")
        await expect(roof.locator("[data-live=watchers]")).to_contain_text("Robin watches")
        await expect(lead.locator(".role")).to_have_text("Robin, lead: watching")
        await lead.fill("#note-text", "Now the filter.")
        await lead.click("#note-send")
        await expect(note).to_contain_text("1 of 2")
        await expect(note).to_contain_text("Let it sit, you are close.")  # the oldest first
        await roof.locator("#got-it").dblclick()  # one touch too many reads nothing that was not shown
        await expect(note).to_contain_text("Now the filter.")
        await roof.click("#got-it")
        await expect(note).to_be_hidden()
        assert len({ask.id for kind, ask in it.rig.asked if kind == "acknowledge"}) == 2
        await expect(lead.locator("[data-live=log]")).to_contain_text("Note read")
        await expect(lead.locator("[data-live=note]")).to_be_hidden()
        assert Doorkeeper(it.known.data_directory).end_logins("Robin")
        await expect(lead.locator("body")).to_contain_text("Your login has ended.")  # and not a lost server


async def test_the_page_returns_by_itself_after_the_broker_was_away(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        it.talking = False
        await it.broker.kill()
        await expect(page.locator("[data-live=saved]")).to_contain_text("Broker lost")
        await it.broker.start()
        async with wire_rig.wire_rig(it.broker.address.port) as rig:
            for _ in range(40):
                await rig.say("readings", wire_rig.pack(None, wire_rig.values(9.9), time_s=time.time()))
                await asyncio.sleep(0.25)
                if await figure(page, "superheat") == 9.9:
                    break
        assert await figure(page, "superheat") == 9.9


UPON_A_TRACE = """() => {
    const boxes = plot => [...plot.querySelectorAll(".annotation")].map(it => it.getBoundingClientRect());
    const [traces, amps] = ["traces", "amps"].map(name => document.querySelector(`[data-live=${name}]`));
    const { xaxis, yaxis } = traces._fullLayout, { top, left } = traces.getBoundingClientRect();
    const now = left + xaxis._offset + xaxis.l2p(0);
    const highest = top + yaxis._offset + yaxis.l2p(Math.max(...traces.data.slice(0, 2).flatMap(line => line.y)));
    const rated = amps.getBoundingClientRect().top + amps._fullLayout.yaxis._offset
        + amps._fullLayout.yaxis.l2p(amps.layout.annotations[0].y);
    return {
        labels: boxes(traces).length,
        traces: boxes(traces).filter(box => box.left < now - 1 && box.bottom > highest).length,
        amps: boxes(amps).filter(box => box.bottom > rated + 1).length,
        ticks: amps.querySelectorAll(".ytick").length,
    };
}"""


async def test_the_past_is_there_when_the_page_opens_and_the_forecast_ahead_of_it(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    added = Added("m1", time.time() - 240, by="Sam", role="technician", mass_kg=0.17009714, phase="liquid")
    async with scene(tmp_path, free_port, marks=[added]) as it:
        it.talking = False
        now_s = time.time()
        for back in range(300, 0, -1):
            it.values["subcooling"] = wire_rig.settling(300 - back, start=2.0, end=8.9) / 1.8
            await it.tell(now_s - back)
        it.talking = True
        page = await ready(await it.open())
        traces = page.locator("[data-live=traces]")
        await expect(traces).to_contain_text("8.9 ± 0.5 °F")
        await expect(traces).to_contain_text("in 4 min")
        await expect(page.locator("[data-live=target-subcooling]")).to_have_text("target 10.0")  # over no trace
        await expect(traces).to_contain_text("+6 oz liquid")
        drawn = await traces.evaluate("plot => plot.data[1].y.filter(value => value !== null)")
        assert len(drawn) >= 300
        assert math.isclose(min(drawn), 2.0, abs_tol=0.1)
        for height in (820, 700):
            await page.set_viewport_size({"width": 1180, "height": height})
            await page.wait_for_function(f"document.querySelector('[data-live=traces]').clientHeight < {height / 4}")
            await page.evaluate("new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
            assert await page.evaluate(UPON_A_TRACE) == {"labels": 2, "traces": 0, "amps": 0, "ticks": 2}, height


async def test_everything_comes_from_the_machine_that_serves_the_page(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await it.open()
        hosts: set[str | None] = set()
        complaints: list[str] = []
        page.on("request", lambda request: hosts.add(urlsplit(request.url).hostname))
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        await page.reload()
        await ready(page)
        await page.click("[data-choice=minutes] [data-value='60']")
        await page.click("#added-open")
        await page.locator("#added-amount").wait_for()
        fonts = await page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px Inter'))")
        assert hosts == {"127.0.0.1"}
        assert complaints == []
        assert fonts


@pytest.mark.parametrize("theme", THEMES)
async def test_no_barrier_is_found_in_any_theme(theme: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    waiting = Note("n1", time.time(), by="Robin", role="lead", text="Let it sit.")
    async with scene(tmp_path, free_port, marks=[waiting], lost=["air probe"]) as it:
        page = await ready(await it.open(theme=theme))
        await expect(page.locator("[data-live=note]")).to_be_visible()
        assert await barriers(page, theme) == []
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
        await page.locator(".judgement summary").click()
        await expect(page.get_by_role("alert", name="Stop")).to_be_visible()
        assert await barriers(page, theme) == []
        await page.click("#added-open")
        await page.locator("#added-amount").wait_for()
        await page.fill("#added-amount", "6")
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("6 oz")
        assert await barriers(page, theme) == []


async def test_a_lead_meets_no_barrier_either(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        link = make_invitation(it.known, "lead")
        lead = await it.open(size="phone", at="/join" + link.partition("/join")[2])
        assert await barriers(lead) == []
        await lead.fill("#name", "Robin")
        await lead.click("button")
        await ready(lead)
        assert await barriers(lead) == []


async def barriers(page: Page, theme: str = "light") -> list[str]:
    """What keeps somebody from using the page; of a theme that is not the first, what its colours do."""
    options: dict[str, dict[str, object]] = {
        "light": {},
        "dark": {"runOnly": ["color-contrast"]},
        # WCAG 2.2, success criterion 1.4.6: at least 7:1 in the sun
        "sun": {"runOnly": ["color-contrast-enhanced"]},
    }
    results = await Axe().run(page, options=options[theme])
    return [
        f"{violation['id']}: {node['html'][:160]}"
        for violation in results.response["violations"]
        for node in violation["nodes"]
    ]


@pytest.mark.parametrize("size", SIZES)
async def test_it_fits_and_can_be_touched_with_gloves(size: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size=size))
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
        await expect(page.locator(".cause")).to_have_count(2)
        width, _ = SIZES[size]
        assert await page.evaluate("document.documentElement.scrollWidth") <= width
        small = await page.evaluate(
            """least => [...document.querySelectorAll("button, input, textarea, a, summary")]
                .filter(target => target.checkVisibility())
                .map(target => [target.id || target.textContent, target.getBoundingClientRect()])
                .filter(([, box]) => box.width < least || box.height < least)
                .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)""",
            SMALLEST_TARGET_PX,
        )
        assert small == []


CUT_IN_THE_HEADER = """() => {
    const header = document.querySelector(".top").getBoundingClientRect();
    const parts = [...document.querySelectorAll(
            ".top h1, .top .bench, .top .role, .top p, .facts-block > span, .top button")]
        .filter(part => part.checkVisibility() && part.textContent)
        .map(part => ({ part, says: part.textContent, box: part.getBoundingClientRect() }));
    const within = ({ part, box }) => box.left >= 0 && box.right <= innerWidth && box.top >= header.top
        && box.bottom <= header.bottom && part.scrollWidth <= Math.max(part.clientWidth, box.width + 1);
    const across = (a, b) => a.left < b.right - 1 && b.left < a.right - 1;
    const covers = (a, b) => across(a, b) && a.top < b.bottom - 4 && b.top < a.bottom - 4;
    const cut = parts.filter(part => !within(part)).map(({ says }) => says);
    const covered = (a, at) => parts.slice(at + 1).filter(b => covers(a.box, b.box)).map(b => `${a.says} / ${b.says}`);
    const below = document.querySelector(".grid").getBoundingClientRect().top;
    return [...cut, ...parts.flatMap(covered), ...(below < header.bottom - 1 ? ["what is below"] : [])];
}"""


async def test_nothing_in_the_header_is_cut_or_covered_while_a_lead_watches(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port, speed=20.0) as it:
        page = await ready(await it.open())
        watched_by_a_long_name(it)
        await expect(page.locator("[data-live=watchers]")).to_contain_text("Featherstone-Robinson watches")
        await expect(page.get_by_role("button", name="Invite")).to_contain_text("Invite")
        for theme in THEMES:
            await page.click(f"[data-choice=theme] [data-value={theme}]")
            for size, (width, height) in SIZES.items():
                await page.set_viewport_size({"width": width, "height": height})
                await page.evaluate("new Promise(requestAnimationFrame)")
                assert await page.evaluate(CUT_IN_THE_HEADER) == [], (theme, size)


async def test_what_this_page_did_not_receive_is_marked_as_being_in_the_record(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """A page away from the record, after its way to the broker was cut for a minute."""
    async with scene(tmp_path, free_port) as it:
        it.talking = False
        now_s = time.time()
        for back in range(180, 0, -2):
            if 60 < back < 120:
                it.sequence += 1  # recorded, and never heard here
            else:
                await it.tell(now_s - back)
        page = await ready(await it.open())
        await expect(page.locator("[data-live=not-received]")).to_be_visible()
        traces = page.locator("[data-live=traces]")
        drawn = await traces.evaluate("plot => plot.data[1].y.map(value => value !== null)")
        assert False in drawn[1:-1]  # no line through the hole
        whole_height = "plot => plot.layout.shapes.filter(shape => shape.type === 'rect' && shape.y1 === 1)"
        holes = await traces.evaluate(whole_height)
        assert [round(60 * (hole["x1"] - hole["x0"])) for hole in holes] == [60]


MOMENTS = {"usual": (18.3, 6.8), "flooded, empty": (-1.2, -0.6), "starved, overfull": (42.5, 27.5), "bare": (0.0, 0.0)}
CUT_OR_COVERED = """() => {
    const texts = [...document.querySelectorAll("[data-live=ruler] text")].map(text => {
        const box = text.getBoundingClientRect();  // its middle: letters do not fill the height of their line
        const [top, bottom] = [box.top + 0.15 * box.height, box.bottom - 0.15 * box.height];
        return { says: text.textContent, left: box.left, right: box.right, top, bottom };
    });
    const cut = texts.filter(text => text.left < 0 || text.right > innerWidth).map(text => text.says);
    const covers = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
    const covered = (a, at) => texts.slice(at + 1).filter(b => covers(a, b)).map(b => `${a.says} / ${b.says}`);
    return [...cut, ...texts.flatMap(covered)];
}"""


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("size", SIZES)
async def test_everything_on_the_ruler_can_be_read(
    size: str, units: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port, unit=wire_rig.unit(target_superheat_dk=8.0)) as it:
        page = await ready(await it.open(size=size))
        await page.click(f"[data-choice=units] [data-value={units}]")
        for moment, figures in MOMENTS.items():
            it.values.update(wire_rig.values(*figures))
            shown = figures[0] if units == "us" else round(figures[0] / 1.8, 1)

            async def drawn(expected: float = shown) -> bool:
                return await figure(page, "superheat") == expected

            await eventually(f"{moment} is drawn", drawn)
            assert await page.evaluate(CUT_OR_COVERED) == [], moment


async def test_an_alarm_is_told_once_and_the_key_that_stands_out_is_the_one_the_advice_asks_for(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        keys = {kind: page.locator(f"#{kind}-open") for kind in ("added", "recovered")}
        background = "key => getComputedStyle(key).backgroundColor"
        plain = await page.locator("#note-open").evaluate(background)

        async def stands_out(wanted: str) -> None:
            async def alone() -> bool:
                return {kind for kind, key in keys.items() if await key.evaluate(background) != plain} == {
                    *([wanted] if wanted else [])
                }

            await eventually(f"the key that stands out is {wanted or 'none'}", alone)

        await stands_out("")  # while it settles
        for step_kg, wanted in ((0.2, "added"), (-0.2, "recovered")):
            step = NextStepMessage(step_kg, step_kg, step_kg, step_kg, "liquid", "")
            moving = msgspec.structs.replace(wire_rig.advice(time_s=time.time()), state="move", next_step=step)
            await it.rig.say("advice", moving, retain=True)
            await stands_out(wanted)
        said = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), sentence=wire_rig.same("Stop: floodback."))
        await it.rig.say("advice", said, retain=True)
        await expect(page.get_by_role("alert", name="Stop")).to_contain_text(
            "Add nothing: floodback. No superheat: stop adding."
        )
        seen = (await page.locator("body").inner_text()).lower()
        assert seen.count("floodback") == 1
        await stands_out("")


@pytest.mark.parametrize("opens", ["added", "recovered", "note", "check", "invite", "correct"])
async def test_no_dialog_covers_what_there_is_to_stop_for(
    opens: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="phone"))
        await it.rig.say("marks", Added("m1", time.time(), by="Sam", role="technician", mass_kg=0.1, phase="liquid"))
        await page.locator("[data-corrects=m1]" if opens == "correct" else f"#{opens}-open").click()
        dialog = page.locator("dialog[open]")
        await expect(dialog.get_by_role("heading")).to_be_visible()
        await expect(dialog.locator(".dialog-stops")).to_be_empty()
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
        stop = dialog.get_by_role("alert", name="Stop")
        await expect(stop).to_contain_text("Add nothing: floodback. No superheat: stop adding.")
        await dialog.evaluate("dialog => dialog.scrollTo(0, dialog.scrollHeight)")
        assert await stop.evaluate_all(COVERED) == []
        await it.rig.say("advice", wire_rig.advice(time_s=time.time()), retain=True)
        await expect(dialog.locator(".dialog-stops")).to_be_empty()


async def test_a_note_that_is_recorded_closes_its_dialog_and_is_told_below(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.click("#note-open")
        await page.click("#note-send")
        await expect(page.locator("#note-result")).to_contain_text("The note is empty.")
        await expect(page.locator("#note-dialog")).to_be_visible()
        await page.fill("#note-text", "Filter changed.")
        await page.click("#note-send")
        await expect(page.locator("#note-dialog")).to_be_hidden()
        await expect(page.locator("#outcome")).to_contain_text("The note is recorded.")
        await page.click("#note-open")
        await expect(page.locator("#note-text")).to_have_value("")
        await expect(page.locator("#note-result")).to_be_empty()


async def test_what_bears_on_the_step_stands_open_and_the_rest_is_folded_once_read_for_this_visit(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        gloves = page.locator("[data-live=cautions]").get_by_text("Gloves and eye protection")
        maker, vented = (page.get_by_text(words) for words in ("Nameplate, maker", "Never vent"))
        await expect(gloves).to_be_visible()
        await expect(maker).to_be_visible()
        fold = page.locator(".beware > summary")
        await expect(fold).to_contain_text("2 cautions at this step")
        await expect(fold).to_contain_text("Fold")  # to fold is not to say that a note was read
        await page.get_by_text("1 for the whole visit").click()
        await expect(maker).to_be_hidden()
        await fold.click()
        await expect(gloves).to_be_hidden()
        await page.reload()
        await ready(page)
        await expect(gloves).to_be_visible()
        await expect(maker).to_be_hidden()
        advice = wire_rig.advice(time_s=time.time())
        more = msgspec.structs.replace(advice, cautions_once=[*advice.cautions_once, "Never vent."])
        await it.rig.say("advice", more, retain=True)
        await expect(vented).to_be_visible()
        await expect(page.get_by_text("2 for the whole visit, 1 new")).to_be_visible()
        await page.get_by_text("2 for the whole visit").click()
        await expect(vented).to_be_hidden()
        await it.rig.say("about", wire_rig.about(started_s=time.time(), visit="visit-2"), retain=True)
        await expect(vented).to_be_visible()
        width, height = SIZES["phone"]
        await page.set_viewport_size({"width": width, "height": height})
        tops = [
            await page.locator(part).evaluate("it => it.getBoundingClientRect().top") for part in (".beware", ".traces")
        ]
        assert tops == sorted(tops)  # before the past comes what the hands do now


@pytest.mark.parametrize("size", ["tablet", "tablet lying"])
async def test_traces_and_causes_stand_above_the_fold_of_a_tablet(
    size: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size=size))
        calm = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[])
        await it.rig.say("advice", calm, retain=True)
        await page.locator(".beware > summary").click()
        fold = await page.locator(".actions").evaluate("bar => bar.getBoundingClientRect().top")
        for part in (".traces", ".cause[open] .evidence"):
            assert await page.locator(part).evaluate("part => part.getBoundingClientRect().bottom") <= fold, part


async def test_what_is_awaited_is_told_with_a_bar_and_what_was_not_judged(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        awaited = page.locator("[data-live=awaited]")
        await expect(awaited).to_contain_text("in 4 min")
        assert await awaited.locator("progress").evaluate("bar => bar.value") == pytest.approx(0.625)  # 375 of 600 s
        advice = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[], awaited=None)
        await it.rig.say("advice", msgspec.structs.replace(advice, not_judged=["capacitor"]), retain=True)
        await expect(awaited).to_be_hidden()
        await expect(page.locator("[data-live=not-judged]")).to_contain_text("Not judged: ")


async def test_what_has_settled_is_one_figure_with_one_value(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        steadiness = {"superheat": Steadiness("settled", value_dk=18.1 / 1.8, expanded_dk=0.9 / 1.8)}
        settled = msgspec.structs.replace(wire_rig.advice(time_s=time.time()), steadiness=steadiness)
        await it.rig.say("advice", settled, retain=True)

        async def shows(expected: float) -> bool:
            return await figure(page, "superheat") == expected

        await eventually("the figure is shown as it was judged", lambda: shows(18.1))
        it.values.update(wire_rig.values(12.0))
        await eventually("what has moved away is shown as it is", lambda: shows(12.0))


async def test_it_can_be_worked_from_the_keyboard(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.focus("#added-open")
        await page.keyboard.press("Enter")
        await page.locator("#added-amount").wait_for()
        focused = "document.querySelector('#added-dialog').contains(document.activeElement)"
        for _ in range(4):
            await page.keyboard.press("Tab")
            assert await page.evaluate(focused)
        await page.keyboard.press("Escape")
        await expect(page.locator("#added-dialog")).to_be_hidden()
        assert await page.evaluate("document.activeElement.id") == "added-open"


async def test_a_cause_that_is_open_stays_open_while_its_figures_change(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time(), first=0.6), retain=True)
        likelier, other = page.locator(".cause").nth(0), page.locator(".cause").nth(1)
        await expect(likelier).to_contain_text("Undercharge")
        await expect(likelier.locator(".chance")).to_have_text("60\u00a0%")
        await expect(likelier.locator(".held-back")).to_contain_text("First rule out low evaporator airflow")
        await expect(other.locator(".evidence")).to_be_hidden()
        await other.locator("summary").click()
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time(), first=0.5), retain=True)
        await expect(other.locator(".chance")).to_have_text("40\u00a0%")
        await expect(other.locator(".evidence")).to_be_visible()
        assert await page.evaluate("document.activeElement.parentElement.dataset.fault") == "Liquid-line restriction"


async def test_a_summary_is_spoken_and_moving_figures_are_not(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        summary = page.locator("[data-live=summary]")
        await expect(summary).to_contain_text("Superheat 18.3 plus or minus 1 °F, settling.")
        await expect(summary).to_have_attribute("aria-live", "polite")
        for moving in ("ruler", "instruments", "saved", "traces"):
            assert await page.locator(f"[data-live={moving}]").get_attribute("aria-live") is None


async def test_the_bench_is_labelled_as_a_bench(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await expect(page.locator("[data-live=bench-label]")).to_contain_text("Bench — simulated unit")
        await it.rig.say("about", wire_rig.about(started_s=time.time(), simulated=False), retain=True)
        await expect(page.locator("[data-live=bench-label]")).to_be_hidden()
