"""How long the page's server waits for a request, and for how many at once.

uvicorn limits neither: a connection that never finishes its request is kept for ever, and a few hundred of them leave
no descriptor for the technician's own page. Here a request must arrive whole within a few seconds; of those that are
not whole yet only so many are kept, and whoever holds most of them loses the oldest first; and a reader that stopped
reading is let go. Streams are bounded by the hub, per visitor.
"""

import asyncio
import logging
import socket
from collections import Counter
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

logger = logging.getLogger(__name__)

REQUEST_WITHIN_S = 10.0
"""From a connection's first moment, or a request's first byte, to its last; a long one has it for each further part."""
PART_BYTES = 64 * 1024
"""Of a request that is longer than any but a photograph."""
MOST_UNFINISHED = 64
STALLED_AFTER_S = 20.0
"""How long a reader may take nothing of what waits for it."""
SEND_BUFFER_BYTES = 64 * 1024
"""What the kernel keeps for a reader: the less, the sooner one that does not read is noticed."""
HANDSHAKE_WITHIN_S = 10.0
"""For TLS, which comes before anything that is counted here."""
_WHOLE = (h11.DONE, h11.MUST_CLOSE, h11.CLOSED, h11.ERROR)


class WaitingRoom:
    """The connections whose request has not arrived whole, in the order in which they came. most: of them."""

    def __init__(self, most: int = MOST_UNFINISHED, within_s: float = REQUEST_WITHIN_S) -> None:
        self.within_s = within_s
        self._most = most
        self._waiting: dict[PatientProtocol, str] = {}

    def enter(self, connection: "PatientProtocol", address: str) -> None:
        """Let a connection wait; where there are too many, the oldest of whoever holds most of them goes."""
        self._waiting[connection] = address
        if len(self._waiting) > self._most:
            greedy, _ = Counter(self._waiting.values()).most_common(1)[0]
            oldest = next(each for each, holder in self._waiting.items() if holder == greedy)
            logger.warning("too many unfinished requests: one of %s is turned out", greedy)
            oldest.turn_out()

    def leave(self, connection: "PatientProtocol") -> None:
        """Note that a connection waits no more."""
        self._waiting.pop(connection, None)


class PatientProtocol(H11Protocol):
    """One connection of uvicorn's, within limits of time and number."""

    def __init__(self, *args: Any, room: WaitingRoom, **keywords: Any) -> None:
        super().__init__(*args, **keywords)
        self._room = room
        self._deadline: asyncio.TimerHandle | None = None
        self._stalled: asyncio.TimerHandle | None = None
        self._came_bytes = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # as uvicorn has it
        """Begin to wait for a request."""
        super().connection_made(transport)
        transport.get_extra_info("socket").setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
        self._expect()

    def data_received(self, data: bytes) -> None:
        """Take bytes; the waiting ends with the last of a request."""
        super().data_received(data)
        self._came_bytes += len(data)
        if self.conn.their_state in _WHOLE:
            self._received()
        elif self.transport.is_closing():
            return
        elif self._deadline is None:
            self._expect()
        elif self._came_bytes >= PART_BYTES:
            self._deadline.cancel()
            self._expect()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._received()
        self._reads_again()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Begin to count: the reader has not taken what was written."""
        super().pause_writing()
        self._reads_again()
        self._stalled = self.loop.call_later(STALLED_AFTER_S, self.turn_out)

    def resume_writing(self) -> None:
        """Forgive: it reads."""
        super().resume_writing()
        self._reads_again()

    def turn_out(self) -> None:
        """End the connection at once."""
        self._received()
        if self.transport is not None:
            self.transport.abort()

    def _expect(self) -> None:
        self._came_bytes = 0
        self._deadline = self.loop.call_later(self._room.within_s, self.turn_out)
        self._room.enter(self, self.client[0] if self.client else "")

    def _received(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None
        self._room.leave(self)

    def _reads_again(self) -> None:
        if self._stalled is not None:
            self._stalled.cancel()
            self._stalled = None
