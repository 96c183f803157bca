"""What an instrument hangs on never answers again: stopping and reloading end all the same, and say what was left."""

import asyncio
import socket
import threading
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from pathlib import Path

import msgspec
import pytest
import serial

from ingest.config.structs import InstrumentConfig
from ingest.frames import Stamp, Value
from ingest.instruments import Instruments
from ingest.supervise import LinkState, Surroundings
from simulators.device.bluetooth import BluetoothDevice
from simulators.device.fake_bluez import FakeBluez
from tests.bluetooth import ADDRESS, needs_fake_bluez, reached
from tests.processes import eventually, running, unused_port
from tests.rigs import write_configuration

AT_MOST_S = 20.0
"""Far more than the bound: a hang would last for ever."""


def instrument(name: str, link: str) -> InstrumentConfig:
    return msgspec.toml.decode(f'name = "{name}"\nlink = {link}\nchannel = []'.encode(), type=InstrumentConfig)


class Rig:
    """Instruments at work, and what they said."""

    def __init__(self) -> None:
        self.states: dict[str, LinkState] = {}
        self.changed = asyncio.Event()
        self.instruments = Instruments(Surroundings(self._accept, self._change, lambda: 0.0))

    def _accept(self, _name: str, _stamp: Stamp, _values: Mapping[str, Value]) -> None:
        self.changed.set()

    def _change(self, name: str, _former: LinkState, state: LinkState) -> None:
        self.states[name] = state
        self.changed.set()

    async def until(self, name: str, state: LinkState) -> None:
        async with asyncio.timeout(AT_MOST_S):
            while self.states.get(name) is not state:
                self.changed.clear()
                await self.changed.wait()


@asynccontextmanager
async def at_work(*configs: InstrumentConfig) -> AsyncIterator[tuple[Rig, asyncio.Task[None]]]:
    rig = Rig()
    task = asyncio.create_task(rig.instruments.run(configs))
    await asyncio.sleep(0)
    try:
        yield rig, task
    finally:
        task.cancel()
        await asyncio.wait([task], timeout=AT_MOST_S)


async def stops(task: asyncio.Task[None]) -> bool:
    task.cancel()
    done, _ = await asyncio.wait([task], timeout=AT_MOST_S)
    return bool(done)


PROBE = instrument("probe", '{ kind = "bluetooth", device_name = "air probe" }')
OUTDOOR = instrument("outdoor", '{ kind = "bluetooth_adverts", device_name = "outdoor probe" }')


@needs_fake_bluez
async def test_a_bluetooth_service_that_hangs_from_the_start_keeps_nothing_from_stopping() -> None:
    async with reached(FakeBluez()) as bluez:
        bluez.hangs = True
        async with at_work(PROBE, OUTDOOR) as (_, at_it):
            await asyncio.sleep(0.3)
            assert await stops(at_it)


@needs_fake_bluez
async def test_a_bluetooth_service_that_hangs_while_connected_keeps_no_reload_from_ending() -> None:
    async with (
        reached(FakeBluez()) as bluez,
        BluetoothDevice(
            lambda: {"air": 23.4}, bluez=bluez, address=ADDRESS, name="air probe", characteristics={"air": "2a6e"}
        ),
        at_work(PROBE, OUTDOOR) as (rig, at_it),
    ):
        await rig.until("probe", LinkState.CONNECTED)
        bluez.hangs = True
        async with asyncio.timeout(AT_MOST_S):
            await rig.instruments.stop(["probe"])
        assert [about.name for about in rig.instruments.about()] == ["outdoor"]
        assert await stops(at_it)


async def test_a_port_whose_driver_hangs_is_left_behind_and_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A pseudo-terminal opens at once; so opening is made to hang where pyserial would call the driver."""
    opening, may_open = threading.Event(), threading.Event()

    def hang(_port: serial.Serial) -> None:
        opening.set()
        may_open.wait()
        raise OSError("too late")

    monkeypatch.setattr(serial.Serial, "open", hang)
    port = instrument("probe", f'{{ kind = "serial_lines", port = "{tmp_path}/probe" }}')
    async with at_work(port) as (rig, at_it):
        await asyncio.to_thread(opening.wait, AT_MOST_S)
        async with asyncio.timeout(AT_MOST_S):
            await rig.instruments.stop(["probe"])
        assert "its driver does not let go of the port; it is left behind" in caplog.text
        assert await stops(at_it)
    may_open.set()


async def test_a_broker_that_swallows_everything_keeps_nothing_from_stopping() -> None:
    """The system takes the connection in its place, and nobody ever says a word."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
        values = 'values = { air = { topic = "roof/air" } }'
        roof = instrument("roof", f'{{ kind = "mqtt", url = "mqtt://127.0.0.1:{port}", {values} }}')
        async with at_work(roof) as (rig, at_it):
            await asyncio.sleep(0.3)
            async with asyncio.timeout(AT_MOST_S):
                await rig.instruments.stop(["roof"])
            assert await stops(at_it)


@needs_fake_bluez
async def test_the_daemon_stops_beside_a_bluetooth_service_that_hangs(tmp_path: Path) -> None:
    configuration = write_configuration(tmp_path, f'listen = "127.0.0.1:{unused_port()}"\nkind = "embedded"')
    with configuration.open("a", encoding="utf-8") as file:
        file.write(
            '\n[[instrument]]\nname = "air probe"\nlink = { kind = "bluetooth", device_name = "air probe" }\n'
            '[[instrument.channel]]\nchannel = "return_air_temperature"\nfield = "air"\nunit = "degC"\n'
            'accuracy = "0.5 degC"\n'
        )
    async with reached(FakeBluez()) as bluez:
        bluez.hangs = True
        async with running(["daemon", "--config", str(configuration)], tmp_path / "daemon.log") as command:

            async def is_ready() -> bool:
                return "ready: session" in command.output()

            await eventually("the daemon is ready", is_ready)
            command.process.terminate()
            async with asyncio.timeout(AT_MOST_S):
                assert await command.process.wait() == 0
