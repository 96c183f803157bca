"""Follows one visit pack by pack, and proposes what its recognisers see, each event once.

It goes on after a start of the daemon: the packs before are taken again, and what is proposed already is known from its
mark, by what it is of and the time in which it was seen.
"""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from calc.errors import CalcError
from calc.sentences import Sentence, say
from ingest.noticing.dead import METER, LiveDeadLive
from ingest.noticing.sight import Known, Recogniser, Seen, Sight
from ingest.noticing.starting import is_another_stall
from ingest.noticing.table import RECOGNISERS
from ingest.noticing.unjudged import unjudged
from ingest.visit.proposals import about, is_alike, is_same
from ingest.wire.messages import (
    Added,
    ByHold,
    Dismissed,
    Mark,
    Moved,
    Pack,
    Proposed,
    ProposedFinding,
    ProposedMove,
    Recovered,
    Reloaded,
    WhatProposed,
    Wording,
)

LONGEST_GAP_S = 120.0
"""After a longer one nobody knows what went on: everything is awaited anew."""
JUST_NOW_S = 30.0
"""Before the end of the packs that are taken again: what was seen earlier was told then, or was not to be."""
AT_FIRST_S = 3.0
"""What stood already as it began to look was told before, if ever."""

_ONCE_A_POWER = frozenset({"start", "supply", "motor_amps"})
"""Checks that are proposed again only once the power was off."""
_OF_ACTS = frozenset({"prove_dead"})
"""Checks that are seen of several acts, all of them after it began to look: none stood already."""
_ONCE_A_MOVE = frozenset({"readings_before", "readings_after"})
"""Likewise, once refrigerant was moved."""


@dataclass(frozen=True, slots=True)
class Failure:
    """A recogniser that failed, by a mistake of ours. time_s: of the pack that it failed on [s since 1970]."""

    time_s: float
    error: Exception


class Noticer:
    """Everything that is remembered of a visit to propose. visit: its id. speed: how much faster than life it runs.

    refused: by recogniser, why it saw nothing lately of what it looked at. failed: those that are left out, until the
    configuration is read again.
    """

    def __init__(self, visit: str, speed: float = 1.0) -> None:
        self._visit = visit
        self._speed = speed
        self._proposed: dict[tuple[object, ...], list[Proposed]] = {}
        self._power_s = self._moved_s = 0.0
        self._seen: dict[str, Proposed] = {}  # moves that were proposed, and are not written yet
        self._written: list[Moved] = []  # by hand, before a scale was seen to show them
        self._newest: Pack | None = None
        self.refused: dict[str, str] = {}
        self.failed: dict[str, Failure] = {}
        self._look_anew()

    def _look_anew(self) -> None:
        self._recognisers: dict[str, Recogniser] = {name: make() for name, make in RECOGNISERS.items()}
        self._began_s: float | None = None

    def go_on(self, packs: Sequence[Pack], marks: Iterable[Mark], known: Known) -> Sequence[Proposed]:
        """Go on from what the record holds of this visit; give what was seen just before and not yet proposed."""
        for mark in marks:
            self.take(mark)
        until_s = packs[-1].time_s - JUST_NOW_S if packs else 0.0
        return [it for pack in packs for it in self.follow(pack, known) if it.time_s >= until_s]

    @property
    def by_hold(self) -> ByHold | None:
        """What the HOLD key of the meter takes next; None where no meter is read."""
        proof = next((it for it in self._recognisers.values() if isinstance(it, LiveDeadLive)), None)
        is_read = self._newest is not None and METER in self._newest.readings
        return proof.by_hold() if is_read and proof is not None else None

    def take(self, mark: Mark) -> None:
        """Take a mark: what is proposed, and what makes things worth proposing again."""
        if isinstance(mark, Proposed):
            self._remember(mark)
        elif isinstance(mark, Added | Recovered):
            self._moved_s = max(self._moved_s, mark.time_s)
            self._write(mark)
        elif isinstance(mark, Dismissed):
            self._seen.pop(mark.of, None)
        elif isinstance(mark, Reloaded):
            self._recognisers |= {name: RECOGNISERS[name]() for name in self.failed}
            self.failed = {}

    def _write(self, move: Moved) -> None:
        """Take that somebody wrote an amount: what was proposed already it is, and of the next one it says nothing."""
        alike = (it.id for it in self._seen.values() if _may_be(move, it.what, it.from_s))
        if of := move.proposal or next(alike, ""):
            self._seen.pop(of, None)
        else:
            self._written.append(move)

    def _remember(self, proposed: Proposed) -> None:
        of = self._proposed.setdefault(about(proposed.what), [])
        if all(it.id != proposed.id for it in of):
            of.append(proposed)
            if isinstance(proposed.what, ProposedMove):
                self._seen[proposed.id] = proposed
        if about(proposed.what)[0] in ("isolate", "power_back"):
            self._power_s = max(self._power_s, proposed.to_s)

    def follow(self, pack: Pack, known: Known) -> Sequence[Proposed]:
        """Take the pack of one tick; give what is to be proposed now."""
        before, self._newest = self._newest, pack
        if before is not None and not 0.0 <= pack.monotonic_s - before.monotonic_s <= LONGEST_GAP_S:
            self._look_anew()
        if self._began_s is None:
            self._began_s = pack.time_s
        sight = Sight(pack, pack.monotonic_s * self._speed, known)
        return [it for name in RECOGNISERS if name not in self.failed for it in self._proposed_by(name, sight)]

    def _proposed_by(self, name: str, sight: Sight) -> Sequence[Proposed]:
        """Let one recogniser look, and make a mark of what it saw.

        What calc knows nothing of, as a plate that cannot be, is not seen, and is told. One that fails is left out.
        """
        proposed = []
        try:
            for seen in self._recognisers[name].take(sight):
                if (mark := self._propose(seen, sight)) is not None:
                    proposed.append(mark)  # noqa: PERF401 - what was seen before a failure is kept
        except CalcError as error:
            self.refused[name] = str(error)
            self._recognisers[name] = RECOGNISERS[name]()
        except Exception as error:  # noqa: BLE001 - a mistake of ours in what is only proposed, which nobody foresaw: it
            # must not end the tick that reads, warns and records, nor each start that takes these packs again.
            self.failed[name] = Failure(sight.time_s, error)
        return proposed

    def _propose(self, seen: Seen, sight: Sight) -> Proposed | None:
        """Make the mark of what was seen, unless it was proposed before."""
        if sight.known.is_blind:
            seen = unjudged(seen)
        of = about(seen.what)
        from_s, to_s = round(seen.from_s, 3), round(seen.to_s, 3)
        key = repr((self._visit, seen.says.kind, of, from_s)).encode()
        proposed = Proposed(
            hashlib.blake2b(key, digest_size=8).hexdigest(),
            round(sight.time_s, 3),
            what=seen.what,
            from_s=from_s,
            to_s=to_s,
            says=_worded(seen.says, sight.known.barometric_pressure_pa),
        )
        if isinstance(seen.what, ProposedMove) and self._was_written(seen.what, from_s):
            return None
        before = self._proposed.get(of, [])
        if any(is_same(proposed, it) for it in before) or (before and self._was_told(proposed, before[-1])):
            return None
        self._remember(proposed)
        return proposed

    def _was_written(self, move: ProposedMove, from_s: float) -> bool:
        """Tell whether somebody wrote it down themselves since it began: it must not count twice, nor stand for two."""
        written = next((it for it in self._written if _may_be(it, move, from_s)), None)
        if written is not None:
            self._written.remove(written)
        return written is not None

    def _was_told(self, proposed: Proposed, before: Proposed) -> bool:
        check = about(proposed.what)[0]
        is_at_first = self._began_s is not None and proposed.from_s <= self._began_s + AT_FIRST_S
        if is_at_first and check not in _OF_ACTS:
            return True
        if check == "start" and _is_another_stall(proposed):
            return False
        if check in _ONCE_A_POWER:
            return before.to_s > self._power_s and before.says.kind == proposed.says.kind
        return check in _ONCE_A_MOVE and before.to_s > self._moved_s


def _may_be(written: Moved, move: WhatProposed, from_s: float) -> bool:
    if not isinstance(move, ProposedMove) or written.time_s < from_s:
        return False
    return is_alike(move, written.sign * written.mass_kg, written.within_share)


def _is_another_stall(proposed: Proposed) -> bool:
    what = proposed.what
    return isinstance(what, ProposedFinding) and is_another_stall(what.choices, what.values["restarts"])


def _worded(said: Sentence, barometric_pressure_pa: float) -> Wording:
    """Word it in both systems of units; a pressure counts from the air of this place."""
    us, si = (say(said, system, barometric_pressure_pa=barometric_pressure_pa) for system in ("us", "si"))
    return Wording(us=us, si=si, kind=said.kind, parts=said.parts)
