"""The Visit page in a real browser: what waits, what is asked of the rig, what it asks back, and every size."""

import io
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from playwright.async_api import Locator, Page, expect

from ingest.visit.checklist import guided
from ingest.visit.leading import Now
from ingest.wire.messages import (
    Acknowledged,
    Advice,
    Circuit,
    Finding,
    LeaveChargeAsk,
    Motor,
    NextStepMessage,
    Note,
    NoteAsk,
    Proposed,
    ProposedFinding,
    ProposedMove,
    Reading,
    Sheet,
    SignAsk,
    Want,
    Wording,
)
from tests.e2e.scene import SIZES, THEMES, barriers, scene

pytestmark = pytest.mark.browser

TWO_FRAMES = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
LEAST_KEY_PX = 78
"""15 mm (the height of a key for a glove: common practice, no source) at 132 px to the inch."""


async def ready(page: Page) -> Page:
    await expect(page.locator("[data-live=tag]")).to_have_text("RTU-K7Q-4")
    await page.locator("[data-live=keys] .key").first.wait_for()
    return page


async def test_a_note_is_read_and_another_written_by_touches_alone(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.take(Note("n1", 1.7e9, "Robin", "lead", "Is the filter clean?"))
        page = await ready(await it.open(size="tablet", at="/visit"))
        card = page.locator("[data-card=n1]")
        await expect(card).to_contain_text("Is the filter clean?")
        await card.get_by_role("button", name="Got it").click()
        await expect(card).to_have_count(0)
        await page.get_by_role("button", name="Note", exact=True).click()
        sheet = page.locator("#sheet")
        await sheet.get_by_role("button", name="Keep it").click()
        await expect(sheet).to_contain_text("Still open: Words to keep.")
        await sheet.get_by_label("Words to keep").fill("Filter changed.")
        it.rig.refuse_with = "the record is closed"
        await sheet.get_by_role("button", name="Keep it").click()
        await expect(sheet).to_contain_text("The rig did not record it: the record is closed")
        it.rig.refuse_with = ""
        await sheet.get_by_role("button", name="Keep it").dblclick()
        await expect(sheet).to_be_hidden()
        await expect(page.locator("[data-live=outcome]")).to_have_text("Recorded: Note.")
        notes = [ask for _, ask in it.rig.asked if isinstance(ask, NoteAsk)]
        assert {ask.text for ask in notes} == {"Filter changed."}
        assert len({ask.id for ask in notes}) == 1  # refused, and touched twice: recorded once
        circuits, parts = [Circuit("1", "R-410A", "txv")], [Motor("compressor"), Motor("condenser fan")]
        await it.rig.say("unit/RTU-K7Q-4", Sheet("RTU-K7Q-4", circuits, parts=parts), retain=True)
        await page.get_by_role("button", name="Units", exact=True).click()
        named = await sheet.locator("[data-card=unit-parts] .card-says").bounding_box()
        assert named is not None
        assert named["width"] > 0.8 * SIZES["tablet"][0]  # and not one letter a line beside its keys


async def test_a_question_is_put_and_only_a_yes_records(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.asks_back = Wording("Two checks are open. Sign it all the same?", "-")
        page = await ready(await it.open(size="phone", at="/visit"))
        await page.get_by_role("button", name="More…").click()
        await page.get_by_role("button", name="Wait, sign").click()
        sign = page.locator("[data-card=sign]")
        await sign.get_by_label("Name that stands for it").fill("Sam")
        for answer, hidden in (("No", False), ("Yes, record it", True)):
            await sign.get_by_role("button", name="Sign and close").click()
            await expect(page.locator("#asking-question")).to_have_text("Two checks are open. Sign it all the same?")
            await page.locator("#asking").get_by_role("button", name=answer).click()
            await expect(page.locator("#asking")).to_be_hidden()
            if hidden:
                await expect(page.locator("#sheet")).to_be_hidden()
        assert [ask.confirmed for kind, ask in it.rig.asked if kind == "sign"] == [False, False, True]


async def test_a_signature_is_drawn_with_a_finger_and_the_report_is_a_touch_away(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="tablet", at="/visit"))
        links = page.locator("[data-live=report] a")
        await expect(page.locator("[data-live=report]")).to_contain_text("A draft, as the visit stands")
        for at, form in enumerate(("pdf", "html")):
            address = await links.nth(at).get_attribute("href")
            assert address is not None
            assert address.startswith(f"report/visit-1.{form}?units=us&zone=")  # from wherever the page is served
        await page.get_by_role("button", name="Wait, sign").click()
        sign = page.locator("[data-card=sign]")
        await sign.get_by_label("Name that stands for it").fill("Sam")
        field = sign.locator("canvas").first
        await field.scroll_into_view_if_needed()
        box = await field.bounding_box()
        assert box is not None
        for stroke in ([(0.1, 0.5), (0.5, 0.2), (0.9, 0.5)], [(0.2, 0.8), (0.8, 0.8)]):
            places = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in stroke]
            await page.mouse.move(*places[0])
            await page.mouse.down()
            for place in places[1:]:
                await page.mouse.move(*place)
            await page.mouse.up()
        await expect(field).to_have_attribute("aria-label", "Signature, drawn with a finger or a pen: drawn")
        await sign.get_by_role("button", name="Sign and close").click()
        await page.locator("#asking").get_by_role("button", name="Yes, record it").click()  # checks are open
        await expect(page.locator("#sheet")).to_be_hidden()
        *_, asked = [ask for kind, ask in it.rig.asked if kind == "sign"]
        assert isinstance(asked, SignAsk)
        assert [len(stroke) for stroke in asked.strokes] == [3, 2]
        assert asked.strokes[0][1] == pytest.approx((0.5, 0.2), abs=0.02)


async def test_a_check_is_answered_with_a_figure_of_the_link_and_stands_in_the_work_card(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.tell_checks()
        volts = Reading(236.0, time.time(), "ok", "", 0.7)
        it.rig.facts = replace(it.rig.facts, readings={"line_voltage_ab": volts})
        page = await ready(await it.open(size="tablet", at="/visit"))
        check = page.locator("[data-live=check]")
        await page.locator("[data-live=round] [data-card=complaint]").wait_for()
        await page.locator("[data-group=D] > summary").click()
        await page.locator("[data-group=D] .row", has_text="Supply under load").click()
        field = check.locator("[data-field='running.a_b']")
        await field.get_by_role("button", name="236 V").click()
        await expect(field.get_by_role("textbox")).to_have_value("236 V")
        await page.reload()  # an interruption loses nothing that was entered
        await expect(field.get_by_role("textbox")).to_have_value("236 V")
        await check.get_by_role("button", name="Record").click()
        outcome = page.locator("[data-live=outcome]")
        await expect(outcome).to_contain_text("Recorded: Supply under load: cannot tell. Still missing")
        await expect(check.get_by_role("heading")).to_contain_text("Supply under load")  # what is missing can be added
        finding = next(ask for kind, ask in it.rig.asked if kind == "finding")
        assert (finding.check, finding.grade, dict(finding.values)) == ("supply", "measured", {"running.a_b": 236.0})
        await expect(page.locator("[data-group=D] .row", has_text="Supply under load")).to_contain_text("measured")
        await expect(check.get_by_role("button", name="Skip…")).to_have_count(0)  # it would lose what was found
        await check.get_by_role("button", name="Leave it so").click()
        await expect(check).to_be_hidden()
        complaint = page.locator("[data-live=round] [data-card=complaint]")
        await complaint.get_by_text("Otherwise, or more").click()
        await complaint.get_by_role("button", name="Skip…").click()
        await page.locator("#sheet").get_by_role("button", name="Something else").click()
        await expect(page.locator("#sheet")).to_contain_text("a reason that is none of the others")
        await page.locator("#sheet").get_by_role("button", name="Weather").click()
        await expect(page.locator("[data-group=A] .row").first).to_contain_text("Skipped")


async def test_what_is_demanded_for_the_record_is_drawn_in_the_open_and_stays_there_while_it_is_entered(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.tell_checks()
        page = await ready(await it.open(size="tablet", at="/visit"))
        await page.locator("[data-live=round] [data-card=complaint]").wait_for()
        await page.locator("[data-group=C] > summary").click()
        await page.locator("[data-group=C] .row", has_text="Connections").click()
        check = page.locator("[data-live=check]")
        torque = check.locator("[data-field=torque]")
        await expect(check.get_by_text("Otherwise, or more")).to_be_visible()
        await expect(torque).to_be_hidden()
        await check.locator("button[data-key$=' table']").click()
        await expect(check.get_by_text("Still open:")).to_contain_text("Torque")
        await expect(check.get_by_role("button", name="Show what is open")).to_have_count(0)  # nothing of it is hidden
        for name in ("torque", "chosen slot"):
            await expect(check.locator(f"[data-field='{name}']")).to_be_visible()
        await torque.get_by_role("textbox").fill("35 lbf in")
        await expect(torque).to_be_visible()
        assert await small(page) == []
        assert await spilling(page) == []


async def test_what_is_written_above_a_key_is_recorded_by_it_and_what_is_otherwise_is_opened(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.tell_checks()
        page = await ready(await it.open(size="tablet", at="/visit"))
        together = page.locator("[data-live=round]")
        lines = together.locator(".round-line")
        await expect(lines).to_have_count(4)  # all of the first group
        found = lines.filter(has_text="Look first").locator(".stands")
        await expect(found).to_have_text("")  # nobody has looked yet: no photograph
        told = together.locator("[data-card='round A'] > .round-told")
        await expect(told).to_contain_text("Still open: What whoever called says")
        await expect(told).to_contain_text("As written only beside a photograph.")
        assert await small(page) == []
        assert await spilling(page) == []
        lock_out = "Before a panel is opened: lock out and tag."
        await expect(together.get_by_text(lock_out)).to_be_visible()
        unread = together.get_by_text("I have read it")
        for left in range(await unread.count(), 0, -1):
            await expect(unread).to_have_count(left)
            await unread.first.click()
        await expect(together.get_by_text(lock_out)).to_be_hidden()

        async def recorded(line: Locator, key: str, check: str) -> None:
            """Touch an answer: it records its own check, and no other."""
            before = [ask.check for kind, ask in it.rig.asked if kind == "finding"]
            await line.locator(".answer-key", has_text=key).click()
            await expect(page.locator("[data-live=outcome]")).to_contain_text("Recorded: ")
            await expect(line).to_have_count(0)
            assert [ask.check for kind, ask in it.rig.asked if kind == "finding"] == [*before, check]

        content = lines.filter(has_text="What is in it")
        last = content.locator(".answer-key")
        await expect(last).to_have_text(["The same refrigerant", "Another refrigerant", "None will be used"])
        await expect(content.locator(".round-told", has_text="—")).to_have_text(
            "Cylinder — and the rest of this check as written:"
        )
        await recorded(lines.filter(has_text="Complaint and history"), "Is loud, or shakes.", "complaint")
        looked = lines.filter(has_text="Look first")
        await looked.get_by_text("Otherwise, or more").click()
        nothing = looked.locator("[data-field='chosen found']").get_by_role("button", name="Nothing", exact=True)
        await nothing.click()
        await recorded(looked, "Found, and reported to the owner", "look_first")
        await recorded(content, "None will be used", "what_is_in_it")
        await page.locator(
            "[data-live=check] .answer-key, [data-live=round] .answer-key", has_text="By its place"
        ).click()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("How it was told")
        asked = {ask.check: ask for kind, ask in it.rig.asked if kind == "finding"}
        assert list(asked) == ["complaint", "look_first", "what_is_in_it", "which_unit"]
        assert len({ask.id for ask in asked.values()}) == 4
        assert asked["complaint"].choices["complaint"] == "Is loud, or shakes."
        assert asked["look_first"].choices == {"found": "nothing", "bypassed": "reported"}
        assert asked["what_is_in_it"].choices == {"safety_class": "A1", "cylinder": "none"}
        assert {ask.grade for ask in asked.values()} == {"said"}
        hands = together.get_by_role("heading", name="C · Electrical, dead")
        await expect(hands).to_have_count(0)  # until it is proved dead, and discharged
        alone = page.locator("[data-live=check]")
        top = "document.querySelector('[data-live=check-panel]').getBoundingClientRect().top"
        at_the_top = f"() => {top} >= 0 && {top} < {LEAST_KEY_PX}"
        await page.wait_for_function(at_the_top, timeout=10_000)  # what is next, as soon as it is drawn
        await expect(alone.get_by_role("button", name="Record", exact=True)).to_be_visible()
        await expect(alone.get_by_text(lock_out)).to_be_visible()  # it was read before anybody went in
        await alone.get_by_role("button", name="Record", exact=True).click()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("Recorded: Isolate and lock: cannot tell.")


async def test_a_leads_stop_fills_the_technicians_screen_until_they_say_that_they_have_stopped(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        technician = await ready(await it.open(size="tablet", at="/visit"))
        lead = await it.join_as_lead(await it.open(at="/visit"), at="/visit")
        await lead.get_by_role("button", name="Stop").click()
        await lead.locator("#sheet").get_by_role("button", name="Stop").click()
        stop = technician.locator("#stop")
        await expect(stop).to_contain_text("Stop at once: hands off and stand clear")  # nobody typed
        box = await stop.bounding_box()
        assert box is not None
        assert (box["width"], box["height"]) == SIZES["tablet"]
        await technician.keyboard.press("Escape")
        await expect(stop).to_be_visible()
        said = lead.locator(".talk [data-card^=stop]")
        await expect(said).to_contain_text("Shown to")
        await expect(lead.locator("#stop")).to_be_hidden()  # it is theirs
        assert await barriers(technician) == []
        (stopped,) = (ask.id for kind, ask in it.rig.asked if kind == "stop")
        await it.rig.take(Acknowledged("a1", time.time(), by="Sam", role="technician", of=stopped))  # on another page
        await expect(stop).to_be_hidden()
        await expect(said).to_contain_text("has stopped")
        assert sorted(kind for kind, _ in it.rig.asked) == ["seen", "stop"]
        stands = technician.locator("[data-live=stands]")
        await expect(stands).to_contain_text("and has not said go on.")
        await expect(stands.get_by_role("button")).to_have_count(0)  # it is the lead's to say
        await technician.goto(it.url + "/")
        await expect(stands).to_be_visible()
        assert await barriers(technician) == []
        await lead.goto(it.url + "/")
        await lead.get_by_role("button", name="Go on").click()
        await expect(stands).to_be_hidden()
        await expect(lead.locator("[data-live=stands]")).to_be_hidden()
        await expect(lead.get_by_role("button", name="Ask the lead")).to_have_count(0)


async def test_a_lead_stops_from_the_charge_page_by_one_touch(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        technician = await ready(await it.open(size="tablet", at="/visit"))
        lead = await it.join_as_lead(await it.open())
        await lead.get_by_role("button", name="Stop", exact=True).dblclick()  # in haste
        await expect(technician.locator("#stop")).to_contain_text("Stop at once: hands off and stand clear")
        await expect(lead.locator("#outcome")).to_contain_text("Recorded: Stop.")
        assert [kind for kind, _ in it.rig.asked if kind == "stop"] == ["stop"]


async def test_a_stop_that_waits_for_the_disk_is_asked_again_by_the_leads_page_until_it_is_recorded(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """Opened anew, too: a rig that ends while a stop waits has lost it."""
    async with scene(tmp_path, free_port) as it:
        lead = await it.join_as_lead(await it.open(at="/visit"), at="/visit")
        it.rig.refuse_with = "not saved: the disk is full"
        await lead.get_by_role("button", name="Stop").click()
        await lead.locator("#sheet").get_by_role("button", name="Stop").click()
        await expect(lead.locator("#sheet")).to_contain_text("This page asks again until it is recorded.")
        await lead.reload()
        it.rig.refuse_with = ""
        await expect(lead.locator("[data-live=outcome]")).to_contain_text("Recorded: Stop.", timeout=30_000)
        asked = [ask for kind, ask in it.rig.asked if kind == "stop"]
        assert len(asked) >= 2
        assert all(ask == asked[0] for ask in asked)


async def test_a_proposal_is_kept_by_one_touch_and_the_next_not_by_the_same(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        for name, mass_kg in (("p1", 0.1758), ("p2", 0.2)):
            says = Wording(f"{name} left the cylinder. Keep?", "-")
            what = ProposedMove(mass_kg, 0.002)
            await it.rig.take(Proposed(name, time.time(), what=what, from_s=1.7e9, to_s=1.7e9, says=says))
        page = await ready(await it.open(size="tablet", at="/visit"))
        dock = page.locator("[data-live=proposals]")
        await expect(dock).to_contain_text("p1 left the cylinder. Keep?")
        await expect(dock).to_contain_text("1 of 2")
        await dock.get_by_role("button", name="Keep, liquid").dblclick()
        await expect(dock).to_contain_text("p2 left the cylinder. Keep?")
        box = await dock.bounding_box()
        assert box is not None
        assert box["y"] > SIZES["tablet"][1] / 2  # within a thumb's reach
        await dock.get_by_role("button", name="Not so").click()
        await expect(dock).to_be_hidden()
        kept = [(kind, ask.of) for kind, ask in it.rig.asked]
        assert kept == [("keep", "p1"), ("dismiss", "p2")]


async def test_what_the_instruments_saw_is_kept_by_one_key_under_its_sentences_and_each_line_opens(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        for name in ("p1", "p2", "p3"):
            what = ProposedFinding("supply", {"running.a_b": 230.0})
            says = Wording(f"{name} was seen. Keep it?", "-")
            await it.rig.take(Proposed(name, time.time(), what=what, from_s=1.7e9, to_s=1.7e9, says=says))
        page = await ready(await it.open(size="tablet", at="/visit"))
        card = page.locator("[data-card=gathered]")
        await expect(card.locator(".line-says")).to_have_text([f"p{number} was seen. Keep it?" for number in (1, 2, 3)])
        await expect(page.locator("[data-live=proposals]")).to_be_hidden()
        assert await small(page) == []
        await card.locator("[data-card=p2] > summary").click()
        await card.get_by_role("button", name="Not so").click()
        await expect(card.locator(".line")).to_have_count(2)
        await card.get_by_role("button", name="Keep all 2").dblclick()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("Recorded: 2 of 2.")
        await expect(card).to_have_count(0)
        kept = [(kind, ask.of, ask.id) for kind, ask in it.rig.asked]
        assert [each[:2] for each in kept] == [("dismiss", "p2"), ("keep", "p1"), ("keep", "p3")]
        assert len({each[2] for each in kept}) == 3


async def test_a_check_that_stands_open_for_what_is_missing_closes_once_what_was_seen_is_kept_in_it(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.tell_checks()
        page = await ready(await it.open(size="tablet", at="/visit"))
        await page.locator("[data-live=round] [data-card=complaint]").wait_for()
        await page.locator("[data-group=D] > summary").click()
        await page.locator("[data-group=D] .row", has_text="Supply under load").click()
        check = page.locator("[data-live=check]")
        await check.locator("[data-field='running.a_b'] input").fill("228")
        await check.get_by_role("button", name="Record").click()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("cannot tell. Still missing")
        await expect(check.get_by_role("heading")).to_contain_text("Supply under load")
        volts = {"nameplate.low": 230.0, "running.a_b": 228.0, "rest.a_b": 232.0}
        for name in ("p1", "p2"):
            seen = ProposedFinding("supply", volts)
            says = Wording(f"{name} was seen. Keep it?", "-")
            await it.rig.take(Proposed(name, time.time(), what=seen, from_s=1.7e9, to_s=1.7e9, says=says))
        await page.locator("[data-card=gathered]").get_by_role("button", name="Keep all 2").click()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("Recorded: 2 of 2.")
        assert it.rig.standing.findings.outcomes()["supply"] == "met"
        await expect(check).to_be_hidden()  # nobody records it once more


async def test_a_photograph_that_a_lead_wanted_is_sent_from_its_card(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.take(Want("w1", 1.7e9, "Robin", "lead", "the nameplate", what="photograph"))
        page = await ready(await it.open(size="phone", at="/visit"))
        card = page.locator("[data-card=w1]")
        await expect(card).to_contain_text("The lead wants a photograph")
        picture = io.BytesIO()
        Image.new("RGB", (64, 48), "gray").save(picture, "JPEG")
        file = {"name": "plate.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
        await card.locator("input[type=file]").set_input_files(file)
        await expect(card).to_have_count(0)
        assert [ask.want for kind, ask in it.rig.asked if kind == "photograph"] == ["w1"]


async def test_it_fits_every_screen_and_a_glove_and_shows_no_barrier(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.take(Note("n1", 1.7e9, "Robin", "lead", "Is the filter clean?"))
        await it.rig.tell_checks()
        page = await ready(await it.open(at="/visit"))
        await page.locator("[data-live=round] .round-line").first.wait_for()
        await page.locator("[data-group=B] > summary").click()
        for width, height in SIZES.values():
            await page.set_viewport_size({"width": width, "height": height})
            await page.evaluate(TWO_FRAMES)  # the keys of the bar are told of the new width, and drawn by it
            assert await page.evaluate("document.documentElement.scrollWidth") <= width
            assert await small(page) == []
            assert await spilling(page) == []
        for theme in THEMES:
            await page.locator(f"[data-choice=theme] [data-value={theme}]").evaluate("key => key.click()")
            assert await barriers(page, theme) == []
        await page.get_by_role("button", name="Probes, hoses").click()
        assert await barriers(page) == []


async def small(page: Page) -> list[str]:
    """The keys that a glove would miss, and whatever else to touch that is smaller than 48 px."""
    return await page.evaluate(
        """least => [...document.querySelectorAll("button, input, textarea, a, summary")]
            .filter(target => target.checkVisibility() && !target.matches(".unseen"))
            .map(target => [target, target.getBoundingClientRect(), target.matches(".key, .row") ? least : 48])
            .filter(([, box, least]) => box.width < Math.min(least, 78) - 0.5 || box.height < least - 0.5)
            .map(([target, box]) => `${target.textContent}: ${box.width} x ${box.height}`)""",
        LEAST_KEY_PX,
    )


async def spilling(page: Page) -> list[str]:
    """The keys whose words do not fit into them."""
    return await page.evaluate(
        """() => [...document.querySelectorAll(".key")]
            .filter(key => key.checkVisibility() && key.scrollWidth > key.clientWidth)
            .map(key => `${key.textContent}: ${key.scrollWidth} in ${key.clientWidth}`)"""
    )


async def test_the_charge_is_left_as_it_is_by_a_key_and_its_reason_and_closing_comes_next(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.tell_checks()
        step = NextStepMessage(0.14, 0.14, 0.1, 0.2, "liquid", "")
        said = Wording("Add 5 oz.", "Add 140 g.", "headline.add")
        advised = Advice(time.time(), said, [], [], {}, "move", next_step=step)
        it.rig.facts = replace(it.rig.facts, advice=advised)
        for number, word in enumerate(guided()):  # all but closing is answered
            if not guided()[word].check.place.startswith("F"):
                of = {"check": word, "grade": "said", "outcome": "met"}
                await it.rig.take(Finding(f"k{number}", time.time(), "Sam", "technician", **of))
        it.rig.standing.judged("subcooling", time.time(), now=Now(runs=True, charge_asked=True, way="add"))
        await it.rig.say("visit", it.rig.standing.message(), retain=True)
        page = await ready(await it.open(size="tablet", at="/visit"))
        leave = page.locator("[data-card=leave-charge]").get_by_role("button", name="Leave the charge as it is")
        await expect(leave).to_be_visible()
        assert await small(page) == []
        assert await spilling(page) == []
        await leave.click()
        await page.locator("#sheet").get_by_role("button", name="The leak comes first").click()
        await expect(page.locator("[data-live=outcome]")).to_contain_text("The charge is left as it is")
        left = page.locator("[data-card=charge-left]")
        await expect(left).to_contain_text("The leak comes first")
        await expect(left).to_contain_text("Against the advice: Add 5 oz.")
        await expect(page.locator("[data-live=charge-asked]")).to_be_hidden()
        (asked,) = [ask for kind, ask in it.rig.asked if kind == "leave_charge"]
        assert isinstance(asked, LeaveChargeAsk)
        assert asked.reason == "leak_first"
        lead = await it.join_as_lead(await it.open(size="tablet", at="/door"), at="/visit")
        await expect(lead.locator("[data-card=charge-left]")).to_contain_text("The leak comes first")
        assert await lead.locator("[data-card=charge-left] button").count() == 0
