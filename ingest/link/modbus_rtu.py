"""Modbus devices on a serial line (RTU), asked block by block in the thread of their port.

The thread is why the frames are made and read here and not by pymodbus, as they are over TCP: of its serial clients one
hears of an answer when the event loop gets round to it, the other looks for one every four characters, which is 4.6 ms
at 9600 baud, and neither says when it came.

A late answer cannot be told from the next one, since RTU frames carry no number: so nothing is asked twice, and after a
silence we listen for as long again before the next request.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass

from ingest.decode.register_map import Block
from ingest.frames import Frame, LinkError, Stamp
from ingest.link.modbus_request import SILENCE, RefusedError, Request, explain_refusal
from ingest.link.modbus_rtu_frames import LONGEST_FRAME_BYTES, answer_in, request_frame
from ingest.link.port_settings import Parity, PortSettings
from ingest.link.serial_thread import Connected, Deliver, Port, converse

ANSWER_TIMEOUT_S = 1.0
"""At 9600 bps a second or more is typical: MODBUS over Serial Line V1.02, 2.4.1."""


def rtu_settings(port: str, baud: int, parity: Parity, *, rts: bool = True, dtr: bool = True) -> PortSettings:
    """Set a port for RTU: without parity there is a second stop bit (MODBUS over Serial Line V1.02, 2.5.1)."""
    return PortSettings(port, baud, parity, stop_bits=2 if parity == "none" else 1, rts=rts, dtr=dtr)


@dataclass(frozen=True, slots=True)
class ModbusRtu:
    """A link that reads blocks of registers. `Frame.source` is the block's name, the payload its words.

    It is connected when the first device has answered. poll_s: from one round of requests to the next [s]; a round
    that takes longer is followed by the next at once.
    """

    settings: PortSettings
    blocks: Sequence[Block]
    poll_s: float = 0.5
    answer_timeout_s: float = ANSWER_TIMEOUT_S

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._talk, deliver, connected)

    def _talk(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        bus = RtuBus(port, self.settings.baud, self.answer_timeout_s)
        is_first = True
        while True:
            next_round_s = time.monotonic() + self.poll_s
            problems: list[str] = []
            for block in self.blocks:
                try:
                    words, stamp = bus.read(Request.of(block))
                except TimeoutError:
                    problems.append(SILENCE.format(block.device))
                    continue
                except RefusedError as refused:
                    problems.append(explain_refusal(self.settings.port, block, refused.exception))
                    continue
                if is_first:
                    connected()
                    is_first = False
                deliver(Frame(words, stamp, block.name))
            if len(problems) == len(self.blocks):
                raise LinkError(f"{self.settings.port}: {problems[0]}")
            port.wait_until(next_round_s)


class RtuBus:
    """Requests and answers, one at a time."""

    def __init__(self, port: Port, baud: int, answer_timeout_s: float = ANSWER_TIMEOUT_S) -> None:
        self._port = port
        self._answer_timeout_s = answer_timeout_s
        self._pause_s = max(3.5 * 11 / baud, 0.00175)
        """How long the line must be silent between frames: 3.5 characters of 11 bits, and 1.75 ms beyond 19200 baud
        (MODBUS over Serial Line V1.02, 2.5.1.1)."""

    def read(self, request: Request) -> tuple[bytes, Stamp]:
        """Read registers: their bytes, and when the answer was complete.

        Raises:
            RefusedError: the device answers with an exception.
            TimeoutError: it does not answer in time, or not intelligibly.

        """
        self._port.wait_until(time.monotonic() + self._pause_s)
        self._port.write(request_frame(request))
        deadline_s = time.monotonic() + self._answer_timeout_s
        received = b""
        while time.monotonic() < deadline_s:
            received = (received + self._port.read())[-LONGEST_FRAME_BYTES:]
            stamp = Stamp.now()
            words = answer_in(received, request)
            if words is not None:
                return words, stamp
        self._port.wait_until(time.monotonic() + self._answer_timeout_s)
        raise TimeoutError
