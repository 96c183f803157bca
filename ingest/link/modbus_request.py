"""What is asked of a Modbus device, and what it means when the device refuses."""

from dataclasses import dataclass

from ingest.decode.register_map import Block, Table
from ingest.frames import LinkSetupError

ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE = 1, 2, 3
"""MODBUS Application Protocol Specification V1.1b3, 7."""

SILENCE = "device {} does not answer; is it on, and are its address, speed and parity right?"


@dataclass(frozen=True, slots=True)
class Request:
    """To read `words` registers from `address` on."""

    device: int
    table: Table
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


def explain_refusal(where: str, block: Block, exception: int) -> str:
    """Say what a device answered that is busy or broken, and may recover.

    Raises:
        LinkSetupError: it is asked for what it does not have.

    """
    said = f"device {block.device} answers with exception {exception}"
    if exception not in (ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE):
        return said
    fields = ", ".join(register.field for register in block.registers)
    raise LinkSetupError(
        f"{where}: {said} when asked for {block.words} {block.table} registers from address {block.address}; "
        f"correct `registers` ({fields})"
    )
