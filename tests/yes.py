"""A person who says yes to whatever the rig asks back, by the names that its answer gives."""

from collections.abc import Awaitable, Callable
from typing import TypeVar

from msgspec.structs import replace

from ingest.wire.events import Ask, Confirmable
from ingest.wire.messages import Answer

Asking = TypeVar("Asking", bound=Ask)


def confirming(ask: Asking, answer: Answer) -> Asking:
    """The same ask, with a yes to all that was asked of it."""
    return replace(ask, confirmed=True, confirms=tuple(answer.asks))


async def saying_yes(tell: Callable[[Ask], Awaitable[Answer]], ask: Ask) -> Answer:
    """Ask; where the ask comes as confirmed, say yes once to what is asked back."""
    answer = await tell(ask)
    is_meant = isinstance(ask, Confirmable) and ask.confirmed and not ask.confirms
    return await tell(confirming(ask, answer)) if is_meant and answer.question else answer
