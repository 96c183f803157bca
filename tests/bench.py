"""The whole house as a technician starts it: the bench with its broker, daemon and page, as real processes."""

import asyncio
import json
import signal
import socket
import sqlite3
import urllib.error
import urllib.request
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import aiomqtt
import psutil

from ingest.wire.messages import BrokerAddress, topic
from tests.processes import Command, eventually, running

RIG = "bench"


@dataclass(frozen=True)
class Bench:
    """A bench that serves, and where."""

    command: Command
    broker_port: int
    page_port: int
    directory: Path

    @property
    def page(self) -> str:
        return f"http://127.0.0.1:{self.page_port}"

    @property
    def address(self) -> BrokerAddress:
        return BrokerAddress(host="127.0.0.1", port=self.broker_port)

    def daemon(self) -> psutil.Process | None:
        """The daemon's process."""
        return self.process("daemon")

    def process(self, name: str) -> psutil.Process | None:
        """The process of one of our commands, found among the bench's own."""
        for child in psutil.Process(self.command.process.pid).children(recursive=True):
            try:
                if child.cmdline()[1:5] == ["-m", "dewline", "--with-parent", name]:
                    return child
            except (psutil.NoSuchProcess, psutil.ZombieProcess):
                continue
        return None

    def packs_on_disk(self) -> list[tuple[int, bytes]]:
        """The packs of the record, by number, through a connection of its own."""
        with sqlite3.connect(f"file:{self.directory / 'bench.sqlite'}?mode=ro", uri=True) as record:
            rows = record.execute("SELECT sequence, payload FROM packs ORDER BY sequence").fetchall()
        record.close()
        return [(sequence, bytes(payload)) for sequence, payload in rows]

    async def ask_bench(self, instrument: str, do: str) -> None:
        """Pull an instrument's plug, or put it back."""
        async with aiomqtt.Client(**self.address.client_arguments()) as client:
            payload = json.dumps({"instrument": instrument, "do": do})
            await client.publish(topic(RIG, "bench/ask"), payload, qos=1)


@asynccontextmanager
async def bench(
    directory: Path,
    free_port: Callable[[], int],
    *,
    broker_kind: str = "auto",
    speed: float = 1.0,
    scenario: str = "low_charge",
    blind: bool = False,
    name: str = "",
) -> AsyncIterator[Bench]:
    """Start `dewline bench` and wait until it serves the page. name: of the technician."""
    broker_port, page_port = free_port(), free_port()
    arguments = [
        "bench",
        "--directory",
        str(directory),
        "--port",
        str(page_port),
        "--broker-port",
        str(broker_port),
    ]
    arguments += ["--broker-kind", broker_kind, "--speed", f"{speed:g}", "--scenario", scenario, "--name", name]
    if blind:
        arguments.append("--blind")
    async with running(arguments, directory / "bench.log") as command:
        it = Bench(command, broker_port, page_port, directory)
        await eventually("the page is served", lambda: asyncio.to_thread(answers, it.page))
        await eventually("the broker is there", lambda: asyncio.to_thread(listens, broker_port))
        # What the bench keeps there it publishes once it listens: what is asked of it before would be lost.
        assert await stock_subscriber(broker_port, topic(RIG, "bench/about"), count=1)
        yield it


def listens(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port), timeout=2).close()
    except OSError:
        return False
    return True


def answers(url: str) -> bool:
    try:
        with urllib.request.urlopen(url, timeout=2) as response:
            return bool(response.status == 200)
    except (urllib.error.URLError, ConnectionError):
        return False


async def stock_subscriber(port: int, topic_filter: str, *, count: int, patience_s: int = 60) -> list[Any]:
    """What `mosquitto_sub`, a stock client, prints of a topic: each message decoded from JSON."""
    process = await asyncio.create_subprocess_exec(
        "mosquitto_sub", "-p", str(port), "-t", topic_filter, "-q", "1", "-C", str(count), "-W", str(patience_s),
        stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip
    output, _ = await process.communicate()
    return [json.loads(line) for line in output.splitlines()]


def numbers(pack: Sequence[dict[str, Any]]) -> dict[str, float]:
    """The numbers of a SenML pack by name, as they stand in it."""
    return {record["n"]: record["v"] for record in pack if "v" in record}


def kill(process: psutil.Process) -> None:
    """Kill a process as the kernel would when memory runs out."""
    process.send_signal(signal.SIGKILL)
