"""The Unit page in a browser: readings of parts over the years, what is known, and a lead's stop above it all.

That a run capacitor is renewed beyond 6 % of its label, and how a part ages: common practice, no source.
"""

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.async_api import Page, expect

from ingest.wire.messages import (
    CircuitMoved,
    PartHistory,
    PartReading,
    Stop,
    UnitHistory,
    VisitBefore,
)
from ingest.wire.sheet import Sheet
from tests import units
from tests.e2e.scene import Scene, no_barrier_in_any_theme, resize, scene

pytestmark = pytest.mark.browser

TAG = "RTU-K7Q-4"
"""Of the rig on the wire (tests/wire_rig.py)."""
DAY_S = 86_400.0
NOW_S = time.time()
SHEET = units.CORRECT


def measured(days_ago: float, farads: float, *, outcome: str = "met", accuracy: float | None = 0.9e-6) -> PartReading:
    at_s = NOW_S - days_ago * DAY_S
    what = ("capacitor_measured", "herm", "Measured, each section to common: Herm to common", "capacitance")
    return PartReading(f"v{at_s}", f"m{at_s}", at_s, *what, farads, "measured", outcome, accuracy, 45e-6)


CAN = PartHistory(
    "capacitor",
    [measured(10, 41e-6, outcome="not_met"), measured(380, 43.6e-6), measured(750, 45.2e-6)],
    "run capacitor",
    label={"herm": 45e-6, "tolerance": 0.06},
)
VISITS = [
    VisitBefore(
        "v2", NOW_S - 10 * DAY_S, "Sam", "Sam", moved=[CircuitMoved("1", 0.17)], next_person="The fan bearing hums."
    ),
    VisitBefore("v1", NOW_S - 750 * DAY_S, "Kim", "Kim"),
]


async def on_unit_page(it: Scene) -> Page:
    page = await it.open(size="tablet", at="/unit")
    await expect(page.locator("[data-live=tag]")).to_have_text(TAG)
    return page


async def test_each_reading_of_a_part_stands_with_its_label_over_the_years(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        await it.rig.say(f"unit/{TAG}", Sheet(TAG, SHEET.circuits, place="North roof", parts=SHEET.parts), retain=True)
        page = await on_unit_page(it)
        await expect(page.get_by_text("The first visit that this rig knows of")).to_be_visible()
        await expect(page.get_by_text("No reading of a part is on record yet")).to_be_visible()
        await it.rig.say("history", UnitHistory(TAG, VISITS, [CAN]), retain=True)
        trend = page.locator("figure.trend")
        await expect(trend).to_have_count(1)
        await expect(trend.locator("figcaption")).to_have_text("Run capacitor, Herm to common")
        await expect(trend.locator(".trend-says")).to_have_text("Newest 41.0 ± 0.9 µF, 9 % below its label, 45 µF.")
        assert await trend.locator("circle").count() == 2  # both that met; the one that did not is a cross
        assert (await trend.locator("svg").get_attribute("aria-label") or "").startswith("Run capacitor, Herm")
        await expect(page.locator("[data-live=must-know]")).to_have_text("The fan bearing hums.")
        await expect(page.locator("[data-live=sheet]")).to_contain_text("North roof")
        await expect(page.get_by_text("This is the first visit")).to_be_hidden()
        await no_barrier_in_any_theme(page)
        for size in ("phone", "tablet lying"):
            await resize(page, size)
            assert await page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, size


async def test_a_lead_s_stop_fills_the_screen_here_too(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await on_unit_page(it)
        await it.rig.take(Stop("s1", time.time(), "Robin", "lead", text="Vapour, not liquid", asked_at=""))
        await it.rig.say("visit", it.rig.standing.message(), retain=True)
        await expect(page.locator("#stop")).to_be_visible()
        await expect(page.locator("#stop")).to_contain_text("Vapour, not liquid")
        await page.locator("#stop-key").click()
        await expect(page.locator("#stop")).to_be_hidden()
