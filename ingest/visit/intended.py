"""A move that is about to be noted, with all that can speak against it: of its circuit, cylinder, and the moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from calc.ledger import Doubtful
from calc.refrigerants import Refrigerant
from ingest.wire.messages import CylinderStands, Phase, Purpose, Wording

Cover = Literal["closed", "open", "unknown"]


@dataclass(frozen=True, slots=True)
class Twin:
    """An amount like this one that was noted before it: by whom, how much [kg], and how long ago [s]."""

    by: str
    mass_kg: float
    ago_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Intended:
    """A move before it is noted. What is None is not known.

    Attributes:
        is_added: into the circuit, else out of it.
        is_correction: of an amount that was noted before: then only where and how much is looked at.
        mass_kg: how much [kg].
        phase: as it leaves the cylinder.
        port: it goes through; empty where nobody said.
        purpose: what it is for; empty where nobody said.
        refrigerant: of the circuit.
        charge_kg: on its nameplate, and what the visit came to before, net and recovered [kg].
        doubtful: why the amount is unlikely for this circuit.
        cylinder: as it stands without this move.
        runs: whether the compressor does.
        heats: whether the unit does, by its air and its pressures.
        vacuum_pa: the lowest absolute pressure that a gauge of the circuit reads [Pa].
        figure: that shows the charge, where it is measured; else empty.
        has_settled: that figure has, since the last move or, before any, at this visit.
        moved_ago_s: how long ago the last move was, by the clock [s]; None before any.
        since_move_s: the same in the unit's time, in which it settles [s].
        into_vacuum: it is the first of a charge by weight.
        cover: of the electrical side.
        found_to_burn: it may burn by what the visit found in the unit, whatever it is by its name.
        advised: which way the advice is to move refrigerant; empty where it is not, or may not be told.
        to_leave: the headline of the advice, where that is to move nothing; None where it is not, or may not be told.
        leaks_first: the advice is to look for leaks before anything is added.
        leak_found_s: when a leak was found that is not repaired [s since 1970].
        leak_sought: a leak was looked for at this visit.
        added_before_s: when refrigerant was added at earlier visits, the last of each [s since 1970].
        by_hand: an amount that somebody noted by hand since the scale began to show this one.
        twin: the same amount, as somebody else has just noted it.
        holds: what leads want to be asked before.
        stop: that a lead asked to stop, and has not said go on; None where no stop stands.

    """

    is_added: bool
    is_correction: bool = False
    mass_kg: float
    phase: Phase = ""
    port: str = ""
    purpose: Purpose = ""
    refrigerant: Refrigerant
    charge_kg: float | None = None
    net_kg: float = 0.0
    recovered_kg: float = 0.0
    doubtful: Doubtful | None = None
    cylinder: CylinderStands | None = None
    runs: bool | None = None
    heats: bool = False
    vacuum_pa: float | None = None
    figure: Literal["superheat", "subcooling", ""] = ""
    has_settled: bool = False
    moved_ago_s: float | None = None
    since_move_s: float | None = None
    into_vacuum: bool = False
    cover: Cover = "unknown"
    found_to_burn: bool = False
    advised: Literal["add", "recover", ""] = ""
    to_leave: Wording | None = None
    leaks_first: bool = False
    leak_found_s: float | None = None
    leak_sought: bool = False
    added_before_s: Sequence[float] = ()
    by_hand: Twin | None = None
    twin: Twin | None = None
    holds: Sequence[Wording] = ()
    stop: Wording | None = None

    @property
    def change_kg(self) -> float:
        """By how much it changes the charge [kg]."""
        return self.mass_kg if self.is_added else -self.mass_kg

    @property
    def by_figure(self) -> bool:
        """Whether it is a small step by a figure, which runs and settles, and no charge by weight."""
        return self.purpose in ("adjust", "seasonal", "") and not self.is_correction
