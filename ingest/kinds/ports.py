"""What the kinds at a serial port have in common."""

from typing import Literal

import msgspec

from ingest.checking.check import Check
from ingest.link.port_settings import Parity, PortSettings, host_of, is_shared


class PortConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How a port is to be set, in full."""

    port: str
    baud: int = 9600
    parity: Parity = "none"
    data_bits: Literal[7, 8] = 8
    stop_bits: Literal[1, 2] = 1
    rts: bool = True
    dtr: bool = True

    @property
    def settings(self) -> PortSettings:
        """The same for a link."""
        return PortSettings(
            self.port,
            self.baud,
            self.parity,
            data_bits=self.data_bits,
            stop_bits=self.stop_bits,
            rts=self.rts,
            dtr=self.dtr,
        )


def check_port(check: Check, key: str, port: str, baud: int | None) -> None:
    """Note a port that is none, and a speed that is none."""
    if not port:
        check.wrong(f"{key}.port", port, "a serial port such as /dev/serial/by-id/... was expected")
    elif is_shared(port) and host_of(port) is None:
        check.wrong(f"{key}.port", port, "socket://HOST:PORT was expected")
    if baud is not None and baud <= 0:
        check.wrong(f"{key}.baud", baud, "a rate such as 9600 was expected")
