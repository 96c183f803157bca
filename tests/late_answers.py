"""Instruments that answer later than they are waited for, over real pseudo-terminals and loopback.

Timeout and lateness are scaled down together. Every value of an instrument differs from every other and never changes,
so that one under another's name shows.
"""

import random
from collections import Counter
from collections.abc import AsyncIterator, Callable, Mapping, MutableMapping
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ingest.decode.modbus import ModbusDecoder
from ingest.decode.register_map import Block, Register
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Frame, Link, LinkError
from ingest.link.modbus_rtu import ModbusRtu, rtu_settings
from ingest.link.modbus_tcp import ModbusTcp
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from simulators.device.modbus import ModbusRtuDevice, ModbusTcpDevice
from simulators.device.modbus_frames import SimulatedRegister
from simulators.device.scpi import ScpiDevice
from tests.listening import listening

TIMEOUT_S = 0.04
NAMES = ("a", "b", "c", "late", "e", "f")
VALUES = {name: 11.0 * place for place, name in enumerate(NAMES, 1)}
QUERIES = {name: f"MEAS:CAP? (@{place})" for place, name in enumerate(NAMES)}


@dataclass(frozen=True)
class Came:
    """What came of many rounds: frames by name, and values under a wrong name.

    told: how often an answer was told of as late. silences: how often as missing; on a network a new connection
    follows, to which no late answer comes. last_told: the last of the late ones, in words.
    """

    frames: Counter[str]
    wrong: list[tuple[str, object]]
    told: int
    silences: int
    last_told: str


@asynccontextmanager
async def scpi(directory: Path) -> AsyncIterator[tuple[Link, Decode, MutableMapping[Any, float], Any]]:
    """A meter with six queries."""
    device = ScpiDevice(
        lambda: VALUES, address=directory / "meter", queries={query: name for name, query in QUERIES.items()}
    )
    async with device:
        link = ScpiMeter(PortSettings(device.address, 9600), QUERIES, poll_s=0.0, answer_timeout_s=TIMEOUT_S)
        yield link, decode_scpi, device.delays_s, "late"


SIMULATED = {name: SimulatedRegister(address=10 * place) for place, name in enumerate(NAMES)}
BLOCKS = [
    Block(
        1,
        "holding",
        10 * place,
        (Register(field=name, device=1, table="holding", address=10 * place, number_type="f32"),),
    )
    for place, name in enumerate(NAMES)
]
_LATE = ("holding", 10 * NAMES.index("late"))


@asynccontextmanager
async def modbus_rtu(directory: Path) -> AsyncIterator[tuple[Link, Decode, MutableMapping[Any, float], Any]]:
    """A device with six values that are alike but for their address, of which an answer says nothing."""
    async with ModbusRtuDevice(lambda: VALUES, address=directory / "bus", registers=SIMULATED) as device:
        settings = rtu_settings(device.address, 19200, "none")
        yield ModbusRtu(settings, BLOCKS, 0.0, TIMEOUT_S), ModbusDecoder(BLOCKS), device.delays_s, _LATE


@asynccontextmanager
async def modbus_tcp(_: Path) -> AsyncIterator[tuple[Link, Decode, MutableMapping[Any, float], Any]]:
    """The same on a network."""
    async with ModbusTcpDevice(lambda: VALUES, registers=SIMULATED) as device:
        link = ModbusTcp("127.0.0.1", device.port, BLOCKS, 0.0, TIMEOUT_S)
        yield link, ModbusDecoder(BLOCKS), device.delays_s, _LATE


LINKS: Mapping[str, Callable[[Path], Any]] = {"scpi": scpi, "modbus_rtu": modbus_rtu, "modbus_tcp": modbus_tcp}


async def rounds(kind: str, directory: Path, count: int, latest: tuple[float, float]) -> Came:
    """Go through many rounds. latest: the least and the greatest lateness of one value, in times of the timeout."""
    chance = random.Random(f"{kind} {count}")
    frames: list[Frame] = []
    problems: list[str] = []
    async with LINKS[kind](directory) as (link, decode, delays_s, late):
        delays_s[late] = chance.uniform(*latest) * TIMEOUT_S  # before it is asked at all
        while sum(frame.source == frames[0].source for frame in frames) < count:  # a link that was lost is run again
            async with listening(link) as listener:
                with suppress(LinkError):
                    while sum(frame.source == listener.frames[0].source for frame in listener.frames) < count:
                        delays_s[late] = chance.uniform(*latest) * TIMEOUT_S
                        await listener.heard(len(listener.frames) + 3)
            frames += listener.frames
            problems += [notice.problem for notice in listener.notices]
    told = [problem for problem in problems if " after " in problem]
    values = [pair for frame in frames for pair in decode(frame).items()]
    return Came(
        Counter(name for name, _ in values),
        [(name, value) for name, value in values if value != VALUES[name]],
        len(told),
        sum("does not answer within" in problem for problem in problems),
        told[-1] if told else "",
    )
