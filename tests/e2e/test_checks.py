"""Checking an instrument on the page, and doubts beside what they are about, in a real browser."""

from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from playwright.async_api import Locator, Page, expect

from dashboard.charge.layout.checks import GUIDES
from ingest.wire.messages import Ask, CheckAsk, CheckFound, CheckKind, Wording
from tests import wire_rig
from tests.e2e.scene import Scene, barriers, no_barrier_in_any_theme, ready, scene

pytestmark = pytest.mark.browser


async def opened(page: Page) -> Locator:
    await page.click("#check-open")
    dialog = page.locator("#check-dialog")
    await dialog.locator(".steps").wait_for()
    return dialog


async def test_a_probe_open_to_the_air_is_checked_and_then_corrected(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        dialog = await opened(page)
        await expect(dialog).to_contain_text("Recover what the hose holds")
        await expect(dialog).to_contain_text("Never loosen a hose under pressure")
        await expect(dialog).to_contain_text("Gloves and eye protection")
        await expect(dialog).to_contain_text("This probe is what is in doubt: see by another gauge")
        await expect(dialog).to_contain_text("never pull the hose towards a vacuum")
        cautions, steps = (dialog.locator(part) for part in (".cautions", ".steps"))
        tops = [await part.evaluate("part => part.getBoundingClientRect().top") for part in (cautions, steps)]
        assert tops[0] < tops[1]  # who reads from above is warned before the hand moves
        correct = page.locator("#check-correct")
        await expect(correct).to_be_disabled()
        await page.click("#check-start")
        found = page.locator("#check-found")
        await expect(found).to_contain_text("Suction pressure reads 0.60 psi higher than it should, ± 0.20 psi.")
        await expect(found).to_contain_text("good to ± 0.70 psi, so far ± 1.0 psi")
        assert [kind for kind, _ in it.rig.asked] == ["check"]  # finding changes nothing
        await correct.dblclick()
        await expect(page.locator("#check-result")).to_contain_text("Suction pressure is corrected from now on")
        check, *corrections = (ask for _, ask in it.rig.asked)
        assert {tuple(ask.checks) for ask in corrections} == {(check.id,)}
        assert len({ask.id for ask in corrections}) == 1  # touched twice, corrected once
        await page.keyboard.press("Escape")
        await expect(page.locator("[data-live=log]")).to_contain_text("Suction pressure corrected")


async def test_two_clamps_on_one_pipe(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        dialog = await opened(page)
        await dialog.locator("[data-value=one_pipe]").click()
        await expect(dialog).to_contain_text("side by side on one clean pipe")
        await page.click("#check-start")
        found = page.locator("#check-found")
        await expect(found).to_contain_text("Suction line reads 0.50 °F higher than Liquid line")
        assert (it.rig.asked[0][1].channel, it.rig.asked[0][1].other) == (
            "suction_line_temperature",
            "liquid_line_temperature",
        )
        await dialog.locator("[data-choice=check-channel] [data-value=liquid_line_temperature]").click()
        await expect(found).to_be_empty()  # what was found was about another pair
        await expect(page.locator("#check-correct")).to_be_disabled()


def broken(ask: Ask) -> CheckFound:
    return msgspec.structs.replace(
        wire_rig.correctable(ask), offset=5 * wire_rig.PSI, verdict="out", corrected_standard_uncertainty=None
    )


async def test_a_broken_probe_is_not_corrected_and_one_still_on_the_unit_not_blamed_unasked(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.check_finds = broken
        page = await ready(await it.open())
        await opened(page)
        await page.click("#check-start")
        await expect(page.locator("#check-found")).to_contain_text("Do not rely on it")
        await expect(page.locator("#check-correct")).to_be_disabled()
        it.rig.refuse_with = "the low side probe is silent: wait until it reads"
        await page.click("#check-start")
        await expect(page.locator("#check-found")).to_contain_text("the low side probe is silent")
        it.rig.refuse_with = ""
        it.rig.check_finds = wire_rig.correctable
        it.rig.asked.clear()
        await asked_about_before_it_is_blamed(it, page)


async def asked_about_before_it_is_blamed(it: Scene, page: Page) -> None:
    """A probe that is still on the unit reads its pressure: that is no fault of the probe."""
    it.rig.asks_back = Wording(us="It still reads 118 psig: is the hose still on the unit?", si="-")
    confirm, found = page.locator("#check-confirm"), page.locator("#check-found")
    await expect(confirm).to_be_hidden()
    await page.click("#check-start")
    await expect(found).to_contain_text("It still reads 118 psig: is the hose still on the unit?")
    await expect(page.locator("#check-correct")).to_be_disabled()
    await page.click("#check-start")  # once the hose is off, the same touch checks again
    await expect(found).to_contain_text("It still reads 118 psig")
    await confirm.click()
    await expect(found).to_contain_text("Suction pressure reads 0.60 psi higher than it should")
    await expect(confirm).to_be_hidden()
    assert [ask.confirmed for _, ask in it.rig.asked if isinstance(ask, CheckAsk)] == [False, False, True]


LOOKS = """dialog => [...dialog.querySelectorAll("*")]
    .filter(it => it.checkVisibility())
    .map(it => `${it.tagName} ${it.getAttribute("class") ?? ""} ${it.ariaPressed ?? ""} ${it.disabled ?? ""}`)"""
"""What the colours in a dialog hang on."""


async def test_no_barrier_is_found_in_any_theme(tmp_path: Path, free_port: Callable[[], int]) -> None:
    """In every theme where all stands that the others have of it; those in one, for their words and order."""
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open())
        dialog = await opened(page)
        kinds: tuple[CheckKind, ...] = ("one_pipe", "ice_point", "closed_jaw", "open_to_air")
        tried: set[str] = set()
        for kind in kinds:
            await dialog.locator(f"[data-value={kind}]").click()
            # The steps come from the server, and what was found before goes with them: a check made sooner is undone.
            await expect(dialog.locator(".steps")).to_contain_text(GUIDES[kind].steps[0])
            await expect(page.locator("#check-found")).to_be_empty()
            await page.click("#check-start")
            await expect(page.locator("#check-found")).to_contain_text("higher than")
            looks = set(await dialog.evaluate(LOOKS))
            if tried:
                assert looks <= tried, kind
                assert await barriers(page, "light", "#check-dialog") == [], kind
            else:
                await no_barrier_in_any_theme(page, "#check-dialog")
            tried |= looks
