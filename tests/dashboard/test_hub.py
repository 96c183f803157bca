"""The state of a rig as the page knows it: what nonsense, floods and slow viewers do to it."""

import asyncio
import json
import random

import msgspec
import pytest

from dashboard.charge.layout.header import header
from dashboard.errors import AskError
from dashboard.hub import Hub, Viewer
from dashboard.roles import Visitor, visitor
from ingest.wire.messages import Added, Answer, ChannelAbout, Note, Status, encode, encode_pack, topic
from tests import wire_rig
from tests.wire_rig import RIG

LARGEST_MESSAGE_BYTES = 64 * 1024
"""64 KiB: what docs/asyncapi.yaml promises."""

TIME_S = 1.7e9


def pack_bytes(sequence: int | None, *, at_s: float = 0.0, superheat_df: float = 18.3) -> bytes:
    return encode_pack(wire_rig.pack(sequence, wire_rig.values(superheat_df), time_s=TIME_S + at_s))


def known_hub() -> Hub:
    hub = Hub()
    hub.receive(topic(RIG, "status"), encode(Status("online", 1)))
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=TIME_S)))
    return hub


async def events(viewer: Viewer) -> dict[str, dict]:
    """Everything that waits for a viewer, by kind."""
    text = (await asyncio.wait_for(viewer.take(), 2)).decode()
    blocks = [block.split("\n", 1) for block in text.strip().split("\n\n")]
    return {kind.removeprefix("event: "): json.loads(data.removeprefix("data: ")) for kind, data in blocks}


async def test_the_first_rig_heard_is_the_one_shown() -> None:
    hub = known_hub()
    hub.receive("dewline/1/another/readings", pack_bytes(1))
    assert hub.rig == RIG
    assert hub.newest is None


async def test_a_sheet_that_is_retained_no_more_is_no_nonsense() -> None:
    """MQTT 3.1.1, 3.3.1.3: a retained message of no bytes takes away the one that was retained."""
    hub = known_hub()
    hub.receive(topic(RIG, "unit/AHU-1"), b"")
    assert hub.refused.total() == 0


async def test_a_pack_is_taken_once() -> None:
    hub = known_hub()
    for _ in range(3):
        hub.receive(topic(RIG, "readings"), pack_bytes(7))
    assert len(hub.ring) == 1


async def test_nothing_of_a_unit_stands_beside_another_that_takes_its_rigs_name() -> None:
    hub = known_hub()
    hub.receive(topic(RIG, "readings"), pack_bytes(7))
    hub.past_wanted.clear()
    there = wire_rig.about(
        started_s=TIME_S + 9.0, visit="visit-2", unit=msgspec.structs.replace(wire_rig.unit(), tag="RTU-X")
    )
    hub.receive(topic(RIG, "about"), encode(there))
    assert (len(hub.ring), hub.newest, hub.advice) == (0, None, None)
    assert hub.past_wanted.is_set()
    hub.receive(topic(RIG, "readings"), pack_bytes(3))
    assert hub.newest is not None
    assert hub.newest.sequence == 3


async def test_a_late_pack_fills_the_past_without_turning_the_figures_back() -> None:
    hub = known_hub()
    hub.receive(topic(RIG, "readings"), pack_bytes(9, at_s=2.0, superheat_df=12.0))
    hub.receive(topic(RIG, "readings"), pack_bytes(8, at_s=1.0, superheat_df=15.0))
    assert len(hub.ring) == 2
    assert hub.newest is not None
    assert hub.newest.sequence == 9


@pytest.mark.parametrize("kind", ["status", "about", "readings", "latest", "advice", "marks", "answer/x", "unheard-of"])
@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"\xff\xfe",
        b"null",
        b"[]",
        b"{}",
        b"[" * 50_000,
        b'[{"bn":"bench/","n":"pack","v":1e999}]',
        b'[{"bn":"bench/","bt":1e300,"n":"pack","v":1},{"n":"session","v":1},{"n":"epoch","v":0},{"n":"monotonic","v":0}]',
        b" " * (LARGEST_MESSAGE_BYTES + 1),
    ],
    ids=["empty", "not UTF-8", "null", "list", "object", "deep", "infinite", "far future", "huge"],
)
async def test_nonsense_is_counted_and_survived(kind: str, payload: bytes) -> None:
    hub = known_hub()
    hub.receive(topic(RIG, kind), payload)
    assert hub.refused.total() == 1
    hub.receive(topic(RIG, "readings"), pack_bytes(1))
    assert len(hub.ring) == 1


@pytest.mark.parametrize("seed", range(4))
async def test_damaged_messages_never_stop_the_feed(seed: int) -> None:
    hub = known_hub()
    viewers = [hub.join("us"), hub.join("si")]
    noise = random.Random(seed)
    sound = {
        "readings": pack_bytes(1),
        "latest": pack_bytes(2),
        "about": encode(wire_rig.about(started_s=TIME_S)),
        "advice": encode(wire_rig.advice(time_s=TIME_S)),
        "marks": encode(Added("m1", TIME_S, mass_kg=0.17, phase="liquid")),
        "status": encode(Status("online", 1)),
    }
    for _ in range(1500):
        kind, payload = noise.choice(list(sound.items()))
        damaged = bytearray(payload)
        for _ in range(noise.randint(1, 4)):
            damaged[noise.randrange(len(damaged))] = noise.choice(b'0123456789abcxyz"{}[],:.-e ')
        hub.receive(topic(RIG, kind), bytes(damaged))
    assert hub.refused.total() > 0
    for viewer in viewers:
        assert "about" in await events(viewer)


async def test_a_newer_rig_with_channels_this_page_does_not_know_can_be_watched() -> None:
    hub = known_hub()
    about = wire_rig.about(started_s=TIME_S)
    unheard_of = ChannelAbout("oil_level", "low side probe", "mm", 1.0)
    newer = msgspec.structs.replace(about, channels=[*about.channels, unheard_of])
    hub.receive(topic(RIG, "about"), encode(newer))
    instruments = (await events(hub.join("us")))["about"]["instruments"]
    assert instruments[0]["channels"] == ["suction_pressure", "suction_line_temperature"]


async def test_a_new_viewer_gets_everything_known_in_their_units() -> None:
    hub = known_hub()
    hub.receive(topic(RIG, "readings"), pack_bytes(1))
    hub.receive(topic(RIG, "advice"), encode(wire_rig.advice(time_s=TIME_S)))
    us, si = await events(hub.join("us")), await events(hub.join("si"))
    assert set(us) == {"status", "about", "marks", "frame", "advice", "watchers"}
    assert us["frame"]["values"]["superheat"][0] == 18.3
    assert si["frame"]["values"]["superheat"][0] == 10.2
    assert us["advice"]["details"][0] != si["advice"]["details"][0]


async def test_the_technician_sees_which_leads_watch() -> None:
    hub = known_hub()
    pages = {}
    for who in (Visitor("technician", "Sam"), Visitor("lead", "Robin"), Visitor("lead", "Kim")):
        token = visitor.set(who)
        pages[who.name] = hub.join("us")
        visitor.reset(token)
    assert (await events(pages["Sam"]))["watchers"] == {"says": "Kim and Robin watch"}
    hub.leave(pages["Kim"])
    assert (await events(pages["Sam"]))["watchers"] == {"says": "Robin watches"}


async def test_a_slow_viewer_gets_only_the_newest_of_each_kind() -> None:
    hub = known_hub()
    viewer = hub.join("us")
    await events(viewer)
    for sequence in range(100):
        hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=TIME_S + sequence)))
    waiting = await viewer.take()
    assert waiting.count(b"event: about") == 1
    assert f'"visit_started":{TIME_S + 99}'.encode() in waiting


async def test_a_burst_after_an_outage_becomes_few_frames_and_ends_with_the_newest() -> None:
    hub = known_hub()
    viewer = hub.join("us")
    await events(viewer)
    frames = []
    for sequence in range(400):
        hub.receive(topic(RIG, "readings"), pack_bytes(sequence, at_s=sequence / 4))
    while not frames or frames[-1]["time"] < TIME_S + 399 / 4:
        frames.append((await events(viewer))["frame"])
    assert len(frames) <= 3
    assert len(hub.ring) == 400


async def test_events_are_formatted_once_for_all_who_read_the_same_units() -> None:
    hub = known_hub()
    viewers = [hub.join("us") for _ in range(20)]
    for viewer in viewers:
        await viewer.take()
    hub.receive(topic(RIG, "readings"), pack_bytes(1))
    frames = [viewer._waiting["frame"] for viewer in viewers]
    assert all(frame is frames[0] for frame in frames)


async def test_latest_is_shown_until_the_first_pack_and_says_how_long_ago_it_was() -> None:
    hub = known_hub()
    hub.receive(topic(RIG, "latest"), pack_bytes(5, superheat_df=12.0))
    frame = (await events(hub.join("us")))["frame"]
    assert frame["values"]["superheat"][0] == 12.0
    assert frame["since"] > 3600
    assert len(hub.ring) == 0


@pytest.mark.parametrize("kind", ["readings", "latest"])
@pytest.mark.parametrize("value", [1e17, -1e300])
async def test_a_value_that_nothing_leaves_is_no_figure_and_spoils_no_other(kind: str, value: float) -> None:
    """Whoever may publish under a rig's name may send it: no axis is drawn to it."""
    hub = known_hub()
    read = wire_rig.values() | {"liquid_bubble_point": value}
    hub.receive(topic(RIG, kind), encode_pack(wire_rig.pack(5, read, time_s=TIME_S)))
    values = (await events(hub.join("us")))["frame"]["values"]
    assert values["liquid_bubble_point"][0] is None
    assert values["superheat"][0] is not None


@pytest.mark.parametrize("time_s", [1e300, -1e300])
async def test_a_reading_of_a_time_that_no_calendar_has_is_no_figure(time_s: float) -> None:
    hub, sound = known_hub(), wire_rig.pack(5, wire_rig.values(), time_s=TIME_S)
    late = msgspec.structs.replace(sound.readings["superheat"], time_s=time_s)
    pack = msgspec.structs.replace(sound, readings={**sound.readings, "superheat": late})
    hub.receive(topic(RIG, "readings"), encode_pack(pack))
    values = (await events(hub.join("us")))["frame"]["values"]
    assert (values["superheat"][0], values["subcooling"][0] is None) == (None, False)


@pytest.mark.parametrize("letter", ["\u202a", "\u202e", "\u2066", "\u2069", "\ufeff"])
@pytest.mark.parametrize("is_escaped", [False, True])
async def test_no_text_of_a_rig_turns_how_a_page_is_read(letter: str, is_escaped: bool) -> None:
    """Unicode Standard Annex 9; in the letters of UTF-8, or as RFC 8259, section 7, escapes them."""
    about = wire_rig.about(started_s=TIME_S)
    about = msgspec.structs.replace(about, unit=msgspec.structs.replace(about.unit, place=f"Roof {letter}9"))
    sent = json.dumps(msgspec.to_builtins(about), ensure_ascii=is_escaped).encode()
    hub = known_hub()
    hub.receive(topic(RIG, "about"), sent)
    hub.receive(
        topic(RIG, "marks"), json.dumps({"kind": "note", "id": "n1", "time_s": TIME_S, "text": letter}).encode()
    )
    assert hub.about is not None
    assert hub.about.unit.place == "Roof \ufffd9"
    assert hub.marks["n1"].text == "\ufffd"
    assert letter not in json.dumps(await events(hub.join("us", "visit")), ensure_ascii=False)


class Clocks:
    """The clocks of a page's machine, to be set."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def time(self) -> float:
        return TIME_S + self.now_s

    def monotonic(self) -> float:
        return self.now_s


async def test_after_an_outage_old_figures_do_not_pass_for_live(monkeypatch: pytest.MonkeyPatch) -> None:
    clocks, hub = Clocks(), known_hub()
    monkeypatch.setattr("dashboard.hub.time", clocks)
    viewer = hub.join("us")

    async def shown(kind: str, sequence: int, at_s: float, superheat_df: float) -> tuple[float, float]:
        hub.receive(topic(RIG, kind), pack_bytes(sequence, at_s=at_s, superheat_df=superheat_df))
        hub._notify("frame")
        frame = (await events(viewer))["frame"]
        return frame["values"]["superheat"][0], frame["since"]

    assert await shown("readings", 1, 0.0, 12.0) == (12.0, 0.0)
    clocks.now_s = 180.0
    assert await shown("readings", 2, 0.25, 13.0) == (13.0, pytest.approx(179.75, abs=0.05))
    assert await shown("latest", 720, 180.0, 19.0) == (19.0, 0.0)
    assert await shown("readings", 3, 0.5, 14.0) == (19.0, 0.0)
    assert len(hub.ring) == 3
    clocks.now_s = 180.25
    assert await shown("readings", 721, 180.25, 19.1) == (19.1, 0.0)


async def test_a_new_visit_starts_with_its_own_marks() -> None:
    hub = known_hub()
    hub.receive(topic(RIG, "marks"), encode(Note("m1", TIME_S)))
    assert list(hub.marks) == ["m1"]
    hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=TIME_S, visit="visit-2")))
    assert not hub.marks


async def test_a_rig_that_begins_a_new_record_is_followed() -> None:
    hub = known_hub()
    for session in (3, 1):
        hub.receive(topic(RIG, "about"), encode(wire_rig.about(started_s=TIME_S, session=session)))
        pack = wire_rig.pack(1, wire_rig.values(), time_s=TIME_S - session, session=session)
        hub.receive(topic(RIG, "readings"), encode_pack(pack))
        assert hub.newest is not None
        assert hub.newest.session == session
    assert len(hub.ring) == 2


async def test_an_answer_finds_who_asked() -> None:
    hub = known_hub()
    sent = []

    async def publish(to: str, payload: bytes) -> None:
        sent.append(to)
        hub.receive(topic(RIG, "answer/other"), encode(Answer("other", ok=False)))
        hub.receive(topic(RIG, "answer/a1"), encode(Answer("a1", ok=True)))

    hub.connected(publish)
    answer = await hub.ask(topic(RIG, "ask/technician/reading"), b"{}", "a1", 1.0)
    assert answer.ok
    assert sent == [topic(RIG, "ask/technician/reading")]


async def test_no_answer_says_so_and_leaves_nothing_behind() -> None:
    hub = known_hub()

    async def publish(to: str, payload: bytes) -> None: ...

    hub.connected(publish)
    with pytest.raises(AskError, match="has not answered") as refused:
        await hub.ask("x", b"{}", "a1", 0.05)
    assert refused.value.status == 504
    hub.connected(None)
    with pytest.raises(AskError, match="lost the rig's broker") as lost:
        await hub.ask("x", b"{}", "a1", 0.05)
    assert lost.value.status == 503
    assert not hub._answers


def test_who_watches_is_told_so_once() -> None:
    """By their role; whoever acts hears of all who watch."""
    assert "watchers" in str(header(Visitor("technician", "Sam")))
    watching = str(header(Visitor("lead", "Robin")))
    assert "Robin, lead: watching" in watching
    assert "watchers" not in watching
