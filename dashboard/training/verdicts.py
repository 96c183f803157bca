"""The one verdict on an exercise: checked here, judged by the bench."""

import asyncio

from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import MAY_COMMIT, Visitor
from ingest.wire.bench_messages import BenchVerdict
from ingest.wire.messages import encode, topic

REVEALED_WITHIN_S = 3.0


def in_words(hub: Hub, fault: str) -> str:
    """Give the bench's words for the fault that a verdict would name.

    Raises:
        AskError: there is no exercise to give a verdict on, or this is no fault of it.

    """
    if hub.exercise is None:
        raise AskError(409, "There is no exercise on this rig, or it has ended.")
    if fault not in hub.exercise.faults:
        raise AskError(400, "Choose what is wrong first.")
    return hub.exercise.faults[fault]


async def commit(hub: Hub, who: Visitor, fault: str) -> None:
    """End the exercise with a verdict, and wait until the bench has told the truth.

    Raises:
        AskError: this visitor may not do that, it is no verdict, or the bench was not reached or did not answer.

    """
    if who.role not in MAY_COMMIT:
        raise AskError(403, f"A {who.role} watches; only the technician at the unit gives the verdict.")
    in_words(hub, fault)
    if hub.rig is None:
        raise AskError(503, "No rig has been heard yet.")
    await hub.send(topic(hub.rig, "bench/verdict"), encode(BenchVerdict(fault)))
    try:
        async with asyncio.timeout(REVEALED_WITHIN_S):
            await hub.revealed.wait()
    except TimeoutError as error:
        raise AskError(
            504, f"The bench has not answered within {REVEALED_WITHIN_S:g} s. See whether it runs, and commit again."
        ) from error
