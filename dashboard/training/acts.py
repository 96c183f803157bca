"""What a technician does at a simulated unit: handed on to the bench, which does or refuses it."""

from dashboard.errors import AskError
from dashboard.hub import Hub
from dashboard.roles import MAY_TOUCH, Visitor
from dashboard.sentences import say
from ingest.wire.bench_acts import Act
from ingest.wire.messages import encode, topic


async def do(hub: Hub, who: Visitor, act: Act) -> None:
    """Have the bench do an act; what becomes of it comes back as the state of the controls.

    Raises:
        AskError: this visitor may not, there is no bench, or it is out of reach.

    """
    if who.role not in MAY_TOUCH:
        raise AskError(403, say("hands.technician_only", role=who.role))
    if hub.rig is None or hub.bench is None:
        raise AskError(409, say("hands.not_simulated"))
    await hub.send(topic(hub.rig, "bench/act"), encode(act))
