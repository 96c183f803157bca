"""What a guided check found: asked, recorded, and how it stands in the visit. The checks themselves are data."""

from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Confirmable, MarkBase
from ingest.wire.wording import Wording

SaidOutcome = Literal["met", "not_met", "cannot_tell", "skipped"]
Outcome = Literal["met", "not_met", "cannot_tell", "skipped", "unjudged"]
"""What a check came to. Nobody says unjudged: so it is kept in a blind exercise, before the verdict."""
Grade = Literal["measured", "typed", "seen", "said"]
"""Of evidence, the best first: a linked instrument, read off a display, a photograph, somebody's word."""


Reason = Literal["not_fitted", "not_reachable", "not_asked_for", "weather", "other", ""]
"""Why a check was skipped; other goes with a text."""


class FindingAsk(Confirmable, frozen=True, omit_defaults=True, tag="finding", kw_only=True):
    """Keep what a check found.

    check: its word. values: figures by name, in the house's units; accuracies: their ± limits, as far as known.
    grades: of those that are known otherwise than the rest; asked as measured with the rest, one that nothing linked
    measures is typed. choices: what was chosen or said, by name; by_photograph: which of them a
    photograph answered that was taken for it, by its id. outcome: only where no rule of the check tells; skipped goes
    with a reason. part, circuit: of the unit's sheet, as the check is of one of them. builds_on: the id of
    the newest finding of the same, whose answers still count where this one gives no others: what was interrupted goes
    on. want: that a lead wanted it. confirmed: the person was asked, and it is so, such as that hands are in the panel
    though what makes it dead is open.
    """

    check: str
    grade: Grade
    outcome: SaidOutcome | Literal[""] = ""
    values: Mapping[str, float] = {}
    accuracies: Mapping[str, float] = {}
    grades: Mapping[str, Grade] = {}
    choices: Mapping[str, str] = {}
    photographs: Sequence[str] = ()
    by_photograph: Mapping[str, str] = {}
    part: str = ""
    circuit: str = ""
    reason: Reason = ""
    builds_on: str = ""
    text: str = ""
    want: str = ""


class Finding(MarkBase, frozen=True, omit_defaults=True, tag="finding", kw_only=True):
    """What a check found, with what it builds on.

    grade: no better than that of the weakest figure that the rule needs; grades: of each figure. said: the outcome that
    the person gave, if they did. plated: figures that nobody gave and the unit's sheet has; recalled: likewise what was
    found of the part before, its label and its last reading at an earlier visit. says: why it is so, in words.
    proposal: what the instruments had proposed, if they had.
    """

    check: str
    grade: Grade
    outcome: Outcome
    said: SaidOutcome | Literal[""] = ""
    values: Mapping[str, float] = {}
    accuracies: Mapping[str, float] = {}
    grades: Mapping[str, Grade] = {}
    plated: Mapping[str, float] = {}
    recalled: Mapping[str, float] = {}
    standard_uncertainties: Mapping[str, float] = {}
    choices: Mapping[str, str] = {}
    photographs: Sequence[str] = ()
    by_photograph: Mapping[str, str] = {}
    part: str = ""
    circuit: str = ""
    reason: Reason = ""
    builds_on: str = ""
    says: Wording | None = None
    proposal: str = ""
    want: str = ""


class FindingStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """The newest finding of a check, of one part or circuit. id: of its mark.

    past: it proves nothing any more: since it was made there was power, or the visit was left alone.
    """

    check: str
    outcome: Outcome
    grade: Grade
    time_s: float
    id: str
    part: str = ""
    circuit: str = ""
    says: Wording | None = None
    past: bool = False
