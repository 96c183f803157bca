"""Photographs through the page: to a real daemon in parts, into its record, and from there to whoever watches."""

import asyncio
import hashlib
import io
import random
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import pytest
from PIL import Image

from dashboard.auth import make_invitation
from dashboard.hub import Hub
from dashboard.settings import Settings
from ingest.record.reading import RecordFile
from ingest.wire.messages import Photograph
from tests.brokers import mosquitto
from tests.dashboard.test_live import scene
from tests.page import Response, cookie_of, enter, request, serving_page, settings
from tests.processes import eventually, running
from tests.rigs import write_configuration

GPS = 0x8825
"""The pointer to what tells the position: CIPA DC-008 (Exif 2.3)."""


def taken(width: int = 4000, height: int = 3000, form: str = "JPEG") -> bytes:
    """A photograph that says where it was taken, and that it lies on its side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(GPS).update({1: "N", 2: (47.0, 22.0, 11.5)})
    noise = random.Random(1).randbytes(width * height // 256)
    grey = Image.frombytes("L", (width // 16, height // 16), noise[: (width // 16) * (height // 16)])
    file = io.BytesIO()
    grey.resize((width, height)).convert("RGB").save(file, form, exif=exif, quality=95)
    return file.getvalue()


@dataclass
class Scene:
    """A rig's daemon and its page."""

    known: Settings
    hub: Hub
    record: RecordFile

    async def send(self, data: bytes, headers: dict[str, str] | None = None, **about: str) -> Response:
        return await request(
            self.known, "POST", f"/api/photograph?{urlencode(about)}", body=data, headers=headers or {}
        )

    async def ask(self, kind: str, body: bytes, headers: dict[str, str] | None = None) -> Response:
        return await request(self.known, "POST", f"/api/ask/{kind}", body=body, headers=headers or {})


@asynccontextmanager
async def daemon_and_page(directory: Path, free_port: Callable[[], int]) -> AsyncIterator[Scene]:
    record = directory / "bench.sqlite"
    async with mosquitto(free_port(), directory) as broker:
        configuration = write_configuration(directory, f'url = "mqtt://127.0.0.1:{broker.address.port}"')
        known = settings(directory, free_port(), broker=broker.address, record=record)
        async with (
            running(["daemon", "--config", str(configuration)], directory / "daemon.log"),
            serving_page(known) as hub,
        ):

            async def heard() -> bool:
                return hub.about is not None and hub.visit is not None and hub.publish is not None

            await eventually("the page hears the daemon", heard)
            yield Scene(known, hub, RecordFile(record))


async def test_a_photograph_goes_into_the_record_upright_and_without_its_position(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    sent = taken()
    assert len(sent) > 300_000  # several parts
    async with daemon_and_page(tmp_path, free_port) as it:
        answer = await it.send(sent, id="p-1", check="wiring_photograph", text="before the first lead is off")
        assert (answer.status, answer.json()["ok"]) == (200, True)
        mark = answer.json()["mark"]
        assert (mark["kind"], mark["id"], mark["width"], mark["height"]) == ("photograph", "p-1", 1500, 2000)
        assert mark["sent_digest"] == hashlib.sha256(sent).hexdigest()
        shown = await request(it.known, "GET", "/photograph/p-1")
        assert (shown.status, shown.headers["content-type"]) == (200, "image/jpeg")
        assert shown.headers["x-content-type-options"] == "nosniff"
        assert shown.headers["cache-control"] == "private, max-age=31536000, immutable"
        assert hashlib.sha256(shown.body).hexdigest() == mark["digest"]
        with Image.open(io.BytesIO(shown.body)) as image:
            assert (image.size, dict(image.getexif())) == ((1500, 2000), {})
        again = await it.send(sent, id="p-1", check="wiring_photograph", text="before the first lead is off")
        assert again.json()["mark"] == mark  # over a bad line it is sent twice, and recorded once
        other = await it.send(taken(800, 600), id="p-1")
        assert (other.status, "under a new one" in other.json()["reason"]) == (409, True)
        visit = it.record.newest_visit()
        assert visit is not None
        marks = [found.mark for found in it.record.marks_after(visit, 0)]
        assert [found.id for found in marks if isinstance(found, Photograph)] == ["p-1"]

        async def told() -> bool:
            return it.hub.visit is not None and it.hub.visit.photographs.count == 1

        await eventually("the visit tells of it", told)


async def test_what_a_lead_wanted_is_shown_to_them(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with daemon_and_page(tmp_path, free_port) as it:
        lead = cookie_of(await enter(it.known, make_invitation(it.known, "lead")))
        want = b'{"id": "w-1", "fields": {"what": "photograph", "text": "the label of the can"}}'
        assert (await it.ask("want", want, lead)).status == 200
        move = b'{"visit": "v-before", "mass": "6 oz", "phase": "liquid", "confirmed": true}'
        for stale, status in (
            (await it.send(taken(320, 240, "PNG"), visit="v-before"), 409),
            (await it.ask("added", move), 200),  # an answer, which says that nothing was recorded
        ):
            said = stale.json()["reason"]
            assert not stale.json()["ok"]
            assert (stale.status, "meant for another unit (visit v-before)" in said) == (status, True), said
        wrong = await it.send(taken(320, 240, "PNG"), want="w-9")
        assert (wrong.status, "no lead wants a photograph under" in wrong.json()["reason"]) == (409, True)
        assert (await it.send(taken(320, 240, "PNG"), id="p-1", want="w-1")).status == 200

        async def met() -> bool:
            return it.hub.visit is not None and it.hub.visit.talk.wants_closed == 1

        await eventually("it is wanted no more", met)
        assert (await request(it.known, "GET", "/photograph/p-1", headers=lead)).status == 200
        refused = await it.send(taken(320, 240, "PNG"), lead)
        assert (refused.status, refused.text) == (403, "A lead watches; only the technician at the unit does that.")
        assert (await request(it.known, "GET", "/photograph/p-9", headers=lead)).status == 404
        for path in ("/photograph/", "/photograph/a.b", "/photograph/..%2Fbench.sqlite"):
            assert (await request(it.known, "GET", path, headers=lead)).status == 404, path


async def test_what_is_no_photograph_is_refused_with_what_to_do(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with daemon_and_page(tmp_path, free_port) as it:
        for data, words in (
            (b"%PDF-1.7", "send JPEG instead"),
            (taken(640, 480)[:-2000], "Take it again"),
            (b"\x00\x00\x00\x18ftypheic" + bytes(2000), "HEIC"),
        ):
            refused = await it.send(data)
            assert (refused.status, words in refused.json()["reason"]) == (409, True), words
        assert (await it.send(b"", id="p-1")).status in (400, 411)
        assert (await it.send(b"x", id="p" * 60)).status == 400
        assert (await it.send(b"x", color="red")).status == 400
        too_long = await it.send(b"x", text="x" * 501)
        assert (too_long.status, "at most 500" in too_long.json()["reason"]) == (409, True)


async def test_thirty_megabytes_pass_and_more_are_refused_before_they_are_read(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    noise = Image.frombytes("RGB", (3000, 3300), random.Random(2).randbytes(3 * 3000 * 3300))
    file = io.BytesIO()
    noise.save(file, "PNG", compress_level=0)
    data = file.getvalue()
    assert 29_000_000 < len(data) < 32_000_000
    async with daemon_and_page(tmp_path, free_port) as it:
        answer = await it.send(data, id="p-1")
        assert answer.status == 200, answer.text
        assert answer.json()["mark"]["height"] == 2000
        refused = await request(it.known, "POST", "/api/photograph", headers={"Content-Length": "32000001"}, body=b"x")
        assert (refused.status, refused.text) == (413, "At most 32000000 bytes are accepted.")
        elsewhere = await request(it.known, "POST", "/api/ask/note", body=b"x" * 65_537)
        assert (elsewhere.status, elsewhere.text) == (413, "At most 65536 bytes are accepted.")


async def test_a_page_without_the_record_says_where_photographs_are(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        nowhere = await request(known, "GET", "/photograph/p-1")
        assert (nowhere.status, nowhere.json()["reason"]) == (
            404,
            "The record is not on this machine; its photographs are with it.",
        )


async def test_a_damaged_record_is_told_and_no_picture(tmp_path: Path, free_port: Callable[[], int]) -> None:
    (tmp_path / "bench.sqlite").write_bytes(b"no record at all" * 100)
    known = settings(tmp_path, free_port(), record=tmp_path / "bench.sqlite")
    async with serving_page(known):
        broken = await request(known, "GET", "/photograph/p-1")
        assert (broken.status, "cannot be read" in broken.json()["reason"]) == (503, True)


async def test_only_so_many_are_on_their_way_at_once(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.silent = True
        sending = [
            asyncio.create_task(request(it.known, "POST", f"/api/photograph?id=p{number}", body=b"x" * 100))
            for number in range(3)
        ]

        async def all_asked() -> bool:
            return len(it.rig.asked) == 3

        await eventually("three are on their way", all_asked)
        refused = await request(it.known, "POST", "/api/photograph?id=p9", body=b"x")
        assert (refused.status, "on their way" in refused.json()["reason"]) == (503, True)
        for task in sending:
            task.cancel()
        await asyncio.wait(sending)


async def test_a_slow_link_has_time_for_a_photograph_as_long_as_it_comes(
    tmp_path: Path, free_port: Callable[[], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each 64 KiB has as long as any request; what stops coming is turned out."""
    monkeypatch.setattr("dashboard.patience.WaitingRoom.__init__.__defaults__", (64, 1.0))
    async with scene(tmp_path, free_port) as it:
        data = taken(2400, 1800, "PNG")
        assert len(data) > 4 * 65_536
        head = (
            f"POST /api/photograph?id=p1 HTTP/1.1\r\nHost: 127.0.0.1:{it.known.port}\r\n"
            f"Origin: http://127.0.0.1:{it.known.port}\r\nContent-Length: {len(data)}\r\n\r\n"
        )
        reader, writer = await asyncio.open_connection("127.0.0.1", it.known.port)
        writer.write(head.encode())
        pieces = [data[place : place + 40_000] for place in range(0, len(data), 40_000)]
        begun_s = time.monotonic()
        for piece in pieces:
            writer.write(piece)
            await writer.drain()
            await asyncio.sleep(1.6 / len(pieces))
        assert time.monotonic() - begun_s > 1.0
        async with asyncio.timeout(20):
            assert (await reader.readline()).startswith(b"HTTP/1.1 200")
        writer.close()
        assert list(it.rig.pictures) == ["p1"]
        reader, writer = await asyncio.open_connection("127.0.0.1", it.known.port)
        writer.write(head.replace("p1", "p2").encode() + pieces[0])
        async with asyncio.timeout(20):
            assert b"200" not in await reader.read()  # turned out
        writer.close()
