"""A probe that sends lines of text over a serial port: CSV under a `#` header, or JSON objects.

The format is common practice (no source). The optional check is the exclusive or of all bytes before the `*`,
as two hexadecimal digits.
"""

import json
import math
from functools import reduce
from operator import xor
from pathlib import Path
from typing import Literal

from simulators.device.device import Read, SimulatedDevice
from simulators.device.pty_port import PtyPort

HEADER_EVERY_LINES = 4
"""A reader that joins late must not wait long to learn the columns."""


class SerialProbe(SimulatedDevice):
    """A text probe on a pseudo-terminal.

    address: the symbolic link at which its port appears. form: what its lines look like. check: whether they
    end in `*HH`. decimals: the resolution. A value out of range goes out as `OL`, one it cannot tell as an
    empty place (CSV) or null (JSON).
    """

    def __init__(
        self,
        read: Read,
        *,
        address: Path,
        interval_s: float = 0.5,
        form: Literal["csv", "json"] = "csv",
        check: bool = False,
        decimals: int = 2,
    ) -> None:
        super().__init__(read, interval_s)
        self._port = PtyPort(address)
        self._form = form
        self._check = check
        self._decimals = decimals
        self._lines_to_header = 0

    @property
    def address(self) -> str:
        """The path of its port."""
        return str(self._port.address)

    def unplug(self) -> None:
        """Pull the plug."""
        self._port.unplug()

    def replug(self) -> None:
        """Plug it in again: a new port behind the same name, and the header first."""
        self._port.plug()
        self._lines_to_header = 0

    def send(self, data: bytes) -> None:
        """Send these bytes as they are: damage, or a line of one's own."""
        self._port.write(data)

    def _sample(self) -> None:
        values = self._read()
        if self._form == "csv":
            if self._lines_to_header == 0:
                self._send_line("# " + ",".join(values))
                self._lines_to_header = HEADER_EVERY_LINES
            self._lines_to_header -= 1
            self._send_line(",".join(self._number(value) for value in values.values()))
        else:
            members = (f"{json.dumps(name)}:{self._member(value)}" for name, value in values.items())
            self._send_line("{" + ",".join(members) + "}")

    def _send_line(self, text: str) -> None:
        line = text.encode()
        if self._check:
            line += b"*%02X" % reduce(xor, line, 0)
        self._emit(self.send, line + b"\r\n")

    def _number(self, value: float) -> str:
        if math.isnan(value):
            return ""
        return "OL" if math.isinf(value) else f"{value:.{self._decimals}f}"

    def _member(self, value: float) -> str:
        if math.isnan(value):
            return "null"
        return '"OL"' if math.isinf(value) else self._number(value)
