"""The whole job on the bench: real brokers, real pseudo-terminals and D-Bus, a real browser."""

import asyncio
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from playwright.async_api import expect

from tests.bench import bench, numbers, stock_subscriber
from tests.browser import chromium, figure, new_page
from tests.processes import eventually

READINGS = "dewline/1/bench/readings"


def superheat_df(pack: dict[str, float]) -> float:
    """Superheat in °F, from the equation of state itself (CoolProp, R-410A: Lemmon 2003), not from our curve."""
    dew_point_k = PropsSI("T", "P", pack["suction_pressure"], "Q", 1, "R410A")
    return float((pack["suction_line_temperature"] + 273.15 - dew_point_k) * 1.8)


def subcooling_df(pack: dict[str, float]) -> float:
    """Subcooling in °F, likewise from the bubble point."""
    bubble_point_k = PropsSI("T", "P", pack["liquid_pressure"], "Q", 0, "R410A")
    return float((bubble_point_k - pack["liquid_line_temperature"] - 273.15) * 1.8)


REGISTERED_UNITS = {"Pa", "Cel", "K", "A", "V", "%RH", "/", "s", "kg", "F"}
"""RFC 8428, section 12.1."""


def valid_senml(packs: Sequence[Any]) -> None:
    """RFC 8428: base name and time in the first record; every name of the allowed characters; a registered unit."""
    sequences = [numbers(pack)["pack"] for pack in packs]
    assert sequences == list(range(int(sequences[0]), int(sequences[0]) + len(packs)))
    for pack in packs:
        assert pack[0]["bn"] == "bench/"
        assert pack[0]["bt"] > 2**28  # section 4.5.3: below this a time would be relative to now
        for record in pack:
            assert {"v", "vs", "vb"} & record.keys()
            assert all(character.isalnum() or character in "-:./_" for character in record["n"])
            assert record.get("u", "s") in REGISTERED_UNITS


@pytest.mark.browser
async def test_the_screen_shows_what_the_equation_of_state_says_and_follows_what_is_added(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with bench(tmp_path, free_port, speed=20) as it, chromium() as browser:
        page = await new_page(browser)
        await page.goto(it.page)
        await page.locator("[data-figure=superheat]").wait_for(timeout=15_000)

        listening = asyncio.create_task(stock_subscriber(it.broker_port, READINGS, count=24))
        await asyncio.sleep(3)
        shown = await figure(page, "superheat"), await figure(page, "subcooling")
        heard = await listening
        valid_senml(heard)
        packs = [numbers(pack) for pack in heard]
        whole = [pack for pack in packs if {"suction_pressure", "liquid_line_temperature"} <= pack.keys()]
        assert len(whole) >= 12
        computed = [(superheat_df(pack), subcooling_df(pack)) for pack in whole]
        # What is on the screen is one of the packs heard meanwhile, rounded to 0.1 °F; the curve is good to 1 mK.
        assert (
            min(abs(shown[0] - superheat) + abs(shown[1] - subcooling) for superheat, subcooling in computed) < 2 * 0.06
        )

        before = shown[1]
        await page.click("#added-open")
        await page.fill("#added-amount", "10")
        await page.click("#added-review")
        await page.click("#added-confirm:not([disabled])")
        asked = page.locator("#added-reviewed", has_text="Shall it be noted all the same?")
        recorded = page.locator("#outcome", has_text="Recorded")
        await expect(asked.or_(recorded).first).to_be_visible()  # that it has not settled, or no leak was looked for
        if await asked.is_visible():
            await page.click("#added-confirm:not([disabled])")
        await expect(recorded).to_be_visible()

        async def has_risen() -> bool:
            now = await figure(page, "subcooling")
            return now is not None and now > before + 2

        await eventually("subcooling rises by 2 °F after 10 oz", has_risen, within_s=45)

        async def has_settled() -> bool:
            return "Settled" in (await page.locator(".column-advice").text_content() or "")

        await eventually("the page says that it has settled", has_settled, within_s=75)
        risen = await figure(page, "subcooling")
        assert risen is not None
        assert risen > before + 2
        assert it.command.process.returncode is None
