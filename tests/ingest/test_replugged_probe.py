"""Another probe at the same port: nothing that the first one said of itself holds for it.

The whole way: a pseudo-terminal, the link, the decoder and their supervision.
"""

import asyncio
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from ingest.backoff import Backoff
from ingest.decode.lines import LineDecoder
from ingest.frames import Stamp, Value
from ingest.link.port_settings import PortSettings
from ingest.link.serial_lines import SerialLines
from ingest.supervise import Instrument, LinkState, Surroundings
from simulators.device.pty_port import PtyPort
from tests.processes import eventually


class Supervised:
    """A text probe's port under supervision, with all values that came of it."""

    def __init__(self, address: Path) -> None:
        self.port = PtyPort(address)
        self.values: list[Mapping[str, Value]] = []
        self.state = LinkState.CONNECTING
        link = SerialLines(PortSettings(str(address), 9600))
        around = Surroundings(self._accept, self._changed, lambda: 0.0)
        self.instrument = Instrument("probe", "serial", lambda: (link, LineDecoder()), around, Backoff())

    def _accept(self, _: str, __: Stamp, values: Mapping[str, Value]) -> None:
        if values:
            self.values.append(values)

    def _changed(self, _: str, __: LinkState, state: LinkState) -> None:
        self.state = state

    async def plug(self) -> None:
        self.port.plug()
        await eventually("it is connected", lambda: self.is_in(LinkState.CONNECTED))

    async def unplug(self) -> None:
        self.port.unplug()
        await eventually("it is lost", lambda: self.is_in(LinkState.WAITING))

    async def is_in(self, state: LinkState) -> bool:
        return self.state is state

    async def send(self, data: bytes) -> None:
        before = self.instrument.about().frames
        self.port.write(data)

        async def has_come() -> bool:
            return self.instrument.about().frames >= before + data.count(b"\n")

        await eventually("its lines have come", has_come)


@pytest.fixture
def address(tmp_path: Path) -> Path:
    return tmp_path / "usb-probe"


@asynccontextmanager
async def supervised(address: Path) -> AsyncIterator[Supervised]:
    probe = Supervised(address)
    task = asyncio.create_task(probe.instrument.supervise())
    try:
        await probe.plug()
        probe.port.write(b"\n")  # what comes before the first newline has lost its beginning
        yield probe
    finally:
        task.cancel()
        await asyncio.wait([task])
        probe.port.unplug()


async def test_rows_are_refused_until_the_new_probe_names_its_columns(address: Path) -> None:
    async with supervised(address) as probe:
        await probe.send(b"# pressure,temperature\r\n118.2,52.4\r\n")
        await probe.unplug()
        await probe.plug()
        probe.port.write(b"\n")
        await probe.send(b"52.4,118.2\r\n# temperature,pressure\r\n52.5,118.3\r\n")
        assert probe.values == [
            {"pressure": 118.2, "temperature": 52.4},
            {"temperature": 52.5, "pressure": 118.3},
        ]
        assert probe.instrument.about().rejected_frames == 1


async def test_half_a_row_of_a_probe_with_checks_is_refused_and_counted(address: Path) -> None:
    """`118.2,5` instead of `118.2,52.4*15`: -15 degC where 52.4 degF were sent."""
    async with supervised(address) as probe:
        await probe.send(b"# p,t*2B\r\n118.2,52.4*15\r\n118.2,5\r\n118.2,52.4\r\n118.2,52.4*15\r\n")
        assert probe.values == [{"p": 118.2, "t": 52.4}] * 2
        assert probe.instrument.about().rejected_frames == 2


async def test_a_new_probe_need_not_send_checks(address: Path) -> None:
    async with supervised(address) as probe:
        await probe.send(b"# p,t*2B\r\n")
        await probe.unplug()
        await probe.plug()
        probe.port.write(b"\n")
        await probe.send(b"# t,p\r\n52.4,118.2\r\n")
        assert probe.values == [{"t": 52.4, "p": 118.2}]
