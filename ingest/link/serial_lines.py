"""Lines of text over a serial port."""

import math
import time
from dataclasses import dataclass

from ingest.decode.line_splitter import LineSplitter
from ingest.frames import Connected, Deliver, Frame, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.presence import port_appears
from ingest.link.serial_thread import Port, converse


@dataclass(frozen=True, slots=True)
class SerialLines:
    """A link that delivers each line that arrives at a port, without its end.

    ask: what is sent every `interval_s`; empty: nothing, for an instrument that speaks by itself.
    """

    settings: PortSettings
    ask: bytes = b""
    interval_s: float = 1.0

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._converse, deliver, connected)

    def _converse(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        connected()
        lines = LineSplitter()
        if self.ask:
            lines.feed(b"\n")  # what answers begins with its answer
        next_s = time.monotonic()
        while True:
            if self.ask and time.monotonic() >= next_s:
                port.write(self.ask)
                next_s = max(next_s + self.interval_s, time.monotonic())
            chunk = port.read(next_s if self.ask else math.inf)
            stamp = Stamp.now()
            for line in lines.feed(chunk):
                deliver(Frame(line, stamp))

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await port_appears(self.settings.port)
