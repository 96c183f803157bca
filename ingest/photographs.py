"""Photographs as they come: parts put together, decoded in a thread, made smaller, and stripped of all but the picture.

Nothing of the file that was sent is kept: neither the position nor the time nor the camera that it may name. What is
kept is a new JPEG of the picture alone.
"""

import asyncio
import hashlib
import io
import logging
import math
import struct
import zlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from ingest.visit.deciding import RefusedError
from ingest.visit.photographs import Picture, of_another_visit, too_large
from ingest.wire.messages import Photograph, PhotographAsk
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES

logger = logging.getLogger(__name__)

LARGEST_SIDE_PX = 2_000
QUALITY = 85
MOST_PIXELS_SENT = 120_000_000
MOST_PIXELS_DECODED = 40_000_000
"""Of one picture: 120 MB in the daemon. A JPEG is decoded at a half, a quarter or an eighth where that is enough."""

FORGOTTEN_AFTER_S = 120.0
"""How long the next part may take."""
MOST_UNDER_WAY = 4
MOST_BYTES_UNDER_WAY = 2 * LARGEST_PHOTOGRAPH_BYTES

_FORMATS = ("JPEG", "PNG", "WEBP", "GIF")
_DAMAGE = (
    *(OSError, EOFError, SyntaxError, ValueError, TypeError, LookupError, OverflowError, MemoryError),
    *(struct.error, zlib.error),
)
"""What Pillow makes of bytes that are no picture, or not all of one."""
_INSTEAD = (
    "The tablet can send JPEG instead: in the settings of its camera, choose the format that most others can read"
)
_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis")
"""ISO/IEC 23008-12, annex B, and the AV1 image file format: brands of what a camera may write instead of JPEG."""

Image.MAX_IMAGE_PIXELS = None  # the limit here is of our own (`_check_size`): a JPEG counts as it is decoded


def develop(data: bytes) -> Picture:
    """Make of a file the picture that is kept. It blocks for up to seconds: run it in a thread.

    Raises:
        RefusedError: it is no picture, or none that can be read here; says what to do.

    """
    if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS:
        raise RefusedError(f"the photograph is a HEIC or AVIF file, which cannot be read here. {_INSTEAD}")
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as opened:
            return _kept(_upright(opened))
    except UnidentifiedImageError:
        raise RefusedError(f"the file is no photograph, or of a kind that cannot be read here. {_INSTEAD}") from None
    except _DAMAGE as error:
        logger.info("a photograph of %d bytes cannot be read: %s", len(data), error)
        raise RefusedError(
            "the photograph is damaged or cut off, and cannot be read to its end. Take it again, or send it again"
        ) from error


def _upright(opened: Image.Image) -> Image.Image:
    """Decode a picture of one frame as it is to be looked at, no larger than it is kept."""
    if opened.format != "MPO" and getattr(opened, "n_frames", 1) > 1:
        raise RefusedError("the file moves or has several pages: one picture was expected. Take a photograph of it")
    width, height = opened.size
    share = LARGEST_SIDE_PX / max(width, height)
    if opened.format in ("JPEG", "MPO"):
        opened.draft("RGB", (math.ceil(share * width), math.ceil(share * height)))
    if width * height > MOST_PIXELS_SENT or opened.width * opened.height > MOST_PIXELS_DECODED:
        raise RefusedError(
            f"the photograph has {width} x {height} pixels, more than can be read here: set the camera to fewer"
        )
    ImageOps.exif_transpose(opened, in_place=True)
    picture = _in_colour(opened)
    picture.thumbnail((LARGEST_SIDE_PX, LARGEST_SIDE_PX), Image.Resampling.LANCZOS)
    return picture


def _in_colour(picture: Image.Image) -> Image.Image:
    """Make it red, green and blue of 8 bit, on white where one sees through it."""
    if picture.mode.startswith("I"):  # 16 bit of grey, which Pillow would cut off at 255
        grey = np.asarray(picture).astype(np.int64) >> 8
        picture = Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))
    if picture.has_transparency_data:
        above = picture.convert("RGBA")
        white = Image.new("RGBA", above.size, "white")
        picture = Image.alpha_composite(white, above)
    return picture.convert("RGB")


def _kept(picture: Image.Image) -> Picture:
    """Write the picture alone: a new one has nothing of what stood beside it."""
    alone = Image.new("RGB", picture.size)
    alone.paste(picture)
    file = io.BytesIO()
    alone.save(file, "JPEG", quality=QUALITY, optimize=True)
    jpeg = file.getvalue()
    return Picture(jpeg, hashlib.sha256(jpeg).hexdigest(), *alone.size)


Keep = Callable[[Picture], Awaitable[Photograph]]
"""Records a picture with its mark, and gives that. Raises NotSavedError."""


@dataclass(slots=True)
class _UnderWay:
    """A photograph of which not all parts are there. first: the part that came first, which the others must match.

    visit: in which that was: a part that comes in another one is not of this photograph.
    """

    first: PhotographAsk
    visit: str
    heard_s: float
    parts: dict[int, bytes] = field(default_factory=dict)

    @property
    def size(self) -> int:
        return sum(map(len, self.parts.values()))


class Parts:
    """The parts that have come of photographs that are not whole yet.

    monotonic_s: tells time. lost: told in words of each that was forgotten.
    """

    def __init__(self, monotonic_s: Callable[[], float], lost: Callable[[str], None]) -> None:
        self._monotonic_s = monotonic_s
        self._lost = lost
        self._under_way: dict[str, _UnderWay] = {}
        self._developing: dict[str, asyncio.Task[Photograph]] = {}
        self._one_at_a_time = asyncio.Lock()

    async def take(self, ask: PhotographAsk, visit: str, keep: Keep) -> Photograph | None:
        """Take a part, in a visit by its id. With the last that was missing it is made and kept; gives its mark then.

        A part that comes again, even while that is done, changes nothing.

        Raises:
            RefusedError: the part does not fit the others, or what they make is no picture.
            NotSavedError: it was not kept. All of it must come again.

        """
        self.forget()
        key = ask.photograph
        if key in self._developing:
            return await asyncio.shield(self._developing[key])
        under_way = self._place_for(key, ask, visit)
        under_way.parts[ask.part_number] = ask.data
        if under_way.size > LARGEST_PHOTOGRAPH_BYTES:
            del self._under_way[key]
            raise RefusedError(too_large())
        if len(under_way.parts) < ask.part_count:
            return None
        whole = self._under_way.pop(key)
        self._developing[key] = asyncio.create_task(self._develop(whole, keep))
        self._developing[key].add_done_callback(lambda _: self._developing.pop(key))
        return await asyncio.shield(self._developing[key])

    def _place_for(self, key: str, ask: PhotographAsk, visit: str) -> _UnderWay:
        under_way = self._under_way.get(key)
        if under_way is None:
            if len(self._under_way) >= MOST_UNDER_WAY or self._bytes > MOST_BYTES_UNDER_WAY:
                raise RefusedError(
                    "other photographs are still on their way: wait until they are here, then send it again"
                )
            under_way = self._under_way[key] = _UnderWay(ask, visit, self._monotonic_s())
        if visit != under_way.visit:
            del self._under_way[key]
            raise RefusedError(of_another_visit())
        before = under_way.parts.get(ask.part_number, ask.data)
        if _about(ask) != _about(under_way.first) or before != ask.data:
            raise RefusedError(
                "this part does not fit those that came before under its id: send it all under a new one"
            )
        under_way.heard_s = self._monotonic_s()
        return under_way

    @property
    def _bytes(self) -> int:
        return sum(under_way.size for under_way in self._under_way.values())

    async def _develop(self, whole: _UnderWay, keep: Keep) -> Photograph:
        data = b"".join(whole.parts[number] for number in sorted(whole.parts))
        if hashlib.sha256(data).hexdigest() != whole.first.digest:
            raise RefusedError("the photograph did not arrive as it was sent: its digest differs. Send it again")
        async with self._one_at_a_time:
            return await keep(await asyncio.to_thread(develop, data))

    def forget(self) -> None:
        """Forget photographs of which nothing has come for some time, and tell it."""
        now_s = self._monotonic_s()
        late = [key for key, it in self._under_way.items() if now_s - it.heard_s > FORGOTTEN_AFTER_S]
        for key in late:
            it = self._under_way.pop(key)
            came = f"{len(it.parts)} of {it.first.part_count} parts came"
            self._lost(f"a photograph of {it.first.by} did not arrive whole, {came}: send it again")


def _about(ask: PhotographAsk) -> tuple[object, ...]:
    """Give all that a part says of its photograph."""
    return (ask.by, ask.digest, ask.part_count, ask.text, ask.check, ask.part, ask.circuit, ask.unit, ask.want)
