"""A baseline withdrawn by hand: what it was kept of was not right after all."""

from typing import TYPE_CHECKING

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.wire.messages import BaselineWithdrawn, WithdrawBaselineAsk
from ingest.wire.texts import is_empty

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


def withdraw(ask: WithdrawBaselineAsk, head: Head, _: "Standing", facts: Facts) -> BaselineWithdrawn:
    """Let a baseline count no more, for a reason that the next person reads."""
    if is_empty(ask.text):
        raise RefusedError("text is empty: why the baseline does not count was expected")
    found = next((it for it in facts.baselines if it.id == ask.of), None)
    if found is None:
        raise RefusedError(f"of: there is no baseline {ask.of!r} of {facts.unit.tag}")
    if found.ended:
        raise RefusedError(f"of: the baseline {ask.of!r} counts no more already: {found.ended}")
    return BaselineWithdrawn(*head, text=ask.text.strip(), of=ask.of)
