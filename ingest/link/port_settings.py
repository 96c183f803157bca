"""How a serial port is to be set."""

from dataclasses import dataclass
from typing import Literal

Parity = Literal["even", "odd", "none"]


@dataclass(frozen=True, slots=True)
class PortSettings:
    """A serial port and its settings. rts, dtr: whether these lines are raised, which power some cables."""

    port: str
    baud: int
    parity: Parity = "none"
    data_bits: Literal[7, 8] = 8
    stop_bits: Literal[1, 2] = 1
    rts: bool = True
    dtr: bool = True

    def __str__(self) -> str:
        """Give the format in the usual short form.

        >>> str(PortSettings("/dev/ttyUSB0", 19200, "odd", data_bits=7))
        '19200 baud, 7O1'
        """
        return f"{self.baud} baud, {self.data_bits}{self.parity[0].upper()}{self.stop_bits}"
