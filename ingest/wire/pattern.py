"""Which unit it is: a pattern of the fan for somebody at the thermostat, and the unit that was chosen."""

from collections.abc import Sequence
from typing import Literal

import msgspec

from ingest.wire.events import Ask, Confirmable, MarkBase
from ingest.wire.findings import Grade, Outcome
from ingest.wire.wording import Wording

STATES = 6


class PatternAsk(Confirmable, frozen=True, omit_defaults=True, tag="pattern", kw_only=True):
    """Give a list of times at which somebody switches the fan between on and auto. states: how many, an even number.

    confirmed: in place of one that runs.
    """

    states: int = STATES


class PatternBegun(MarkBase, frozen=True, omit_defaults=True, tag="pattern", kw_only=True):
    """A pattern was given out. times_s: when the fan is switched, to on, to auto and so on [s since 1970]."""

    times_s: Sequence[float]


class ChooseAsk(Ask, frozen=True, omit_defaults=True, tag="choose", kw_only=True):
    """It is this unit. tag: as it is engraved on it. grade: seen, with photographs of the tag, or said."""

    tag: str
    grade: Grade
    photographs: Sequence[str] = ()


class Chosen(MarkBase, frozen=True, omit_defaults=True, tag="chosen", kw_only=True):
    """Which unit it is, as the check of it has it. tag: empty where it is none of these, or nothing was told.

    probability: by a pattern of the fan, of the unit; where the tag is empty, of none of these. proposal: what the
    instruments had proposed, if they had.
    """

    tag: str
    grade: Grade
    outcome: Outcome
    probability: float | None = None
    photographs: Sequence[str] = ()
    says: Wording | None = None
    proposal: str = ""


class PatternStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """The newest pattern. outcome, probability: of what was kept of it, as in `Chosen`; empty until then."""

    id: str
    by: str
    time_s: float
    times_s: Sequence[float]
    outcome: Outcome | Literal[""] = ""
    probability: float | None = None


class ChosenStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """The unit that was chosen."""

    id: str
    by: str
    time_s: float
    tag: str
    grade: Grade
    outcome: Outcome
    probability: float | None = None
