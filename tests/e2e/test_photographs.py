"""Photographs in a real browser: made smaller before they are sent, and sent as they are where it cannot read them."""

import base64
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from playwright.async_api import Page

from tests.e2e.scene import scene

pytestmark = pytest.mark.browser

SCRIPT = """async ([data, about]) => {
  const { smaller, sendPhotograph } = await import("/assets/shared/browser/photographs.js");
  const file = new Blob([Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0))]);
  const made = await smaller(file);
  const bytes = new Uint8Array(await made.arrayBuffer());
  const text = Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");
  return { made: btoa(text), sent: await sendPhotograph(file, about) };
}"""


async def sent_from(page: Page, data: bytes, **about: str) -> tuple[bytes, dict[str, Any]]:
    """What the browser makes of a file, and what becomes of it when it is sent."""
    answer = await page.evaluate(SCRIPT, [base64.b64encode(data).decode(), about])
    return base64.b64decode(answer["made"]), answer["sent"]


def taken(width: int, height: int, form: str = "JPEG") -> bytes:
    """A photograph that lies on its right side, red on its left half as it is stored, and tells where it was taken."""
    picture = Image.effect_noise((width, height), 40).convert("RGB")
    ImageDraw.Draw(picture).rectangle((0, 0, width // 2, height), fill="red")
    exif = Image.Exif()
    exif[0x0112] = 6  # CIPA DC-008 (Exif 2.3): row 0 is on the right as it is seen, so the left is at the top
    exif.get_ifd(0x8825).update({1: "N", 2: (47.0, 22.0, 11.5)})
    file = io.BytesIO()
    picture.save(file, form, exif=exif, quality=92)
    return file.getvalue()


async def test_a_large_photograph_is_made_smaller_and_turned_before_it_is_sent(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    data = taken(3200, 2400)
    async with scene(tmp_path, free_port) as it:
        page = await it.open(size="tablet", at="/visit")
        made, sent = await sent_from(page, data, id="p1", text="the label")
        assert len(made) < len(data) / 2
        with Image.open(io.BytesIO(made)) as image:
            assert (image.format, image.size, dict(image.getexif())) == ("JPEG", (1500, 2000), {})
        assert (sent["ok"], sent["mark"]["width"], sent["mark"]["height"]) == (True, 1500, 2000)
        with Image.open(io.BytesIO(it.rig.pictures["p1"])) as kept:
            above, below = kept.getpixel((750, 400)), kept.getpixel((750, 1600))
        assert isinstance(above, tuple)
        assert isinstance(below, tuple)
        assert above[0] - above[1] > 150  # red
        assert abs(below[0] - below[1]) < 60  # grey


async def test_what_the_browser_cannot_read_or_is_small_goes_to_the_rig_as_it_is(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        page = await it.open(size="tablet", at="/visit")
        small = taken(320, 240)
        made, sent = await sent_from(page, small, id="p1")
        assert (made, sent["ok"]) == (small, True)
        assert (sent["mark"]["width"], sent["mark"]["height"]) == (240, 320)  # turned by the rig
        for number, (unreadable, reason) in enumerate(
            [(b"\x00\x00\x00\x18ftypheic" + bytes(3000), "HEIC"), (b"no picture", "no photograph")]
        ):
            made, sent = await sent_from(page, unreadable, id=f"q{number}")
            assert (made, sent["ok"], sent["status"]) == (unreadable, False, 409)
            assert reason in sent["reason"]
        assert list(it.rig.pictures) == ["p1"]
