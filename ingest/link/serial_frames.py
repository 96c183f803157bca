"""Frames of fixed length over a serial port."""

from dataclasses import dataclass

from ingest.decode.frame_finder import FrameFinder, IsFrame
from ingest.frames import Connected, Deliver, Frame, Stamp
from ingest.link.port_settings import PortSettings
from ingest.link.presence import port_appears
from ingest.link.serial_thread import Port, converse


@dataclass(frozen=True, slots=True)
class SerialFrames:
    """A link that delivers each frame that arrives at a port. is_frame: knows one by its fixed bytes."""

    settings: PortSettings
    length: int
    is_frame: IsFrame

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        await converse(self.settings, self._listen, deliver, connected)

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await port_appears(self.settings.port)

    def _listen(self, port: Port, deliver: Deliver, connected: Connected) -> None:
        connected()
        frames = FrameFinder(self.length, self.is_frame)
        while True:
            chunk = port.read()
            stamp = Stamp.now()
            for frame in frames.feed(chunk):
                deliver(Frame(frame, stamp))
