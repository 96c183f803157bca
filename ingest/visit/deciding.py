"""What a decision is made of: the ask, who asks, how the visit stands, and what the rig knows at this moment.

A decision is pure: the same ask in the same visit with the same facts gives the same mark, question or refusal.
"""

from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Any, Literal, TypeVar

from msgspec.structs import replace

from calc.quantities import STANDARD_PRESSURE_PA
from ingest.visit.part_readings import PartReadings
from ingest.visit.questions import as_one, name_of
from ingest.wire.baselines import Baseline
from ingest.wire.events import Ask, Confirmable
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
    baselines: of the unit, over its visits.
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
    baselines: Sequence[Baseline] = ()

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


@dataclass(frozen=True, slots=True)
class Asked:
    """A question to the person. names: of all that is asked in it. put: words those of them that are still open.

    warns: it speaks against a move: the lead is told.
    """

    names: Sequence[str]
    put: Callable[[Sequence[str]], Wording]
    warns: bool = False


class DoubtfulError(Exception):
    """An ask that is recorded only once the person has confirmed it. answered: names of what they said yes to."""

    def __init__(self, *asked: Asked, answered: Sequence[str] = ()) -> None:
        self.asked, self._answered = asked, answered
        super().__init__(self.question.us if self.is_open else "")

    @property
    def names(self) -> tuple[str, ...]:
        """Of all that speaks against it."""
        return tuple(dict.fromkeys(name for it in self.asked for name in it.names))

    @property
    def is_open(self) -> bool:
        """Whether anything of it is not answered."""
        return not {*self.names} <= {*self._answered}

    @property
    def question(self) -> Wording:
        """What to ask them: all that is not answered."""
        return as_one([it.put(names) for it in self.asked if (names := self._open_in(it))])

    @property
    def warnings(self) -> tuple[str, ...]:
        """Of a move, what of that speaks against it, as kinds of `calc.sentences`."""
        return tuple(name.partition(":")[0] for it in self.asked if it.warns for name in self._open_in(it))

    def _open_in(self, asked: Asked) -> list[str]:
        return [name for name in asked.names if name not in self._answered]


def to_ask(said: Wording, name: str = "") -> Asked:
    """Make a question of what is said. name: empty for that of its kind and what is in it."""
    return Asked((name or name_of(said),), lambda _: said)


Made = TypeVar("Made")


def decided(ask: Ask, decide: Callable[[Any], Made], asked: Sequence[Asked] = ()) -> Made:
    """Decide, once all that speaks against it was confirmed by its name: a yes covers nothing that came up since.

    asked: what is asked of it beside what the decision itself asks.

    Raises:
        DoubtfulError: something was not confirmed.

    """
    if not isinstance(ask, Confirmable):
        return decide(ask)
    try:
        decide(replace(ask, confirmed=False))
    except DoubtfulError as error:
        asked = (*asked, *error.asked)
    doubts = DoubtfulError(*asked, answered=ask.confirms if ask.confirmed else ())
    if doubts.is_open:
        raise doubts
    return decide(replace(ask, confirmed=True))
