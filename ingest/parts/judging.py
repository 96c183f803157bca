"""Judging: alarms at every tick, advice every two seconds or at once where an alarm comes or goes."""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ingest.advice.advisor import Advisor, Given
from ingest.advice.memory import Earlier
from ingest.advice.sentence import InView
from ingest.channels import Channels
from ingest.rig import Rig
from ingest.tick import every
from ingest.wire.messages import (
    Added,
    AlarmChanged,
    BaselineWithdrawn,
    Checked,
    Corrected,
    Correction,
    Mark,
    Pack,
    Recovered,
)

logger = logging.getLogger(__name__)

_SAID_AT_ONCE = (Added, Recovered, Correction, Checked, Corrected, BaselineWithdrawn)
"""Whoever has just added what was advised must not be told to add it."""

PERIOD_S = 2.0
"""An alarm does not wait for it, and nothing else that is advised changes faster than a person can act."""


@dataclass(frozen=True, slots=True)
class JudgedRig:
    """What is judged. barometric_pressure_pa: as it is now [Pa]. in_view: the circuit that is read, of several.

    stopped_by: the lead who asked to stop and has not said go on; else empty. is_left: whether the charge is left as it
    is, against what was advised.
    """

    rig: Callable[[], Rig]
    channels: Channels
    barometric_pressure_pa: Callable[[], float]
    in_view: Callable[[], InView] = InView
    stopped_by: Callable[[], str] = str
    is_left: Callable[[], bool] = bool


class Judging:
    """Judges one visit. gave: told of each advice. note: puts a mark on the visit's time line."""

    def __init__(
        self, judged: JudgedRig, gave: Callable[[Given], None], note: Callable[[type[AlarmChanged], str], None]
    ) -> None:
        self._judged = judged
        self._gave = gave
        self._note = note
        self._advisor = Advisor(judged.rig().speed, None)
        self._newest: Pack | None = None
        self._unsettled = frozenset({"superheat", "subcooling"})
        self._advised: Literal["add", "recover", ""] = ""

    def begin(self, earlier: Earlier, *, elsewhere: bool = False) -> None:
        """Go on in a visit from what the record holds of it: its newest advice, if a session before gave any.

        elsewhere: it is another visit than was followed so far, and nothing of that counts.
        """
        it = self._judged
        if elsewhere:
            self._newest = None
            self._advised = ""
        if earlier.grounds or elsewhere:
            self._advisor = Advisor(it.rig().speed, earlier.grounds)
        self._advisor.go_on(earlier, it.rig(), it.barometric_pressure_pa())

    def follow(self, pack: Pack) -> None:
        """Take the pack of a tick."""
        self._newest = pack
        alarms = self._advisor.follow(pack, self._judged.rig(), self._judged.barometric_pressure_pa())
        for alarm in alarms.raised:
            told = f"{alarm.kind.value}{', in doubt' if alarm.in_doubt else ''}: {alarm.says}"
            logger.warning("%s", told)
            self._note(AlarmChanged, told)
        if alarms.raised or alarms.ended:
            self.advise()

    def take(self, mark: Mark, change_kg: float) -> None:
        """Take a mark, with the change of charge that it tells of [kg]; what it changes is said at once."""
        self._advisor.take(mark, change_kg)
        if isinstance(mark, Added | Recovered) and change_kg:
            self._advised = ""
        if isinstance(mark, _SAID_AT_ONCE):
            self.advise()

    def measured_anew(self) -> None:
        """Begin anew: something else measures what is judged, or measures it otherwise."""
        self._advisor.measured_anew()
        self._advised = ""

    def interrupted(self, because: str) -> None:
        """Begin to settle anew, for a reason that is a kind of sentence; what was moved stays known."""
        self._advisor.interrupted(because)
        self._advised = ""

    @property
    def in_doubt(self) -> frozenset[str]:
        """The channels that are in doubt, and the figures that come from them."""
        return self._advisor.in_doubt

    @property
    def unsettled(self) -> frozenset[str]:
        """Superheat and subcooling, as far as the newest advice does not call them settled."""
        return self._unsettled

    @property
    def runs(self) -> bool | None:
        """Whether the compressor runs; None where nothing tells."""
        return self._advisor.runs

    @property
    def advised(self) -> Literal["add", "recover", ""]:
        """Which way to move refrigerant, as of when it had last settled, until it is moved or measured otherwise."""
        return self._advised

    async def run(self) -> None:
        """Advise until cancelled."""
        await every(PERIOD_S, self.advise)

    def advise(self) -> None:
        """Give advice on the newest pack, once there is one."""
        if self._newest is None:
            return
        it = self._judged
        given = self._advisor.advise(
            self._newest,
            it.rig(),
            it.barometric_pressure_pa(),
            it.channels.repetitions(),
            it.in_view(),
            it.stopped_by(),
            is_left=it.is_left(),
        )
        self._unsettled = given.unsettled
        if given.settled:
            self._advised = given.advised
        self._gave(given)
