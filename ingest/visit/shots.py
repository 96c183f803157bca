"""Photographs that answer: each choice by the one that was asked for it, of this part or circuit, and once.

Whoever took it read before what it says of the check. One of another check, or of what was so before, says nothing.
"""

from typing import TYPE_CHECKING

from ingest.visit.answers import AnswerError
from ingest.visit.making_dead import makes_dead
from ingest.wire.checklist import Check
from ingest.wire.messages import Finding, FindingAsk
from ingest.wire.photographs import PhotographStands
from ingest.wire.texts import shown

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


def check_shown(ask: FindingAsk, check: Check, earlier: Finding | None, standing: "Standing") -> None:
    """See that each choice that a photograph is said to answer is answered by it.

    Raises:
        AnswerError: it is of something else, of another moment, or says otherwise.

    """
    kept = earlier.by_photograph.values() if earlier is not None else ()
    used = standing.findings.answered_by(check.word) - set(kept)
    for name, photograph in ask.by_photograph.items():
        taken = standing.photographs.taken(photograph)
        if taken is None or photograph not in ask.photographs:
            raise AnswerError(f"by_photograph: {shown(photograph)!r}, of {shown(name)}, is none of its photographs")
        if same := standing.photographs.same_as(taken):
            raise AnswerError(
                f"by_photograph: {shown(photograph)!r} is the same picture as {shown(same)!r}: take one of now"
            )
        if photograph in used:
            raise AnswerError(
                f"by_photograph: {shown(photograph)!r} answered {check.title} before: of what is so now take another"
            )
        if makes_dead(check.word) and standing.findings.is_past(photograph):
            raise AnswerError(
                f"by_photograph: {shown(photograph)!r} is of before there was power, or it was left: take another"
            )
        _check_answers(name, taken, ask, check)


def _check_answers(name: str, taken: PhotographStands, ask: FindingAsk, check: Check) -> None:
    answers = next((it.answers for it in check.shots if it.word == taken.shot and taken.check == check.word), {})
    if name not in answers:
        of = f"{taken.check or 'no check'}{taken.shot and f', {taken.shot}'}"
        raise AnswerError(f"by_photograph: {shown(taken.id)!r} is of {of}, and does not answer {shown(name)}")
    if ask.choices.get(name) != answers[name]:
        raise AnswerError(
            f"by_photograph: {shown(taken.id)!r} shows {name} to be {answers[name]}, and "
            f"{shown(ask.choices.get(name, 'nothing'))} is said"
        )
    if taken.part not in ("", ask.part) or taken.circuit not in ("", ask.circuit):
        raise AnswerError(f"by_photograph: {shown(taken.id)!r} is of another part or circuit than what is recorded")
