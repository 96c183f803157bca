"""How much the Charge page says at once: at most 200 words in any state, and all that endangers in the open.

That so many words are taken in at a glance: common practice, no source. A word has two letters in a row; a figure, a
sign and a unit of one letter are none.
"""

import re
import time
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from playwright.async_api import Page, expect

from calc.cautions import Step, beware_at_steps
from ingest.wire.messages import Advice, DoubtMessage, NextStepMessage, Stop, Wording
from ingest.wire.visit import ChargeLeftStands
from tests import wire_rig
from tests.browser import chromium, new_page
from tests.e2e.scene import drawn, ready, resize, scene
from tests.page import serving_page, settings

pytestmark = pytest.mark.browser

MOST_WORDS = 200
WORD = re.compile(r"[A-Za-z]{2}")
LONG = "Look at the outdoor coil first; then read again: two things are told at once, and a look divides them."

VISIBLE = """() => {
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const seen = [];
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const holder = node.parentElement;
        if (!holder.checkVisibility({ visibilityProperty: true }) || holder.closest("script, style")) continue;
        const range = document.createRange();
        range.selectNodeContents(node);
        const box = range.getBoundingClientRect();
        const clipped = holder.closest(".unseen, .words")?.getBoundingClientRect();
        if (box.width > 0 && !(clipped && clipped.width <= 1.5)) seen.push(node.textContent);
    }
    return seen.join(" ");
}"""
"""What a person sees of the page, scrolled or not: no text for a screen reader alone, nothing that is folded."""


async def words(page: Page) -> int:
    await drawn(page)
    return sum(bool(WORD.search(it)) for it in (await page.evaluate(VISIBLE)).split())


def cautions(refrigerant: str, step: Step) -> dict[str, list[str]]:
    beware = beware_at_steps(refrigerant, (step,))
    return {"cautions": [str(it) for it in beware.now], "cautions_once": [str(it) for it in beware.once]}


def advice(**changes: object) -> Advice:
    calm = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[], awaited=None)
    return msgspec.structs.replace(calm, **changes)


ENOUGH = "Near enough: add nothing. Within what these instruments can tell, to 4 % of the charge."
WEIGH_IN = "That table is one for all makers: the maker's own charging chart tells more, and weighing is exact."
DOUBT = DoubtMessage(
    ("suction_pressure", "liquid_pressure"),
    wire_rig.said("The pressure of the low side is above that of the high side, while the compressor runs."),
    wire_rig.said("Look which probe is on which port, and exchange them in the choice of places."),
    0.95,
    "a handbook",
)
ADD = NextStepMessage(0.1134, 0.3, 0.2, 0.4, "liquid", limited_by="")
FIRST = "First look for leaks; then add 7 oz as liquid, note it here, and wait until it has settled."
LESS = "Recover 4 oz, note it here, and wait until it has settled."
SENTENCE, RECOVER, LOOK = Wording(FIRST, FIRST), Wording(LESS, LESS), Wording(LONG, LONG)
STATES: dict[str, Callable[[], Advice]] = {
    "waiting": lambda: wire_rig.advice(time_s=time.time()),
    "to add a blend": lambda: advice(next_step=ADD, **cautions("R-410A", Step.CHARGE)),
    "to add what burns": lambda: advice(next_step=ADD, sentence=SENTENCE, **cautions("R-454B", Step.CHARGE)),
    "to recover": lambda: advice(
        next_step=msgspec.structs.replace(ADD, step_kg=-0.1134), sentence=RECOVER, **cautions("R-290", Step.RECOVER)
    ),
    "to look": lambda: advice(state="look", sentence=LOOK, **cautions("R-410A", Step.LOOK)),
    "near enough": lambda: advice(state="near enough", sentence=wire_rig.same(ENOUGH)),
    "near enough by the table": lambda: advice(
        state="near enough", sentence=wire_rig.same(ENOUGH), details=[Wording(WEIGH_IN, WEIGH_IN, "detail.weigh_in")]
    ),
    "to heat": lambda: advice(sentence=wire_rig.same("It heats. No charge is judged by these readings.")),
    "to doubt an instrument": lambda: advice(state="look", sentence=LOOK, doubts=[DOUBT]),
    "to stop": lambda: wire_rig.opinion(time_s=time.time()),
}


@pytest.mark.parametrize("state", STATES)
async def test_the_page_says_no_more_than_is_taken_in(tmp_path: Path, free_port: Callable[[], int], state: str) -> None:
    async with scene(tmp_path, free_port) as it:
        told = STATES[state]()
        page = await ready(await it.open(size="tablet"))
        await it.rig.say("advice", told, retain=True)
        await expect(page.locator(".sentence")).to_have_text(told.sentence.us)
        await expect(page.locator(".stop")).to_have_count(len(told.alarms))
        for size in ("tablet", "tablet lying", "phone"):
            await resize(page, size)
            assert await words(page) <= MOST_WORDS, size
        for caution in told.cautions:
            await expect(page.locator("[data-live=cautions]").get_by_text(caution, exact=True)).to_be_visible()


async def test_so_it_is_before_anything_is_connected(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known), chromium() as browser:
        page = await new_page(browser, width=820, height=1180)
        await page.goto(f"http://127.0.0.1:{known.port}")
        await expect(page.locator(".sentence")).to_have_text("Waiting for a rig.")
        assert await words(page) <= MOST_WORDS


async def test_so_it_is_of_a_unit_whose_plate_nobody_has_read(tmp_path: Path, free_port: Callable[[], int]) -> None:
    unread = wire_rig.unit(
        target_subcooling_dk=None, nameplate_charge_kg=None, compressor_rla_a=None, condenser_fan_fla_a=None
    )
    async with scene(tmp_path, free_port, unit=unread) as it:
        page = await it.open(size="tablet")
        await expect(page.locator(".sentence")).to_have_text("Wait. Still settling.")
        assert await words(page) <= MOST_WORDS


async def test_a_charge_that_is_left_is_told_under_the_advice_and_no_key_is_dark(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="tablet"))
        told = advice(next_step=ADD, **cautions("R-410A", Step.CHARGE))
        await it.rig.say("advice", told, retain=True)
        await expect(page.locator("#page")).to_have_attribute("data-to-move", "added")
        left = ChargeLeftStands("l1", "Sam", time.time(), "leak_first", told.sentence)
        visit = msgspec.structs.replace(it.rig.standing.message(), charge_left=left)
        await it.rig.say("visit", visit, retain=True)
        await expect(page.locator("[data-live=left]")).to_contain_text(
            "The charge is left as it is, against the advice: The leak comes first. Sam, "
        )
        await expect(page.locator("#page")).to_have_attribute("data-to-move", "")
        assert await words(page) <= MOST_WORDS
        await it.rig.say("visit", it.rig.standing.message(), retain=True)
        await expect(page.locator("[data-live=left]")).to_be_hidden()
        await expect(page.locator("#page")).to_have_attribute("data-to-move", "added")


async def test_so_it_is_while_a_lead_asked_to_stop_too_and_no_key_is_dark(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="tablet"))
        await it.rig.take(Stop("s1", time.time(), by="Robin", role="lead", text="Hands off: it restarts by itself."))
        await page.locator("#stop-key").click()
        await expect(page.locator("#stop")).to_be_hidden()
        assert await words(page) <= MOST_WORDS


async def test_what_is_wrong_with_an_instrument_is_in_the_open_while_the_others_are_folded(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="tablet"))
        read = page.locator("[data-live=instruments-read]")
        wrong = page.locator("[data-live=instruments-wrong] li")
        await expect(read).to_contain_text(" of ")
        before = await wrong.count()
        it.values["liquid_pressure"] = None
        await expect(wrong).to_have_count(before + 1)
        await expect(wrong.filter(has_text="Liquid pressure")).to_be_visible()
        await expect(page.locator("[data-reading=liquid_pressure]")).to_be_hidden()
        await page.locator(".instruments summary").click()
        await expect(page.locator("[data-reading=liquid_pressure]")).to_be_visible()
