"""The answers of Modbus devices on a serial line, held back until it is sure which is which.

RTU answers carry neither a number nor an address. One that is repeated is taken for the next one where two requests to
a device are alike, of one table and one length, and every later one then comes under the next name. So a device with
such requests is asked something else after them, of a length that no value has: in order, an answer too many shows by
then. Where no two are alike, no answer can stand for another, and nothing more is asked.

Registers that nobody configured are not read just to make two requests unlike: a device may refuse them, and some
change when they are read.
"""

import time
from collections import Counter
from collections.abc import Sequence

from ingest.decode.register_map import Block, Table
from ingest.frames import Stamp
from ingest.link.modbus_poll import Poll
from ingest.link.modbus_request import Request
from ingest.link.modbus_rtu_bus import RtuBus
from ingest.link.serial_thread import READ_TIMEOUT_S

MOST_UNCONFIRMED = 3
"""So often a device that has never answered it is asked to confirm: common practice, no source."""

_OTHER: dict[Table, Table] = {"holding": "input", "input": "holding"}
_MOST_WORDS = 16


class Held:
    """The answers since the last time that it was sure which is which; all are of one device."""

    def __init__(self, bus: RtuBus, poll: Poll, blocks: Sequence[Block]) -> None:
        self._bus = bus
        self._poll = poll
        self._to_confirm = {
            device: request
            for device in {block.device for block in blocks}
            if (request := confirming([block for block in blocks if block.device == device]))
        }
        self._confirms = set[int]()
        self._unconfirmed = Counter[int]()
        self._never_sure: dict[int, str] = {}
        self._answers: list[tuple[Block, bytes, Stamp]] = []

    def before(self, block: Block) -> None:
        """Make sure of what is held, before another device is asked, or something that may not be answered."""
        if self._answers and (self._answers[0][0].device != block.device or self._poll.is_slow(block)):
            self.pass_on()

    def add(self, block: Block, words: bytes, stamp: Stamp) -> None:
        """Hold an answer."""
        self._poll.heard(block)
        self._answers.append((block, words, stamp))

    def silence(self, device: int) -> None:
        """Heed that an answer stayed away: what is held of alike ones can no more be made sure of."""
        if device in self._to_confirm:
            self._answers.clear()
        self.pass_on()

    def pass_on(self) -> None:
        """Make sure of what is held, and pass it on; drop it where one answer was too many."""
        answers, self._answers = self._answers, []
        if not answers:
            return
        device = answers[0][0].device
        problem = self._problem(device)
        self._poll.order(device, problem or self._never_sure.get(device, ""))
        if not problem:
            for answer in answers:
                self._poll.answered(*answer)

    def _problem(self, device: int) -> str:
        request = self._to_confirm.get(device)
        try:
            is_in_step = self._bus.confirm(request) if request else self._bus.is_in_step(device)
        except TimeoutError:
            return self._unconfirmed_by(device)
        self._confirms.add(device)
        if is_in_step:
            return ""
        self._bus.listen_until(time.monotonic() + READ_TIMEOUT_S)
        return (
            f"device {device} sent an answer that was not waited for, such as a repeated one; "
            "all its values of this round are dropped"
        )

    def _unconfirmed_by(self, device: int) -> str:
        self._unconfirmed[device] += 1
        problem = f"device {device} does not answer what would tell its answers apart"
        if device not in self._confirms and self._unconfirmed[device] >= MOST_UNCONFIRMED:
            del self._to_confirm[device]
            self._never_sure[device] = f"{problem}: if it repeats one, nobody will see"
        return f"{problem}; its values of this round are dropped"


def confirming(blocks: Sequence[Block]) -> Request | None:
    """Give what a device is asked that no answer to these blocks can answer; None where no two of them are alike.

    A part of what it is asked anyway, where a block is long enough; else of the other table, which it may refuse.
    """
    shapes = {(block.table, block.words) for block in blocks}
    if len(shapes) == len(blocks):
        return None
    parts = (
        Request(block.device, block.table, block.address, words) for block in blocks for words in range(1, block.words)
    )
    first = blocks[0]
    others = (Request(first.device, _OTHER[first.table], first.address, words) for words in range(1, _MOST_WORDS))
    return next((request for request in (*parts, *others) if (request.table, request.words) not in shapes), None)
