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
from ingest.frames import Frame, LinkError, Stamp
from ingest.link.modbus_request import SILENCE, RefusedError, Request, explain_refusal

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

    async def run(self, deliver: Callable[[Frame], None], connected: Callable[[], None]) -> None:
        """See Link.run."""
        lost = asyncio.Event()
        async with connect(self.host, self.port, self.answer_timeout_s, lost.set) as bus:
            await self._until_lost(self._poll(bus, deliver, connected), lost)

    async def _until_lost(self, poll: Coroutine[Any, Any, None], lost: asyncio.Event) -> None:
        """Poll, and stop at once when the connection breaks instead of waiting for an answer that cannot come."""
        polling, watching = asyncio.create_task(poll), asyncio.create_task(lost.wait())
        try:
            await asyncio.wait([polling, watching], return_when=asyncio.FIRST_COMPLETED)
        finally:
            polling.cancel()
            watching.cancel()
            await asyncio.wait([polling, watching])
        if polling.cancelled():
            raise LinkError(f"{self.host}:{self.port} was lost; check plug, cable and supply")
        polling.result()

    async def _poll(self, bus: "TcpBus", deliver: Callable[[Frame], None], connected: Callable[[], None]) -> None:
        clock = asyncio.get_running_loop().time
        is_first = True
        while True:
            next_round_s = clock() + self.poll_s
            problems: list[str] = []
            for block in self.blocks:
                try:
                    words = await bus.read(Request.of(block))
                except TimeoutError:
                    problems.append(SILENCE.format(block.device))
                    continue
                except RefusedError as refused:
                    problems.append(explain_refusal(f"{self.host}:{self.port}", block, refused.exception))
                    continue
                stamp = Stamp.now()
                if is_first:
                    connected()
                    is_first = False
                deliver(Frame(words, stamp, block.name))
            if len(problems) == len(self.blocks):
                raise LinkError(f"{self.host}:{self.port}: {problems[0]}")
            await asyncio.sleep(next_round_s - clock())


class TcpBus:
    """Requests and answers over a connection, one at a time."""

    def __init__(self, client: AsyncModbusTcpClient, answer_timeout_s: float) -> None:
        self._client = client
        self._answer_timeout_s = answer_timeout_s

    async def read(self, request: Request) -> bytes:
        """Read registers: their bytes.

        Raises:
            RefusedError: the device answers with an exception.
            TimeoutError: it does not answer in time.

        """
        by_table = {"holding": self._client.read_holding_registers, "input": self._client.read_input_registers}
        try:
            answer = await by_table[request.table](request.address, count=request.words, device_id=request.device)
        except ModbusException as error:
            await asyncio.sleep(self._answer_timeout_s)
            raise TimeoutError from error
        if answer.isError():
            raise RefusedError(answer.exception_code)
        return b"".join(word.to_bytes(2, "big") for word in answer.registers)


@asynccontextmanager
async def connect(
    host: str, port: int, answer_timeout_s: float = ANSWER_TIMEOUT_S, lost: Callable[[], None] = lambda: None
) -> AsyncIterator[TcpBus]:
    """Connect until the block ends. lost: called when the connection breaks.

    Raises:
        LinkError: the host takes no connection.

    """
    logging.getLogger("pymodbus").setLevel(logging.CRITICAL)
    client = AsyncModbusTcpClient(
        host,
        port=port,
        timeout=answer_timeout_s,
        retries=0,
        reconnect_delay=0,
        trace_connect=lambda connected: None if connected else lost(),
    )
    try:
        if not await client.connect():
            raise LinkError(f"{host}:{port} takes no connection; is the device on, and are host and port right?")
        yield TcpBus(client, answer_timeout_s)
    finally:
        client.close()
