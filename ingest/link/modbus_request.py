"""What is asked of a Modbus device, and what it means when the device refuses."""

from dataclasses import dataclass
from typing import Literal

from ingest.decode.register_map import Block, Table

ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE = 1, 2, 3
"""MODBUS Application Protocol Specification V1.1b3, 7."""

ACKNOWLEDGED, BUSY, TARGET_SILENT = 5, 6, 11
"""What a device, or the gateway before it, says of a request whose answer may come after all: as above."""

AnyTable = Table | Literal["coils", "discrete"]
"""Values are of the first two; the others are asked for only to find out what is due."""

SILENCE = "device {} does not answer; is it on, and are its address, speed and parity right?"
LATENESS = "device {} answers late, after {:.3g} s, and late answers are dropped: `timeout` must be longer than {:g} s"


@dataclass(frozen=True, slots=True)
class Request:
    """To read `words` registers, or that many coils or inputs, from `address` on."""

    device: int
    table: AnyTable
    address: int
    words: int

    @classmethod
    def of(cls, block: Block) -> "Request":
        """Ask for a block."""
        return cls(block.device, block.table, block.address, block.words)


class RefusedError(Exception):
    """A device answers with an exception. exception: its code."""

    def __init__(self, exception: int) -> None:
        super().__init__(f"exception {exception}")
        self.exception = exception


def is_lasting(exception: int) -> bool:
    """Say whether a device is asked for what it does not have: it may still have it later, while it starts."""
    return exception in (ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE)


def may_still_answer(exception: int) -> bool:
    """Say whether the answer itself may follow an exception."""
    return exception in (ACKNOWLEDGED, BUSY, TARGET_SILENT)


def explain_refusal(block: Block, exception: int) -> str:
    """Say what a device answers, and what to do about it.

    >>> from ingest.decode.register_map import Register, blocks
    >>> suction = Register(field="suction", device=1, table="holding", address=40001, number_type="u16")
    >>> print(explain_refusal(blocks([suction])[0], 2))
    device 1 answers with exception 2 when asked for 1 holding register from address 40001 (suction); if it stays so, \
correct `registers`: a manual's 40001 is address 0 of the holding registers
    """
    said = f"device {block.device} answers with exception {exception} when asked for {block}"
    if not is_lasting(exception):
        return f"{said}; it may be busy, or still starting"
    return f"{said}; if it stays so, correct `registers`{_manual_hint(block.address)}"


def _manual_hint(address: int) -> str:
    """Tell what an address means that looks like a manual's number: the table's digit, then counted from 1."""
    table = {3: "input", 4: "holding"}.get(address // 10_000)
    if table is None or address % 10_000 == 0:
        return ""
    return f": a manual's {address} is address {address % 10_000 - 1} of the {table} registers"
