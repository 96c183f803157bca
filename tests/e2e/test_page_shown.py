"""What the Charge page shows, in a real browser: one page, told one state after the other by a rig on the wire."""

import re
import time

import msgspec
import pytest
from playwright.async_api import Locator, expect

from ingest.wire.messages import Added, DoubtMessage, NextStepMessage, Note, Steadiness, Stop
from tests import wire_rig
from tests.browser import figure, reads
from tests.e2e.scene import (
    BACKGROUND,
    COVERED,
    SIZES,
    THEMES,
    Shown,
    drawn,
    resize,
    shown,
    watched_by_a_long_name,
    wider_or_smaller,
)
from tests.processes import eventually

__all__ = ["shown"]
pytestmark = pytest.mark.browser


async def test_a_pack_is_painted_soon_after_it_is_published(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        for superheat in (11.1, 12.2, 13.3):
            it.values.update(wire_rig.values(superheat))
            await reads(page, superheat=superheat)


async def test_silence_is_told_within_seconds_and_nothing_old_passes_for_new(shown: Shown) -> None:
    async with shown.anew() as (it, page):
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


async def test_one_stale_instrument_fades_alone_and_says_how_old_it_is(shown: Shown) -> None:
    async with shown.anew(lost=["high side probe"]) as (it, page):
        it.old.update(dict.fromkeys(("liquid_pressure", "liquid_line_temperature", "subcooling"), 42.0))
        await expect(page.locator("[data-live=instrument-count]")).to_contain_text("Instruments 3 of 4")
        row = page.locator("[data-reading=liquid_pressure]")
        await expect(row).to_contain_text("42 s old")
        await expect(row).to_have_class("doubtful")
        await expect(page.locator("[data-reading=suction_pressure]")).not_to_have_class("doubtful")
        table = page.locator("[data-instrument='high side probe']")
        await expect(table).to_contain_text("Lost, trying again")
        await expect(table).to_contain_text("the port is gone")
        await expect(page.locator("[data-live=ruler]")).to_contain_text("42 s old")


async def test_an_unknown_figure_says_why(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        it.values.update({"subcooling": None, "liquid_bubble_point": None, "liquid_pressure": None})
        await expect(page.locator("[data-live=ruler]")).to_contain_text("no sensor")
        assert await figure(page, "subcooling") is None
        await reads(page, superheat=18.3)


async def test_what_is_not_saved_is_not_shown_as_saved(shown: Shown) -> None:
    async with shown.anew(size="phone") as (it, page):
        it.saved = False
        await expect(page.locator("[data-live=saved]")).to_contain_text("NOT SAVED")
        await expect(page.locator("[data-live=alarm]")).to_be_visible()
        it.saved = True
        await expect(page.locator("[data-live=saved]")).to_contain_text("Saved")
        await expect(page.locator("[data-live=alarm]")).to_be_hidden()


async def test_a_refusal_of_the_rig_is_shown_and_nothing_is_called_recorded(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        it.rig.refuse_with = "not saved: the disk is full"
        await page.click("#take-reading")
        await expect(page.locator("#outcome")).to_contain_text("the disk is full")
        it.rig.refuse_with = ""
        await page.click("#take-reading")
        await expect(page.locator("#outcome")).to_have_text("The reading is recorded.")


async def test_a_note_that_comes_while_the_page_is_scrolled_stands_in_view(shown: Shown) -> None:
    marks = [Added(f"m{number}", time.time() - 240 + number, by="Sam", mass_kg=0.1) for number in range(8)]
    async with shown.anew(marks=marks) as (it, page):
        await page.click("[data-live=log-whole]")
        for size, (width, _) in SIZES.items():
            await resize(page, size)
            for stop, advice in enumerate((wire_rig.advice, wire_rig.opinion)):
                await it.rig.say("advice", advice(time_s=time.time()))
                await expect(page.get_by_role("alert", name="Stop").locator(".stop")).to_have_count(stop)
                await drawn(page)
                await page.evaluate("scrollTo(0, document.body.scrollHeight)")
                text = "Stop. " + "Let it sit, you are close. " * 18
                await it.rig.take(Note(f"n-{width}-{stop}", time.time(), by="Robin", role="lead", text=text))
                await expect(page.locator("[data-live=note-by]")).to_contain_text("Robin")

                async def in_view() -> bool:
                    return await page.locator("[data-live=note-by], #got-it").evaluate_all(COVERED) == []

                # What sticks makes room as soon as the page knows how high the alarm is.
                await eventually(f"the note and its key stand in view, {size}, {stop} stops", in_view, within_s=15)
                await page.locator("[data-live=note]").evaluate("note => note.scrollTo(0, note.scrollHeight)")
                await page.click("#got-it")  # read to its end: the next one begins at its first word
                await expect(page.locator("[data-live=note]")).to_be_hidden()


async def test_it_fits_and_can_be_touched_with_gloves(shown: Shown) -> None:
    async with shown.anew(size="phone") as (it, page):
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
        await expect(page.locator(".cause")).to_have_count(2)
        for size in SIZES:
            await resize(page, size)
            assert await wider_or_smaller(page) == [], size


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


async def test_nothing_in_the_header_is_cut_or_covered_while_a_lead_watches(shown: Shown) -> None:
    async with shown.anew(speed=20.0) as (it, page):
        with watched_by_a_long_name(it):
            await expect(page.locator("[data-live=watchers]")).to_contain_text("Featherstone-Robinson watches")
            await expect(page.get_by_role("button", name="Invite")).to_contain_text("Invite")
            for size in SIZES:
                await resize(page, size)
                for theme in THEMES:
                    await page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)
                    assert await page.evaluate(CUT_IN_THE_HEADER) == [], (theme, size)


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


async def test_everything_on_the_ruler_can_be_read(shown: Shown) -> None:
    async with shown.anew(unit=wire_rig.unit(target_superheat_dk=8.0)) as (it, page):
        for size in SIZES:
            await resize(page, size)
            for units in ("us", "si"):
                await page.locator(f"[data-choice=units] [data-value={units}]").evaluate("key => key.click()")
                for moment, figures in MOMENTS.items():
                    it.values.update(wire_rig.values(*figures))
                    await it.tell(time.time())
                    superheat = figures[0] if units == "us" else round(figures[0] / 1.8, 1)
                    await reads(page, superheat=superheat)
                    assert await page.evaluate(CUT_OR_COVERED) == [], (moment, units, size)


async def test_an_alarm_is_told_once_and_the_key_that_stands_out_is_the_one_the_advice_asks_for(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        keys = {kind: page.locator(f"#{kind}-open") for kind in ("added", "recovered")}
        plain = await page.locator("#note-open").evaluate(BACKGROUND)

        async def stands_out(wanted: str) -> None:
            async def alone() -> bool:
                return {kind for kind, key in keys.items() if await key.evaluate(BACKGROUND) != plain} == {
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

        async def once() -> bool:
            seen, spoken = [await page.locator(where).inner_text() for where in ("body", "[data-live=summary]")]
            return seen.lower().count("floodback") - spoken.lower().count("floodback") == 1

        # Alarm and headline are drawn one after the other, and the summary for a screen reader on its own clock.
        await eventually("it is told once", once)
        await stands_out("")


async def test_no_dialog_covers_what_there_is_to_stop_for(shown: Shown) -> None:
    async with shown.anew(size="phone") as (it, page):
        await it.rig.say("marks", Added("m1", time.time(), by="Sam", role="technician", mass_kg=0.1, phase="liquid"))
        openers = [f"#{name}-open" for name in ("added", "recovered", "note", "check", "invite")]
        for opens in (*openers, "[data-corrects=m1]"):
            await page.locator(opens).click()
            dialog = page.locator("dialog[open]")
            await expect(dialog.get_by_role("heading")).to_be_visible()
            await expect(dialog.locator(".dialog-stops")).to_be_empty()
            await it.rig.say("advice", wire_rig.opinion(time_s=time.time()), retain=True)
            stop = dialog.get_by_role("alert", name="Stop")
            await expect(stop).to_contain_text("Add nothing: floodback. No superheat: stop adding.")
            await dialog.evaluate("dialog => dialog.scrollTo(0, dialog.scrollHeight)")
            assert await stop.evaluate_all(COVERED) == [], opens
            await it.rig.say("advice", wire_rig.advice(time_s=time.time()), retain=True)
            await expect(dialog.locator(".dialog-stops")).to_be_empty()
            await page.keyboard.press("Escape")
            await expect(dialog).to_have_count(0)


async def test_a_leads_stop_fills_the_screen_until_the_rig_has_it_that_they_have_stopped(shown: Shown) -> None:
    async with shown.anew(size="tablet") as (it, page):
        await it.rig.take(Stop("s1", time.time(), by="Robin", role="lead", text="Hands off: it restarts by itself."))
        stop = page.locator("#stop")
        await expect(stop).to_contain_text("Hands off: it restarts by itself.")
        box = await stop.bounding_box()
        assert box is not None
        assert (box["width"], box["height"]) == SIZES["tablet"]
        await page.locator("#stop-key").click()
        await expect(stop).to_be_hidden()
        assert sorted(kind for kind, _ in it.rig.asked) == ["acknowledge", "seen"]


async def test_a_note_that_is_recorded_closes_its_dialog_and_is_told_below(shown: Shown) -> None:
    async with shown.anew() as (_, page):
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


async def test_traces_and_causes_stand_above_the_fold_of_a_tablet(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        calm = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[])
        await it.rig.say("advice", calm, retain=True)
        await expect(page.locator(".cause")).to_have_count(2)
        await page.locator(".beware > summary").click()
        for size in ("tablet", "tablet lying"):
            await resize(page, size)
            fold = await page.locator(".actions").evaluate("bar => bar.getBoundingClientRect().top")
            for part in (".traces", ".cause"):
                bottom = await page.locator(part).first.evaluate("part => part.getBoundingClientRect().bottom")
                assert bottom <= fold, (part, size)


async def test_what_is_awaited_is_told_with_a_bar_and_what_was_not_judged(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        awaited = page.locator("[data-live=awaited]")
        await expect(awaited).to_contain_text("in 4 min")
        assert await awaited.locator("progress").evaluate("bar => bar.value") == pytest.approx(0.625)  # 375 of 600 s
        advice = msgspec.structs.replace(wire_rig.opinion(time_s=time.time()), alarms=[], awaited=None)
        await it.rig.say("advice", msgspec.structs.replace(advice, not_judged=["capacitor"]), retain=True)
        await expect(awaited).to_be_hidden()
        not_judged = page.locator("[data-live=not-judged]")
        await expect(not_judged).to_be_hidden()
        await page.locator("[data-live=others]").click()
        await expect(not_judged).to_contain_text("Not judged by these readings: ")
        await expect(not_judged).to_be_visible()


async def top_of(part: Locator) -> float:
    top: float = await part.evaluate("part => part.getBoundingClientRect().top")
    return top


async def test_what_has_settled_is_one_figure_with_one_value_on_the_first_screen_of_a_phone(shown: Shown) -> None:
    async with shown.anew(size="phone") as (it, page):
        steadiness = {"superheat": Steadiness("settled", value_dk=18.1 / 1.8, expanded_dk=0.9 / 1.8)}
        waiting = wire_rig.advice(time_s=time.time())
        settled = msgspec.structs.replace(
            waiting, steadiness=steadiness, details=waiting.details * 2, sentence=wire_rig.same("Near enough. " * 6)
        )
        await it.rig.say("advice", settled, retain=True)
        await reads(page, superheat=18.1)  # as it was judged
        await expect(page.locator("[data-live=details] li")).to_have_count(1)
        await expect(page.locator("[data-live=details-rest] li")).to_have_count(5)
        # What to beware of stands before the figures until it was read, and is one line then.
        caution, figure = page.locator("[data-live=cautions] li").first, page.locator("[data-figure]").first
        assert await top_of(caution) < await top_of(figure)
        await page.locator("[data-live=beware] > summary").click()
        await expect(caution).to_be_hidden()
        fold = await page.locator(".actions").evaluate("bar => bar.getBoundingClientRect().top")
        bottoms = await page.locator("[data-figure]").evaluate_all(
            "all => all.map(it => it.getBoundingClientRect().bottom)"
        )
        assert len(bottoms) == 2
        assert max(bottoms) <= fold  # however much speaks for the sentence
        it.values.update(wire_rig.values(12.0))
        await reads(page, superheat=12.0)  # what has moved away is shown as it is


async def test_it_can_be_worked_from_the_keyboard(shown: Shown) -> None:
    async with shown.anew() as (_, page):
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


async def test_a_cause_that_is_open_stays_open_while_its_figures_change(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time(), first=0.6), retain=True)
        likelier, other = page.locator(".cause").nth(0), page.locator(".cause").nth(1)
        await expect(likelier).to_contain_text("Undercharge")
        await expect(likelier.locator(".chance")).to_have_text("60\u00a0%")
        await expect(likelier.locator(".held-back")).to_contain_text("First rule out low evaporator airflow")
        await expect(likelier.locator(".evidence")).to_be_hidden()
        await expect(other).to_be_hidden()
        await page.locator("[data-live=others]").click()
        await expect(other.locator(".evidence")).to_be_hidden()
        await other.locator("summary").click()
        await it.rig.say("advice", wire_rig.opinion(time_s=time.time(), first=0.5), retain=True)
        await expect(other.locator(".chance")).to_have_text("40\u00a0%")
        await expect(other.locator(".evidence")).to_be_visible()
        assert await page.evaluate("document.activeElement.parentElement.dataset.fault") == "Liquid-line restriction"


async def test_a_summary_is_spoken_and_moving_figures_are_not(shown: Shown) -> None:
    async with shown.anew() as (_, page):
        summary = page.locator("[data-live=summary]")
        await expect(summary).to_contain_text("Superheat 18.3 plus or minus 1 °F, settling.")
        await expect(summary).to_have_attribute("aria-live", "polite")
        for moving in ("ruler", "instruments", "saved", "traces"):
            assert await page.locator(f"[data-live={moving}]").get_attribute("aria-live") is None


async def test_the_bench_is_labelled_as_a_bench(shown: Shown) -> None:
    async with shown.anew() as (it, page):
        await expect(page.locator("[data-live=bench-label]")).to_contain_text("Bench — simulated unit")
        await it.rig.say("about", wire_rig.about(started_s=time.time(), simulated=False), retain=True)
        await expect(page.locator("[data-live=bench-label]")).to_be_hidden()


async def test_a_doubt_stands_beside_its_channel(shown: Shown) -> None:
    doubt = DoubtMessage(
        ("suction_pressure", "liquid_pressure"),
        wire_rig.said("The one is above the other."),
        wire_rig.said("Exchange them."),
        0.95,
        "a handbook",
    )
    async with shown.anew() as (it, page):
        advice = wire_rig.advice(time_s=time.time())
        await it.rig.say("advice", msgspec.structs.replace(advice, doubts=[doubt]), retain=True)
        row = page.locator("[data-reading=suction_pressure]")
        why = page.locator("[data-reading=suction_pressure] + .why")
        await expect(why).to_have_text("In doubt. The one is above the other. Exchange them.")
        await expect(row).to_have_class("doubtful")
        other = page.locator("[data-reading=liquid_pressure] + .why")
        await expect(other).to_have_text("In doubt: see Suction pressure.")
        await drawn(page)
        ruler, count = page.locator("[data-live=ruler]"), page.locator("[data-live=instrument-count]")
        assert (await ruler.inner_text()).count("In doubt") == 2  # superheat and subcooling: not "Settling"
        assert "Settling" not in await ruler.inner_text()
        await expect(count).to_contain_text("in doubt")
        await expect(count).to_have_class(re.compile(r"\bcare\b"))
        await expect(page.locator("[data-live=summary]")).to_contain_text("in doubt")
        await expect(page.locator("[data-reading=return_air_temperature]")).not_to_have_class("doubtful")
        await it.rig.say("advice", advice, retain=True)
        await expect(row).not_to_have_class("doubtful")
        await expect(why).to_be_hidden()
        await expect(ruler).not_to_contain_text("In doubt")


async def test_what_a_rig_does_not_measure_cannot_be_checked(shown: Shown) -> None:
    async with shown.anew(channels=[]) as (_, page):
        await page.click("#check-open")
        await expect(page.locator("#check-dialog")).to_contain_text("This rig has no instrument for that.")


async def test_the_check_of_an_instrument_fits_and_can_be_touched_with_gloves(shown: Shown) -> None:
    async with shown.anew() as (_, page):
        await page.click("#check-open")
        dialog = page.locator("#check-dialog")
        await dialog.locator("[data-value=one_pipe]").click()
        await dialog.locator("[data-choice=check-other]").wait_for()
        for size in SIZES:
            await resize(page, size)
            assert await wider_or_smaller(page, "#check-dialog") == [], size
