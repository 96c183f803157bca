"""Publishing to a real broker, over its deaths: everything arrives, in order, and the cursor is never ahead."""

import asyncio
import logging
import socket
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from pathlib import Path

import aiomqtt
import pytest

from ingest.backoff import Backoff
from ingest.publish import Publisher
from ingest.record.store import Entry, Sink
from ingest.wire.messages import BrokerAddress, Instance, NotSaved, Status, decode, encode
from tests.brokers import Ear, Mosquitto, listening_to, mosquitto
from tests.processes import eventually

OLDER, OURS, LATER = Instance(100.0, "older"), Instance(200.0, "ours"), Instance(300.0, "later")
STATUS = "dewline/1/bench/status"
READINGS = "dewline/1/bench/readings"


class Shelf:
    """An outbox in memory, with the cursors of its sinks."""

    def __init__(self) -> None:
        self.entries: dict[Sink, list[Entry]] = {"mqtt packs": [], "mqtt marks": []}
        self.cursors: dict[Sink, int] = {"mqtt packs": 0, "mqtt marks": 0}

    def add(self, sink: Sink, count: int = 1) -> None:
        for _ in range(count):
            position = len(self.entries[sink]) + 1
            self.entries[sink].append(Entry(position, b"%d" % position))

    async def outbox(self, sink: Sink, limit: int) -> list[Entry]:
        start = self.cursors[sink]
        return self.entries[sink][start : start + limit]

    async def advance(self, sink: Sink, position: int) -> None:
        assert position >= self.cursors[sink]
        self.cursors[sink] = position


async def no_asks(kind: str, payload: bytes) -> tuple[str, bytes] | None:
    raise AssertionError(f"nobody asked: {kind} {payload!r}")


def make_publisher(
    address: BrokerAddress,
    shelf: Shelf,
    handle_ask: Callable[..., object] = no_asks,
    instance: Instance | None = None,
    hears: Mapping[str, Callable[[bytes], None]] | None = None,
    is_beside: Callable[[str, bytes], bool] = lambda _, __: False,
) -> Publisher:
    publisher = Publisher(
        address,
        "bench",
        outbox=shelf.outbox,
        advance=shelf.advance,
        handle_ask=handle_ask,  # type: ignore[arg-type]
        backoff=Backoff(lambda: 0.0),
        instance=instance,
        hears=hears or {},
        is_beside=is_beside,
    )
    publisher.set_status(7, None)
    return publisher


@asynccontextmanager
async def running(publisher: Publisher) -> AsyncIterator[asyncio.Task[None]]:
    task = asyncio.create_task(publisher.run())
    try:
        yield task
    finally:
        task.cancel()
        await asyncio.wait([task], timeout=0.3)
        task.cancel()
        await asyncio.wait([task])


@pytest.fixture
async def broker(free_port: Callable[[], int], tmp_path: Path) -> AsyncIterator[Mosquitto]:
    async with mosquitto(free_port(), tmp_path) as broker:
        yield broker


def statuses(ear: Ear) -> list[str]:
    return [decode(payload, Status).s for payload in ear.payloads(STATUS)]


def numbers(ear: Ear) -> list[int]:
    return [int(payload) for payload in ear.payloads(READINGS)]


async def test_packs_and_marks_go_out_in_order(broker: Mosquitto) -> None:
    shelf = Shelf()
    shelf.add("mqtt packs", 100)
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: len(numbers(ear)) == 100)
        shelf.add("mqtt packs")
        publisher.wake("mqtt packs")
        shelf.add("mqtt marks")
        publisher.wake("mqtt marks")
        await ear.until(lambda: len(numbers(ear)) == 101 and ear.payloads("dewline/1/bench/marks") == [b"1"])
        assert numbers(ear) == list(range(1, 102))


async def test_the_sheets_of_a_register_wait_for_everything_else(broker: Mosquitto) -> None:
    """Hundreds of them would hold up how things stand now, and what nobody saves."""
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    for number in range(200):
        publisher.set_state(f"unit/AHU-{number}", b"sheet")
    publisher.set_state("about", b"first")

    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: any("/unit/" in topic for topic, _, _ in ear.heard))  # whichever comes first
        publisher.set_state("about", b"second")
        publisher.show_unsaved(b"unsaved")
        await ear.until(lambda: len({topic for topic, _, _ in ear.heard if "/unit/" in topic}) == 200)
        order = [(topic.rpartition("/")[2], payload) for topic, payload, _ in ear.heard]
        sheets = [index for index, (_, payload) in enumerate(order) if payload == b"sheet"]
        assert order.index(("about", b"first")) < sheets[0]
        assert order.index(("about", b"second")) < sheets[-1]
        assert order.index(("readings", b"unsaved")) < sheets[-1]
        publisher.set_state("unit/AHU-7", b"sheet")
        publisher.set_state("unit/AHU-8", b"another")
        await ear.until(lambda: ear.payloads("dewline/1/bench/unit/AHU-8")[-1] == b"another")
        assert len(ear.payloads("dewline/1/bench/unit/AHU-7")) == 1


async def test_it_hears_what_else_is_said_of_its_rig_retained_or_new(broker: Mosquitto) -> None:
    heard: list[bytes] = []
    publisher = make_publisher(broker.address, Shelf(), hears={"bench/reveal": heard.append})
    async with listening_to(broker.address) as ear, aiomqtt.Client(broker.address.host, broker.address.port) as bench:
        await bench.publish("dewline/1/bench/bench/reveal", b"before", qos=1, retain=True)
        async with running(publisher):
            await ear.until(lambda: heard == [b"before"])
            await bench.publish("dewline/1/bench/bench/reveal", b"", qos=1)
            await ear.until(lambda: heard == [b"before", b""])


async def test_over_three_deaths_of_the_broker_nothing_is_lost(broker: Mosquitto) -> None:
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        for death in range(1, 4):
            shelf.add("mqtt packs", 100)
            publisher.wake("mqtt packs")
            await ear.until(lambda: bool(ear.heard))
            await broker.kill()
            shelf.add("mqtt packs", 33)
            publisher.wake("mqtt packs")
            await broker.start()
            await ear.until(lambda count=133 * death: len(set(numbers(ear))) == count)  # type: ignore[misc]
            assert sorted(set(numbers(ear))) == list(range(1, 133 * death + 1))
    firsts = list(dict.fromkeys(numbers(ear)))
    assert firsts == sorted(firsts)


async def test_the_backlog_of_an_outage_comes_in_order(free_port: Callable[[], int], tmp_path: Path) -> None:
    port = free_port()
    shelf = Shelf()
    shelf.add("mqtt packs", 1000)
    publisher = make_publisher(BrokerAddress("127.0.0.1", port), shelf)
    async with running(publisher) as task:
        await asyncio.sleep(0.1)
        assert not task.done()
        assert shelf.cursors["mqtt packs"] == 0
        async with mosquitto(port, tmp_path) as broker, listening_to(broker.address) as ear:
            await ear.until(lambda: shelf.cursors["mqtt packs"] == 1000)
            await ear.until(lambda: numbers(ear)[-1] == 1000)
            heard = numbers(ear)
            assert heard == list(range(heard[0], 1001))


async def test_a_frozen_broker_is_noticed_and_the_cursor_waits(broker: Mosquitto) -> None:
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        broker.freeze()
        shelf.add("mqtt packs", 5)
        publisher.wake("mqtt packs")
        await asyncio.sleep(0.3)
        assert shelf.cursors["mqtt packs"] == 0
        broker.thaw()
        await ear.until(lambda: shelf.cursors["mqtt packs"] == 5)
        assert numbers(ear)[:5] == [1, 2, 3, 4, 5]


async def test_status_tells_online_lost_and_offline(broker: Mosquitto) -> None:
    async with listening_to(broker.address) as ear:
        publisher = make_publisher(broker.address, Shelf())
        async with running(publisher):
            await ear.until(lambda: statuses(ear) == ["online"])
            assert publisher._client is not None
            publisher._client._client.socket().shutdown(socket.SHUT_RDWR)  # type: ignore[union-attr]
            await ear.until(lambda: statuses(ear)[:3] == ["online", "lost", "online"])
            await publisher.finish(5.0)
        await ear.until(lambda: statuses(ear)[-1] == "offline")
    assert decode(ear.payloads(STATUS)[-1], Status).session == 7
    async with listening_to(broker.address) as late:
        await late.until(lambda: statuses(late) == ["offline"])


async def test_a_late_will_is_contradicted(broker: Mosquitto) -> None:
    async with listening_to(broker.address) as ear, running(make_publisher(broker.address, Shelf())):
        await ear.until(lambda: statuses(ear) == ["online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as other:
            await other.publish(STATUS, encode(Status("lost", 6)), qos=1, retain=True)
            await other.publish(STATUS, b"\xff", qos=1, retain=True)
        await ear.until(  # one answer may do for both
            lambda: b"\xff" in ear.payloads(STATUS) and ear.payloads(STATUS)[-1] == encode(Status("online", 7))
        )


async def test_states_are_retained_and_only_their_newest_counts(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    publisher.set_state("about", b"old")
    publisher.set_state("about", b"new")
    async with running(publisher):
        async with listening_to(broker.address) as ear:
            await ear.until(lambda: ear.payloads("dewline/1/bench/about") == [b"new"])
        async with listening_to(broker.address) as late:
            await late.until(lambda: ("dewline/1/bench/about", b"new", True) in late.heard)
            publisher.set_state("about", b"new")
            publisher.set_state("about", b"newer")
            await late.until(lambda: late.payloads("dewline/1/bench/about") == [b"new", b"newer"])


async def test_how_things_stand_now_is_told_before_the_backlog(broker: Mosquitto) -> None:
    """A page that hears the backlog first would show old figures as live."""
    shelf, kinds = Shelf(), {"latest": b"now", "advice": b"new", "visit": b"is", "about": b"here"}
    shelf.add("mqtt packs", 500)
    publisher = make_publisher(broker.address, shelf)
    for kind, payload in kinds.items():
        publisher.set_state(kind, payload, qos=0 if kind == "latest" else 1)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: len(numbers(ear)) == 500)
    before = [found.rpartition("/")[2] for found, _, _ in ear.heard[: [it[0] for it in ear.heard].index(READINGS)]]
    assert set(before) >= kinds.keys()


async def test_after_a_reconnect_states_are_there_again(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    publisher.set_state("about", b"here")
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: len(ear.payloads("dewline/1/bench/about")) == 1)
        await broker.kill()
        await broker.start()  # it kept nothing
        await ear.until(lambda: len(ear.payloads("dewline/1/bench/about")) >= 2)


async def test_a_pack_that_is_not_saved_is_shown_and_not_kept(broker: Mosquitto) -> None:
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        publisher.show_unsaved(b"77")
        await ear.until(lambda: numbers(ear) == [77])
        assert shelf.cursors["mqtt packs"] == 0


async def test_an_ask_is_answered_to_its_id(broker: Mosquitto) -> None:
    async def handle(kind: str, payload: bytes) -> tuple[str, bytes] | None:
        return None if payload == b"garbage" else (f"technician/{payload.decode()}", kind.encode())

    publisher = make_publisher(broker.address, Shelf(), handle)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as asking:
            await asking.publish("dewline/1/bench/ask/technician/note", b"garbage", qos=1)
            await asking.publish("dewline/1/bench/ask/technician/note", b"a1", qos=1)
        await ear.until(lambda: ear.payloads("dewline/1/bench/answer/technician/a1") == [b"technician/note"])


async def test_an_ask_that_a_dying_broker_interrupts_is_ended_before_the_next(broker: Mosquitto) -> None:
    begun, ended, answered = list[bytes](), list[bytes](), asyncio.Event()

    async def handle(_kind: str, payload: bytes) -> tuple[str, bytes] | None:
        begun.append(payload)
        if payload == b"a1":
            await answered.wait()
            await asyncio.sleep(0.1)
        ended.append(payload)
        return f"technician/{payload.decode()}", b"done"

    publisher = make_publisher(broker.address, Shelf(), handle)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as asking:
            await asking.publish("dewline/1/bench/ask/technician/note", b"a1", qos=1)
            await eventually("it is begun", lambda: asyncio.sleep(0, begun == [b"a1"]))
            await broker.kill()
        publisher.set_state("advice", b"of a moment later")  # by which it is noticed
        await asyncio.sleep(0.3)
        answered.set()
        await broker.start()
        await ear.until(lambda: statuses(ear) == ["online", "online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as asking:
            await asking.publish("dewline/1/bench/ask/technician/note", b"a2", qos=1)
        await ear.until(lambda: ear.payloads("dewline/1/bench/answer/technician/a2") == [b"done"])
    assert ended == [b"a1", b"a2"]


async def test_what_hurries_is_answered_beside_an_ask_that_hangs_and_what_follows_that_keeps_its_place(
    broker: Mosquitto,
) -> None:
    goes_on = asyncio.Event()

    async def handle(kind: str, payload: bytes) -> tuple[str, bytes] | None:
        if payload == b"hangs":
            await goes_on.wait()
        return kind, payload

    hurries = {"lead/stop": b"s1", "technician/seen": b"e1", "technician/acknowledge": b"k1"}
    publisher = make_publisher(
        broker.address, Shelf(), handle, is_beside=lambda path, payload: hurries.get(path) == payload
    )
    answers = "dewline/1/bench/answer"
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as asking:
            for kind, payload in (
                ("technician/note", b"hangs"),
                ("technician/note", b"later"),
                *hurries.items(),
                ("technician/acknowledge", b"of a note"),
            ):
                await asking.publish(f"dewline/1/bench/ask/{kind}", payload, qos=1)
            await ear.until(lambda: all(ear.payloads(f"{answers}/{path}") == [it] for path, it in hurries.items()))
            assert ear.payloads(f"{answers}/technician/note") == []
            goes_on.set()
            await ear.until(lambda: ear.payloads(f"{answers}/technician/note") == [b"hangs", b"later"])
            await ear.until(lambda: ear.payloads(f"{answers}/technician/acknowledge") == [b"k1", b"of a note"])


async def test_of_a_flood_of_asks_64_wait_and_the_newest_are_dropped(
    broker: Mosquitto, caplog: pytest.LogCaptureFixture
) -> None:
    """Any bound keeps a flood out of the memory: common practice, no source."""
    reached, go_on, taken = asyncio.Event(), asyncio.Event(), list[bytes]()

    async def handle(_kind: str, payload: bytes) -> tuple[str, bytes] | None:
        taken.append(payload)
        reached.set()
        await go_on.wait()
        return "technician/last", payload

    publisher = make_publisher(broker.address, Shelf(), handle)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        async with aiomqtt.Client(broker.address.host, broker.address.port) as asking:
            await asking.publish("dewline/1/bench/ask/technician/note", b"0", qos=1)
            await reached.wait()
            for number in range(1, 81):
                await asking.publish("dewline/1/bench/ask/technician/note", b"%d" % number, qos=1)
            await eventually(
                "80 came", lambda: asyncio.sleep(0, len(taken) + 64 + caplog.text.count("an ask is dropped") == 81)
            )
            go_on.set()
            await ear.until(lambda: len(ear.payloads("dewline/1/bench/answer/technician/last")) == 65)
            await asking.publish("dewline/1/bench/ask/technician/note", b"after", qos=1)
            await ear.until(lambda: b"after" in ear.payloads("dewline/1/bench/answer/technician/last"))
    assert taken == [b"%d" % number for number in range(65)] + [b"after"]


async def test_finishing_waits_for_what_is_queued(broker: Mosquitto, caplog: pytest.LogCaptureFixture) -> None:
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        shelf.add("mqtt packs", 500)
        publisher.wake("mqtt packs")
        await publisher.finish(10.0)
        assert shelf.cursors["mqtt packs"] == 500
    assert "did not take all" not in caplog.text


async def test_a_rig_that_ends_while_it_claims_its_name_is_not_left_online(
    broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody whom the broker still calls online is given time to answer, and meanwhile the daemon is stopped."""
    monkeypatch.setattr("ingest.publish.CLAIM_S", 3600.0)
    await retain(broker.address, encode(Status("online", 3, daemon=OLDER)))
    publisher = make_publisher(broker.address, Shelf(), instance=OURS)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: encode(Status("online", 7, daemon=OURS)) in ear.payloads(STATUS))
        await publisher.finish(0.5)
    assert await kept(broker.address) == Status("offline", 7, daemon=OURS)


async def test_a_rig_that_ends_before_all_is_out_is_not_left_online(
    broker: Mosquitto, caplog: pytest.LogCaptureFixture
) -> None:
    class Endless(Shelf):
        async def advance(self, sink: Sink, position: int) -> None:
            """As where more is recorded than a slow line carries away."""

    shelf = Endless()
    shelf.add("mqtt packs")
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: len(numbers(ear)) > 2)
        await publisher.finish(0.5)
    assert (await kept(broker.address)).s == "offline"
    assert "the broker did not take all in time; it follows at the next start" in caplog.text


async def test_a_broker_that_takes_no_farewell_is_told_of(
    broker: Mosquitto, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of the time is for what is recorded, half for the farewell: whoever stops it waits for no longer."""
    given_s: list[float | None] = []
    timeout = asyncio.timeout

    def noted(delay_s: float | None) -> asyncio.Timeout:
        given_s.append(delay_s)
        return timeout(delay_s)

    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        broker.freeze()
        shelf.add("mqtt packs")
        publisher.wake("mqtt packs")
        with monkeypatch.context() as patched:
            patched.setattr("asyncio.timeout", noted)
            await publisher.finish(0.6)
        broker.thaw()
    assert given_s.count(0.3) == 2
    assert max(delay_s or 0.0 for delay_s in given_s if delay_s != 10.0) == 0.3  # aiomqtt gives a call ten
    assert "the broker was not told that the rig is offline: too slow" in caplog.text


async def test_finishing_without_a_broker_does_not_wait(free_port: Callable[[], int]) -> None:
    publisher = make_publisher(BrokerAddress("127.0.0.1", free_port()), Shelf())
    async with running(publisher), asyncio.timeout(1):
        await publisher.finish(60.0)


async def test_the_broker_being_away_is_told_once(
    free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    publisher = make_publisher(BrokerAddress("127.0.0.1", free_port()), Shelf())
    async with running(publisher):
        await asyncio.sleep(1.2)  # two attempts at least
    assert caplog.text.count("the broker is away") == 1


# --- what the broker is told beside the payloads


@asynccontextmanager
async def hearing_all(address: BrokerAddress) -> AsyncIterator[list[aiomqtt.Message]]:
    """Every message with the quality of service at which it was published (MQTT 3.1.1, 3.8.4)."""
    heard: list[aiomqtt.Message] = []
    async with aiomqtt.Client(address.host, address.port) as client:
        await client.subscribe("dewline/#", qos=2)

        async def hear() -> None:
            async for message in client.messages:
                heard.append(message)  # noqa: PERF401 - each is looked at as it comes

        task = asyncio.create_task(hear())
        try:
            yield heard
        finally:
            task.cancel()
            await asyncio.wait([task])


NOT_SAVED = NotSaved("/data/bench.sqlite", "the disk is full", "Make room.", 1_700_000_000.0)


class Pause(Backoff):
    """Waits the same each time. healthy_s: how long each connection held."""

    def __init__(self, wait_s: float) -> None:
        super().__init__()
        self.healthy_s: list[float] = []
        self._wait_s = wait_s

    def next_wait_s(self, healthy_for_s: float) -> float:
        self.healthy_s.append(healthy_for_s)
        return self._wait_s


async def test_why_nothing_is_saved_is_told_while_it_is_so_and_by_nobody_who_has_left(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    publisher.set_status(7, NOT_SAVED)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("online", 7, NOT_SAVED))])
        publisher.set_status(7, None)
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("online", 7))])
        publisher.set_status(8, NOT_SAVED)
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("online", 8, NOT_SAVED))])
        await publisher.finish(5.0)
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("offline", 8))])


async def test_what_proposes_nothing_any_more_is_told_while_it_is_so(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    publisher.set_status(7, None)
    publisher.set_left_out(("connection",))
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("online", 7, left_out=("connection",)))])
        publisher.set_left_out(())
        await ear.until(lambda: ear.payloads(STATUS)[-1:] == [encode(Status("online", 7))])


async def test_a_status_that_did_not_change_is_not_told_again(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        publisher.set_status(7, None)
        publisher.set_state("about", b"later than the status")
        await ear.until(lambda: len(ear.payloads("dewline/1/bench/about")) == 1)
        publisher.set_state("about", b"and later still")
        await ear.until(lambda: len(ear.payloads("dewline/1/bench/about")) == 2)
        assert statuses(ear) == ["online"]


async def test_packs_are_acknowledged_and_not_retained_and_states_are_kept_by_the_broker(broker: Mosquitto) -> None:
    shelf = Shelf()
    shelf.add("mqtt packs", 3)
    publisher = make_publisher(broker.address, shelf)
    publisher.set_state("about", b"here")
    publisher.set_state("latest", b"now", qos=0)
    publisher.show_unsaved(b"77")
    async with hearing_all(broker.address) as heard, running(publisher):
        await eventually("all of it", lambda: asyncio.sleep(0, len(heard) >= 7))
    came = {(message.topic.value.rpartition("/")[2], bytes(message.payload)): message.qos for message in heard}
    online = encode(Status("online", 7))
    packs = {("readings", payload): 1 for payload in (b"1", b"2", b"3", b"77")}
    assert came == {**packs, ("status", online): 1, ("about", b"here"): 1, ("latest", b"now"): 0}
    async with listening_to(broker.address) as late:
        await late.until(lambda: len(late.heard) >= 3)
        kept = {(name.rpartition("/")[2], retained) for name, _, retained in late.heard}
    assert kept == {("status", True), ("about", True), ("latest", True)}


async def test_a_rig_that_vanished_is_lost_for_those_who_come_later_too(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    publisher._backoff = Pause(3600.0)
    publisher.set_status(7, NOT_SAVED)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        assert publisher._client is not None
        publisher._client._client.socket().shutdown(socket.SHUT_RDWR)  # type: ignore[union-attr]
        await ear.until(lambda: statuses(ear)[-1] == "lost")
    async with hearing_all(broker.address) as late:
        await eventually("the will", lambda: asyncio.sleep(0, bool(late)))
    (will,) = late
    assert (will.topic.value, will.payload, will.qos, will.retain) == (STATUS, encode(Status("lost", 7)), 1, True)


async def test_of_what_is_not_saved_the_newest_32_are_shown_once_the_broker_is_back(
    free_port: Callable[[], int], tmp_path: Path
) -> None:
    port = free_port()
    publisher = make_publisher(BrokerAddress("127.0.0.1", port), Shelf())
    for number in range(1, 41):
        publisher.show_unsaved(b"%d" % number)
    async with (
        mosquitto(port, tmp_path) as broker,
        listening_to(broker.address) as ear,
        running(publisher),
    ):
        await ear.until(lambda: numbers(ear)[-1:] == [40])
        assert numbers(ear) == list(range(9, 41))


async def test_32_of_a_kind_are_under_way_at_most(broker: Mosquitto, caplog: pytest.LogCaptureFixture) -> None:
    asked = set()

    class Counted(Shelf):
        async def outbox(self, sink: Sink, limit: int) -> list[Entry]:
            asked.add(limit)
            return await super().outbox(sink, limit)

    shelf = Counted()
    shelf.add("mqtt packs", 40)
    shelf.add("mqtt marks", 40)
    publisher = make_publisher(broker.address, shelf)
    async with running(publisher):
        await eventually("all 80", lambda: asyncio.sleep(0, list(shelf.cursors.values()) == [40, 40]))
    assert asked == {32}
    assert "pending publish calls" not in caplog.text  # as many of each kind is nothing unusual


async def test_what_is_recorded_while_the_end_waits_is_sent_before_it_and_nothing_says_online_after_it(
    broker: Mosquitto,
) -> None:
    shelf = Shelf()
    publisher = make_publisher(broker.address, shelf)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        shelf.add("mqtt packs", 200)
        publisher.wake("mqtt packs")
        ending = asyncio.create_task(publisher.finish(10.0))
        await asyncio.sleep(0)
        publisher.set_status(7, NOT_SAVED)
        await ending
        publisher.set_status(8, None)
        await ear.until(lambda: statuses(ear)[-1] == "offline" and len(numbers(ear)) == 200)
        async with aiomqtt.Client(broker.address.host, broker.address.port) as other:
            await other.publish(STATUS, encode(Status("lost", 6)), qos=1, retain=True)
        publisher.show_unsaved(b"77")
        await ear.until(lambda: 77 in numbers(ear))
        assert statuses(ear) == ["online", "offline", "lost"]


async def test_the_wait_after_a_connection_depends_on_how_long_it_held(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf())
    pause = publisher._backoff = Pause(0.01)
    loop = asyncio.get_running_loop()
    before_s = loop.time()
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        await broker.kill()
        await ear.until(lambda: bool(pause.healthy_s))
        await broker.start()
        assert 0 <= pause.healthy_s[0] <= loop.time() - before_s


async def test_an_outage_that_follows_another_is_told_quietly_and_names_its_cause(
    free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG, logger="ingest.publish")
    publisher = make_publisher(BrokerAddress("127.0.0.1", free_port()), Shelf())
    publisher._backoff = Backoff(lambda: 0.0)
    async with running(publisher):
        await eventually("two attempts", lambda: asyncio.sleep(0, caplog.text.count("the broker is away") >= 2))
    levels = [record.levelno for record in caplog.records if "the broker is away" in record.getMessage()]
    assert levels[:2] == [logging.WARNING, logging.DEBUG]
    assert "refused" in caplog.records[0].getMessage()


@pytest.mark.parametrize(
    ("session", "not_saved", "ending"),
    [
        (7, None, "; recording goes on"),
        (7, NOT_SAVED, "; nothing is recorded either: the disk is full"),
        (0, NOT_SAVED, "; nothing is recorded either: the disk is full"),
        (0, None, ""),  # no record has been opened yet
    ],
)
async def test_recording_goes_on_where_it_does(
    session: int,
    not_saved: NotSaved | None,
    ending: str,
    broker: Mosquitto,
    free_port: Callable[[], int],
    caplog: pytest.LogCaptureFixture,
) -> None:
    alone = make_publisher(BrokerAddress("127.0.0.1", free_port()), Shelf())
    alone.set_status(session, not_saved)
    async with running(alone):
        await eventually("it has tried", lambda: is_in(caplog, "the broker is away"))
    [away] = [record.getMessage() for record in caplog.records if "the broker is away" in record.getMessage()]
    assert away.partition("refused")[2] == ending
    later = make_publisher(broker.address, Shelf(), instance=Instance(200.0, "second"))
    later.set_status(session, not_saved)
    async with running(make_publisher(broker.address, Shelf(), instance=Instance(100.0, "first"))), running(later):
        await eventually("it has yielded", lambda: is_in(caplog, OTHERS.format("publishes")))
    [taken] = [record.getMessage() for record in caplog.records if "publishes as" in record.getMessage()]
    assert taken.partition("until the name is free")[2] == ending


OTHERS = "another daemon {} as bench: give each its own name under [rig]"


async def test_of_two_daemons_under_one_name_the_later_waits_and_both_say_so(
    broker: Mosquitto, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ingest.publish.YIELD_S", 0.5)
    early, late = Shelf(), Shelf()
    first = make_publisher(broker.address, early, instance=Instance(100.0, "first"))
    second = make_publisher(broker.address, late, instance=Instance(200.0, "second"))
    first.set_state("about", b"of the first")
    second.set_state("about", b"of the second")
    late.add("mqtt packs", 40)
    async with listening_to(broker.address) as ear, running(first) as one:
        await ear.until(lambda: ear.payloads("dewline/1/bench/about") == [b"of the first"])
        async with running(second) as other:
            await ear.until(lambda: decode(ear.payloads(STATUS)[-1], Status).another)
            early.add("mqtt packs")
            first.wake("mqtt packs")
            await ear.until(lambda: numbers(ear) == [1])
            await eventually("the later one has yielded", lambda: is_in(caplog, OTHERS.format("publishes")))
            claims = sum(b"second" in payload for payload in ear.payloads(STATUS))
            await ear.until(lambda: sum(b"second" in it for it in ear.payloads(STATUS)) > claims + 1)  # it asks again
            assert caplog.text.count(OTHERS.format("publishes")) == 1
            assert caplog.text.count(OTHERS.format("wants to publish")) == 1
            assert set(ear.payloads("dewline/1/bench/about")) == {b"of the first"}
            assert numbers(ear) == [1]
            assert late.cursors["mqtt packs"] == 0
            assert not other.done()
            one.cancel()  # and once the name is free, all of it goes out
            await ear.until(lambda: ear.payloads("dewline/1/bench/about")[-1] == b"of the second")
            await eventually("all is out", lambda: all_out(late, 40))


async def test_a_claim_that_nobody_answers_any_more_keeps_nobody_waiting_for_long(
    broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine that lost its power is called online by a broker for as long as it takes it to notice."""
    monkeypatch.setattr("ingest.publish.CLAIM_S", 0.5)
    async with aiomqtt.Client(broker.address.host, broker.address.port) as gone:
        status = Status("online", 3, daemon=Instance(100.0, "gone"))
        await gone.publish(STATUS, encode(status), qos=1, retain=True)
    publisher = make_publisher(broker.address, Shelf(), instance=Instance(200.0, "here"))
    publisher.set_state("about", b"here")
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: ear.payloads("dewline/1/bench/about") == [b"here"])


async def retain(address: BrokerAddress, payload: bytes) -> None:
    """Leave a status at the broker, as a rig before this one did."""
    async with aiomqtt.Client(address.host, address.port) as other:
        await other.publish(STATUS, payload, qos=1, retain=True)


async def kept(address: BrokerAddress) -> Status:
    """The status that the broker tells to those who come later."""
    async with listening_to(address) as late:
        await late.until(lambda: bool(late.payloads(STATUS)))
    return decode(late.payloads(STATUS)[0], Status)


@pytest.mark.parametrize(
    "before",
    [
        b"\xff",
        encode(Status("online", 3)),  # of a version that did not say which daemon it is
        encode(Status("offline", 3, daemon=OLDER)),
        encode(Status("lost", 3, daemon=OLDER)),
        encode(Status("online", 3, daemon=LATER)),
    ],
)
async def test_nobody_is_waited_for_who_is_gone_or_came_later(
    before: bytes, broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ingest.publish.CLAIM_S", 3600.0)
    await retain(broker.address, before)
    publisher = make_publisher(broker.address, Shelf(), instance=OURS)
    publisher.set_state("about", b"here")
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: ear.payloads("dewline/1/bench/about") == [b"here"])
        publisher.set_status(8, NOT_SAVED)
        online = Status("online", 8, NOT_SAVED, OURS)
        await ear.until(lambda: ear.payloads(STATUS)[-1] == encode(online))
        assert await kept(broker.address) == online  # it does not take itself for another


async def test_nothing_is_sent_before_somebody_who_was_here_first_has_had_time_to_answer(
    broker: Mosquitto, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("ingest.publish.CLAIM_S", 3600.0)
    first = encode(Status("online", 3, daemon=OLDER))
    await retain(broker.address, first)
    publisher = make_publisher(broker.address, Shelf(), instance=OURS)
    publisher.set_state("about", b"of the later")
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: encode(Status("online", 7, daemon=OURS)) in ear.payloads(STATUS))
        await retain(broker.address, b"\xff")
        await asyncio.sleep(0.3)
        assert ear.payloads("dewline/1/bench/about") == []
        await retain(broker.address, first)
        await eventually("it has yielded", lambda: is_in(caplog, OTHERS.format("publishes")))
        assert ear.payloads("dewline/1/bench/about") == []


async def test_who_has_the_name_to_itself_says_so_to_those_who_come_later(broker: Mosquitto) -> None:
    publisher = make_publisher(broker.address, Shelf(), instance=OURS)
    publisher.set_state("about", b"here")
    online = Status("online", 7, daemon=OURS)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: bool(ear.payloads("dewline/1/bench/about")))
        assert await kept(broker.address) == online
        for gone in (Status("offline", 9, daemon=LATER), Status("lost", 3, daemon=OLDER), Status("online", 3)):
            await retain(broker.address, encode(gone))
            said = encode(gone)
            await ear.until(lambda said=said: encode(online) in after(ear.payloads(STATUS), said))  # type: ignore[misc]
            assert await kept(broker.address) == online


def after(payloads: list[bytes], said: bytes) -> list[bytes]:
    return payloads[payloads.index(said) + 1 :] if said in payloads else []


async def test_somebody_who_wanted_the_name_is_told_of_until_three_of_their_claims_did_not_come(
    broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One claim in 15 s; of three, two may be lost."""
    loop = asyncio.get_running_loop()
    forgotten: list[tuple[float, Callable[[], None]]] = []
    call_later = loop.call_later

    def later(delay_s: float, call: Callable[..., None], *given: object) -> asyncio.TimerHandle:
        if call == publisher._is_alone:
            forgotten.append((delay_s, call))
        return call_later(delay_s, call, *given)

    publisher = make_publisher(broker.address, Shelf(), instance=OURS)
    monkeypatch.setattr(loop, "call_later", later)
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: statuses(ear) == ["online"])
        for claims in (1, 2):
            await retain(broker.address, encode(Status("online", 3, daemon=LATER)))
            await eventually("it was heard", lambda claims=claims: asyncio.sleep(0, len(forgotten) == claims))  # type: ignore[misc]
        assert [delay_s for delay_s, _ in forgotten] == [45.0, 45.0]
        await ear.until(lambda: decode(ear.payloads(STATUS)[-1], Status).another)
        assert (await kept(broker.address)).another
        forgotten[-1][1]()  # as the loop would
        await ear.until(lambda: not decode(ear.payloads(STATUS)[-1], Status).another)


@pytest.mark.parametrize("instance", [None, OURS])
async def test_asks_and_what_others_say_of_the_rig_are_subscribed_to_at_least_once(
    instance: Instance | None, broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At quality of service 0 a broker need not send an ask again that was lost on its way (MQTT 3.1.1, 4.3)."""
    subscribed: list[tuple[object, object]] = []
    subscribe = aiomqtt.Client.subscribe

    async def noted(client: aiomqtt.Client, where: str, qos: int = 0) -> object:
        subscribed.append((where, qos))
        return await subscribe(client, where, qos=qos)

    publisher = make_publisher(broker.address, Shelf(), instance=instance)
    publisher.set_state("about", b"here")
    async with listening_to(broker.address) as ear:
        monkeypatch.setattr(aiomqtt.Client, "subscribe", noted)
        async with running(publisher):
            await ear.until(lambda: bool(ear.payloads("dewline/1/bench/about")))
    assert subscribed == [(STATUS, 1), ("dewline/1/bench/ask/+/+", 1)]


async def test_before_a_record_was_opened_no_session_is_told(broker: Mosquitto) -> None:
    publisher = Publisher(
        broker.address, "bench",
        outbox=Shelf().outbox, advance=Shelf().advance, handle_ask=no_asks, backoff=Backoff(),
    )  # fmt: skip
    async with listening_to(broker.address) as ear, running(publisher):
        await ear.until(lambda: ear.payloads(STATUS) == [encode(Status("online", 0))])


async def is_in(caplog: pytest.LogCaptureFixture, text: str) -> bool:
    return text in caplog.text


async def all_out(shelf: Shelf, count: int) -> bool:
    return shelf.cursors["mqtt packs"] == count
