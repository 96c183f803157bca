"""What a decision is made of: the ask, who asks, how the visit stands, and what the rig knows at this moment.

A decision is pure: the same ask in the same visit with the same facts gives the same mark, question or refusal.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Literal

from calc.quantities import STANDARD_PRESSURE_PA
from ingest.visit.part_readings import PartReadings
from ingest.wire.messages import Advice, Reading, Role, Sheet, UnitAbout, Wording
from ingest.wire.sheet import Circuit

Head = tuple[str, float, str, Role]
"""What every mark begins with: id, time [s since 1970], by, role."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What the rig knows at the moment of an ask.

    unit: the circuit in view, as its nameplate says. readings: the newest of each channel and figure. in_doubt,
    unsettled: those of them that are. circuits, parts: of the unit, by name.
    runs: whether the compressor does; None where nothing tells. advised: which way the advice is to move refrigerant;
    empty where it is not, or may not be told. cover: of the electrical side, where a bench tells; else empty.
    is_blind: an exercise whose verdict is still to come. speed:
    how much faster than the clock the unit's time runs. sheets: those of the register, by tag. advice: the newest, as
    far as it may be told. part_readings: what was measured of the unit's parts, over its visits. steady_s, read_s: now,
    and when each reading was read, by a clock that nobody sets (`ingest.clock`); without them the stamps count.
    instruments: by channel, which one reads it. was_read: channels that were read at this visit, though none of them
    may be configured now. site_pa: the air pressure there, as well as it is known [Pa].
    """

    unit: UnitAbout
    readings: Mapping[str, Reading]
    in_doubt: AbstractSet[str]
    unsettled: AbstractSet[str]
    circuits: Sequence[str] = ()
    parts: Sequence[str] = ()
    runs: bool | None = None
    advised: Literal["add", "recover", ""] = ""
    cover: Literal["closed", "open", ""] = ""
    is_blind: bool = False
    speed: float = 1.0
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    advice: Advice | None = None
    part_readings: PartReadings | None = None
    steady_s: float | None = None
    read_s: Mapping[str, float] = field(default_factory=dict)
    instruments: Mapping[str, str] = field(default_factory=dict)
    was_read: AbstractSet[str] = frozenset()
    site_pa: float = STANDARD_PRESSURE_PA

    def now_s(self, time_s: float) -> float:
        """Tell the moment of an ask that is stamped so, by the clock by which things are compared."""
        return time_s if self.steady_s is None else self.steady_s

    @property
    def sheet_circuits(self) -> Sequence[Circuit]:
        """The circuits of the unit as its sheet has them; none where it has no sheet."""
        sheet = self.sheets.get(self.unit.tag)
        return () if sheet is None else sheet.circuits


class RefusedError(Exception):
    """An ask that cannot be recorded: says why. wording: the same in either system of units, where it has figures.

    warnings: of a move, what speaks against it, as kinds of `calc.sentences`; the lead is told.
    """

    def __init__(self, reason: str, wording: Wording | None = None, warnings: Sequence[str] = ()) -> None:
        super().__init__(reason)
        self.wording = wording
        self.warnings = warnings


class DoubtfulError(Exception):
    """An ask that is recorded only once the person has confirmed it. question: what to ask them; warnings: likewise."""

    def __init__(self, question: Wording, warnings: Sequence[str] = ()) -> None:
        super().__init__(question.us)
        self.question = question
        self.warnings = warnings
