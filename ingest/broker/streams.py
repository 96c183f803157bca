"""The sockets of the embedded broker, with the limits of size and time that amqtt lacks."""

import asyncio
import io
from contextlib import suppress

from amqtt.adapters import StreamReaderAdapter, StreamWriterAdapter
from amqtt.errors import NoDataError

from ingest.broker.limits import LARGEST_PACKET_BYTES


class PacketReader(StreamReaderAdapter):  # type: ignore[misc]
    """Takes whole packets off a socket, each within limits of size and time, and hands out their bytes.

    amqtt reads field by field, whatever the length: a message of 20 MB is accepted. It waits for a
    CONNECT without end, and ignores a keepalive that has run out: a client that vanished is not missed,
    and its will not sent. Here all of these are the end of the stream.
    """

    def __init__(self, stream: asyncio.StreamReader, patience_s: float) -> None:
        super().__init__(stream)
        self.patience_s: float | None = patience_s
        self._packet = io.BytesIO()

    async def read(self, n: int = -1) -> bytes:
        """Read n bytes of the packet at hand, or of the next."""
        return self._packet.read(n) or (await self.next_packet()).read(n)

    async def next_packet(self) -> io.BytesIO:
        """Wait for the next packet; it stays to be read."""
        await asyncio.sleep(0)  # a client with much to say must not keep the daemon's event loop to itself
        try:
            async with asyncio.timeout(self.patience_s):
                self._packet = io.BytesIO(await self._take())
        except (TimeoutError, asyncio.IncompleteReadError, ConnectionError) as error:
            raise NoDataError(f"no packet came: {error!r}") from error
        return self._packet

    async def _take(self) -> bytes:
        """Take one packet (MQTT 3.1.1 section 2.2): a byte of flags, one to four of length, and the rest."""
        head = await self._reader.readexactly(2)
        while head[-1] & 0x80:
            if len(head) == 5:
                raise NoDataError("a length of more than four bytes")
            head += await self._reader.readexactly(1)
        length = sum((byte & 0x7F) << (7 * place) for place, byte in enumerate(head[1:]))
        if len(head) + length > LARGEST_PACKET_BYTES:
            raise NoDataError(f"a packet of {length} bytes; at most {LARGEST_PACKET_BYTES} are accepted")
        return bytes(head + await self._reader.readexactly(length))


class PatientWriter(StreamWriterAdapter):  # type: ignore[misc]
    """Writes to a client that reads, and lets go of one that does not.

    amqtt waits without end for the client to read, even to close the connection, and keeps every message
    meanwhile.
    """

    def __init__(self, stream: asyncio.StreamWriter, patience_s: float) -> None:
        super().__init__(stream)
        self._patience_s = patience_s

    async def drain(self) -> None:
        """Wait until the client has taken enough of what was written."""
        try:
            async with asyncio.timeout(self._patience_s):
                await super().drain()
        except TimeoutError:
            self.is_closed = True
            self._writer.transport.abort()
            raise ConnectionResetError("the client does not read") from None

    async def close(self) -> None:
        """Close the connection; what was written goes out first, if the client takes it."""
        with suppress(ConnectionError):
            await self.drain()
        await super().close()
