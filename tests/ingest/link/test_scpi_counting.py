"""The SCPI link counts lines: what is too long, comes twice or comes while it gets back into step.

Over a real pseudo-terminal. What a test does at a moment of the conversation, it does when the link has sent a query.
"""

import asyncio
import time
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from ingest.frames import LinkError
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.serial_thread import Port
from simulators.device.scpi import ScpiDevice
from tests.listening import TIMEOUT_S, listening
from tests.processes import BUSY

VALUE, FAN, SILENT, WHO = "MEAS:CURR:AC? (@1)", "MEAS:CURR:AC? (@2)", "FETC?", "*IDN?"
ABOUT_ITSELF = ""
"""What a simulated meter's delay is called for whatever gives no value."""
SOUND = b"+1.84200000E+01"
ORDER = "the order of its answers"
LONGEST_BYTES = 4096
"""With its end of line: more than a meter says of itself (72 by IEEE 488.2, 10.14, from memory), by far."""


@pytest.fixture
async def meter(tmp_path: Path) -> AsyncIterator[ScpiDevice]:
    """A meter that answers one query, and takes another without a word: what it says to that one, the test sends."""
    device = ScpiDevice(
        lambda: {"compressor": 18.42, "fan": 1.9},
        address=tmp_path / "usb-meter",
        queries={VALUE: "compressor", FAN: "fan"},
        settings=frozenset({SILENT}),
    )
    async with device:
        yield device


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the link has sent so far."""
    write, texts = Port.write, list[str]()

    def write_and_note(port: Port, data: bytes) -> None:
        write(port, data)
        texts.append(data.decode().strip())

    monkeypatch.setattr(Port, "write", write_and_note)
    return texts


async def is_sent(sent: list[str], *texts: str) -> None:
    """Wait until the newest that was sent is this, one after the other."""
    async with asyncio.timeout(10 * BUSY):
        while tuple(sent[-len(texts) :]) != texts:  # noqa: ASYNC110 - a thread sends it
            await asyncio.sleep(0.002)


def link(meter: ScpiDevice, query: str, timeout_s: float = TIMEOUT_S) -> ScpiMeter:
    return ScpiMeter(PortSettings(meter.address, 9600), {"one": query}, poll_s=0.02, answer_timeout_s=timeout_s)


@pytest.mark.parametrize(("over", "is_kept"), [(0, True), (1, False)])
async def test_an_answer_is_as_long_as_may_be_or_it_is_none(
    over: int, is_kept: bool, meter: ScpiDevice, sent: list[str]
) -> None:
    """What is longer is one line all the same: it is no number, and the meter is not lost over it."""
    line = b"9" * (LONGEST_BYTES - 1 + over) + b"\n"
    async with listening(link(meter, SILENT, 20 * TIMEOUT_S)) as listener:
        await is_sent(sent, SILENT)
        for start in range(0, len(line), 500):  # a pseudo-terminal takes only so much that nobody has read
            meter.send(line[start : start + 500])
            await asyncio.sleep(0.02)
        frames = await listener.heard(1)
    assert frames[0].payload == (line.strip() if is_kept else b"(too long)")
    assert listener.connections == 1
    assert listener.notices == []


async def test_a_carriage_return_amid_an_answer_parts_two_and_neither_is_a_value(
    meter: ScpiDevice, sent: list[str]
) -> None:
    async with listening(link(meter, SILENT, 20 * TIMEOUT_S)) as listener:
        await is_sent(sent, SILENT)
        meter.send(b"+9.99E+02\r+9.98E+02\n")
        await listener.until(lambda: bool(listener.notices))
    assert listener.notices[0].problem.startswith("the meter sent b'+9.98E+02' unasked")
    assert listener.frames == []


@pytest.mark.parametrize("line", [b"+9.99E+02\n", b"READY, AND WARM\n", b'-113,"Undefined header"\n'])
async def test_of_two_lines_while_one_is_due_the_second_is_told_of_as_unasked(
    line: bytes, meter: ScpiDevice, sent: list[str]
) -> None:
    """Its name is known by then: nothing else that it says is taken for that, though it be no number."""
    async with listening(link(meter, VALUE)) as listener:
        await listener.heard(2)
        meter.delays_s = {"compressor": 2.5 * TIMEOUT_S}
        await listener.until(lambda: "came after" in listener.problems.get("one", ""))
        seen = len(listener.notices)
        await is_sent(sent, VALUE)
        await is_sent(sent, VALUE, WHO)  # the value is late, and it is asked who it is
        meter.send(line)
        await listener.until(lambda: ORDER in listener.problems)
        meter.delays_s = {}
        frames = await listener.heard(len(listener.frames) + 3)
        await listener.until(lambda: not listener.problems)
    told = [(notice.part, notice.problem) for notice in listener.notices[seen:] if notice.problem]
    assert told[0][0] == "one"
    assert "came after" in told[0][1]
    assert told[1] == (ORDER, f"the meter sent {SOUND!r} unasked; all values of its round are dropped (1 in a row)")
    assert {frame.payload for frame in frames} == {SOUND}
    assert listener.connections == 1


async def test_a_computer_held_up_while_it_gets_back_into_step_finds_the_answer_there(
    meter: ScpiDevice, sent: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The meter said who it is within its time; only we looked after it."""
    read, timeout_s = Port.read, TIMEOUT_S / 2
    hold_up: list[str] = []

    def read_late(port: Port, *until_s: float) -> bytes:
        if hold_up == ["next"] and sent[-2:] == [VALUE, WHO]:
            hold_up.append("over")
            time.sleep(4.5 * timeout_s)  # after four it is given up
        return read(port, *until_s)

    monkeypatch.setattr(Port, "read", read_late)
    async with listening(link(meter, VALUE, timeout_s)) as listener:
        await listener.heard(2)
        meter.delays_s = {"compressor": 2 * timeout_s}
        await listener.until(lambda: "came after" in listener.problems.get("one", ""))
        hold_up.append("next")  # from now on each value is late, and it is asked who it is before one has come
        await listener.until(lambda: "over" in hold_up)
        meter.delays_s = {}
        await listener.heard(len(listener.frames) + 3)
    assert listener.connections == 1


async def test_a_meter_that_has_spoken_is_given_four_times_its_timeout(
    meter: ScpiDevice, sent: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Until when it waits is what it reads with; a computer that is held up meanwhile changes nothing of that."""
    write, read = Port.write, Port.read
    asked_s, until_s = [0.0], list[tuple[float, float]]()

    def write_and_look(port: Port, data: bytes) -> None:
        write(port, data)
        asked_s[0] = time.monotonic()

    def read_and_look(port: Port, *until: float) -> bytes:
        if until and sent[-2:] == [VALUE, WHO]:
            until_s.append((asked_s[0], until[0]))
        return read(port, *until)

    monkeypatch.setattr(Port, "write", write_and_look)
    monkeypatch.setattr(Port, "read", read_and_look)
    async with listening(link(meter, VALUE)) as listener:
        await listener.heard(2)
        meter.delay_s = 600.0
        error = await listener.error()
    assert isinstance(error, LinkError)
    assert "no longer answers" in str(error)
    asked, until = until_s[-1]
    assert 4.0 <= (until - asked) / TIMEOUT_S < 5.0


@pytest.mark.parametrize("after_s", [0.004, 0.015, 0.025], ids="once more after {}".format)
async def test_a_repeated_answer_stands_for_none_that_was_sound_before_and_is_refused_now(
    after_s: float, meter: ScpiDevice
) -> None:
    """One line too many and one that never comes: the count is right, and only the meter's errors tell."""
    queries = {"compressor": VALUE, "fan": FAN}
    both = ScpiMeter(PortSettings(meter.address, 9600), queries, poll_s=0.02, answer_timeout_s=TIMEOUT_S)
    async with listening(both) as listener:
        await listener.heard(4)
        meter.repeats_after_s = {"compressor": after_s}
        del meter.names[FAN]
        await listener.until(lambda: "though each query seemed to be answered" in listener.problems.get(ORDER, ""))
    assert {(frame.source, frame.payload) for frame in listener.frames} == {
        ("compressor", SOUND), ("fan", b"+1.90000000E+00"),
    }  # fmt: skip
