"""The Charge page in a real browser, fed over a real broker by a rig that exists only on the wire."""

import asyncio
import math
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

import msgspec
import pytest
from playwright.async_api import Page, Route, expect

from dashboard.invitations import Doorkeeper, make_invitation
from ingest.wire.messages import Added, NextStepMessage, Note, NotSaved, Status, Wording
from tests import wire_rig
from tests.browser import figure, reads
from tests.e2e.scene import (
    BACKGROUND,
    COVERED,
    SIZES,
    barriers,
    no_barrier_in_any_theme,
    ready,
    scene,
    watched_by_a_long_name,
)

pytestmark = pytest.mark.browser


async def test_the_figures_carry_their_uncertainty_and_change_units_without_a_reload(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await reads(page, superheat=18.3, subcooling=6.8)
        ruler = page.locator("[data-live=ruler]")
        await expect(ruler).to_contain_text("± 1.0 °F")  # k = 2: 2 x 0.29 K = 1.04 °F
        await expect(ruler).to_contain_text("dew point 39.8")
        await expect(ruler).to_contain_text("118.2 psig")
        await page.evaluate("window.stillHere = true")
        await page.click("[data-choice=units] [data-value=si]")
        await expect(ruler).to_contain_text("815 kPa gauge")  # 118.2 psi x 6.894 757 (NIST SP 811, B.8)
        await reads(page, superheat=10.2)
        assert await page.evaluate("window.stillHere")
        await page.reload()
        await ready(page)
        await expect(page.locator("[data-choice=units] [data-value=si]")).to_have_attribute("aria-pressed", "true")


async def test_a_page_opened_in_a_silence_knows_how_long_it_lasts(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.talking = False
        await it.tell(time.time())
        await asyncio.sleep(1.5)
        page = await it.open()
        await expect(page.locator("[data-live=silence]")).to_contain_text("No data for")


async def test_not_saved_stands_on_top_with_its_path_its_reason_and_its_cure_for_technician_and_lead(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        for who in ("technician", "lead"):
            if who == "lead":
                await it.join_as_lead(page)
            why = NotSaved(
                "/var/lib/visit.sqlite", "the disk is full", "Free some space; recording then goes on.", time.time()
            )
            await it.rig.say("status", Status("online", 1, why), retain=True)
            banner = page.locator(".alarm")
            await expect(page.locator("#page")).to_have_attribute("data-role", who)
            await expect(banner).to_contain_text("NOT SAVED since")
            for told in ("/var/lib/visit.sqlite", "the disk is full", "Free some space"):
                await expect(banner).to_contain_text(told)
            box, header = await banner.bounding_box(), await page.locator("header").first.bounding_box()
            assert box is not None
            assert header is not None
            assert box["y"] - header["height"] < 12
            await expect(page.locator("[data-live=saved]")).to_have_text("NOT SAVED")
            await it.rig.say("status", Status("online", 1), retain=True)
            await expect(page.locator(".alarm")).to_be_hidden()
            await expect(page.locator("[data-live=saved]")).to_contain_text("Saved")


async def test_a_visit_that_is_played_again_says_on_both_pages_that_nothing_of_it_is_live(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        told = page.get_by_text("Played again — a recorded visit, nothing here is live")
        await expect(told).to_be_hidden()
        await it.rig.say("about", wire_rig.about(started_s=time.time(), simulated=False, played=True), retain=True)
        await expect(told).to_be_visible()
        await expect(page.locator("[data-live=bench-label]")).to_be_hidden()
        await page.goto(page.url.rstrip("/") + "/visit")
        await expect(told).to_be_visible()


async def test_refrigerant_added_is_reviewed_recorded_and_shown(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.click("#added-open")
        dialog = page.locator("#added-dialog")
        await expect(dialog).to_contain_text("R-410A is a blend: out of the cylinder as liquid")
        await expect(dialog).to_contain_text("Gloves and eye protection")
        await expect(dialog.locator("[data-value=liquid]")).to_have_attribute("aria-pressed", "true")
        review, record = page.locator("#added-review"), page.locator("#added-confirm")
        await expect(record).to_be_disabled()
        stands_out = await page.locator("#note-send").evaluate(BACKGROUND)
        assert [await key.evaluate(BACKGROUND) == stands_out for key in (review, record)] == [True, False]
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
        await expect(record).to_be_enabled()
        assert [await key.evaluate(BACKGROUND) == stands_out for key in (review, record)] == [False, True]
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


async def test_nobody_types_into_the_form_of_last_time(tmp_path: Path, free_port: Callable[[], int]) -> None:
    """A slow server writes the form anew when its dialog is open already: what was typed or held by then would go."""
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        await page.click("#added-open")
        await enter_amount(page, "60 oz")
        await page.keyboard.press("Escape")
        answers = asyncio.Event()

        async def late(route: Route) -> None:
            await answers.wait()
            await route.continue_()

        await page.route("**/_dash-update-component*", late)
        await page.click("#added-open")
        await expect(page.locator("#added-dialog")).to_be_visible()
        await expect(page.locator("#added-amount")).to_have_count(0)
        answers.set()
        await enter_amount(page, "6 oz")
        await expect(page.locator("#added-reviewed")).to_contain_text("6 oz")
        await page.keyboard.press("Escape")


WRITTEN = [("recovered", "us", "7 lb 4 oz", 3.28854468), ("added", "si", "170", 0.170)]
"""NIST SP 811, B.8: 1 lb = 4.535 924 E-01 kg, 1 oz = 2.834 952 E-02 kg. More of them in tests/dashboard."""


async def test_amounts_are_taken_as_the_trade_writes_them(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        for moved, units, written, kilograms in WRITTEN:
            await page.click(f"[data-choice=units] [data-value={units}]")
            await page.click(f"#{moved}-open")
            await expect(page.locator(f"#{moved}-amount")).to_have_value("")
            await enter_amount(page, written, dialog=moved)
            await page.click(f"#{moved}-confirm")
            await expect(page.locator(f"#{moved}-dialog")).to_be_hidden()
            kind, ask = it.rig.asked[-1]
            assert kind == moved
            assert ask.mass_kg == pytest.approx(kilograms, rel=1e-7), (units, written)
        assert len({ask.id for _, ask in it.rig.asked}) == len(it.rig.asked) == len(WRITTEN)


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


async def test_what_came_of_a_record_and_the_next_touch_stand_in_view(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.refuse_with = "not saved: the disk is full"
        page = await ready(await it.open())
        for size in ("tablet lying", "phone"):
            await page.set_viewport_size({"width": SIZES[size][0], "height": 600})  # less, or one line more of cautions
            await page.click("#added-open")
            await enter_amount(page, "60 oz")
            dialog = page.locator("#added-dialog")
            await dialog.evaluate("it => it.scrollTo(0, 0)")
            touched = page.locator("#added-review, #added-confirm, #added-reviewed, #added-result")
            assert await touched.evaluate_all(COVERED) == [""], size  # nothing has come out yet
            await page.locator("#added-confirm").evaluate("it => it.click()")  # without scrolling to it
            await expect(page.locator("#added-result")).to_contain_text("the disk is full")
            assert await touched.evaluate_all(COVERED) == [], size
            await page.fill("#added-amount", "6 oz")
            await expect(page.locator("#added-result")).to_be_empty()  # it was of another amount
            await page.keyboard.press("Escape")


FIGURES_BEHIND_THE_KEYS = """Math.max(0, document.querySelector(".amps").getBoundingClientRect().bottom
    - document.querySelector(".actions").getBoundingClientRect().top)"""


HOLD_TIMERS = """() => {
    const held = new Map(), [begin, end] = [setTimeout, clearTimeout];
    window.setTimeout = (run, ms, ...more) => {
        const timer = begin(run, ms, ...more);
        if (ms > 10_000) held.set(timer, { run, ms });
        return timer;
    };
    window.clearTimeout = timer => {
        held.delete(timer);
        end(timer);
    };
    window.after = passed => {
        for (const [timer, { run, ms }] of [...held]) {
            if (ms > passed) continue;
            clearTimeout(timer);
            run();
        }
    };
}"""
"""From now on `after` does at once what waits for no longer than so many milliseconds, of what waits for long."""


async def test_what_was_recorded_is_told_for_a_while_and_what_was_not_until_the_next_touch(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port, speed=20.0) as it:
        page = await ready(await it.open())
        await page.evaluate(HOLD_TIMERS)
        with watched_by_a_long_name(it):
            await expect(page.locator("[data-live=watchers]")).to_contain_text("Featherstone-Robinson watches")
            outcome = page.locator("#outcome")
            for _ in range(2):
                await page.click("#take-reading")
                await expect(outcome).to_have_text("The reading is recorded.")
                assert await page.evaluate(FIGURES_BEHIND_THE_KEYS) == 0
                await page.evaluate("after(12_000)")
                await expect(outcome).to_have_text("The reading is recorded.")
                await page.evaluate("after(16_000)")
                await expect(outcome).to_be_empty()
            it.rig.refuse_with = "not saved: the disk is full"
            await page.click("#take-reading")
            await expect(outcome).to_contain_text("the disk is full")
            await page.evaluate("after(60_000)")
            await it.tell(time.time())
            await expect(page.locator("[data-live=saved]")).to_contain_text("Saved 0")  # the page goes on
            await expect(outcome).to_contain_text("the disk is full")


async def test_an_invited_lead_warns_the_technician_and_sees_that_it_was_read(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        roof = await ready(await it.open())
        await roof.click("#invite-open")
        link = await roof.locator("[data-link=lead]").text_content()
        await roof.keyboard.press("Escape")
        lead = await ready(await it.open_as_lead(size="phone", link=str(link)))
        for button in ("added-open", "recovered-open", "take-reading", "invite-open"):
            await expect(lead.locator(f"#{button}")).to_have_count(0)
        await lead.fill("#note-text", "Let it sit, you are close.")
        await lead.click("#note-send")
        note = roof.locator("[data-live=note]")
        await expect(note).to_contain_text("Let it sit, you are close.")
        await expect(note).to_contain_text("Robin")
        await expect(roof.locator("[data-live=watchers]")).to_contain_text("Robin watches")
        await expect(lead.locator(".role")).to_contain_text("Robin, lead: watching")
        await lead.fill("#note-text", "Now the filter.")
        await lead.click("#note-send")
        await expect(note).to_contain_text("1 of 2")
        await expect(note).to_contain_text("Let it sit, you are close.")  # the oldest first
        await roof.locator("#got-it").dblclick()  # one touch too many reads nothing that was not shown
        await expect(note).to_contain_text("Now the filter.")
        await roof.click("#got-it")
        await expect(note).to_be_hidden()
        assert len({ask.id for kind, ask in it.rig.asked if kind == "acknowledge"}) == 2
        await expect(lead.locator("[data-live=log]")).to_contain_text("Read")
        await expect(lead.locator("[data-live=note]")).to_be_hidden()


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
        await reads(page, superheat=9.9)


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


async def test_no_barrier_is_found_in_any_theme(tmp_path: Path, free_port: Callable[[], int]) -> None:
    waiting = Note("n1", time.time(), by="Robin", role="lead", text="Let it sit.")
    async with scene(tmp_path, free_port, marks=[waiting], lost=["air probe"]) as it:
        page = await ready(await it.open())
        await expect(page.locator("[data-live=note]")).to_be_visible()
        await no_barrier_in_any_theme(page)
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
        await page.locator("[data-live=others]").click()
        await page.locator(".judgement summary").click()
        await page.locator(".cause summary").first.click()
        await expect(page.get_by_role("alert", name="Stop")).to_be_visible()
        await no_barrier_in_any_theme(page, ".stops", ".judgement", ".opinion")
        await page.click("#added-open")
        await page.locator("#added-amount").wait_for()
        await page.fill("#added-amount", "6")
        await page.click("#added-review")
        await expect(page.locator("#added-reviewed")).to_contain_text("6 oz")
        await no_barrier_in_any_theme(page, "#added-dialog")


async def test_a_lead_meets_no_barrier_corrects_and_checks_nothing_sees_every_mark_and_is_told_of_their_end(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    marks = [Added(f"m{number}", time.time() - 240 + number, by="Sam", mass_kg=0.1) for number in range(8)]
    async with scene(tmp_path, free_port, marks=marks) as it:
        link = make_invitation(it.known, "lead")
        lead = await it.open(size="phone", at="/join" + link.partition("/join")[2])
        assert await barriers(lead) == []
        await lead.fill("#name", "Robin")
        await lead.click("button")
        await ready(lead)
        assert await barriers(lead) == []
        for part in ("#check-open", "#check-dialog"):
            await expect(lead.locator(part)).to_have_count(0)
        log = lead.locator("[data-live=log]")
        await expect(log.locator("li")).to_have_count(2)
        await lead.get_by_role("button", name="Show all 8").click()
        await expect(log.locator("li")).to_have_count(8)
        await expect(log.get_by_role("button")).to_have_count(0)
        assert Doorkeeper(it.known.data_directory).end_logins("Robin")
        await expect(lead.locator("body")).to_contain_text("Your login has ended.")  # and not a lost server


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


async def test_what_bears_on_the_step_stands_open_until_it_was_read_on_this_visit_and_the_rest_is_one_line(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        gloves = page.locator("[data-live=cautions]").get_by_text("Gloves and eye protection")
        maker, vented = (page.get_by_text(words) for words in ("Nameplate, maker", "Never vent"))
        await expect(gloves).to_be_visible()
        await expect(maker).to_be_hidden()
        fold = page.locator(".beware > summary")
        await expect(fold).to_contain_text("2 cautions at this step")
        await expect(fold).to_contain_text("Fold")  # to fold is not to say that a note was read
        rest = page.locator("[data-live=cautions-more]")
        await expect(rest).to_have_text("1 for the whole visit, unread")
        await rest.click()
        await expect(maker).to_be_visible()
        await rest.click()
        await expect(maker).to_be_hidden()
        await fold.click()
        await expect(gloves).to_be_hidden()
        await page.reload()
        await ready(page)
        await expect(fold).to_contain_text("Show")
        await expect(gloves).to_be_hidden()
        await fold.click()
        await expect(rest).to_have_text("1 for the whole visit")
        advice = wire_rig.advice(time_s=time.time())
        more = msgspec.structs.replace(advice, cautions_once=[*advice.cautions_once, "Never vent."])
        await it.rig.say("advice", more, retain=True)
        await expect(rest).to_have_text("2 for the whole visit, 1 new")
        await rest.click()
        await expect(vented).to_be_visible()
        await it.rig.say("about", wire_rig.about(started_s=time.time(), visit="visit-2"), retain=True)
        await expect(gloves).to_be_visible()
        await expect(rest).to_have_text("2 for the whole visit, unread")
        width, height = SIZES["phone"]
        await page.set_viewport_size({"width": width, "height": height})
        tops = [
            await page.locator(part).evaluate("it => it.getBoundingClientRect().top") for part in (".beware", ".traces")
        ]
        assert tops == sorted(tops)  # before the past comes what the hands do now
