"""Ports whose bytes another machine passes on over TCP."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import pytest

from ingest.config.load import ConfigError, load
from ingest.link.port_settings import PortSettings
from ingest.link.serial_lines import SerialLines
from tests.listening import listening
from tests.rigs import write_configuration


async def test_lines_come_over_a_plain_socket_and_its_end_ends_the_link(free_port: Callable[[], int]) -> None:
    async def send(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while not heard.is_set():  # what came before the port was open is left, as of any port
            writer.write(b"118.2,57.3\n")
            await asyncio.sleep(0.05)
        writer.close()

    heard = asyncio.Event()
    number = free_port()
    link = SerialLines(PortSettings(f"socket://127.0.0.1:{number}", 9600))
    async with await asyncio.start_server(send, "127.0.0.1", number), listening(link) as listener:
        frames = await listener.heard(1)
        assert frames[0].payload == b"118.2,57.3"
        heard.set()
        assert "was lost" in str(await listener.error())


@pytest.mark.parametrize(
    "port", ["socket://192.0.2.7", "rfc2217://192.0.2.7:23", "loop://", "socket://192.0.2.7:4001/x"]
)
def test_a_way_to_no_port_is_refused(port: str, tmp_path: Path) -> None:
    path = write_configuration(tmp_path)
    path.write_text(path.read_text(encoding="utf-8").replace(f"{tmp_path}/low", port), encoding="utf-8")
    with pytest.raises(ConfigError, match=r"port.*socket://HOST:PORT was expected"):
        load(path)
