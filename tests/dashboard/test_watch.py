"""Every rig on one page: who is let in, what is sent, which hub a request reaches, and who is told of it."""

import asyncio
import json
import time
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

import aiomqtt
import msgspec
import pytest

from dashboard.errors import FullError
from dashboard.hub import Hub, Viewer
from dashboard.invitations import make_invitation
from dashboard.roles import Visitor, visitor
from dashboard.settings import Settings
from dashboard.watch.wall import Wall
from ingest.wire.messages import Progress, Status, Visit, Watching, encode, encode_pack, topic
from tests import wire_rig
from tests.brokers import Mosquitto, listening_to, mosquitto
from tests.page import Stream, cookie_of, enter, request, serving_page, settings, watching
from tests.processes import eventually
from tests.watched import RIGS, Watched, arrive, eight_rigs

NOW_S = 1.7e9 + 9000.0
LARGEST_MESSAGE_BYTES = 64 * 1024
"""64 KiB: what docs/asyncapi.yaml promises."""


@pytest.fixture
def robin() -> None:
    visitor.set(Visitor("lead", "Robin"))


def tell(wall: Wall, rig: str, sequence: int = 1) -> None:
    """Tell of a rig that is there now."""
    wall.receive(topic(rig, "status"), encode(Status("online", 1)))
    wall.receive(topic(rig, "about"), encode(wire_rig.about(started_s=time.time())))
    pack = wire_rig.pack(sequence, wire_rig.values(), time_s=time.time(), rig=rig)
    wall.receive(topic(rig, "latest"), encode_pack(pack))


@pytest.mark.usefixtures("robin")
async def test_a_value_that_nothing_leaves_is_no_figure_on_the_wall() -> None:
    wall = Wall()
    tell(wall, "van-1")
    read = wire_rig.values() | {"liquid_bubble_point": 1e17}
    pack = wire_rig.pack(2, read, time_s=time.time() + 1.0, rig="van-1")
    wall.receive(topic("van-1", "latest"), encode_pack(pack))
    (card,) = await cards(wall.join("us"))
    assert "liquid_bubble_point" not in card["ruler"]["values"]
    assert "suction_dew_point" in card["ruler"]["values"]


def test_no_text_of_a_rig_turns_how_the_wall_is_read() -> None:
    """Unicode Standard Annex 9."""
    wall, about = Wall(), wire_rig.about(started_s=time.time(), rig="van-1")
    about = msgspec.structs.replace(about, unit=msgspec.structs.replace(about.unit, place="Roof \u202e9"))
    wall.receive(topic("van-1", "about"), encode(about))
    kept = wall.rigs["van-1"].about
    assert kept is not None
    assert kept.unit.place == "Roof \ufffd9"
    assert "\u202e".encode() not in wall.newest("van-1")["about"]


@pytest.mark.parametrize("time_s", [1e10, -1.0])
def test_a_pack_of_no_time_of_ours_is_refused_on_the_wall(time_s: float) -> None:
    """As it is on the pages of its rig: what is left to be done is told by the rig's own clock."""
    wall = Wall()
    pack = wire_rig.pack(1, wire_rig.values(), time_s=time_s, rig="van-1")
    wall.receive(topic("van-1", "latest"), encode_pack(pack))
    assert (wall.refused["latest"], list(wall.rigs)) == (1, [])


async def cards(viewer: Viewer, within_s: float = 2.0) -> list[dict]:
    """The cards that wait for a page; none where nothing comes in this time."""
    try:
        async with asyncio.timeout(within_s):
            text = (await viewer.take()).decode()
    except TimeoutError:
        return []
    blocks = [block.split("\ndata: ", 1) for block in text.strip().split("\n\n")]
    return [json.loads(data) for kind, data in blocks if kind == "event: card"]


@pytest.mark.usefixtures("robin")
async def test_a_page_starts_with_every_rig_and_is_told_of_one_again_only_when_it_looks_otherwise() -> None:
    wall = Wall()
    for rig in ("van-1", "van-2"):
        tell(wall, rig)
    viewer = wall.join("us")
    assert {card["rig"] for card in await cards(viewer)} == {"van-1", "van-2"}
    looking = asyncio.create_task(wall.run())
    try:
        for _ in range(20):
            wall.receive(topic("van-1", "status"), encode(Status("online", 1)))
        assert await cards(viewer, 1.5) == []
        wall.receive(topic("van-1", "status"), encode(Status("lost", 1)))
        assert [(card["rig"], card["kind"]) for card in await cards(viewer)] == [("van-1", "silent")]
    finally:
        looking.cancel()


@pytest.mark.usefixtures("robin")
async def test_a_slow_page_has_only_the_newest_card_of_each_rig_waiting() -> None:
    wall = Wall()
    tell(wall, "van-1")
    viewer = wall.join("si")
    looking = asyncio.create_task(wall.run())
    for number in range(2, 6):
        tell(wall, "van-1", number)
        wall.receive(topic("van-1", "status"), encode(Status("lost" if number % 2 else "online", 1)))
        await asyncio.sleep(0.3)
    looking.cancel()
    assert [card["kind"] for card in await cards(viewer)] == ["silent"]


@pytest.mark.parametrize("kind", sorted(Wall.KINDS))
@pytest.mark.parametrize(
    "payload",
    [b"\xff\xfe", b"null", b"[]", b"{}", b"[" * 50_000, b" " * (LARGEST_MESSAGE_BYTES + 1)],
    ids=["not UTF-8", "null", "list", "object", "deep", "huge"],
)
async def test_nonsense_is_counted_and_survived(kind: str, payload: bytes) -> None:
    wall = Wall()
    tell(wall, "van-1")
    known = wall.rigs["van-1"]
    wall.receive(topic("van-1", kind), payload)
    assert (wall.refused.total(), wall.rigs["van-1"]) == (1, known)


async def test_memory_is_bounded_in_rigs_and_per_rig() -> None:
    """1,000 rigs, and of each one message a kind: a flood of packs leaves one."""
    wall = Wall()
    for number in range(1001):
        wall.receive(topic(f"van-{number}", "status"), encode(Status("online", 1)))
    assert (len(wall.rigs), wall.refused.total()) == (1000, 1)
    for number in range(1000):
        pack = wire_rig.pack(number, wire_rig.values(), time_s=NOW_S + number, rig="van-1")
        wall.receive(topic("van-1", "latest"), encode_pack(pack))
    assert set(wall.newest("van-1")) == {"status", "latest"}
    assert wall.rigs["van-1"].pack
    assert wall.rigs["van-1"].pack.sequence == 999


def needs(wall: Wall, rig: str) -> None:
    """Tell of a rig whose visit waits for its lead."""
    waiting = Visit(f"v-{rig}", 0.0, 0.0, 0, progress=Progress(state="waiting", reason="lead", since_s=NOW_S))
    wall.receive(topic(rig, "visit"), encode(waiting))


async def told(viewer: Viewer) -> list[tuple[str, dict]]:
    """All that waits for a page, by its kind."""
    async with asyncio.timeout(3.0):
        blocks = [it.split("\ndata: ", 1) for it in (await viewer.take()).decode().strip().split("\n\n")]
    return [(kind.removeprefix("event: "), json.loads(data)) for kind, data in blocks]


def of_kind(events: list[tuple[str, dict]], kind: str) -> list[dict]:
    return [data for its, data in events if its == kind]


@pytest.mark.usefixtures("robin")
async def test_of_more_rigs_than_a_page_shows_the_count_is_told_and_who_needs_a_lead_is_among_them() -> None:
    """312 rigs: 300 cards, those who need somebody first; a word finds each of the others."""
    wall = Wall()
    for number in range(312):
        wall.receive(topic(f"van-{number:03d}", "status"), encode(Status("online", 1)))
    needs(wall, "van-311")
    viewer = wall.join("us")
    first = await told(viewer)
    shown = {card["rig"] for card in of_kind(first, "card")}
    assert (len(shown), "van-311" in shown) == (300, True)
    assert of_kind(first, "count") == [{"shown": 300, "heard": 312, "needy": 1, "left": 0}]
    [left_out, *_] = sorted(set(wall.rigs) - shown)
    found = await told(wall.join("us", find=f" {left_out.upper()}"))
    assert [card["rig"] for card in of_kind(found, "card")] == [left_out]
    assert of_kind(found, "count") == [{"shown": 1, "heard": 312, "needy": 1, "left": 0}]
    looking = asyncio.create_task(wall.run())
    try:
        needs(wall, left_out)
        then = await told(viewer)
    finally:
        looking.cancel()
    assert [(card["rig"], card["kind"]) for card in of_kind(then, "card")] == [(left_out, "asked")]
    [gone] = of_kind(then, "gone")
    assert gone["rig"] in shown - {"van-311"}
    assert of_kind(then, "count") == [{"shown": 300, "heard": 312, "needy": 2, "left": 0}]


@pytest.mark.usefixtures("robin")
async def test_where_no_more_are_kept_who_needs_a_lead_takes_the_place_of_one_who_does_not() -> None:
    wall = Wall()
    for number in range(1000):
        wall.receive(topic(f"van-{number}", "status"), encode(Status("online", 1)))
    wall.receive(topic("late-1", "status"), encode(Status("online", 1)))
    needs(wall, "late-2")
    assert (len(wall.rigs), "late-1" in wall.rigs, "late-2" in wall.rigs) == (1000, False, True)
    assert of_kind(await told(wall.join("us")), "count") == [{"shown": 300, "heard": 1002, "needy": 1, "left": 2}]
    for number in range(1100):
        needs(wall, f"needy-{number}")
    assert len(wall.rigs) == 1000
    assert not [rig for rig in wall.rigs if rig.startswith("van")]
    for number in range(12_000):
        wall.receive(topic(f"more-{number}", "status"), encode(Status("online", 1)))
    pack = wire_rig.pack(1, wire_rig.values(), time_s=NOW_S, rig="more-1")
    wall.receive(topic("more-1", "latest"), encode_pack(pack))
    assert (len(wall._beyond), len(wall._late)) == (10_000, 0)


@pytest.mark.usefixtures("robin")
async def test_a_rig_is_found_by_its_unit_its_place_and_who_is_there() -> None:
    wall = Wall()
    tell(wall, "van-1")
    wall.receive(topic("van-2", "status"), encode(Status("online", 1)))
    visit = Visit("v", 0.0, 0.0, 0, progress=Progress(state="open", technician="Kim", since_s=NOW_S))
    wall.receive(topic("van-1", "visit"), encode(visit))
    about = wall.rigs["van-1"].about
    assert about
    for word in ("VAN-1", about.unit.tag.lower(), about.unit.place.upper(), "kim"):
        found = of_kind(await told(wall.join("us", find=word)), "card")
        assert [card["rig"] for card in found] == ["van-1"], word
    assert of_kind(await told(wall.join("us", find="nowhere")), "card") == []


NO_NAMES = [
    "",
    ".",
    "..",
    "-a",
    "x" * 64,
    "a b",
    "a#b",
    "a+b",
    "a\u202eb",
    "\u200b",
    "\u0440ig",
    "a%2Fb",
    "a\n",
    "a\\b",
]


@pytest.mark.parametrize("name", NO_NAMES)
async def test_a_rig_of_no_name_is_counted_and_nothing_more(name: str, caplog: pytest.LogCaptureFixture) -> None:
    """Such a name would be a path, a filter of topics, or read as another's."""
    wall, hub = Wall(), Hub()
    for known in (wall, hub):
        for kind in ("status", "status"):
            known.receive(topic(name, kind), encode(Status("online", 1)))
        assert known.refused.total() == 2
    assert (wall.rigs, hub.rig) == ({}, None)
    assert "\u202e" not in caplog.text


async def test_a_rig_of_no_name_ends_no_page_by_the_broker(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with watched(tmp_path, free_port) as (_, known, hub, broker):
        names = [name for name in NO_NAMES if not set("#+\n") & set(name)]  # which no broker takes (MQTT 3.1.1, 4.7.3)
        async with aiomqtt.Client(**broker.address.client_arguments()) as client:
            for name in names:
                await client.publish(topic(name, "status"), encode(Status("online", 1)), retain=True)
        robin = await lead_of(known)
        await eventually("all are known", lambda: _all_listed(known, robin))
        async with stream(known, "/api/watch", robin) as events:
            assert await events.next("count") == {"shown": 8, "heard": 8, "needy": 3, "left": 0}
        assert hub.rig in RIGS
        for name in ("..", ".", "%2e%2e", "a%2Fb", "x" * 64, "%E2%80%AE", "a%23b", ""):
            answer = await request(known, "GET", f"/rig/{name}/visit", headers=robin)
            assert answer.status == 404, name


@pytest.mark.usefixtures("robin")
async def test_places_are_bounded() -> None:
    wall = Wall()
    for _ in range(40):
        wall.join("us")
    with pytest.raises(FullError, match="40 pages"):
        wall.join("us")


# --- on a broker


@asynccontextmanager
async def watched(
    directory: Path, free_port: Callable[[], int]
) -> AsyncIterator[tuple[Watched, Settings, Hub, Mosquitto]]:
    """The eight rigs, told of every second, and a page's server that lists them all."""
    async with mosquitto(free_port(), directory) as broker, eight_rigs(broker.address.port) as rigs:
        known = settings(directory, free_port(), broker=broker.address)
        async with serving_page(known) as hub:
            await eventually("the page listens", lambda: _is(hub.publish is not None))
            for rig in rigs.rigs.values():
                await arrive(rig, time.time())
            talking = asyncio.create_task(rigs.talk())
            try:
                yield rigs, known, hub, broker
            finally:
                talking.cancel()
                await asyncio.wait([talking])


async def _is(so: bool) -> bool:
    return so


def stream(known: Settings, path: str, headers: dict[str, str]) -> AbstractAsyncContextManager[Stream]:
    """A stream of the page until the block ends."""
    return watching(known, headers=headers, path=path)


async def lead_of(known: Settings, name: str = "Robin") -> dict[str, str]:
    return cookie_of(await enter(known, make_invitation(known, "lead"), name))


REFUSED_TO_A_TECHNICIAN = [
    ("GET", "/watch"),
    ("GET", "/api/watch?units=us"),
    ("GET", "/rig/van-2/"),
    ("GET", "/rig/van-2/visit"),
    ("GET", "/rig/van-2/api/stream?units=us"),
    ("GET", "/rig/van-2/api/history?units=us"),
    ("POST", "/rig/van-2/_dash-update-component"),
    ("POST", "/rig/van-2/api/ask/note"),
    ("POST", "/rig/van-2/api/ask/added"),
]


async def test_a_technician_is_refused_by_route_callback_and_stream(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with watched(tmp_path, free_port) as (_, known, _, _):
        invited = cookie_of(await enter(known, make_invitation(known, "technician"), "Kim"))
        for method, path in REFUSED_TO_A_TECHNICIAN:
            body = b"{}" if method == "POST" else b""
            for who in ({}, invited):  # at this machine, and with a login
                answer = await request(known, method, path, body=body, headers=who)
                assert answer.status in (403, 404), path
                assert (answer.status == 404) == path.endswith("/added"), path  # that is nobody's at another rig
        page = (await request(known, "GET", "/visit", headers=invited)).text
        assert 'data-page="watch"' not in page


async def test_a_lead_reads_any_rig_and_acts_at_none(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with watched(tmp_path, free_port) as (rigs, known, _, _):
        robin = await lead_of(known)
        await eventually("all are known", lambda: _all_listed(known, robin))
        for path in ("/watch", "/rig/van-2/", "/rig/van-2/visit", "/rig/van-2/_dash-layout"):
            assert (await request(known, "GET", path, headers=robin)).status == 200, path
        page = (await request(known, "GET", "/rig/van-2/", headers=robin)).text
        assert '"requests_pathname_prefix":"/rig/van-2/"' in page
        assert (await request(known, "GET", "/rig/van-99/visit", headers=robin)).status == 404
        for path in (
            "/rig/van-2",
            "/rig/../watch",
            "/rig/van-2/watch",
            "/rig/van-2/rig/van-3/visit",
            "/rig/van+2/visit",
        ):
            assert (await request(known, "GET", path, headers=robin)).status == 404, path
        for kind in ("added", "finding", "sign"):
            answer = await request(known, "POST", f"/rig/van-2/api/ask/{kind}", body=b"{}", headers=robin)
            assert answer.status == 404, kind
        note = b'{"text": "Let it sit."}'
        assert (await request(known, "POST", "/rig/van-2/api/ask/note", body=note, headers=robin)).json()["ok"]
        asked = {name: [kind for kind, _ in rig.asked] for name, rig in rigs.rigs.items()}
        assert asked == {name: ["note"] if name == "van-2" else [] for name in RIGS}


async def _all_listed(known: Settings, who: dict[str, str]) -> bool:
    async with stream(known, "/api/watch", who) as events:
        found = {(await events.next("card", 5.0))["rig"] for _ in range(8)}
    return found == set(RIGS)


async def test_the_stream_of_a_rig_is_of_that_rig(tmp_path: Path, free_port: Callable[[], int]) -> None:
    async with watched(tmp_path, free_port) as (_, known, hub, _):
        robin = await lead_of(known)
        await eventually("all are known", lambda: _all_listed(known, robin))
        for rig, (_, tag) in RIGS.items():
            async with stream(known, f"/rig/{rig}/api/stream", robin) as events:
                assert (await events.next("status"))["rig"] == rig
                assert (await events.next("about"))["tag"] == tag
        async with stream(known, "/api/stream", {}) as events:
            assert (await events.next("status"))["rig"] == hub.rig


async def test_a_rig_that_is_opened_has_its_history_and_its_packs_at_once(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with watched(tmp_path, free_port) as (_, known, _, _):
        robin = await lead_of(known)
        await eventually("all are known", lambda: _all_listed(known, robin))
        async with stream(known, "/rig/van-6/api/stream", robin) as events:
            assert (await events.next("frame"))["values"]["superheat"][0] is not None
            first = (await events.next("frame"))["sequence"]
            assert (await events.next("frame"))["sequence"] > first  # and what comes then, it hears


# --- who watches


async def told_at_the_unit(events: Stream, says: str) -> None:
    """Wait until a page at the unit says so."""
    async with asyncio.timeout(20):
        while (await events.next("watchers"))["says"] != says:
            pass


async def test_the_technician_sees_who_watches_by_another_server_and_that_they_left(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    async with watched(tmp_path, free_port) as (_, known, _, broker):
        at_the_unit = settings(tmp_path / "unit", free_port(), broker=broker.address, rig="van-6")
        async with serving_page(at_the_unit), stream(at_the_unit, "/api/stream", {}) as sam:
            robin, kim = await lead_of(known), await lead_of(known, "Kim")
            async with stream(known, "/api/watch", kim):
                await told_at_the_unit(sam, "Kim watches among other rigs")
                async with stream(known, "/rig/van-6/api/stream", robin):
                    await told_at_the_unit(sam, "Robin watches, and Kim watches among other rigs")
                await told_at_the_unit(sam, "Kim watches among other rigs")
            await told_at_the_unit(sam, "")


async def test_a_page_that_is_killed_is_forgotten_and_one_that_lies_is_bounded() -> None:
    hub = Hub("van-1")
    hub.receive(topic("van-1", "watching/lead/p0"), encode(Watching(opened=["Robin"])))
    assert hub._data("watchers", "us") == {"says": "Robin watches"}
    hub._gone("watching/lead/p0")  # what its timer does
    assert hub._data("watchers", "us") == {"says": ""}
    for number in range(60):
        hub.receive(topic("van-1", f"watching/lead/p{number}"), encode(Watching(among=[f"n{number}"])))
    assert hub.refused.total() == 10


@pytest.mark.parametrize(
    "lie",
    [
        Watching(opened=["x" * 65]),
        Watching(among=["Robin\u202e"]),
        Watching(opened=[f"n{number}" for number in range(101)]),
    ],
)
async def test_of_who_watches_only_names_are_believed_and_what_is_refused_is_counted_in_one_place(
    lie: Watching,
) -> None:
    hub = Hub("van-1")
    for number in range(1000):
        hub.receive(topic("van-1", f"watching/lead/p{number}"), encode(lie))
    assert hub.refused == {"watching": 1000}
    assert hub._data("watchers", "us") == {"says": ""}


async def test_who_watches_is_told_again_for_those_who_come_later(tmp_path: Path, free_port: Callable[[], int]) -> None:
    """Nothing of it is retained: MQTT 3.1.1, 3.3.1.3, a broker would tell of a page that was killed for good."""
    async with watched(tmp_path, free_port) as (_, known, _, broker), listening_to(broker.address) as ear:
        robin = await lead_of(known)
        async with stream(known, "/api/watch", robin):
            heard = lambda: [it for it in ear.heard if "/van-6/watching/lead/" in it[0]]  # noqa: E731
            await ear.until(lambda: bool(heard()))
            first = len(heard())
            await ear.until(lambda: len(heard()) > first, within_s=30.0)
        assert not any(retained for _, _, retained in heard())
        assert msgspec.json.decode(heard()[0][1]) == {"among": ["Robin"]}
