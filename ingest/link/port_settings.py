"""How a serial port is to be set."""

from dataclasses import dataclass
from typing import Literal
from urllib.parse import urlsplit

Parity = Literal["even", "odd", "none"]


def is_shared(port: str) -> bool:
    """Tell whether a port is one whose bytes another machine passes on over TCP.

    >>> is_shared("/dev/ttyUSB0"), is_shared("socket://192.0.2.7:4001")
    (False, True)
    """
    return "://" in port


def host_of(port: str) -> tuple[str, int] | None:
    """Give host and port number of a shared port; None where it is none that can be reached.

    >>> host_of("socket://shelf.example:4001"), host_of("socket://192.0.2.7"), host_of("file:///etc/passwd:1")
    (('shelf.example', 4001), None, None)
    """
    try:
        parts = urlsplit(port)
        number = parts.port
    except ValueError:
        return None
    if parts.scheme != "socket" or not parts.hostname or not number or parts.path.strip("/") or parts.query:
        return None
    return parts.hostname, number


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
