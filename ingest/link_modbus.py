"""Modbus devices on a serial line (RTU) or a network (TCP), asked block by block.

Pymodbus frames requests and answers. It shall not reconnect by itself, nor log what our supervisor tells already.

A late answer on a serial line cannot be told from the next one, since RTU frames carry no number: so nothing is asked
twice, and after a silence we listen for as long again before the next request.
"""

import asyncio
import logging
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import dataclass
from typing import Any

from pymodbus.constants import ExcCodes
from pymodbus.exceptions import ModbusException
from pymodbus.pdu import ModbusPDU

from ingest.frames import Frame, LinkError, LinkSetupError, Stamp
from ingest.modbus_line import Line, ModbusClient
from ingest.register_map import Block

ANSWER_TIMEOUT_S = 1.0
"""At 9600 bps a second or more is typical: MODBUS over Serial Line V1.02, 2.4.1."""

_REFUSALS = (ExcCodes.ILLEGAL_FUNCTION, ExcCodes.ILLEGAL_ADDRESS, ExcCodes.ILLEGAL_VALUE)


class _NoWords(Exception):  # noqa: N818 - one block of a round, not an error of the link
    """A request that brought no registers, and why."""


@dataclass(frozen=True, slots=True)
class ModbusDevices:
    """A link that reads blocks of registers. `Frame.source` is the block's name, the payload its words.

    It is connected when the first device has answered. poll_s: from one round of requests to the next [s]; a round
    that takes longer is followed by the next at once.
    """

    line: Line
    blocks: Sequence[Block]
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S

    async def run(self, deliver: Callable[[Frame], None], connected: Callable[[], None]) -> None:
        """See Link.run."""
        logging.getLogger("pymodbus").setLevel(logging.CRITICAL)
        lost = asyncio.Event()
        client = self.line.client(self.answer_timeout_s, lost.set)
        try:
            await self.line.connect(client)
            await self._until_lost(self._poll(client, deliver, connected), lost)
        finally:
            client.close()

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
            raise LinkError(f"{self.line} was lost; check plug, cable and supply")
        polling.result()

    async def _poll(
        self, client: ModbusClient, deliver: Callable[[Frame], None], connected: Callable[[], None]
    ) -> None:
        clock = asyncio.get_running_loop().time
        is_first = True
        while True:
            next_round_s = clock() + self.poll_s
            problems: list[str] = []
            for block in self.blocks:
                try:
                    words = await self._read(client, block)
                except _NoWords as problem:
                    problems.append(str(problem))
                    continue
                stamp = Stamp.now()
                if is_first:
                    connected()
                    is_first = False
                deliver(Frame(words, stamp, block.name))
            if len(problems) == len(self.blocks):
                raise LinkError(f"{self.line}: {problems[0]}")
            await asyncio.sleep(next_round_s - clock())

    async def _read(self, client: ModbusClient, block: Block) -> bytes:
        await asyncio.sleep(self.line.pause_s)
        ask = client.read_holding_registers if block.table == "holding" else client.read_input_registers
        try:
            answer = await ask(block.address, count=block.words, device_id=block.device)
        except ModbusException as error:
            await asyncio.sleep(self.answer_timeout_s)
            raise _NoWords(
                f"device {block.device} does not answer; is it on, and are its address, speed and parity right?"
            ) from error
        if answer.isError():
            raise self._refusal(answer, block)
        return b"".join(word.to_bytes(2, "big") for word in answer.registers)

    def _refusal(self, answer: ModbusPDU, block: Block) -> Exception:
        """Tell a device that is busy or broken, and may recover, from one that is asked for what it does not have."""
        said = f"device {block.device} answers with exception {answer.exception_code}"
        if answer.exception_code not in _REFUSALS:
            return _NoWords(said)
        fields = ", ".join(register.field for register in block.registers)
        return LinkSetupError(
            f"{self.line}: {said} when asked for {block.words} {block.table} registers from address {block.address}; "
            f"correct `registers` ({fields})"
        )
