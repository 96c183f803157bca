"""Before what a lead wants to be asked: told beforehand, asked about when it is recorded, and never a lock.

An amount is recorded after it was moved. To refuse it would lose it, so a hold that stands is a question to the
technician; that it was done without a release is then told to the lead.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.sentences import Sentence, text
from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.stopping import check_may_go_on
from ingest.wire.messages import Added, Finding, Hold, HoldAsk, Mark, Recovered, ReleaseAsk, Released
from ingest.wire.talk import Before, HoldStands
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing


_DONE_BY: Mapping[Before, str] = {"power": "power_back", "opening": "opened"}
"""The guided check that tells that it was done."""


class Holds:
    """The holds of a visit. closed: how many were released for good."""

    def __init__(self) -> None:
        self._open: dict[str, HoldStands] = {}
        self.closed = 0

    @property
    def open(self) -> list[HoldStands]:
        """Those that no lead has released, oldest first."""
        return list(self._open.values())

    def has(self, hold: str) -> bool:
        """Whether there is such a hold that was not released."""
        return hold in self._open

    def before_a_move(self) -> list[Wording]:
        """Say who wants to be asked before refrigerant moves, and has not let it."""
        return [_said(hold) for hold in self._open.values() if _holds_a_move(hold) and not hold.lets_pass]

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        match mark:
            case Hold():
                self._open[mark.id] = HoldStands(mark.id, mark.by, mark.time_s, mark.before, mark.text)
            case Released() if mark.of in self._open:
                self._release(mark)
            case Added() | Recovered():
                self._pass([hold for hold in self._open.values() if _holds_a_move(hold)], mark.time_s)
            case Finding() if mark.outcome != "skipped":
                done = [hold for hold in self._open.values() if _DONE_BY.get(hold.before) == mark.check]
                self._pass(done, mark.time_s)

    def _pass(self, held: Sequence[HoldStands], time_s: float) -> None:
        """Tell that it was done: with leave, which is used up where it may be done again, or without."""
        for hold in held:
            if not hold.lets_pass:
                self._open[hold.id] = replace(hold, passed_s=time_s)
            elif hold.before != "first_move":
                self._open[hold.id] = replace(hold, lets_pass=False)

    def _release(self, mark: Released) -> None:
        if mark.once:
            self._open[mark.of] = replace(self._open[mark.of], lets_pass=True)
        else:
            del self._open[mark.of]
            self.closed += 1


def _holds_a_move(hold: HoldStands) -> bool:
    """Whether it holds the next move: a first one is no more to come once it was made."""
    return hold.before == "each_move" or (hold.before == "first_move" and hold.passed_s is None)


def _said(hold: HoldStands) -> Wording:
    why = f": “{hold.text}”" if hold.text else ""
    return worded(Sentence(f"hold.{hold.before}", (text("hold_by", hold.by), text("hold_why", why))))


def hold(ask: HoldAsk, head: Head, _: "Standing", __: Facts) -> Hold:
    """Keep before what this lead wants to be asked."""
    return Hold(*head, text=ask.text.strip(), before=ask.before)


def release(ask: ReleaseAsk, head: Head, standing: "Standing", _: Facts) -> Released:
    """Let it go ahead; of a stop, say go on."""
    if standing.stops.has(ask.of):
        check_may_go_on(ask, standing.stops)
    elif not standing.talk.holds.has(ask.of):
        raise RefusedError(f"nothing is held under {ask.of!r}; it may have been released already")
    return Released(*head, text=ask.text.strip(), of=ask.of, once=ask.once)
