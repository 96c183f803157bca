"""The Unit form in a real browser: a new unit with its circuits and its place on the roof, and another one gone to."""

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image
from playwright.async_api import FilePayload, Locator, Page, Route, expect

from ingest.wire.messages import Circuit, DescribeAsk, Motor, OpenAsk, Sheet, UnitBrief, Units
from ingest.wire.sheet import Roof
from tests.e2e.scene import barriers, scene
from tests.e2e.test_visit import ready

pytestmark = pytest.mark.browser

ROOF = Roof("Library", hatch=(0.1, 0.9))
HERE = Sheet(
    "RTU-K7Q-4",
    [Circuit("1", "R-410A", "txv")],
    place="Harbour Street library, roof",
    at=(0.3, 0.4),
    roof=replace(ROOF, north_deg=90.0),
)
BESIDE = replace(HERE, tag="RTU-9", at=(0.7, 0.4), roof=Roof("Library"))
FAR = replace(HERE, tag="RTU-7", roof=Roof("Town hall"))


async def test_a_unit_of_the_same_roof_is_two_touches_away_and_a_new_one_is_drawn_in_beside_them(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await ready(await it.open(size="phone", at="/visit"))
        for sheet in (HERE, BESIDE, FAR):
            await it.rig.say(f"unit/{sheet.tag}", sheet, retain=True)
        await it.rig.say("units", Units([UnitBrief("RTU-9", "", ["R-410A"])]), retain=True)
        form = page.locator("#sheet")
        await _open_form(page)
        roof = form.locator("[data-card=roof]")
        await expect(roof.locator(".roof-dot")).to_have_text(["RTU-9", "RTU-K7Q-4"])
        await expect(roof.get_by_role("img", name="North, 90° clockwise from the upper edge")).to_be_visible()
        assert await barriers(page) == []
        it.rig.refuse_with = "a hose is on"
        await roof.get_by_role("button", name="RTU-9").click()
        await form.get_by_role("button", name="Open a visit there").click()
        await expect(form).to_contain_text("a hose is on")
        it.rig.refuse_with = ""
        ((_, there),) = it.rig.asked
        assert isinstance(there, OpenAsk)
        assert there.unit == "RTU-9"
        await form.get_by_role("button", name="Close").click()
        await _open_form(page)
        new = form.locator("[data-card=unit-new]")
        await _read_the_plate(page, new)
        await new.get_by_label("Tag, as it is engraved").fill("RTU-12")
        await _new_circuits(new)
        await new.get_by_text("More that may be noted").click()
        await new.locator("[data-field=at] .roof").click(position={"x": 2, "y": 2})
        await new.get_by_role("button", name="Keep it").click()
        await expect(form).to_be_hidden()
        _, ask = it.rig.asked[-1]
        assert isinstance(ask, DescribeAsk)
        assert ask.visit == there.visit == "visit-1"  # what the page shows: the rig may have gone on
        assert len(ask.sheet.photographs) == 1
        made = ask.sheet
        assert (made.tag, made.place, made.at, made.roof) == ("RTU-12", HERE.place, (0.0, 0.0), ROOF)
        assert [(known.name, known.refrigerant, known.metering_device) for known in made.circuits] == [
            ("A", "R-454B", "txv"),
            ("B", "R-454B", "txv"),
            ("3", "R-454B", "txv"),
        ]
        assert made.circuits[1].charge_kg == pytest.approx(2.26796)  # 5 lb x 0.45359237 kg: NIST SP 811, B.8
        compressors = [part for part in made.parts if isinstance(part, Motor) and part.drives == "compressor"]
        assert [(known.name, known.circuit) for known in compressors] == [
            ("compressor", "A"), ("compressor 2", "B"), ("compressor 3", "3"),
        ]  # fmt: skip


async def _open_form(page: Page) -> None:
    """By the key of the bottom edge, or where that has no room for it behind the one for more."""
    key, more = (page.get_by_role("button", name=name, exact=True) for name in ("Units", "More…"))
    await key.or_(more).first.wait_for()
    if await more.count():
        await more.click()
    await key.click()


async def _read_the_plate(page: Page, new: Locator) -> None:
    """The photograph of the nameplate stays in sight beside the fields, and a touch makes it large enough to read."""
    plate = io.BytesIO()
    Image.new("RGB", (1200, 800), "gray").save(plate, "JPEG")

    async def show(route: Route) -> None:
        await route.fulfill(body=plate.getvalue(), content_type="image/jpeg")  # this rig has no record beside the page

    await page.route("**/photograph/*", show)
    file = FilePayload(name="plate.jpg", mimeType="image/jpeg", buffer=plate.getvalue())
    await new.locator("input[type=file]").set_input_files(file)
    picture = new.locator(".picture-key")
    await expect(picture.locator("img")).to_be_visible()
    await new.get_by_label("Compressor, RLA (circuit 1)").scroll_into_view_if_needed()
    await expect(picture).to_be_in_viewport(ratio=0.9)
    small = await picture.bounding_box()
    await picture.click()
    large = await picture.bounding_box()
    assert small is not None
    assert large is not None
    assert large["height"] > 1.5 * small["height"]
    await picture.click()


async def _new_circuits(new: Locator) -> None:
    """Name three circuits and take one more back; all have what the first has."""
    await new.get_by_label("Circuit 1, as it is marked").fill("A")
    await new.get_by_role("button", name="R-454B", exact=True).click()
    await new.get_by_role("button", name="TXV").click()
    for _ in range(3):
        await new.get_by_role("button", name="Another circuit").click()
    await new.get_by_role("button", name="One circuit less").click()
    await new.get_by_label("Circuit 2, as it is marked").fill("B")
    await new.get_by_label("Charge on the nameplate (circuit 2)").fill("5 lb")
