"""One task for each instrument: connect, listen, and start again after whatever went wrong.

What one instrument does never stops another. A loss is told once as a warning, and its repetitions quietly. A
configuration that cannot work stops its instrument with a message; everything else is tried again.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from enum import Enum

from ingest.frames import Decode, Frame, FrameError, Link, LinkError, LinkSetupError, Stamp, Value
from ingest.link.backoff import Backoff
from ingest.wire.messages import InstrumentAbout

logger = logging.getLogger(__name__)

UNREAD_IN_A_ROW = 5
"""So many messages in a row that cannot be read are no passing disturbance: common practice, no source."""

LONGEST_REASON = 200


class LinkState(Enum):
    """How the link of an instrument stands."""

    CONNECTING = "connecting"
    CONNECTED = "connected"
    WAITING = "waiting"
    MISCONFIGURED = "misconfigured"


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a supervised instrument needs from the daemon.

    accept: takes the decoded values of an instrument. changed: told its name, former and present state.
    time_s: tells wall time. sleep: waits [s].
    """

    accept: Callable[[str, Stamp, Mapping[str, Value]], None]
    changed: Callable[[str, LinkState, LinkState], None]
    time_s: Callable[[], float]
    sleep: Callable[[float], Awaitable[None]] = asyncio.sleep


class Instrument:
    """An instrument under supervision, with what is known of its link.

    build: makes its link and decoder; may raise LinkSetupError.
    """

    def __init__(
        self,
        name: str,
        kind: str,
        build: Callable[[], tuple[Link, Decode]],
        surroundings: Surroundings,
        backoff: Backoff,
    ) -> None:
        self.name = name
        self._kind = kind
        self._build = build
        self._around = surroundings
        self._backoff = backoff
        self._connected_at_s: float | None = None
        self._state = LinkState.CONNECTING
        self._since_s = surroundings.time_s()
        self._reason = ""
        self._frames = 0
        self._rejected = 0
        self._rejected_in_a_row = 0
        self._rejected_for = ""

    def about(self) -> InstrumentAbout:
        """Describe the instrument to those who watch."""
        return InstrumentAbout(
            name=self.name,
            link=self._kind,
            state=self._state.value,
            since_s=round(self._since_s, 3),
            reason=self._reason or self._unread(),
            frames=self._frames,
            rejected_frames=self._rejected,
        )

    def _unread(self) -> str:
        """Say what is wrong where the link stands and yet nothing that comes can be used."""
        if self._rejected_in_a_row < UNREAD_IN_A_ROW:
            return ""
        return f"the last {self._rejected_in_a_row} messages could not be read: {self._rejected_for}"

    async def supervise(self) -> None:
        """Keep the link up until cancelled, or until it turns out that it cannot work as configured."""
        try:
            link, decode = self._build()
            while True:
                await self._try_once(link, decode)
        except LinkSetupError as error:
            self._enter(LinkState.MISCONFIGURED, str(error))
            logger.error("%s is stopped: %s", self.name, error)  # noqa: TRY400 - a mistake of the file, not ours

    async def _try_once(self, link: Link, decode: Decode) -> None:
        self._connected_at_s = None
        error = await self._run(link, decode)
        if isinstance(error, LinkSetupError):
            raise error
        wait_s = self._backoff.next_wait_s(self._healthy_for_s())
        self._report(error)
        self._enter(LinkState.WAITING, str(error) if error else "the link ended")
        await self._around.sleep(wait_s)
        self._enter(LinkState.CONNECTING, self._reason)

    async def _run(self, link: Link, decode: Decode) -> BaseException | None:
        """Run the link in a task of its own, so that even a mistake in its code ends only that link."""

        def deliver(frame: Frame) -> None:
            self._take(frame, decode)

        running = asyncio.create_task(link.run(deliver, self._connected), name=self.name)
        try:
            await asyncio.wait({running})
        finally:
            running.cancel()
            await asyncio.wait({running})
        return None if running.cancelled() else running.exception()

    def _healthy_for_s(self) -> float:
        if self._connected_at_s is None:
            return 0.0
        return asyncio.get_running_loop().time() - self._connected_at_s

    def _report(self, error: BaseException | None) -> None:
        if error is not None and not isinstance(error, LinkError):
            logger.error("%s: its link failed in a way it should not", self.name, exc_info=error)
        elif self._backoff.failures == 1:
            logger.warning("%s: %s; trying again until it is back", self.name, error or "the link ended")
        else:
            logger.debug("%s: %s", self.name, error)

    def _connected(self) -> None:
        self._connected_at_s = asyncio.get_running_loop().time()
        logger.info("%s is connected", self.name)
        self._enter(LinkState.CONNECTED, "")

    def _take(self, frame: Frame, decode: Decode) -> None:
        self._frames += 1
        try:
            values = decode(frame)
        except FrameError as error:
            self._rejected += 1
            self._rejected_in_a_row += 1
            self._rejected_for = str(error)[:LONGEST_REASON]
            logger.debug("%s: frame refused: %s", self.name, error)
            return
        self._rejected_in_a_row = 0
        self._around.accept(self.name, frame.stamp, values)

    def _enter(self, state: LinkState, reason: str) -> None:
        former, self._state, self._reason = self._state, state, reason
        self._since_s = self._around.time_s()
        self._around.changed(self.name, former, state)
