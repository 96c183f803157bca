"""A meter that takes several queries in one message is asked for each value behind a number: no answer is another's.

Over a real pseudo-terminal. Every value differs from every other and never changes, so that one under another's name
shows.
"""

import asyncio
from pathlib import Path

import pytest

from ingest.decode.scpi import decode_scpi
from ingest.frames import Frame
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from ingest.link.scpi_numbers import (
    can_be_numbered,
    is_refused,
    numbered,
    numbers_in_turn,
    takes_several,
    value_of,
)
from ingest.link.serial_thread import Port
from simulators.device.scpi import ScpiDevice
from tests.listening import TIMEOUT_S, listening

AMPS = {"compressor": 18.4, "fan": 1.2, "blower": 3.6, "heater": 9.5}
QUERIES = {name: f"MEAS:CURR:AC? (@{place})" for place, name in enumerate(AMPS)}
ORDER = "the order of its answers"


def device(directory: Path, *, takes_several: bool = True, echoes: bool = False) -> ScpiDevice:
    queries = {query: name for name, query in QUERIES.items()}
    return ScpiDevice(
        lambda: AMPS, address=directory / "meter", queries=queries, takes_several=takes_several, echoes=echoes
    )


def link(meter: ScpiDevice, **more: str) -> ScpiMeter:
    return ScpiMeter(PortSettings(meter.address, 9600), QUERIES | more, poll_s=0.02, answer_timeout_s=TIMEOUT_S)


def wrong_of(frames: list[Frame]) -> list[tuple[str, object]]:
    pairs = [pair for frame in frames for pair in decode_scpi(frame).items()]
    return [(name, value) for name, value in pairs if value != AMPS[name]]


@pytest.mark.parametrize(("twice", "lost"), [("compressor", "fan"), ("fan", "blower"), ("heater", "compressor")])
async def test_an_answer_that_comes_twice_while_the_next_is_lost_moves_no_value(
    twice: str, lost: str, tmp_path: Path
) -> None:
    async with device(tmp_path) as meter, listening(link(meter)) as listener:
        await listener.heard(4)
        for _ in range(3):
            meter.delay_s, meter.repeats_after_s, meter.loses = 0.01, {twice: 0.008}, {lost: 1}
            await listener.until(lambda: not meter.loses[lost])
            meter.repeats_after_s = {}
            await listener.heard(len(listener.frames) + 8)
        await listener.until(lambda: not listener.problems)
    assert wrong_of(listener.frames) == []
    assert listener.connections == 1
    assert any(notice.part == ORDER and "unasked; it is dropped" in notice.problem for notice in listener.notices)


async def test_of_a_meter_that_takes_one_query_at_a_time_no_count_of_lines_tells_that(tmp_path: Path) -> None:
    """The limit that docs/link_quality.md tells of, and what the test above would see without the numbers."""
    async with device(tmp_path, takes_several=False) as meter, listening(link(meter)) as listener:
        await listener.heard(4)
        for _ in range(50):
            meter.delay_s, meter.repeats_after_s, meter.loses = 0.01, {"compressor": 0.008}, {"fan": 1}
            await listener.until(lambda: not meter.loses["fan"])
            meter.repeats_after_s = {}
            await listener.heard(len(listener.frames) + 4)
            if wrong_of(listener.frames):
                break
    assert ("fan", AMPS["compressor"]) in wrong_of(listener.frames)


async def test_one_repeated_answer_costs_no_other_value_of_its_round(tmp_path: Path) -> None:
    async with device(tmp_path) as meter, listening(link(meter)) as listener:
        await listener.heard(4)
        meter.delay_s, meter.repeats_after_s = 0.02, {"fan": 0.01}
        await listener.until(lambda: sum(n.part == ORDER and bool(n.problem) for n in listener.notices) > 2)
        before = len(listener.frames)
        frames = await listener.heard(before + 4)
    assert {frame.source for frame in frames[before:]} >= {"compressor", "fan"}
    assert wrong_of(frames) == []


async def test_a_late_answer_is_nobody_elses(tmp_path: Path) -> None:
    async with device(tmp_path) as meter, listening(link(meter)) as listener:
        await listener.heard(4)
        meter.delays_s = {"fan": 1.5 * TIMEOUT_S}
        await listener.until(lambda: "came after" in listener.problems.get("fan", ""))
        frames = await listener.heard(len(listener.frames) + 6)
    assert wrong_of(frames) == []
    assert listener.connections == 1


async def test_a_query_that_is_refused_behind_its_number_is_told_with_the_error(tmp_path: Path) -> None:
    async with device(tmp_path) as meter, listening(link(meter, wrong="MEAS:PRES?")) as listener:
        await listener.until(lambda: "refuses 'MEAS:PRES?' with -113" in listener.problems.get("wrong", ""))
        frames = await listener.heard(len(listener.frames) + 10)
    assert {frame.source for frame in frames} == set(AMPS)
    assert wrong_of(frames) == []


@pytest.mark.parametrize("echoes", [True, False])
async def test_a_sound_meter_is_numbered_in_turn_and_tells_of_nothing(
    echoes: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[str] = []
    write = Port.write

    def write_and_note(port: Port, data: bytes) -> None:
        write(port, data)
        sent.append(data.decode().strip())

    monkeypatch.setattr(Port, "write", write_and_note)
    async with device(tmp_path, echoes=echoes) as meter, listening(link(meter)) as listener:
        frames = await listener.heard(12)
    assert wrong_of(frames) == []
    assert [frame.source for frame in frames[:4]] == list(AMPS)
    assert listener.notices == []
    asked = [text for text in sent if "MEAS" in text][:5]
    trial, *expected = zip((1, 1, 2, 0, 1), [QUERIES["compressor"], *QUERIES.values()], strict=True)
    assert asked == [numbered(query, number) for number, query in (trial, *expected)]


async def test_what_a_meter_refuses_on_trial_is_forgotten_and_it_is_asked_one_by_one(tmp_path: Path) -> None:
    async with device(tmp_path, takes_several=False) as meter, listening(link(meter)) as listener:
        frames = await listener.heard(8)
        await asyncio.sleep(0)
        assert listener.notices == []
    assert wrong_of(frames) == []
    assert not meter._errors


@pytest.mark.parametrize(("values", "numbers"), [(1, 3), (4, 3), (5, 2), (8, 2)])
def test_a_round_takes_at_most_a_fifth_longer_for_its_numbers(values: int, numbers: int) -> None:
    """By its bytes, at 10 bits each: a round without numbers has SYST:ERR? and its answer beside the values."""
    assert numbers_in_turn(values) == numbers
    bare = len("MEAS:VOLT:AC?\n") + len("+2.41000000E+02\n")
    asked = "".join(numbered("MEAS:VOLT:AC?", number % numbers) + "\n" for number in range(1, values * numbers + 1))
    answers = "".join("0;" * (number % numbers) + "+2.41000000E+02\n" for number in range(1, values * numbers + 1))
    before = values * bare + len('SYST:ERR?\n0,"No error"\n')
    assert len(asked + answers) / numbers <= 1.2 * before


def test_only_queries_of_one_value_each_are_numbered() -> None:
    assert can_be_numbered(QUERIES.values())
    assert not can_be_numbered(["MEAS:VOLT?;CURR?"])
    assert not can_be_numbered(["FETC"])
    assert not can_be_numbered(["CONF:VOLT;READ?"])


def test_an_answer_has_the_number_of_its_query_or_is_none() -> None:
    assert [value_of(b"5;60;-1.0", number) for number in range(4)] == [None, None, b"-1.0", None]
    assert value_of(b"+0 ; 9.9E37 ", 1) == b"9.9E37"
    assert value_of(b"1.5;2.5", 1) is None  # what stands before the value is no register
    assert value_of(b"1", 1) is None
    assert is_refused(b"0;0", 2)
    assert not is_refused(b"0;0", 1)
    assert not is_refused(b"0.5", 1)
    assert not takes_several([b"0;0;0.5"])
    assert not takes_several([b"0.1;0.5"])
    assert not takes_several([b"0;0.5", b"0;0.5"])
