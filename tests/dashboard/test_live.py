"""The page's server against a real broker: what is published arrives, and what is asked is answered."""

import asyncio
import json
import logging
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from dashboard.hub import Hub
from dashboard.invitations import make_invitation
from dashboard.settings import Settings
from tests import wire_rig
from tests.brokers import Mosquitto, mosquitto
from tests.dashboard.test_history import START_S, record
from tests.page import cookie_of, enter, request, serving_page, settings, watching
from tests.processes import eventually
from tests.wire_rig import WireRig


@dataclass(frozen=True)
class Scene:
    broker: Mosquitto
    rig: WireRig
    known: Settings
    hub: Hub


@asynccontextmanager
async def scene(directory: Path, free_port: Callable[[], int], record_path: Path | None = None) -> AsyncIterator[Scene]:
    """A broker, a rig on the wire that has come online, and the page."""
    async with mosquitto(free_port(), directory) as broker:
        known = settings(directory, free_port(), broker=broker.address, record=record_path)
        async with wire_rig.wire_rig(broker.address.port) as rig, serving_page(known) as hub:
            await rig.arrive(wire_rig.about(started_s=time.time()))

            async def heard() -> bool:
                return hub.about is not None and hub.advice is not None and hub.publish is not None

            await eventually("the page hears the rig", heard)
            yield Scene(broker, rig, known, hub)


async def test_a_pack_is_on_its_way_to_the_browser_within_the_tick(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it, watching(it.known) as us, watching(it.known, "si") as si:
        assert (await us.next("hello"))["units"] == "us"
        assert (await us.next("about"))["tag"] == "RTU-K7Q-4"
        await si.next("about")
        now_s = time.time()
        await it.rig.say("readings", wire_rig.pack(1, wire_rig.values(18.3, 6.8), time_s=now_s))
        frames = [await us.next("frame"), await si.next("frame")]
        assert [frame["values"]["superheat"][0] for frame in frames] == [18.3, 10.2]
        assert [frame["values"]["subcooling"][0] for frame in frames] == [6.8, 3.8]
        assert all(frame["saved"] for frame in frames)
        await it.rig.say("readings", wire_rig.pack(None, wire_rig.values(), time_s=now_s + 0.25, unsaved=1))
        unsaved = await us.next("frame")
        assert (unsaved["saved"], unsaved["unsaved"]) == (False, 1)


async def test_the_feed_returns_by_itself_when_the_broker_does(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it, watching(it.known) as stream:
        await it.broker.kill()
        while (await stream.next("status"))["broker"]:
            pass
        answer = await request(it.known, "POST", "/api/ask/reading", body=b"{}")
        assert answer.status == 503
        assert "Nothing is recorded" in answer.json()["reason"]
        await it.broker.start()
        while not (await stream.next("status"))["broker"]:
            pass
        async with wire_rig.wire_rig(it.broker.address.port) as rig:
            await rig.say("readings", wire_rig.pack(1, wire_rig.values(11.0), time_s=time.time()))
            assert (await stream.next("frame"))["values"]["superheat"][0] == 11.0


async def test_what_is_asked_reaches_the_rig_with_who_asked_and_comes_back_as_a_mark(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it, watching(it.known) as stream:
        body = json.dumps({"id": "ask-1", "mass": "6 oz", "phase": "liquid"}).encode()
        answer = await request(it.known, "POST", "/api/ask/added", body=body)
        assert answer.status == 200
        assert answer.json()["mark"]["id"] == "ask-1"
        ((kind, ask),) = it.rig.asked
        assert (kind, ask.by, it.rig.asked_as, ask.phase) == ("added", "technician", ["technician"], "liquid")
        assert ask.mass_kg == pytest.approx(0.17009714, rel=1e-7)  # NIST SP 811, B.8: 1 oz = 2.834 952 E-02 kg
        while not (marks := await stream.next("marks"))["totals"]:
            pass
        assert marks["marks"][-1]["label"] == "+6 oz liquid"
        assert marks["totals"] == "added 6 oz"


async def test_a_leads_note_carries_the_name_from_the_door(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port) as it:
        lead = cookie_of(await enter(it.known, make_invitation(it.known, "lead"), name="Robin"))
        answer = await request(it.known, "POST", "/api/ask/note", body=b'{"text": "Let it sit."}', headers=lead)
        assert answer.status == 200
        ((kind, ask),) = it.rig.asked
        assert (kind, ask.by, it.rig.asked_as, ask.text) == ("note", "Robin", ["lead"], "Let it sit.")


async def test_a_refusal_of_the_rig_and_its_silence_are_told_apart(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        it.rig.refuse_with = "not saved: the disk is full"
        refused = await request(it.known, "POST", "/api/ask/reading", body=b"{}")
        assert (refused.status, refused.json()["ok"]) == (200, False)  # an answer, and no fault of the page
        assert "the disk is full" in refused.json()["reason"]
        lead = cookie_of(await enter(it.known, make_invitation(it.known, "lead"), name="Robin"))
        stop = b'{"fields": {"text": "Hands off."}}'
        waits = await request(it.known, "POST", "/api/ask/stop", body=stop, headers=lead)
        assert (waits.json()["ok"], waits.json()["waits"]) == (False, True)
        it.rig.silent = True
        silent = await request(it.known, "POST", "/api/ask/reading", body=b"{}")
        assert silent.status == 504
        assert "before you repeat it" in silent.json()["reason"]


@pytest.mark.parametrize(
    ("kind", "body", "why"),
    [
        ("added", b"{}", "liquid or vapour"),
        ("added", b'{"mass": "6", "phase": "liquid"}', "needs a unit"),
        ("added", b'{"mass": "6 oz", "phase": "solid"}', "cannot be read"),
        ("added", b"\xff", "cannot be read"),
        ("note", b'{"text": "  "}', "empty"),
        ("note", json.dumps({"text": "x" * 501}).encode(), "501"),
        ("reading", b'{"unheard": 1}', "cannot be read"),
        ("reading", b'{"id": "a b"}', "its id is not 1 to 64 letters, digits, - and _."),
        ("reading", b'{"id": "a1\\n"}', "its id is not"),
        ("reading", json.dumps({"id": "a" * 65}).encode(), "its id is not"),
        ("acknowledge", json.dumps({"of": "n" * 65_500}).encode(), "at most 65536 are accepted"),
        ("note", b'{"text": "Let it sit.", "text": "Add more."}', "'text' is given twice"),
    ],
)
async def test_a_request_that_is_not_whole_is_not_sent(
    kind: str, body: bytes, why: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with scene(tmp_path, free_port) as it:
        answer = await request(it.known, "POST", f"/api/ask/{kind}", body=body)
        assert answer.status == 400
        assert why in answer.json()["reason"]
        assert not it.rig.asked


async def test_history_joins_the_record_with_what_is_heard(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with scene(tmp_path, free_port, record(tmp_path, 30)) as it:

        async def recalled() -> bool:
            return len(it.hub.ring) == 30

        await eventually("the record is read", recalled)
        await it.rig.say("readings", wire_rig.pack(31, {"superheat": 50.0}, time_s=START_S + 30, session=2))

        async def joined() -> bool:
            return len(it.hub.ring) == 31

        await eventually("the pack is heard", joined)
        history = (await request(it.known, "GET", "/api/history?units=si&minutes=1&names=superheat")).json()
    assert history["values"]["superheat"]["low"] == [*(10.0 + number for number in range(30)), 50.0]
    assert set(history["values"]) == {"superheat"}


@pytest.mark.parametrize("units", ["us", "si"])
async def test_history_of_a_rig_with_a_scale(units: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    """13.94343 kg are 30.74 lb (NIST SP 811, B.8), and so is what the page says of it elsewhere."""
    async with serving_page(known := settings(tmp_path, free_port())) as hub:
        for sequence in range(3):
            hub.newest = wire_rig.pack(sequence, {"cylinder_mass": 13.94343}, time_s=START_S + sequence)
            hub.ring.append(hub.newest)
        answer = await request(known, "GET", f"/api/history?units={units}&minutes=1")
    assert answer.status == 200
    assert answer.json()["values"]["cylinder_mass"]["high"] == [{"us": 30.74, "si": 13.943}[units]] * 3


async def test_four_hours_of_history_stay_small_and_keep_their_peak(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known) as hub:
        for sequence in range(hub.ring.capacity):
            amps = 62.0 if sequence == 31_337 else 7.6
            hub.ring.append(wire_rig.pack(sequence, {"compressor_current": amps}, time_s=START_S + sequence / 4))
        hub.newest = wire_rig.pack(1, {}, time_s=START_S + hub.ring.capacity / 4)
        answer = await request(known, "GET", "/api/history?units=us&minutes=240")
    column = answer.json()["values"]["compressor_current"]
    assert len(column["high"]) <= 1200
    assert max(column["high"]) == 62.0


async def test_a_viewer_who_leaves_is_forgotten(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known) as hub:
        async with watching(known) as stream:
            await stream.next("hello")
            assert hub.viewers == 1

        async def alone() -> bool:
            return hub.viewers == 0

        await eventually("the viewer is forgotten", alone)


async def test_units_that_do_not_exist_are_refused(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        no_span = [
            f"/api/history?units=us&minutes={it}" for it in ("99999", "1e300", "-1", "0", "nan", "inf", "-inf", "x")
        ]
        for path in ("/api/stream?units=imperial", "/api/stream", *no_span):
            assert (await request(known, "GET", path)).status == 422


async def test_the_server_stops_while_pages_are_open(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    known = settings(tmp_path, free_port())
    caplog.set_level(logging.WARNING)
    async with asyncio.timeout(20):
        async with serving_page(known):
            reader, writer = await asyncio.open_connection("127.0.0.1", known.port)
            writer.write(f"GET /api/stream?units=us HTTP/1.1\r\nHost: 127.0.0.1:{known.port}\r\n\r\n".encode())
            await reader.readuntil(b"event: hello")
        await reader.read()  # the stream has ended
    writer.close()
    assert "Cancel" not in caplog.text


def test_importing_the_page_loads_no_instrument_and_no_equation_of_state() -> None:
    heavy = ("bleak", "serial", "pymodbus", "CoolProp")
    program = f"import sys, dashboard.app; print([name for name in {heavy!r} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True)
    assert found.stdout.strip() == "[]"
