"""What a technician does at the Visit page beside its checks: at the forms of the bottom edge."""

import asyncio
from collections.abc import Mapping

from playwright.async_api import Locator, expect

from ingest.visit.checklist import guided
from tests.e2e.hands_of_visits import HELD_S
from tests.touching import Technician


async def opened(at_work: Technician, form: str, card: str) -> Locator:
    """Open a form by its key, and give one of its cards."""
    at_work.at = form
    await at_work.touch(at_work.page.locator("[data-live=keys]").get_by_role("button", name=form, exact=True))
    shown = at_work.page.locator(f'#sheet [data-card="{card}"]')
    await expect(shown).to_be_visible()
    return shown


async def closed(at_work: Technician) -> None:
    """Close the form."""
    await at_work.touch(at_work.page.locator("#sheet-close"))
    await expect(at_work.page.locator("#sheet")).to_be_hidden()


async def put_all_on(at_work: Technician, circuit: str) -> None:
    """Say that probes and clamps were taken to a circuit."""
    card = await opened(at_work, "Probes, hoses", "circuit-in-view")
    before = at_work.sam.visit.get("circuit")
    assert before != circuit
    await at_work.touch(card.get_by_role("button", name=f"All on {circuit}", exact=True))
    await at_work.sam.until("the circuit", lambda: at_work.sam.visit.get("circuit") == circuit)
    await expect(at_work.page.locator("#sheet")).to_be_hidden()  # all of it is said


async def doubted(at_work: Technician, entered: Mapping[str, str]) -> str:
    """Enter an amount that was added, and let it be at what the rig asks; give its question."""
    card = await opened(at_work, "Refrigerant", "move")
    for field, words in entered.items():
        place = card.locator(f'[data-field="{field}"]')
        option = place.locator(f'button[data-key$=" {words}"]')
        if not await option.count():
            await at_work.write(place.locator("input"), words, field)
        elif await option.get_attribute("aria-pressed") != "true":
            await at_work.touch(option)
    await at_work.touch(card.get_by_role("button", name="Added", exact=True))
    asking = at_work.page.locator("#asking")
    await expect(asking).to_be_visible()
    await at_work.look("doubted")
    question = await at_work.page.locator("#asking-question").text_content() or ""
    await at_work.touch(asking.get_by_role("button", name="No", exact=True))
    await expect(asking).to_be_hidden()
    await closed(at_work)
    return question


async def answer_check(at_work: Technician, check: str) -> None:
    """Open a check from the work card, and answer it: once more where it was answered before."""
    at_work.at = check
    row = at_work.page.locator(".row", has_text=guided()[check].check.title)
    group = at_work.page.locator("[data-live=groups] .group", has=row)
    if await group.get_attribute("open") is None:
        await at_work.touch(group.locator("summary"))
    await at_work.touch(group.locator(row))
    await at_work.page.locator(f'[data-live=check] > [data-card="{check}"]').wait_for()
    at_work._tried.discard(check)
    assert await at_work.make_next({check})


async def leave_charge(at_work: Technician, why: str) -> None:
    """Leave the charge as it is, against what the judge asks for."""
    at_work.at = "the charge is left"
    await at_work.touch(at_work.page.locator('[data-card="leave-charge"] .key'))
    await at_work.touch(at_work.page.locator("#sheet").get_by_role("button", name=why, exact=True))
    await at_work.sam.until("that it is left", lambda: at_work.sam.visit.get("charge_left"))
    await at_work.page.locator('[data-card="charge-left"]').wait_for()


_PAIRS = {
    "herm_common": ("capacitor_herm", "capacitor_common"),
    "fan_common": ("capacitor_fan", "capacitor_common"),
    "herm_fan": ("capacitor_herm", "capacitor_fan"),
}
_ONLY = {"fan_common": _PAIRS["fan_common"]}
"""Of a compressor of three phases no capacitor is in the can, of its fan one is."""


async def emptied(at_work: Technician, sections: str) -> None:
    """Put the meter across each pair of a capacitor and take what it shows, then say by what it was emptied."""
    at_work.at = "discharge"
    card = at_work.page.locator('[data-live=check] > [data-card^="discharge"]')
    await card.wait_for()
    for pair, (red, black) in (_PAIRS if sections == "dual" else _ONLY).items():
        await at_work.sam.publish("bench/act", {"act": "leads", "red": red, "black": black})
        await asyncio.sleep(HELD_S)
        await at_work.touch(card.locator(f'[data-field="volts.{pair}"] .take-key:enabled'), takes=f"volts.{pair}")
    at_work.answers = {**at_work.answers, "discharge": {**at_work.answers["discharge"], "sections": sections}}
    assert await at_work.answer_next(("discharge",))
