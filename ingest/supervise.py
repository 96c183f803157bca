"""One task for each instrument: connect, listen, and start again after whatever went wrong.

What one instrument does never stops another. A loss is told once as a warning, and its repetitions quietly. A
configuration that cannot even be built stops its instrument with a message; everything else is tried again: at once
when the instrument is seen again, else after a wait that grows; slowly where an instrument that has never worked
refuses what it is asked for, which is mostly a mistake of the configuration, and sometimes an instrument that is still
starting.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from enum import Enum

from ingest.backoff import Backoff
from ingest.frames import (
    Decode,
    Delivered,
    Frame,
    FrameError,
    Link,
    LinkError,
    LinkSetupError,
    Notice,
    Stamp,
    Value,
    begin_anew,
)
from ingest.link.ending import end
from ingest.wire.messages import InstrumentAbout

logger = logging.getLogger(__name__)

UNREAD_IN_A_ROW = 5
"""So many messages in a row that cannot be read are no passing disturbance: common practice, no source."""

LONGEST_REASON = 200

SLOWLY_S = 30.0
"""From one try to the next where an instrument refuses what it is configured for."""


class LinkState(Enum):
    """How the link of an instrument stands."""

    CONNECTING = "connecting"
    CONNECTED = "connected"
    WAITING = "waiting"
    MISCONFIGURED = "misconfigured"


_NOT_THERE = frozenset(LinkState) - {LinkState.CONNECTED}


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
        self._has_worked = False
        self._problems: dict[str, str] = {}

    def about(self) -> InstrumentAbout:
        """Describe the instrument to those who watch."""
        return InstrumentAbout(
            name=self.name,
            link=self._kind,
            state=self._state.value,
            since_s=round(self._since_s, 3),
            reason=self._reason or self._unread() or "; ".join(self._problems.values())[:LONGEST_REASON],
            frames=self._frames,
            rejected_frames=self._rejected,
        )

    def _unread(self) -> str:
        """Say what is wrong where the link stands and yet nothing that comes can be used."""
        if self._rejected_in_a_row < UNREAD_IN_A_ROW:
            return ""
        return f"the last {self._rejected_in_a_row} messages could not be read: {self._rejected_for}"

    @property
    def is_refused(self) -> bool:
        """Whether it cannot work as configured, as far as is known."""
        return self._state is LinkState.MISCONFIGURED

    async def supervise(self) -> None:
        """Keep the link up until cancelled, or until it turns out that it cannot be built as configured."""
        try:
            link, decode = self._build()
        except LinkSetupError as error:
            self._refuse(error)
            return
        while True:
            await self._try_once(link, decode)

    async def _try_once(self, link: Link, decode: Decode) -> None:
        self._connected_at_s = None
        error = await self._run(link, decode)
        self._problems.clear()
        if isinstance(error, LinkSetupError) and not self._has_worked:
            self._refuse(error)
            await self._wait(SLOWLY_S, link)
            return
        wait_s = self._backoff.next_wait_s(self._healthy_for_s())
        self._report(error)
        self._enter(LinkState.WAITING, str(error) if error else "the link ended")
        await self._wait(wait_s, link)
        self._enter(LinkState.CONNECTING, self._reason)

    async def _run(self, link: Link, decode: Decode) -> BaseException | None:
        """Run the link in a task of its own, so that even a mistake in its code ends only that link."""

        def deliver(delivered: Delivered) -> None:
            if isinstance(delivered, Notice):
                self._heed(delivered)
            else:
                self._take(delivered, decode)

        begin_anew(decode)
        running = asyncio.create_task(link.run(deliver, self._connected), name=self.name)
        try:
            await asyncio.wait({running})
        finally:
            await end(running, left=self._left_behind)
        return None if running.cancelled() else running.exception()

    async def _wait(self, wait_s: float, link: Link) -> None:
        """Wait so long [s], or until there is a sign that the instrument is back."""
        sleeping = asyncio.ensure_future(self._around.sleep(wait_s))
        seen = asyncio.create_task(link.seen_again(), name=f"{self.name}: seen again")
        try:
            await asyncio.wait({sleeping, seen}, return_when=asyncio.FIRST_COMPLETED)
            if seen.done() and seen.exception():
                logger.debug("%s: no sign of it can be had: %s", self.name, seen.exception())
                await sleeping
        finally:
            await end(sleeping, seen, left=self._left_behind)

    def _left_behind(self) -> None:
        logger.error("%s: its link does not end when it is told to, and is left behind", self.name)

    def _refuse(self, error: LinkSetupError) -> None:
        if self._state is LinkState.MISCONFIGURED and self._reason == str(error):
            logger.debug("%s: still refused: %s", self.name, error)
            return
        self._enter(LinkState.MISCONFIGURED, str(error))
        logger.error("%s cannot work as configured: %s", self.name, error)

    def _healthy_for_s(self) -> float:
        if self._connected_at_s is None:
            return 0.0
        return asyncio.get_running_loop().time() - self._connected_at_s

    def _report(self, error: BaseException | None) -> None:
        if error is not None and not isinstance(error, LinkError | LinkSetupError):
            logger.error("%s: its link failed in a way it should not", self.name, exc_info=error)
        elif self._backoff.failures == 1:
            logger.warning("%s: %s; trying again until it is back", self.name, error or "the link ended")
        else:
            logger.debug("%s: %s", self.name, error)

    def _connected(self) -> None:
        self._connected_at_s = asyncio.get_running_loop().time()
        self._has_worked = True
        self._rejected_in_a_row = 0  # of the connection before
        logger.info("%s is connected", self.name)
        self._enter(LinkState.CONNECTED, "")

    def _heed(self, notice: Notice) -> None:
        """Tell of a part that does not work as it should: the first time loudly."""
        if not notice.problem:
            if self._problems.pop(notice.part, None):
                logger.info("%s: %s is right again", self.name, notice.part)
            return
        level = logging.INFO if notice.part in self._problems else logging.WARNING
        self._problems[notice.part] = notice.problem
        logger.log(level, "%s: %s", self.name, notice.problem)

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
        if not {former, state} <= _NOT_THERE:  # another try to get it back is no other loss
            self._since_s = self._around.time_s()
        self._around.changed(self.name, former, state)
