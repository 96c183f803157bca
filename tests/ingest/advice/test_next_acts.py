"""What the next hand would do where the sentence itself asks for nothing yet: what to beware of depends on it."""

import pytest

from calc.cautions import Step
from calc.diagnosis import Cause, Fault
from calc.judge.state import Decision, Reason, State
from calc.sentences import Sentence
from calc.targets import NoTarget
from ingest.advice.sentence import _next_acts


def decision(reason: Reason, *faults: Fault) -> Decision:
    causes = [Cause(fault, (), 0.9, (), (), Sentence("look"), None, None) for fault in faults]
    return Decision(
        state=State.LOOK,
        reason=reason,
        figure="subcooling",
        value=None,
        target=NoTarget(Sentence("none")),
        causes=tuple(causes),
    )


@pytest.mark.parametrize("reason", [Reason.NO_TARGET, Reason.NO_CHARGE, Reason.TOO_CLOSE, Reason.NOT_WEIGHED])
def test_refrigerant_comes_out_only_where_too_much_is_likeliest(reason: Reason) -> None:
    assert _next_acts(decision(reason, Fault.OVERCHARGE)) == (Step.RECOVER,)
    assert _next_acts(decision(reason, Fault.UNDERCHARGE, Fault.OVERCHARGE)) == (Step.CHARGE,)
    assert _next_acts(decision(reason)) == (Step.CHARGE,)
