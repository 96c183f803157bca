"""What the instruments proposed: which of it waits for a person, and what becomes of it by one touch.

A proposal that was kept or dismissed is never asked again, and one event is proposed once, however often it is seen.
"""

from collections.abc import Iterable

from ingest.wire.messages import (
    Added,
    Chosen,
    Dismissed,
    Finding,
    Mark,
    Placed,
    ProposalStands,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedPlace,
    ProposedUnit,
    Recovered,
    WhatProposed,
)

GROWS = frozenset({"capacitor_measured", "opened"})
"""Checks of which the instruments show one part after another. Nothing on which hands depend: what was dead, locked or
empty an hour ago counts for nothing now."""

_POWER_BACK, _ISOLATED, _PROVED_DEAD = "power_back", "isolate", "prove_dead"

ALIKE_SHARE = 0.25
"""Within this an amount that was written is taken for the one that a scale saw: common practice, no source."""
PROPOSALS_SENT = 24
"""How many travel, the oldest first; the rest follow as these are answered."""


class Proposals:
    """Those of one visit: a fold over its marks."""

    def __init__(self) -> None:
        self._waiting: dict[str, Proposed] = {}
        self._answered: dict[str, Mark] = {}
        self._withdrawn: set[str] = set()

    def take(self, mark: Mark) -> None:
        """Take the next mark. An answer may come before what it answers: then that never waits."""
        match mark:
            case Proposed():
                if mark.id not in self._answered:
                    self._waiting[mark.id] = mark
            case Dismissed():
                self._answer(mark.of, mark)
            case Added() | Recovered() | Finding() | Placed() | Chosen() if mark.proposal:
                seen = self._waiting.get(mark.proposal)
                self._answer(mark.proposal, mark)
                if isinstance(mark, Finding):
                    self._overtake(mark, mark.time_s if seen is None else seen.to_s)
                    self._end_repeated(mark)
            case Finding():
                for it in [it for it in self._waiting.values() if _is_answered(it, mark)]:
                    self._answer(it.id, mark)
                self._overtake(mark, mark.time_s)

    def _overtake(self, found: Finding, seen_s: float) -> None:
        """Withdraw what a later isolating made untrue: who keeps that power is back would end a lock that stands.

        seen_s: when it was so [s since 1970]: of what is kept, when the instruments saw it, and not when it was kept.
        """
        if found.check != _ISOLATED or not (found.proposal or found.outcome in ("met", "cannot_tell")):
            return
        self.withdraw([it.id for it in self._waiting.values() if _is_power_back(it) and it.to_s <= seen_s], found)

    def _end_repeated(self, kept: Finding) -> None:
        """End the other proofs that it is dead once one is kept and met: after power in between none would wait."""
        if (kept.check, kept.outcome) == (_PROVED_DEAD, "met"):
            for it in [it for it in self._waiting.values() if _is_proved_dead(it)]:
                self._answer(it.id, kept)

    def withdraw(self, ids: Iterable[str], by: Mark) -> None:
        """Withdraw what a mark made untrue."""
        for it in ids:
            self._answer(it, by)
            self._withdrawn.add(it)

    def _answer(self, of: str, by: Mark) -> None:
        self._answered.setdefault(of, by)
        self._waiting.pop(of, None)

    @property
    def all_waiting(self) -> list[Proposed]:
        """Those that nobody has answered."""
        return list(self._waiting.values())

    def waiting(self, of: str) -> Proposed | None:
        """Give a proposal that nobody has answered; None where there is no such one."""
        return self._waiting.get(of)

    def answered(self, of: str) -> Mark | None:
        """Give the mark that answered a proposal; None where none did."""
        return self._answered.get(of)

    def is_withdrawn(self, of: str) -> bool:
        """Tell whether something that was recorded later made a proposal untrue."""
        return of in self._withdrawn

    def message(self) -> tuple[ProposalStands, ...]:
        """Say for the wire which ones wait."""
        waiting = list(self._waiting.values())[:PROPOSALS_SENT]
        return tuple(ProposalStands(it.id, it.time_s, it.from_s, it.to_s, it.what, it.says) for it in waiting)


def _is_answered(proposed: Proposed, by: Finding) -> bool:
    """Tell whether a person found by themselves what was seen before that: there is nothing left to keep.

    Of what is seen section by section each is kept: a finding of one says nothing of the other.
    """
    what = proposed.what
    if by.outcome not in ("met", "not_met"):
        return False
    if not isinstance(what, ProposedFinding) or what.per or proposed.to_s > by.time_s:
        return False
    return (what.check, what.part, what.circuit) == (by.check, by.part, by.circuit) and what.check not in GROWS


def _is_power_back(proposed: Proposed) -> bool:
    return isinstance(proposed.what, ProposedFinding) and proposed.what.check == _POWER_BACK


def _is_proved_dead(proposed: Proposed) -> bool:
    return isinstance(proposed.what, ProposedFinding) and proposed.what.check == _PROVED_DEAD


def is_same(one: Proposed, other: Proposed) -> bool:
    """Tell whether two are of one event, seen twice: of the same thing, in a time that both of them saw.

    Figures may differ, by where in it the rig was started anew; of power that is back the words do too, by the lock.
    """
    if about(one.what) != about(other.what) or (one.says.kind != other.says.kind and not _is_power_back(one)):
        return False
    return one.from_s <= other.to_s and other.from_s <= one.to_s


def is_alike(move: ProposedMove, change_kg: float, within_share: float | None = None) -> bool:
    """Tell whether an amount that was written may be the one that a scale saw: the same way, and near enough.

    change_kg: above 0 what was added, below 0 what was recovered. within_share: by which a guess may be off.
    """
    guessed_kg = (within_share or 0.0) * abs(change_kg)
    near_kg = max(ALIKE_SHARE * abs(move.mass_kg), 2 * move.standard_uncertainty_kg, guessed_kg)
    return change_kg * move.mass_kg > 0.0 and abs(change_kg - move.mass_kg) <= near_kg


def about(what: WhatProposed) -> tuple[object, ...]:
    """Say what it is about, without its figures."""
    match what:
        case ProposedFinding():
            return what.check, what.part, what.circuit, *sorted(what.choices.items())
        case ProposedMove():
            return ("move", what.cylinder)
        case ProposedPlace():
            return ("place", *what.channels)
        case ProposedUnit():
            return ("unit", what.tag)
