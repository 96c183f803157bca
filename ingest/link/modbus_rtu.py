"""Modbus devices on a serial line (RTU), asked block by block in the thread of their port.

The thread is why the frames are made and read here and not by pymodbus, as they are over TCP
(docs/decisions/0025-rtu-frames-of-our-own.md).
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from ingest.decode.register_map import Block
from ingest.frames import Connected, Deliver
from ingest.link.modbus_answers_due import AnswersDue
from ingest.link.modbus_held import Held
from ingest.link.modbus_poll import Poll
from ingest.link.modbus_request import RefusedError, Request
from ingest.link.modbus_rtu_bus import RtuBus
from ingest.link.port_settings import Parity, PortSettings
from ingest.link.presence import port_appears
from ingest.link.serial_thread import Port, converse

ANSWER_TIMEOUT_S = 1.0
"""At 9600 bps a second or more is typical: MODBUS over Serial Line V1.02, 2.4.1."""


def rtu_settings(port: str, baud: int, parity: Parity, *, rts: bool = True, dtr: bool = True) -> PortSettings:
    """Set a port for RTU: without parity there is a second stop bit (MODBUS over Serial Line V1.02, 2.5.1)."""
    return PortSettings(port, baud, parity, stop_bits=2 if parity == "none" else 1, rts=rts, dtr=dtr)


@dataclass(frozen=True, slots=True)
class ModbusRtu:
    """A link that reads blocks of registers. `Frame.source` is the block's name, the payload its words.

    It is connected when the first device has answered. poll_s: from one round of requests to the next [s]; a round
    that takes longer is followed by the next at once. answer_timeout_s: how long an answer may take [s].
    """

    settings: PortSettings
    blocks: Sequence[Block]
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S
    due: AnswersDue = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "due", AnswersDue(self.answer_timeout_s))
        for block in self.blocks:
            self.due.will_ask(Request.of(block))

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._talk, deliver, connected)

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await port_appears(self.settings.port)

    def _talk(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        poll = Poll(self.settings.port, self.blocks, self.answer_timeout_s, deliver, connected)
        bus = RtuBus(port, self.settings.baud, self.due, partial(_tell_late, poll, self.blocks))
        held = Held(bus, poll, self.blocks)
        while True:
            next_round_s = time.monotonic() + self.poll_s
            for block in poll.due(time.monotonic()):
                held.before(block)
                try:
                    words, stamp = bus.read(Request.of(block))
                except TimeoutError:
                    poll.unanswered(block, time.monotonic())
                    held.silence(block.device)
                except RefusedError as refused:
                    poll.refused(block, refused.exception)
                else:
                    held.add(block, words, stamp)
            held.pass_on()
            poll.end_round()
            bus.listen_until(next_round_s)


def _tell_late(poll: Poll, blocks: Sequence[Block], request: Request, after_s: float) -> None:
    for block in blocks:
        if Request.of(block) == request:
            poll.late(block, after_s)
