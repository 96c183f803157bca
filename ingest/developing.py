"""A photograph developed: decoded, made smaller, and stripped of all but the picture.

Nothing of the file that was sent is kept: neither the position nor the time nor the camera that it may name. What is
kept is a new JPEG of the picture alone.
"""

import hashlib
import io
import logging
import math
import struct
import zlib

import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from ingest.visit.deciding import RefusedError
from ingest.visit.photographs import Picture

logger = logging.getLogger(__name__)

LARGEST_SIDE_PX = 2_000
QUALITY = 85
MOST_PIXELS_SENT = 120_000_000
MOST_PIXELS_DECODED = 40_000_000
"""Of one picture: 120 MB in the daemon. A JPEG is decoded at a half, a quarter or an eighth where that is enough."""

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

Image.MAX_IMAGE_PIXELS = None  # the limit here is of our own (`_upright`): a JPEG counts as it is decoded


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
