"""Every ask that is decided from the visit and the moment alone; those that need more stand in ingest.asks."""

from collections.abc import Callable, Mapping
from typing import Any

from ingest.visit import (
    asking,
    cylinders,
    describing,
    dismissing,
    finding,
    holding,
    moving,
    pattern,
    placing,
    progress,
    proposing,
    stopping,
    telling,
    wanting,
    withdrawing,
)
from ingest.visit.deciding import Facts, Head
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    AcknowledgeAsk,
    AddedAsk,
    Ask,
    ChooseAsk,
    CorrectionAsk,
    CylinderAsk,
    DescribeAsk,
    DismissAsk,
    FindingAsk,
    HandOverAsk,
    HoldAsk,
    HoseAsk,
    KeepAsk,
    Mark,
    NoteAsk,
    PatternAsk,
    PlaceAsk,
    QuestionAsk,
    ReadingAsk,
    RecoveredAsk,
    ReleaseAsk,
    ReplyAsk,
    ResumeAsk,
    SeenAsk,
    SignAsk,
    StopAsk,
    WaitAsk,
    WantAsk,
    WithdrawBaselineAsk,
)

Decision = Callable[[Any, Head, Standing, Facts], Mark]
"""From an ask of its kind to the mark of it. Raises RefusedError or DoubtfulError."""

DECISIONS: Mapping[type[Ask], Decision] = {
    AddedAsk: moving.move,
    RecoveredAsk: moving.move,
    CorrectionAsk: moving.correction,
    CylinderAsk: cylinders.describe,
    ReadingAsk: telling.reading,
    NoteAsk: telling.note,
    AcknowledgeAsk: telling.acknowledge,
    PlaceAsk: placing.place,
    HoseAsk: placing.hose,
    WaitAsk: progress.wait,
    ResumeAsk: progress.resume,
    HandOverAsk: progress.hand_over,
    SignAsk: progress.sign,
    KeepAsk: proposing.keep,
    DismissAsk: dismissing.dismiss,
    FindingAsk: finding.finding,
    DescribeAsk: describing.describe,
    QuestionAsk: asking.question,
    ReplyAsk: asking.reply,
    WantAsk: wanting.want,
    HoldAsk: holding.hold,
    ReleaseAsk: holding.release,
    StopAsk: stopping.stop,
    SeenAsk: stopping.seen,
    PatternAsk: pattern.pattern,
    ChooseAsk: pattern.choose,
    WithdrawBaselineAsk: withdrawing.withdraw,
}
