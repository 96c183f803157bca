"""The maker's charging chart in a real browser, by touch: from what the judge says to what the rig keeps."""

import re
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from playwright.async_api import Locator, Page, expect

from ingest.wire.messages import Circuit, DescribeAsk, Sheet, Wording
from tests import wire_rig
from tests.e2e.scene import Scene, barriers, no_barrier_in_any_theme, scene
from tests.e2e.test_visit import LEAST_KEY_PX, ready
from tests.fahrenheit import kelvin

pytestmark = pytest.mark.browser

HERE = Sheet("RTU-K7Q-4", [Circuit("1", "R-410A", "fixed_orifice"), Circuit("2", "R-410A", "txv")], place="Roof")
TITLE_24 = {(64, 85): 11, (64, 90): 9}
"""California Title 24, RA3.2: superheat in °F by wet bulb and outdoor air [°F]."""
WEIGH_IN = "That table is one for all makers: the maker's own charging chart tells more."


async def at_an_orifice(it: Scene, sheet: Sheet) -> None:
    about = wire_rig.about(started_s=1.7e9)
    await it.rig.say("about", msgspec.structs.replace(about, unit=orifice(about.unit)), retain=True)
    await it.rig.say(f"unit/{sheet.tag}", sheet, retain=True)


def orifice(unit):
    return msgspec.structs.replace(unit, metering_device="fixed_orifice", target_subcooling_dk=None)


async def opened(it: Scene, at: str) -> tuple[Page, Locator]:
    page = await ready(await it.open(size="tablet", at=at))
    return page, page.locator("#sheet [data-card='chart-1']")


async def test_where_a_table_tells_less_one_key_leads_to_the_chart_whose_box_next_to_now_takes_one_number(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """Outdoors 86.4 °F, and 75.2 °F at 51 % inside: 63.1 °F wet bulb by the formula of Stull (2011), at sea level.

    That is good to some tenths. The lines of the table of Title 24 next to these are 85 and 64 °F.
    """
    async with scene(tmp_path, free_port) as it:
        await at_an_orifice(it, HERE)
        page = await it.open(size="tablet")
        key = page.get_by_role("link", name="Enter the maker's chart…")
        await page.locator("[data-live=sentence]", has_text=" ").wait_for()
        await expect(key).to_be_hidden()
        told = Wording(WEIGH_IN, WEIGH_IN, kind="detail.weigh_in")
        settled = msgspec.structs.replace(wire_rig.advice(time_s=1.7e9), details=[told])
        await it.rig.say("advice", settled, retain=True)
        await key.click()
        card = page.locator("#sheet [data-card='chart-1']")
        await expect(card).to_contain_text(re.compile(r"Now: 86\.4.°F outdoors, 63\.[0-2].°F wet bulb inside\."))
        await expect(card.get_by_label("Outdoor air, line 1")).to_have_value("85")
        await expect(card.get_by_label("Wet bulb inside, line 1")).to_have_value("64")
        await page.screenshot(path="/tmp/chart/one.png")
        await card.get_by_role("button", name="Keep it").click()
        await expect(card).to_contain_text("Still open: Superheat, as it is printed.")
        box = card.get_by_label("Superheat, row 1, column 1")
        await box.fill(str(TITLE_24[64, 85]))
        await card.get_by_role("button", name="Keep it").click()
        await expect(page.locator("#sheet")).to_be_hidden()
        ((_, ask),) = it.rig.asked
        assert isinstance(ask, DescribeAsk)
        ((wet_k, outdoor_k, superheat_dk),) = ask.sheet.circuits[0].superheat_chart_k
        assert (wet_k, outdoor_k) == pytest.approx((kelvin(64), kelvin(85)))
        assert superheat_dk == pytest.approx(11 / 1.8)
        assert ask.sheet.circuits[1] == HERE.circuits[1]
        assert page.url.endswith("/visit")


async def test_more_of_the_chart_is_typed_beside_what_is_known_and_stays_as_it_is_printed(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = [(kelvin(64), kelvin(85), 11 / 1.8)]
    first = msgspec.structs.replace(HERE.circuits[0], superheat_chart_k=known)
    async with scene(tmp_path, free_port) as it:
        await at_an_orifice(it, msgspec.structs.replace(HERE, circuits=[first, HERE.circuits[1]]))
        page, card = await opened(it, "/visit")
        await page.get_by_role("button", name="Units", exact=True).click()
        await page.locator("#sheet").get_by_role("button", name="Its charging chart…").click()
        await expect(card.get_by_label("Superheat, row 1, column 1")).to_have_value("11")
        await card.get_by_role("button", name="Another outdoor air").click()
        await expect(card.get_by_label("Outdoor air, line 2")).to_have_value("90")
        await card.get_by_role("button", name="Another wet bulb").click()
        await expect(card.get_by_label("Wet bulb inside, line 1")).to_have_value("62")  # it is 63 °F: on the other side
        for thing in (card.locator("input.number"), card.locator("button")):
            for index in range(await thing.count()):
                size = await thing.nth(index).bounding_box()
                assert size is not None
                assert size["height"] >= LEAST_KEY_PX
        await no_barrier_in_any_theme(page)
        await page.screenshot(path="/tmp/chart/two.png")
        await card.get_by_label("Superheat, row 2, column 2").fill(str(TITLE_24[64, 90]))
        await page.reload()  # what was typed outlives a break
        await ready(page)
        await page.goto(page.url + "#chart")
        await page.reload()
        await expect(card.get_by_label("Superheat, row 2, column 2")).to_have_value("9")
        await card.get_by_label("Outdoor air, line 2").fill("")
        await card.get_by_role("button", name="Keep it").click()
        await expect(card).to_contain_text("'64/ 9' in the chart: wet bulb/outdoors superheat was expected")
        await card.get_by_label("Outdoor air, line 2").fill("90")
        await card.get_by_role("button", name="Keep it").click()
        await expect(page.locator("#sheet")).to_be_hidden()
        _, ask = it.rig.asked[-1]
        assert isinstance(ask, DescribeAsk)
        told = [tuple(point) for point in ask.sheet.circuits[0].superheat_chart_k]
        assert told == [pytest.approx(known[0]), pytest.approx((kelvin(64), kelvin(90), 9 / 1.8))]


async def test_what_is_printed_in_celsius_is_typed_so_on_a_page_in_fahrenheit_and_a_valve_has_no_chart(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """A difference of 6 °C is one of 6 K."""
    async with scene(tmp_path, free_port) as it:
        await at_an_orifice(it, HERE)
        page, card = await opened(it, "/visit#chart")
        await card.get_by_role("button", name="°C", exact=True).click()
        await expect(card.get_by_label("Outdoor air, line 1")).to_have_value("30")
        await expect(card.get_by_label("Wet bulb inside, line 1")).to_have_value("17")
        await card.get_by_label("Superheat, row 1, column 1").fill("6,5")
        await card.get_by_role("button", name="Keep it").click()
        await expect(page.locator("#sheet")).to_be_hidden()
        _, ask = it.rig.asked[-1]
        assert isinstance(ask, DescribeAsk)
        (point,) = ask.sheet.circuits[0].superheat_chart_k
        assert tuple(point) == pytest.approx((290.15, 303.15, 6.5))
        await it.rig.say("unit/RTU-K7Q-4", msgspec.structs.replace(HERE, circuits=[HERE.circuits[1]]), retain=True)
        await page.get_by_role("button", name="Units", exact=True).click()
        await expect(page.locator("#sheet [data-card=unit-here]")).to_be_visible()
        await expect(page.get_by_role("button", name="Its charging chart…")).to_have_count(0)
        assert await barriers(page) == []
