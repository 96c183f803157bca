"""Modbus devices, or a gateway to several, at a network address (TCP), asked block by block.

Pymodbus frames requests and answers. It shall not reconnect by itself, nor log what our supervisor tells already.
"""

import asyncio
import logging
from collections.abc import AsyncIterator, Callable, Coroutine, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

from pymodbus.client import AsyncModbusTcpClient
from pymodbus.exceptions import ModbusException

from ingest.decode.register_map import Block
from ingest.frames import Connected, Deliver, LinkError, Stamp
from ingest.link.ending import end
from ingest.link.modbus_poll import Poll
from ingest.link.modbus_request import RefusedError, Request
from ingest.link.presence import host_appears

ANSWER_TIMEOUT_S = 1.0


@dataclass(frozen=True, slots=True)
class ModbusTcp:
    """A link that reads blocks of registers. `Frame.source` is the block's name, the payload its words.

    It is connected when the first device has answered. poll_s: from one round of requests to the next [s]; a round
    that takes longer is followed by the next at once.
    """

    host: str
    port: int
    blocks: Sequence[Block]
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        lost = asyncio.Event()
        async with connect(self.host, self.port, self.answer_timeout_s, lost.set) as bus:
            await self._until_lost(self._poll(bus, deliver, connected), lost)

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await host_appears(self.host, self.port)

    async def _until_lost(self, poll: Coroutine[Any, Any, None], lost: asyncio.Event) -> None:
        """Poll, and stop at once when the connection breaks instead of waiting for an answer that cannot come."""
        polling, watching = asyncio.create_task(poll), asyncio.create_task(lost.wait())
        try:
            await asyncio.wait([polling, watching], return_when=asyncio.FIRST_COMPLETED)
        finally:
            await end(polling, watching)
        if polling.cancelled():
            raise LinkError(f"{self.host}:{self.port} was lost; check plug, cable and supply")
        polling.result()

    async def _poll(self, bus: "TcpBus", deliver: Deliver, connected: Connected) -> None:
        clock = asyncio.get_running_loop().time
        poll = Poll(f"{self.host}:{self.port}", self.blocks, self.answer_timeout_s, deliver, connected)
        while True:
            next_round_s = clock() + self.poll_s
            for block in poll.due(clock()):
                try:
                    words = await bus.read(Request.of(block))
                except TimeoutError:
                    poll.unanswered(block, clock())
                except RefusedError as refused:
                    poll.refused(block, refused.exception)
                else:
                    poll.answered(block, words, Stamp.now())
            poll.end_round()
            await asyncio.sleep(next_round_s - clock())


class TcpBus:
    """Requests and answers, one at a time. After a silence the connection is a new one: no late answer comes there.

    lost: called when the connection breaks.
    """

    def __init__(self, host: str, port: int, answer_timeout_s: float, lost: Callable[[], None]) -> None:
        self._host = host
        self._port = port
        self._answer_timeout_s = answer_timeout_s
        self._lost = lost
        self._client: AsyncModbusTcpClient | None = None

    async def read(self, request: Request) -> bytes:
        """Read registers: their bytes.

        Raises:
            LinkError: the host takes no connection.
            RefusedError: the device answers with an exception.
            TimeoutError: it does not answer in time.

        """
        client = self._client or await self.open()
        by_table = {"holding": client.read_holding_registers, "input": client.read_input_registers}
        try:
            answer = await by_table[request.table](request.address, count=request.words, device_id=request.device)
        except ModbusException as error:
            self.close()
            raise TimeoutError from error
        if answer.isError():
            raise RefusedError(answer.exception_code)
        return b"".join(word.to_bytes(2, "big") for word in answer.registers)

    async def open(self) -> AsyncModbusTcpClient:
        """Connect.

        Raises:
            LinkError: the host takes no connection.

        """

        def heed(is_connected: bool) -> None:  # noqa: FBT001 - as pymodbus calls it
            if not is_connected and self._client is client:
                self._lost()

        self._client = client = AsyncModbusTcpClient(
            self._host,
            port=self._port,
            timeout=self._answer_timeout_s,
            retries=0,
            reconnect_delay=0,
            trace_connect=heed,
        )
        if not await client.connect():
            raise LinkError(
                f"{self._host}:{self._port} takes no connection; is the device on, and are host and port right?"
            )
        return client

    def close(self) -> None:
        """Disconnect."""
        client, self._client = self._client, None
        if client:
            client.close()


@asynccontextmanager
async def connect(
    host: str, port: int, answer_timeout_s: float = ANSWER_TIMEOUT_S, lost: Callable[[], None] = lambda: None
) -> AsyncIterator[TcpBus]:
    """Connect until the block ends. lost: called when the connection breaks.

    Raises:
        LinkError: the host takes no connection.

    """
    logging.getLogger("pymodbus").setLevel(logging.CRITICAL)
    bus = TcpBus(host, port, answer_timeout_s, lost)
    try:
        await bus.open()
        yield bus
    finally:
        bus.close()
