"""What waits for a technician and is not to be: dismissed, with a reason where a lead waits for it."""

from ingest.visit import proposing
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.standing import Standing
from ingest.wire.messages import DismissAsk, Dismissed
from ingest.wire.texts import is_empty


def dismiss(ask: DismissAsk, head: Head, standing: Standing, facts: Facts) -> Dismissed:
    """Say that it will not be, and why."""
    if not standing.talk.wants.has(ask.of):
        return proposing.dismiss(ask, head, standing, facts)
    if is_empty(ask.text):
        raise RefusedError("a reason is missing: why the lead does not get what they want")
    return Dismissed(*head, text=ask.text.strip(), of=ask.of)
