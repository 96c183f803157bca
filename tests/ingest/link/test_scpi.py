"""The SCPI link with a simulated meter on a pseudo-terminal."""

import asyncio
import re
import time
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from ingest.decode.scpi import decode_scpi
from ingest.frames import Frame, LinkError, LinkSetupError
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_thread import Port
from simulators.device.scpi import ScpiDevice
from tests.listening import TIMEOUT_S, listening

COMPRESSOR, FAN = "MEAS:CURR:AC? (@1)", "MEAS:CURR:AC? (@2)"
ABOUT_ITSELF = ""
"""What a simulated meter's delay is called for whatever gives no value."""


@pytest.fixture
async def meter(tmp_path: Path) -> AsyncIterator[ScpiDevice]:
    device = ScpiDevice(
        lambda: {"compressor": 18.42, "fan": 1.9},
        address=tmp_path / "usb-meter",
        queries={COMPRESSOR: "compressor", FAN: "fan"},
        settings=frozenset({"CONF:RANG:AUTO ON"}),
    )
    async with device:
        yield device


def link(meter: ScpiDevice, **changes: object) -> ScpiMeter:
    options = {"queries": {"compressor": COMPRESSOR, "fan": FAN}, "poll_s": 0.05, "answer_timeout_s": TIMEOUT_S}
    return ScpiMeter(PortSettings(meter.address, 9600), **(options | changes))  # type: ignore[arg-type]


def decoded(frames: list[Frame]) -> list[dict[str, object]]:
    return [dict(decode_scpi(frame)) for frame in frames]


async def test_every_query_is_asked_in_turn(meter: ScpiDevice) -> None:
    async with listening(link(meter, setup=["CONF:RANG:AUTO ON"])) as listener:
        frames = await listener.heard(6)
    assert decoded(frames[:6]) == [{"compressor": 18.42}, {"fan": 1.9}] * 3
    rounds_s = [
        (later.stamp.monotonic_ns - first.stamp.monotonic_ns) / 1e9
        for first, later in zip(frames, frames[2:], strict=False)
    ]
    assert min(rounds_s) > 0.03  # polled every 0.05 s, not as fast as it answers


async def test_a_late_answer_is_not_taken_for_the_next_one(meter: ScpiDevice) -> None:
    async with listening(link(meter)) as listener:
        await listener.heard(2)
        meter.delay_s = 1.2 * TIMEOUT_S
        await listener.until(lambda: bool(listener.problems))
        meter.delay_s = 0.0
        frames = await listener.heard(len(listener.frames) + 10)
    assert all(
        frame.payload == (b"+1.84200000E+01" if frame.source == "compressor" else b"+1.90000000E+00")
        for frame in frames
    )


@pytest.mark.parametrize("times", [2.3, 4.5], ids="{} times its time".format)
async def test_an_answer_after_its_time_is_dropped_and_told_and_the_meter_is_not_lost(
    meter: ScpiDevice, times: float
) -> None:
    """It is late after its time, and then four times as long may pass until the meter says who it is."""
    async with listening(link(meter, queries={"compressor": COMPRESSOR})) as listener:
        await listener.heard(1)
        meter.delays_s = {"compressor": times * TIMEOUT_S}
        await listener.until(lambda: bool(listener.notices))
        meter.delays_s = {}
        late = re.fullmatch(
            rf"the answer to {re.escape(repr(COMPRESSOR))} came after ([\d.]+) s and is dropped; if \"compressor\" is "
            rf"measured that slowly, `timeout` must be longer than {TIMEOUT_S:g} s \(1 in a row\)",
            listener.notices[0].problem,
        )
        assert late, listener.notices
        assert float(late[1]) >= 0.99 * times * TIMEOUT_S  # it is told to three figures
        await listener.until(lambda: not listener.problems.get("compressor"))
        await listener.heard(len(listener.frames) + 2)
    assert listener.connections == 1


async def test_what_is_no_reading_may_come_late(meter: ScpiDevice) -> None:
    """What went wrong, which is asked after every round, and who it is."""
    queries = {"compressor": COMPRESSOR, "wrong": "MEAS:PRES?"}
    async with listening(link(meter, queries=queries, answer_timeout_s=TIMEOUT_S / 2)) as listener:
        await listener.heard(1)
        meter.delays_s = {ABOUT_ITSELF: 0.8 * TIMEOUT_S}  # of half of that
        await listener.heard(len(listener.frames) + 2)
        meter.delays_s = {}
    assert {notice.part for notice in listener.notices} == {"wrong"}
    assert listener.connections == 1


@pytest.mark.parametrize("before", [COMPRESSOR, "SYST:ERR?"])
async def test_a_computer_that_is_held_up_takes_no_meter_for_a_silent_one(
    before: str, meter: ScpiDevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer is there, long before it is looked for; how old a value is by then, nobody knows."""
    write, read = Port.write, Port.read
    timeout_s = TIMEOUT_S / 2
    held_up_s = 4.5 * timeout_s
    hold_up: list[str] = []

    def write_and_note(port: Port, data: bytes) -> None:
        write(port, data)
        if hold_up == [before] and data == before.encode() + b"\n":
            hold_up.append("now")

    def read_late(port: Port, *until_s: float) -> bytes:
        if hold_up == [before, "now"]:
            hold_up.append("over")
            time.sleep(held_up_s)
        return read(port, *until_s)

    monkeypatch.setattr(Port, "write", write_and_note)
    monkeypatch.setattr(Port, "read", read_late)
    async with listening(link(meter, queries={"compressor": COMPRESSOR}, answer_timeout_s=timeout_s)) as listener:
        await listener.heard(2)
        hold_up.append(before)
        await listener.until(lambda: "over" in hold_up)
        held_frames = len(listener.frames)
        await listener.heard(held_frames + 4)
    assert listener.connections == 1
    told = [notice.problem for notice in listener.notices]
    if before == "SYST:ERR?":
        assert told == []
    else:
        came_after = re.search(r"came after ([\d.]+) s and is dropped", told[0])
        assert came_after, told
        assert float(came_after[1]) >= 0.99 * held_up_s


async def test_a_problem_ends_with_the_next_answer_and_a_sound_meter_tells_of_none(meter: ScpiDevice) -> None:
    async with listening(link(meter, queries={"compressor": COMPRESSOR})) as listener:
        await listener.heard(5)
        assert listener.notices == []
        meter.delays_s["compressor"] = 1.5 * TIMEOUT_S
        await listener.until(lambda: bool(listener.problems))
        meter.delays_s.clear()
        await listener.until(lambda: not listener.problems)
        assert [notice.problem for notice in listener.notices if not notice.problem] == [""]


async def test_what_a_meter_says_as_it_is_switched_on_is_not_its_name(tmp_path: Path) -> None:
    port = tmp_path / "usb-meter"
    async with ScpiDevice(lambda: {"amps": 18.42}, address=port, queries={COMPRESSOR: "amps"}) as meter:
        meter.delay_s = 0.2
        async with listening(link(meter, queries={"amps": COMPRESSOR})) as listener:
            await asyncio.sleep(0.04)  # it is open
            meter.send(b"SELF TEST\n")
            await asyncio.sleep(0.05)
            meter.send(b"READY\n")
            frames = await listener.heard(3)
    assert decoded(frames) == [{"amps": 18.42}] * len(frames)


def test_unless_told_otherwise_it_waits_for_the_slow_ranges(meter: ScpiDevice) -> None:
    """Over 2 s for capacitance, and as much again: common practice, no source."""
    usual = ScpiMeter(PortSettings(meter.address, 9600), {})
    assert (usual.answer_timeout_s, usual.poll_s) == (5.0, 0.5)


async def test_an_answer_that_never_comes_is_counted_and_the_others_go_on(meter: ScpiDevice) -> None:
    queries = {"compressor": COMPRESSOR, "quiet": "CONF:RANG:AUTO ON"}  # which it takes, and says nothing
    async with listening(link(meter, queries=queries)) as listener:
        await listener.until(lambda: sum(notice.part == "quiet" for notice in listener.notices) >= 3)
        frames = await listener.heard(3)
    told = [notice.problem for notice in listener.notices if notice.part == "quiet"]
    for number, problem in enumerate(told[:3], start=1):
        assert problem.endswith(f"({number} in a row)")
        assert "the answer to 'CONF:RANG:AUTO ON' did not come; if \"quiet\" is measured that slowly" in problem
    assert {frame.source for frame in frames} == {"compressor"}
    assert listener.connections == 1


async def test_what_nobody_asked_for_is_discarded(meter: ScpiDevice) -> None:
    async with listening(link(meter, poll_s=0.2)) as listener:
        await listener.heard(2)
        await asyncio.sleep(0.02)
        meter.send(b"+9.99E+02\n")
        frames = await listener.heard(4)
    assert {frame.payload for frame in frames} == {b"+1.84200000E+01", b"+1.90000000E+00"}


async def test_a_refused_setup_command_stops_the_instrument(meter: ScpiDevice) -> None:
    async with listening(link(meter, setup=["CONF:RANG:AUTO SOMETIMES"])) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "-113" in str(error)
    assert listener.connections == 0


async def test_a_refused_query_stops_the_instrument(meter: ScpiDevice) -> None:
    async with listening(link(meter, queries={"wrong": "MEAS:PRES?"})) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert "MEAS:PRES?" in str(error)


async def test_errors_from_before_are_not_ours(meter: ScpiDevice) -> None:
    with pytest.raises(AssertionError, match="-113"):
        async with listening(link(meter, setup=["NONSENSE"])) as listener:
            raise AssertionError(str(await listener.error()))
    async with listening(link(meter, setup=["CONF:RANG:AUTO ON"])) as listener:
        await listener.heard(2)


async def test_a_meter_that_is_switched_off_is_not_there(meter: ScpiDevice) -> None:
    meter.delay_s = 60
    async with listening(link(meter)) as listener:
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "is the meter on" in str(error)


async def test_a_meter_that_falls_silent_is_lost(meter: ScpiDevice) -> None:
    async with listening(link(meter, answer_timeout_s=TIMEOUT_S / 2)) as listener:
        await listener.heard(2)
        meter.delay_s = 600
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "no longer answers" in str(error)


async def test_an_answer_without_end_does_not_fill_memory(meter: ScpiDevice) -> None:
    async with listening(link(meter, queries={"compressor": COMPRESSOR}, answer_timeout_s=3.0)) as listener:
        await listener.heard(1)
        meter.delay_s = 0.05
        for _ in range(12):  # what a pseudo-terminal takes while the machine is busy
            meter.send(b"9" * 1000)
            await asyncio.sleep(0.05)
        meter.delay_s = 0.0
        good = len(listener.frames)
        frames = await listener.heard(good + 3)
    assert decoded(frames[-2:]) == [{"compressor": 18.42}] * 2


async def test_a_meter_that_echoes_is_understood(tmp_path: Path) -> None:
    meter = ScpiDevice(
        lambda: {"compressor": 18.42, "fan": 1.9},
        address=tmp_path / "usb-meter",
        queries={COMPRESSOR: "compressor", FAN: "fan"},
        settings=frozenset({"CONF:RANG:AUTO ON"}),
        echoes=True,
    )
    async with meter, listening(link(meter, setup=["CONF:RANG:AUTO ON"])) as listener:
        frames = await listener.heard(4)
    assert decoded(frames[:4]) == [{"compressor": 18.42}, {"fan": 1.9}] * 2


async def test_one_refused_query_leaves_the_others_alone(meter: ScpiDevice) -> None:
    queries = {"compressor": COMPRESSOR, "wrong": "MEAS:PRES?"}
    async with listening(link(meter, queries=queries, answer_timeout_s=TIMEOUT_S / 2)) as listener:
        frames = await listener.heard(3)
        await listener.until(lambda: bool(listener.problems))
    assert {frame.source for frame in frames} == {"compressor"}
    assert "refuses 'MEAS:PRES?' with -113" in listener.problems["wrong"]


@pytest.mark.parametrize("from_the_start", [True, False])
async def test_a_repeated_answer_is_not_taken_for_that_to_a_refused_query(
    meter: ScpiDevice, *, from_the_start: bool
) -> None:
    """The line too many stands where one is missing, and the count is right again: the meter's errors tell."""
    repeats = {"compressor": 0.1 * TIMEOUT_S}
    meter.repeats_after_s = repeats if from_the_start else {}
    queries = {"compressor": COMPRESSOR, "wrong": "MEAS:PRES?", "fan": FAN}
    async with listening(link(meter, queries=queries, answer_timeout_s=TIMEOUT_S / 2)) as listener:
        if not from_the_start:
            await listener.heard(3)
            meter.repeats_after_s = repeats
        await listener.until(lambda: sum("unasked" in notice.problem for notice in listener.notices) >= 2)
    assert {frame.source for frame in listener.frames} <= {"compressor", "fan"}


async def test_what_was_refused_and_is_answered_later_is_read(meter: ScpiDevice) -> None:
    queries = {"compressor": COMPRESSOR, "head": "MEAS:PRES?"}
    async with listening(link(meter, queries=queries, answer_timeout_s=TIMEOUT_S / 2)) as listener:
        await listener.until(lambda: bool(listener.problems))
        meter.names["MEAS:PRES?"] = "fan"
        await listener.until(lambda: sum(frame.source == "head" for frame in listener.frames) >= 3)
        assert not listener.problems
    assert not [notice for notice in listener.notices if "unasked" in notice.problem]
    assert {frame.payload for frame in listener.frames if frame.source == "head"} == {b"+1.90000000E+00"}


@pytest.mark.parametrize("answer", [b"SIMULATED,METER,0,1\n", b'+0,"No error"\n'])
async def test_an_answer_of_another_kind_is_no_value(meter: ScpiDevice, answer: bytes) -> None:
    """A meter that was asked by somebody before us may still have an answer to give."""
    async with listening(link(meter, answer_timeout_s=2 * TIMEOUT_S)) as listener:
        await listener.heard(2)
        meter.delays_s = {"compressor": TIMEOUT_S}
        await listener.heard(len(listener.frames) + 3)
        await asyncio.sleep(0.15)  # it is asked again, and makes us wait
        meter.send(answer)
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "which answers something else" in str(error)
    assert {frame.payload for frame in listener.frames} == {b"+1.84200000E+01", b"+1.90000000E+00"}
