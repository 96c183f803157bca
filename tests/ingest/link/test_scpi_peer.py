"""The SCPI link with a meter that shares no code with ours: another package's, in a process of its own."""

import asyncio
import json
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from ingest.decode.scpi import decode_scpi
from ingest.frames import LinkSetupError, Unreadable
from ingest.link.port_settings import PortSettings
from ingest.link.scpi import ScpiMeter
from tests.listening import listening

QUERIES = {
    "compressor": "MEAS:CURR:AC? (@1)",
    "fan": "measure:current:ac? (@2)",
    "line": "MEAS:VOLT:AC?",
}


@pytest.fixture
async def port(tmp_path: Path) -> AsyncIterator[str]:
    """The port of the meter."""
    port = tmp_path / "usb-meter"
    transports = [{"type": "serial", "url": str(port)}]
    device = {"name": "meter", "class": "Meter", "package": "tests.scpi_peer", "transports": transports}
    configuration = tmp_path / "meter.json"
    configuration.write_text(json.dumps({"devices": [device]}))
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "sinstruments", "-c", configuration, cwd=Path(__file__).parents[3]
    )
    try:
        async with asyncio.timeout(20):
            while not port.exists():
                assert process.returncode is None
                await asyncio.sleep(0.02)
        yield str(port)
    finally:
        process.kill()
        await process.wait()


async def test_every_query_is_answered(port: str) -> None:
    async with listening(ScpiMeter(PortSettings(port, 9600), QUERIES, poll_s=0.05)) as listener:
        frames = await listener.heard(6)
    assert [dict(decode_scpi(frame)) for frame in frames[:6]] == [
        {"compressor": 18.42},
        {"fan": 1.9},
        {"line": Unreadable.OVERLOAD},
    ] * 2


@pytest.mark.parametrize(
    ("setup", "queries", "says"),
    [
        (["CONF:NONSENSE"], QUERIES, "after its setup commands"),
        ([], {"pressure": "MEAS:PRES?"}, "refuses 'MEAS:PRES?'"),
    ],
)
async def test_what_it_refuses_stops_the_instrument(
    port: str, setup: list[str], queries: dict[str, str], says: str
) -> None:
    async with listening(
        ScpiMeter(PortSettings(port, 9600), queries, setup, poll_s=0.05, answer_timeout_s=0.3)
    ) as listener:
        error = await listener.error()
    assert isinstance(error, LinkSetupError)
    assert says in str(error)
    assert "-113" in str(error)
