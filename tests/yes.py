"""A person who says yes to whatever the rig asks back, by the names that its answer gives."""

from collections.abc import Awaitable, Callable
from typing import TypeVar

from msgspec.structs import replace

from ingest.wire.events import Ask, Confirmable
from ingest.wire.messages import Answer

MOST_YES = 3
Asking = TypeVar("Asking", bound=Ask)


def confirming(ask: Asking, answer: Answer) -> Asking:
    """The same ask, with a yes to all that was asked of it."""
    return replace(ask, confirmed=True, confirms=tuple(answer.asks))


async def saying_yes(tell: Callable[[Ask], Awaitable[Answer]], ask: Ask) -> Answer:
    """Ask; where the ask comes as confirmed, say yes to what is asked back, and to what came up since."""
    answer = await tell(ask)
    for _ in range(MOST_YES if isinstance(ask, Confirmable) and ask.confirmed and not ask.confirms else 0):
        if answer.question:
            answer = await tell(confirming(ask, answer))
    return answer
