"""Photographs as they come: parts put together, and developed one at a time in a thread."""

import asyncio
import hashlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

from ingest.visit.deciding import RefusedError
from ingest.visit.photographs import Picture, of_another_visit, too_large
from ingest.wire.messages import Photograph, PhotographAsk
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES

FORGOTTEN_AFTER_S = 120.0
"""How long the next part may take."""
MOST_UNDER_WAY = 4
MOST_BYTES_UNDER_WAY = 2 * LARGEST_PHOTOGRAPH_BYTES

Keep = Callable[[Picture], Awaitable[Photograph]]
"""Records a picture with its mark, and gives that. Raises NotSavedError."""


def _developed(data: bytes) -> Picture:
    """Make of a file the picture that is kept; what decodes them is loaded by the first: no other visit pays for it."""
    from ingest.developing import develop

    return develop(data)


@dataclass(slots=True)
class _UnderWay:
    """A photograph of which not all parts are there. first: the part that came first, which the others must match.

    visit: in which that was: a part that comes in another one is not of this photograph.
    """

    first: PhotographAsk
    visit: str
    heard_s: float
    parts: dict[int, bytes] = field(default_factory=dict)

    @property
    def size(self) -> int:
        return sum(map(len, self.parts.values()))


class Parts:
    """The parts that have come of photographs that are not whole yet.

    monotonic_s: tells time. lost: told in words of each that was forgotten.
    """

    def __init__(self, monotonic_s: Callable[[], float], lost: Callable[[str], None]) -> None:
        self._monotonic_s = monotonic_s
        self._lost = lost
        self._under_way: dict[str, _UnderWay] = {}
        self._developing: dict[str, asyncio.Task[Photograph]] = {}
        self._one_at_a_time = asyncio.Lock()

    async def take(self, ask: PhotographAsk, visit: str, keep: Keep) -> Photograph | None:
        """Take a part, in a visit by its id. With the last that was missing it is made and kept; gives its mark then.

        A part that comes again, even while that is done, changes nothing.

        Raises:
            RefusedError: the part does not fit the others, or what they make is no picture.
            NotSavedError: it was not kept. All of it must come again.

        """
        self.forget()
        key = ask.photograph
        if key in self._developing:
            return await asyncio.shield(self._developing[key])
        under_way = self._place_for(key, ask, visit)
        under_way.parts[ask.part_number] = ask.data
        if under_way.size > LARGEST_PHOTOGRAPH_BYTES:
            del self._under_way[key]
            raise RefusedError(too_large())
        if len(under_way.parts) < ask.part_count:
            return None
        whole = self._under_way.pop(key)
        self._developing[key] = asyncio.create_task(self._develop(whole, keep))
        self._developing[key].add_done_callback(lambda _: self._developing.pop(key))
        return await asyncio.shield(self._developing[key])

    def _place_for(self, key: str, ask: PhotographAsk, visit: str) -> _UnderWay:
        under_way = self._under_way.get(key)
        if under_way is None:
            if len(self._under_way) >= MOST_UNDER_WAY or self._bytes > MOST_BYTES_UNDER_WAY:
                raise RefusedError(
                    "other photographs are still on their way: wait until they are here, then send it again"
                )
            under_way = self._under_way[key] = _UnderWay(ask, visit, self._monotonic_s())
        if visit != under_way.visit:
            del self._under_way[key]
            raise RefusedError(of_another_visit())
        before = under_way.parts.get(ask.part_number, ask.data)
        if _about(ask) != _about(under_way.first) or before != ask.data:
            raise RefusedError(
                "this part does not fit those that came before under its id: send it all under a new one"
            )
        under_way.heard_s = self._monotonic_s()
        return under_way

    @property
    def _bytes(self) -> int:
        return sum(under_way.size for under_way in self._under_way.values())

    async def _develop(self, whole: _UnderWay, keep: Keep) -> Photograph:
        data = b"".join(whole.parts[number] for number in sorted(whole.parts))
        if hashlib.sha256(data).hexdigest() != whole.first.digest:
            raise RefusedError("the photograph did not arrive as it was sent: its digest differs. Send it again")
        async with self._one_at_a_time:
            return await keep(await asyncio.to_thread(_developed, data))

    def forget(self) -> None:
        """Forget photographs of which nothing has come for some time, and tell it."""
        now_s = self._monotonic_s()
        late = [key for key, it in self._under_way.items() if now_s - it.heard_s > FORGOTTEN_AFTER_S]
        for key in late:
            it = self._under_way.pop(key)
            came = f"{len(it.parts)} of {it.first.part_count} parts came"
            self._lost(f"a photograph of {it.first.by} did not arrive whole, {came}: send it again")


def _about(ask: PhotographAsk) -> tuple[object, ...]:
    """Give all that a part says of its photograph."""
    return (
        ask.by,
        ask.digest,
        ask.part_count,
        ask.text,
        ask.check,
        ask.part,
        ask.circuit,
        ask.unit,
        ask.want,
        ask.shot,
    )
