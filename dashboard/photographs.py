"""A photograph from a page to the rig: taken from the request as it comes, held once, and sent on in parts."""

import asyncio
import hashlib
from collections.abc import AsyncIterator, Coroutine, Sequence

import msgspec

from dashboard.asks import new_id
from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import Visitor, may_not
from ingest.wire.messages import Mark, MessageError, PhotographAsk, encode_ask, topic
from ingest.wire.photographs import LARGEST_PHOTOGRAPH_BYTES, PART_BYTES
from ingest.wire.roles import asking_as

ANSWERED_WITHIN_S = 30.0
"""The last part is answered once the picture is made, which takes a small machine seconds."""
SENT_AT_ONCE = 8
MOST_AT_ONCE = 3
"""How many photographs a page takes at the same time: each is held until the rig has it."""
_LONGEST_ID = 56
"""The number of a part is added to it."""


class About(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a photograph is of, as `ingest.wire.photographs.PhotographAsk` has it. id: makes a repetition harmless."""

    id: str = ""
    visit: str = ""
    text: str = ""
    check: str = ""
    part: str = ""
    circuit: str = ""
    unit: str = ""
    want: str = ""
    shot: str = ""


class Photographs:
    """Sends photographs to the rig of a hub."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._under_way = 0

    async def send(self, who: Visitor, about: About, chunks: AsyncIterator[bytes]) -> Mark:
        """Send a photograph, as the bytes of its file come; gives the mark that the rig made of it.

        Raises:
            AskError: it is too large or nothing, too many are on their way, or the rig refused it or did not answer.

        """
        if self._under_way >= MOST_AT_ONCE:
            raise AskError(503, "Other photographs are on their way to the rig. Send this one when they are there.")
        self._under_way += 1
        try:
            return await self._send(who, about, await _taken(chunks))
        finally:
            self._under_way -= 1

    async def _send(self, who: Visitor, about: About, data: bytearray) -> Mark:
        name = about.id or new_id()
        if len(name) > _LONGEST_ID:
            raise AskError(400, f"The id of a photograph may have {_LONGEST_ID} letters.")
        if self._hub.rig is None:
            raise AskError(503, "No rig has been heard yet.")
        digest = hashlib.sha256(data).hexdigest()
        places = range(0, len(data), PART_BYTES)
        view = memoryview(data)

        async def send_part(number: int, place: int) -> Mark | None:
            part = PhotographAsk(
                f"{name}-{number}",
                who.name,
                about.visit,
                photograph=name,
                digest=digest,
                part_number=number,
                part_count=len(places),
                data=bytes(view[place : place + PART_BYTES]),
                text=about.text,
                check=about.check,
                part=about.part,
                circuit=about.circuit,
                unit=about.unit,
                want=about.want,
                shot=about.shot,
            )
            return await self._ask(who, part)

        marks: list[Mark | None] = []
        numbered = list(enumerate(places, start=1))
        for first in range(0, len(numbered), SENT_AT_ONCE):
            marks += await _all(*(send_part(*part) for part in numbered[first : first + SENT_AT_ONCE]))
        mark = next((mark for mark in marks if mark is not None), None)
        if mark is None:
            raise AskError(409, "The rig does not have all of the photograph. Send it again.")
        return mark

    async def _ask(self, who: Visitor, part: PhotographAsk) -> Mark | None:
        try:
            payload = encode_ask(part)
        except MessageError as error:
            raise AskError(400, f"The rig could not read that: {error}.") from error
        if who.asks_as is None:
            raise AskError(403, may_not(who.role))
        asking = asking_as(self._hub.broker_user, who.asks_as)
        where = topic(self._hub.rig or "", f"ask/{asking}/{part.kind}")
        answer = await self._hub.ask(where, payload, part.id, ANSWERED_WITHIN_S)
        if not answer.ok:
            raise AskError(409, f"The rig did not record it: {answer.reason}", answer.refusal)
        return answer.mark


async def _taken(chunks: AsyncIterator[bytes]) -> bytearray:
    """Take the bytes of a file, and hold them once."""
    data = bytearray()
    async for chunk in chunks:
        data += chunk
        if len(data) > LARGEST_PHOTOGRAPH_BYTES:
            raise AskError(413, f"A photograph may have {LARGEST_PHOTOGRAPH_BYTES // 1_000_000} MB.")
    if not data:
        raise AskError(400, "The photograph has 0 bytes. Take it again.")
    return data


async def _all(*parts: Coroutine[object, object, Mark | None]) -> Sequence[Mark | None]:
    """Wait for all of them; where one is refused the others are given up."""
    try:
        async with asyncio.TaskGroup() as group:
            tasks = [group.create_task(part) for part in parts]
    except* AskError as refused:
        raise refused.exceptions[0] from None
    return [task.result() for task in tasks]
