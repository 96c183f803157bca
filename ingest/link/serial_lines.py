"""Lines of text over a serial port."""

from dataclasses import dataclass

from ingest.decode.line_splitter import LineSplitter
from ingest.frames import Connected, Deliver, Frame, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.presence import port_appears
from ingest.link.serial_thread import Port, converse


@dataclass(frozen=True, slots=True)
class SerialLines:
    """A link that delivers each line that arrives at a port, without its newline."""

    settings: PortSettings

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, _listen, deliver, connected)

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await port_appears(self.settings.port)


def _listen(port: Port, deliver: Deliver, connected: Connected) -> None:
    connected()
    lines = LineSplitter()
    while True:
        chunk = port.read()
        stamp = Stamp.now()
        for line in lines.feed(chunk):
            deliver(Frame(line, stamp))
