"""The one verdict on an exercise: checked here, judged by the bench."""

import asyncio

from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import MAY_COMMIT, Visitor
from dashboard.sentences import say
from ingest.wire.bench_messages import BenchVerdict
from ingest.wire.messages import encode, topic

REVEALED_WITHIN_S = 3.0


def in_words(hub: Hub, fault: str) -> str:
    """Give the bench's words for the fault that a verdict would name.

    Raises:
        AskError: there is no exercise to give a verdict on, or this is no fault of it.

    """
    if hub.exercise is None:
        raise AskError(409, say("training.no_exercise"))
    if fault not in hub.exercise.faults:
        raise AskError(400, say("training.choose_first"))
    return hub.exercise.faults[fault]


async def commit(hub: Hub, who: Visitor, fault: str) -> None:
    """End the exercise with a verdict, and wait until the bench has told the truth.

    Raises:
        AskError: this visitor may not do that, it is no verdict, or the bench was not reached or did not answer.

    """
    if who.role not in MAY_COMMIT:
        raise AskError(403, say("training.technician_only", role=who.role))
    in_words(hub, fault)
    if hub.rig is None:
        raise AskError(503, say("training.no_rig"))
    await hub.send(topic(hub.rig, "bench/verdict"), encode(BenchVerdict(fault)))
    try:
        async with asyncio.timeout(REVEALED_WITHIN_S):
            await hub.revealed.wait()
    except TimeoutError as error:
        raise AskError(504, say("training.no_answer", seconds=f"{REVEALED_WITHIN_S:g}")) from error
