"""Photographs as they come: what is made of a file, and of its parts in any order."""

import asyncio
import hashlib
import io
import random
import struct
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from PIL import Image, ImageChops, ImageDraw, ImageStat
from PIL.ImageColor import getrgb

from ingest.developing import develop
from ingest.photographs import Parts
from ingest.visit.deciding import Facts, RefusedError
from ingest.visit.photographs import Picture, check_part, photograph
from ingest.visit.standing import Standing
from ingest.wire.asks import encode_ask
from ingest.wire.messages import Photograph, PhotographAsk
from tests.ingest.visit.checks import taken
from tests.wire_rig import unit

ORIENTATION = 0x0112
GPS = 0x8825
"""Tags of the Exif standard, CIPA DC-008 (Exif 2.3): Orientation, and the pointer to what tells the position."""

CORNERS = {"red": (0, 0), "lime": (1, 0), "blue": (0, 1), "yellow": (1, 1)}
"""Which colour stands where: left or right, top or bottom."""


def scene(width: int = 120, height: int = 80, mode: str = "RGB") -> Image.Image:
    """A picture each corner of which has its colour."""
    picture = Image.new("RGB", (width, height), "gray")
    draw = ImageDraw.Draw(picture)
    for colour, (right, bottom) in CORNERS.items():
        left, top = right * width // 2, bottom * height // 2
        draw.rectangle((left, top, left + width // 2, top + height // 2), fill=colour)
    return picture.convert(mode)


def written(picture: Image.Image, form: str, **options: Any) -> bytes:
    file = io.BytesIO()
    picture.save(file, form, **options)
    return file.getvalue()


def opened(picture: Picture) -> Image.Image:
    with Image.open(io.BytesIO(picture.jpeg)) as image:
        assert image.format == "JPEG"
        assert (image.mode, image.size) == ("RGB", (picture.width, picture.height))
        image.load()
        return image


def corners(image: Image.Image) -> dict[str, tuple[int, int]]:
    """Where each colour of the scene is found."""
    found = {}
    for right in (0, 1):
        for bottom in (0, 1):
            x, y = (1 + 2 * right) * image.width // 4, (1 + 2 * bottom) * image.height // 4
            seen = image.getpixel((x, y))
            assert isinstance(seen, tuple)
            nearest = min(CORNERS, key=lambda name: sum(abs(a - b) for a, b in zip(seen, _rgb(name), strict=True)))
            found[nearest] = (right, bottom)
    return found


def _rgb(name: str) -> tuple[int, ...]:
    return getrgb(name)


TURNED = {
    1: lambda x, y: (x, y),
    2: lambda x, y: (1 - x, y),
    3: lambda x, y: (1 - x, 1 - y),
    4: lambda x, y: (x, 1 - y),
    5: lambda x, y: (y, x),
    6: lambda x, y: (1 - y, x),
    7: lambda x, y: (1 - y, 1 - x),
    8: lambda x, y: (y, 1 - x),
}
"""Where a stored corner is seen. CIPA DC-008 (Exif 2.3), Orientation, tag 274 (112 hex): on which side of the picture
as it is seen the 0th row and the 0th column are. 1: top, left. 2: top, right. 3: bottom, right. 4: bottom, left. 5:
left, top. 6: right, top. 7: right, bottom. 8: left, bottom."""


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", TURNED)
def test_a_photograph_is_turned_as_its_exif_says(orientation: int, form: str) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    kept = develop(written(scene(), form, exif=exif))
    assert (kept.width, kept.height) == ((120, 80) if orientation < 5 else (80, 120))
    assert corners(opened(kept)) == {name: TURNED[orientation](*place) for name, place in CORNERS.items()}


def test_nothing_but_the_picture_is_kept() -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[0x010F] = "a maker"
    exif.get_ifd(GPS).update({1: "N", 2: (47.0, 22.0, 11.5), 3: "E", 4: (8.0, 32.0, 9.25)})
    secret = b"SECRETLY"
    sent = written(scene(), "JPEG", exif=exif, comment=secret, icc_profile=secret * 20, xmp=secret)
    assert secret in sent
    with Image.open(io.BytesIO(sent)) as before:
        assert before.getexif().get_ifd(GPS)[2] == (47.0, 22.0, 11.5)
    kept = develop(sent)
    image = opened(kept)
    assert (dict(image.getexif()), dict(image.getexif().get_ifd(GPS))) == ({}, {})
    assert secret not in kept.jpeg
    assert image.info.keys() <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert segments(kept.jpeg) <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}
    assert kept.digest == hashlib.sha256(kept.jpeg).hexdigest()


def segments(jpeg: bytes) -> set[int]:
    """The markers of a JPEG up to its first scan. ITU-T T.81, annex B: FF, the marker, and how long what follows is."""
    found, place = set(), 2
    while jpeg[place] == 0xFF:
        found.add(jpeg[place + 1])
        if jpeg[place + 1] == 0xDA:
            return found
        place += 2 + struct.unpack(">H", jpeg[place + 2 : place + 4])[0]
    raise AssertionError(place)


@pytest.mark.parametrize(
    ("width", "height", "kept"),
    [
        (4000, 3000, (2000, 1500)),
        (3000, 4000, (1500, 2000)),
        (2000, 1200, (2000, 1200)),
        (2001, 1000, (2000, 1000)),
        (8000, 100, (2000, 25)),
        (9000, 1, (2000, 1)),
    ],
)
def test_a_photograph_is_made_smaller_and_never_larger(width: int, height: int, kept: tuple[int, int]) -> None:
    for form in ("JPEG", "PNG"):
        made = develop(written(scene(width, height), form))
        assert (made.width, made.height) == pytest.approx(kept, abs=1)
        assert max(made.width, made.height) <= 2000
    assert develop(written(scene(6, 4), "PNG")).width == 6


@pytest.mark.parametrize(
    ("form", "mode", "options"),
    [
        ("JPEG", "RGB", {}),
        ("JPEG", "L", {}),
        ("JPEG", "CMYK", {}),
        ("JPEG", "RGB", {"progressive": True}),
        ("PNG", "RGB", {}),
        ("PNG", "RGBA", {}),
        ("PNG", "P", {}),
        ("PNG", "L", {}),
        ("PNG", "LA", {}),
        ("PNG", "1", {}),
        ("WEBP", "RGB", {}),
        ("WEBP", "RGBA", {"lossless": True}),
        ("GIF", "P", {}),
        ("MPO", "RGB", {"save_all": True, "append_images": [scene(60, 40)]}),
    ],
)
def test_every_kind_of_colour_comes_out_as_it_went_in(form: str, mode: str, options: dict[str, Any]) -> None:
    """As Pillow itself makes red, green and blue of it, within what JPEG loses."""
    picture = scene(mode=mode)
    image = opened(develop(written(picture, form, **options)))
    difference = ImageChops.difference(image, picture.convert("RGB"))
    assert max(ImageStat.Stat(difference).mean) < 12


def test_sixteen_bits_of_grey_become_eight_and_are_not_cut_off() -> None:
    picture = Image.new("I;16", (64, 64))
    picture.putdata([256 * (place % 64) * 4 for place in range(64 * 64)])
    image = opened(develop(written(picture, "PNG")))
    for column in (2, 20, 40, 60):
        seen = image.getpixel((column, 32))
        assert isinstance(seen, tuple)
        assert seen == pytest.approx((4 * column,) * 3, abs=4)


def test_what_one_sees_through_stands_on_white() -> None:
    picture = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert opened(develop(written(picture, "PNG"))).getpixel((20, 20)) == (255, 255, 255)


# --- what is refused, and what to do


def heic(brand: bytes) -> bytes:
    """The beginning of one: ISO/IEC 14496-12, 4.3: size, `ftyp`, the major brand, its version, compatible brands."""
    return struct.pack(">I4s4sI", 24, b"ftyp", brand, 0) + b"mif1heic" + random.Random(1).randbytes(5000)


def animated(form: str) -> bytes:
    return written(scene(), form, save_all=True, append_images=[scene().rotate(90), scene().rotate(180)], duration=100)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no photograph"),
        (b"x", "no photograph"),
        (b"%PDF-1.7 nothing", "no photograph"),
        (written(scene(), "TIFF"), "no photograph"),
        (written(scene(), "BMP"), "no photograph"),
        (heic(b"heic"), "HEIC or AVIF"),
        (heic(b"mif1"), "HEIC or AVIF"),
        (heic(b"avif"), "HEIC or AVIF"),
        (animated("GIF"), "moves or has several pages"),
        (animated("WEBP"), "moves or has several pages"),
        (animated("PNG"), "moves or has several pages"),
        (written(scene(), "JPEG")[:-400], "damaged or cut off"),
        (written(scene(), "PNG")[:-60], "damaged or cut off"),
        (written(scene(), "WEBP")[:-60], "damaged or cut off"),
    ],
)
def test_what_is_no_photograph_is_refused_in_one_sentence_with_what_to_do(data: bytes, words: str) -> None:
    with pytest.raises(RefusedError, match=words) as refused:
        develop(data)
    said = str(refused.value)
    assert said.count(". ") <= 1
    assert any(it in said for it in ("send JPEG instead", "Take a photograph", "Take it again"))


def bomb(width: int, height: int) -> bytes:
    """A PNG of one colour that says how large it is; its size in bytes grows a thousandth as fast."""
    return written(Image.new("1", (width, height)), "PNG")


@pytest.mark.parametrize(("width", "height"), [(30_000, 30_000), (60_000, 1_000), (9_000, 9_000)])
def test_a_small_file_of_very_many_pixels_is_refused_before_they_are_decoded(
    width: int, height: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = bomb(width, height)
    decoded: list[object] = []
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", lambda *_: decoded.append(None))
    assert len(data) < 200_000
    with pytest.raises(RefusedError, match="pixels, more than can be read here: set the camera to fewer"):
        develop(data)
    assert decoded == []


def test_a_large_jpeg_is_decoded_smaller_and_passes() -> None:
    """Sixty million pixels, more than are decoded at once."""
    made = develop(written(Image.new("L", (10_000, 6_000), 200), "JPEG"))
    assert (made.width, made.height) == (2_000, 1_200)


def spoiled(data: bytes, places: list[tuple[float, int]], cut: float) -> bytes:
    """Change some bytes of a file and cut it off."""
    changed = bytearray(data)
    for place, value in places:
        changed[int(place * (len(changed) - 1))] = value
    return bytes(changed[: max(1, int(cut * len(changed)))])


OF_WHAT_IS_BESIDE = pytest.mark.filterwarnings("ignore::UserWarning:PIL")
"""Pillow warns of metadata that it cannot read, and reads the picture."""


@OF_WHAT_IS_BESIDE
@settings(max_examples=300, deadline=None)
@given(
    form=st.sampled_from(["JPEG", "PNG", "WEBP", "GIF", "MPO"]),
    places=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), max_size=8),
    cut=st.sampled_from([1.0, 1.0, 0.99, 0.7, 0.3, 0.02]),
)
def test_whatever_a_file_holds_it_is_a_picture_or_refused(
    form: str, places: list[tuple[float, int]], cut: float
) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    options = {"exif": exif} if form in ("JPEG", "PNG", "WEBP") else {}
    data = spoiled(written(scene(), form, **options), places, cut)
    try:
        made = develop(data)
    except RefusedError:
        return
    opened(made)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=300))
@example(b"\xff\xd8\xff")
@example(b"\x89PNG\r\n\x1a\n")
@example(b"RIFF\x00\x00\x00\x00WEBPVP8 ")
@example(b"GIF89a")
def test_bytes_of_no_meaning_are_refused(data: bytes) -> None:
    with pytest.raises(RefusedError):
        develop(data)


@OF_WHAT_IS_BESIDE
def test_a_picture_is_kept_though_what_stands_beside_it_cannot_be_read() -> None:
    data = written(scene(), "JPEG", exif=b"Exif\x00\x00II*\x00\x08\x00\x00\x00\xff\xff\x12\x01\x03\x00")
    assert develop(data).width == 120


# --- parts


class Kept:
    """What was kept of photographs."""

    def __init__(self) -> None:
        self.pictures: list[Picture] = []
        self.lost: list[str] = []
        self.now_s = 0.0
        self.visit = "v1"
        self.parts = Parts(lambda: self.now_s, self.lost.append)

    async def take(self, ask: PhotographAsk) -> Photograph | None:
        async def keep(picture: Picture) -> Photograph:
            await asyncio.sleep(0)
            self.pictures.append(picture)
            return photograph(ask, (ask.photograph, 0.0, ask.by, "technician"), picture)

        return await self.parts.take(ask, self.visit, keep)


def cut(data: bytes, pieces: int, name: str = "p1", **fields: Any) -> list[PhotographAsk]:
    """A photograph in so many parts."""
    size = -(-len(data) // pieces)
    digest = hashlib.sha256(data).hexdigest()
    chunks = [data[place : place + size] for place in range(0, len(data), size)]
    about = {"photograph": name, "digest": digest, "part_count": len(chunks)} | fields
    return [
        PhotographAsk(f"{name}-{number}", "Sam", part_number=number, data=chunk, **about)
        for number, chunk in enumerate(chunks, start=1)
    ]


PICTURE = written(scene(), "JPEG")


@settings(max_examples=60, deadline=None)
@given(pieces=st.integers(1, 12), shuffled=st.randoms(use_true_random=False), twice=st.integers(0, 12))
def test_parts_in_any_order_and_some_twice_make_the_photograph_once(
    pieces: int, shuffled: random.Random, twice: int
) -> None:
    parts = cut(PICTURE, pieces, text="C1")
    sent = [*parts, *(shuffled.choice(parts) for _ in range(twice))]
    shuffled.shuffle(sent)
    last = max(sent.index(part) for part in parts)

    async def send() -> None:
        kept = Kept()
        answers = [await kept.take(part) for part in sent[: last + 1]]
        assert answers[:-1] == [None] * last
        mark = answers[-1]
        assert mark is not None
        assert (mark.id, mark.text, mark.width, mark.height) == ("p1", "C1", 120, 80)
        assert (mark.sent_digest, mark.digest) == (hashlib.sha256(PICTURE).hexdigest(), kept.pictures[0].digest)
        assert kept.pictures == [develop(PICTURE)]

    asyncio.run(send())


async def test_parts_that_come_again_while_the_picture_is_made_are_answered_with_its_mark() -> None:
    kept, parts = Kept(), cut(PICTURE, 3)
    answers = await asyncio.gather(*(kept.take(part) for part in [*parts, *parts]))
    assert len(kept.pictures) == 1
    assert answers[:2] == [None, None]
    assert all(mark is not None and mark == answers[2] for mark in answers[2:])


async def test_two_photographs_at_once_do_not_mix() -> None:
    kept = Kept()
    other = written(scene(60, 60), "PNG")
    both = [part for pair in zip(cut(PICTURE, 5), cut(other, 5, "p2"), strict=True) for part in pair]
    marks = [mark for part in both if (mark := await kept.take(part))]
    assert [(mark.id, mark.width) for mark in marks] == [("p1", 120), ("p2", 60)]


async def test_a_part_that_does_not_fit_the_others_is_refused_and_takes_none_away() -> None:
    kept, parts = Kept(), cut(PICTURE, 3)
    await kept.take(parts[0])
    for other in (
        cut(written(scene(61, 61), "JPEG"), 3)[1],
        cut(PICTURE, 3, text="another")[1],
        cut(PICTURE, 4)[1],
        cut(PICTURE, 3, want="w1")[1],
    ):
        with pytest.raises(RefusedError, match="does not fit"):
            await kept.take(other)
    changed = PhotographAsk(**{name: getattr(parts[0], name) for name in parts[0].__struct_fields__} | {"data": b"x"})
    with pytest.raises(RefusedError, match="does not fit"):
        await kept.take(changed)
    assert await kept.take(parts[1]) is None
    assert await kept.take(parts[2]) is not None


async def test_what_did_not_arrive_as_it_was_sent_is_refused() -> None:
    kept = Kept()
    first, second = cut(PICTURE, 2)
    await kept.take(first)
    flipped = bytes([second.data[0] ^ 1]) + second.data[1:]
    spoilt = PhotographAsk(**{name: getattr(second, name) for name in second.__struct_fields__} | {"data": flipped})
    with pytest.raises(RefusedError, match="its digest differs"):
        await kept.take(spoilt)
    for part in (first, second):  # and then it may come again
        mark = await kept.take(part)
    assert mark is not None


async def test_parts_that_come_in_two_visits_make_no_photograph_of_either() -> None:
    kept, (first, second) = Kept(), cut(PICTURE, 2)
    await kept.take(first)
    kept.visit = "v2"
    with pytest.raises(RefusedError, match="it would stand in the wrong one"):
        await kept.take(second)
    assert kept.pictures == []
    assert await kept.take(first) is None  # of the visit that the rig is in now
    assert await kept.take(second) is not None


async def test_what_no_longer_comes_is_forgotten_and_told() -> None:
    kept, parts = Kept(), cut(PICTURE, 4)
    for part in parts[:3]:
        await kept.take(part)
        kept.now_s += 120.0  # two minutes, since a tablet may be out of reach for a moment
        kept.parts.forget()
    assert kept.lost == []
    kept.now_s += 1
    kept.parts.forget()
    assert kept.lost == ["a photograph of Sam did not arrive whole, 3 of 4 parts came: send it again"]
    assert await kept.take(parts[3]) is None  # the others must come again
    for part in parts[:3]:
        mark = await kept.take(part)
    assert mark is not None


async def test_only_so_many_are_under_way_at_once() -> None:
    kept = Kept()
    for number in range(4):
        await kept.take(cut(PICTURE, 2, f"p{number}")[0])
    with pytest.raises(RefusedError, match="still on their way"):
        await kept.take(cut(PICTURE, 2, "p9")[0])
    assert await kept.take(cut(PICTURE, 2, "p0")[1]) is not None
    assert await kept.take(cut(PICTURE, 2, "p9")[0]) is None


async def test_a_file_that_is_too_large_is_refused_as_soon_as_that_is_known() -> None:
    kept = Kept()
    data = bytes(10_000_000)
    for number in (1, 2, 3):
        await kept.take(part_of(number, data))
    with pytest.raises(RefusedError, match="more than 32 MB"):
        await kept.take(part_of(4, data))


def part_of(number: int, data: bytes) -> PhotographAsk:
    return PhotographAsk(
        f"a{number}", "Sam", photograph="p1", digest="0" * 64, part_number=number, part_count=9, data=data
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"photograph": "../etc"}, "photograph is no id"),
        ({"photograph": ""}, "photograph is no id"),
        ({"digest": "A" * 64}, "digest is not"),
        ({"digest": ""}, "digest is not"),
        ({"part_number": 0}, "part 0 of 1"),
        ({"part_number": 2}, "part 2 of 1"),
        ({"part_count": 2_001}, "at most 2000"),
        ({"part_number": -1, "part_count": -1}, "parts count from 1"),
        ({"data": b""}, "0 bytes"),
        ({"check": "nope"}, "check: there is no check 'nope'"),
        ({"part": "nope"}, "part: this unit has no 'nope'; it has compressor, fan"),
        ({"circuit": "zz"}, "circuit: this unit has no 'zz'; it has 1, 2"),
        ({"unit": "RTU-9"}, "the photograph is of 'RTU-9', and the rig is at RTU-K7Q-4: open that unit"),
        ({"want": "w1"}, "no lead wants a photograph under 'w1'"),
    ],
)
def test_a_part_that_can_be_of_no_photograph_is_refused(change: dict[str, Any], words: str) -> None:
    (part,) = cut(PICTURE, 1)
    here = Facts(unit(), {}, frozenset(), frozenset(), circuits=("1", "2"), parts=("compressor", "fan"))
    of_this = {"check": "wiring_photograph", "part": "fan", "circuit": "2", "unit": unit().tag}
    check_part(replace(part, **of_this), Standing("v1"), here)
    said = {name: getattr(part, name) for name in part.__struct_fields__} | change
    with pytest.raises(RefusedError, match=words):
        check_part(PhotographAsk(**said), Standing("v1"), here)


def test_a_photograph_of_whatever_is_sent_to_a_rig_that_knows_no_parts_and_no_circuits() -> None:
    (part,) = cut(PICTURE, 1)
    check_part(replace(part, part="fan", circuit="2"), Standing("v1"), Facts(unit(), {}, frozenset(), frozenset()))


def test_of_what_a_check_names_the_photograph_that_was_taken_last_for_it_counts() -> None:
    """By the lock's it is told since when it is on: an older one would let through what was read before."""
    standing = Standing("v1")
    for name, check in (("p1", "isolate"), ("p2", "isolate"), ("p3", "isolate"), ("p4", "which_unit"), ("p5", "")):
        standing.take(taken(name, check=check))
    photographs = standing.photographs
    assert photographs.newest(["p2", "p1", "p4"], "isolate") == "p2"
    assert photographs.newest(["p1", "p9"], "isolate") == "p1"
    assert photographs.newest(["p4", "p9"], "isolate") == ""
    assert photographs.of_check(["p1", "p3", "p4", "p9"], "isolate") == 2
    assert photographs.of_check(["p1", "p4", "p5"], "which_unit") == 2  # as a unit is chosen, no check is open yet
    assert [it.id for it in photographs.message().newest] == ["p5", "p4", "p3", "p2", "p1"]


def test_the_largest_part_with_all_that_is_said_of_it_fits_a_message() -> None:
    words = {"text": "\N{WRENCH}" * 500} | dict.fromkeys(
        ("visit", "check", "part", "circuit", "unit", "want"), "\N{WRENCH}" * 64
    )
    ask = PhotographAsk(
        "i" * 64, "\N{WRENCH}" * 64, photograph="p" * 64, digest="0" * 64, part_number=1_000, part_count=2_000,
        data=bytes(45_000), **words,
    )  # fmt: skip
    assert len(encode_ask(ask)) <= 64 * 1024  # what a message may have
