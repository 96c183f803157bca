"""A plain mosquitto for tests, to be killed and started again at will, and someone who listens."""

import asyncio
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import aiomqtt

from ingest.broker.find_program import find_program
from ingest.wire.messages import BrokerAddress
from tests.processes import BUSY


class Mosquitto:
    """One mosquitto on one port of loopback."""

    def __init__(self, port: int, directory: Path) -> None:
        self.address = BrokerAddress("127.0.0.1", port)
        self._configuration = directory / "mosquitto.conf"
        self._configuration.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n")
        self._process: asyncio.subprocess.Process | None = None

    async def start(self) -> None:
        mosquitto = find_program("mosquitto")
        assert mosquitto is not None
        self._process = await asyncio.create_subprocess_exec(
            mosquitto, "-c", self._configuration, stderr=asyncio.subprocess.DEVNULL
        )
        while True:
            try:
                _, writer = await asyncio.open_connection(self.address.host, self.address.port)
            except ConnectionError:
                assert self._process.returncode is None, f"mosquitto did not start at {self.address}"
                await asyncio.sleep(0.02)
            else:
                writer.close()
                return

    async def kill(self) -> None:
        assert self._process is not None
        self._process.kill()
        await self._process.wait()

    def freeze(self) -> None:
        assert self._process is not None
        self._process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        assert self._process is not None
        self._process.send_signal(signal.SIGCONT)


@asynccontextmanager
async def mosquitto(port: int, directory: Path) -> AsyncIterator[Mosquitto]:
    """A mosquitto that runs until the block ends."""
    broker = Mosquitto(port, directory)
    await broker.start()
    try:
        yield broker
    finally:
        await broker.kill()


class Ear:
    """Everything heard under `dewline/#`, in order."""

    def __init__(self) -> None:
        self.heard: list[tuple[str, bytes, bool]] = []

    def payloads(self, topic: str) -> list[bytes]:
        return [payload for found, payload, _ in self.heard if found == topic]

    async def until(self, check: Callable[[], bool], within_s: float = 20.0) -> None:
        async with asyncio.timeout(BUSY * within_s):
            while not check():  # noqa: ASYNC110 - what is waited for may be no message
                await asyncio.sleep(0.01)

    async def listen(self, address: BrokerAddress, ready: asyncio.Event) -> None:
        """Stay connected, over broker failures too."""
        while True:
            client = aiomqtt.Client(address.host, address.port)
            try:
                async with client:
                    await client.subscribe("dewline/#", qos=0)  # the broker then holds nothing back for us
                    ready.set()
                    async for message in client.messages:
                        self._hear(message)
            except aiomqtt.MqttError:
                while not client._queue.empty():  # aiomqtt gives up with what it has received and not handed over
                    self._hear(client._queue.get_nowait())
                await asyncio.sleep(0.02)

    def _hear(self, message: aiomqtt.Message) -> None:
        self.heard.append((message.topic.value, bytes(message.payload), message.retain))


@asynccontextmanager
async def listening_to(address: BrokerAddress) -> AsyncIterator[Ear]:
    """Listen until the block ends."""
    ear, ready = Ear(), asyncio.Event()
    task = asyncio.create_task(ear.listen(address, ready))
    try:
        async with asyncio.timeout(10):
            await ready.wait()
        yield ear
    finally:
        task.cancel()
        await asyncio.wait([task])
