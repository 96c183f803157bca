"""Follows one visit tick by tick, and gives advice on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import msgspec

from calc.doubts.lasting import LastingDoubts
from calc.doubts.observed import Doubt
from calc.doubts.plausibility import doubts
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.judge.alarms import AlarmChange, AlarmWatch, alarms
from calc.judge.moves import Moves
from calc.judge.next_step import NextStep
from calc.judge.running import RunningUnit, is_running
from calc.situation import Move, Repetition, Situation
from ingest.advice.failed_checks import FailedChecks
from ingest.advice.history import History
from ingest.advice.rerun import Grounds
from ingest.advice.sentence import Known, tell
from ingest.advice.situation import doubted, known_of, situate
from ingest.rig import Rig
from ingest.wire.messages import Added, Advice, Correction, Mark, Pack, Recovered, encode

RECORDED_EVERY_S = 30.0
"""An advice that says the same as the one before is recorded so often."""


@dataclass(frozen=True, slots=True)
class Given:
    """An advice, as it is published, and what it rests on.

    is_news: it is to be recorded. settled: the figure that shows the charge, where that has settled; else empty.
    """

    time_s: float
    payload: bytes
    grounds: bytes
    is_news: bool
    settled: Literal["superheat", "subcooling", ""] = ""


class _Moved(msgspec.Struct, frozen=True):
    moves: tuple[Move, ...] = ()


class _Known(msgspec.Struct, frozen=True):
    situation: _Moved = _Moved()


class _Before(msgspec.Struct, frozen=True):
    """Of the grounds of an earlier session, whichever version wrote them, what this one goes on from."""

    known: _Known = _Known()


class Advisor:
    """Everything that is remembered of a visit to give advice on it.

    grounds: of the newest advice of this visit, if a session before this one gave any.
    """

    def __init__(self, speed: float, grounds: bytes | None) -> None:
        self._history = History(speed)
        self._doubts = LastingDoubts()
        self._failed_checks = FailedChecks()
        self._told: tuple[Doubt, ...] = ()
        self._said: NextStep | None = None
        self._running = RunningUnit()
        self._alarms = AlarmWatch()
        self._stopped_in_alarm = False
        before = msgspec.json.decode(grounds, type=_Before) if grounds else _Before()
        self._moves = Moves(before.known.situation.moves)
        self._recorded: tuple[object, ...] = ()
        self._recorded_at_s = -RECORDED_EVERY_S

    def recall(self, marks: Sequence[Mark]) -> None:
        """Know again what the marks of this visit say of the instruments."""
        self._failed_checks = FailedChecks(marks)

    def follow(self, pack: Pack, rig: Rig, barometric_pressure_pa: float) -> AlarmChange:
        """Take the pack of one tick; tells which alarms are new or have ended."""
        self._history.add(pack.monotonic_s, pack.readings)
        known = known_of(rig, barometric_pressure_pa, {})
        now = situate(known, pack.readings, cylinder=rig.recovery_cylinder).fresh()
        unit_s = self._history.unit_s(pack.monotonic_s)
        self._running.follow(now, unit_s)
        found = alarms(now, self._running.since_start_s(unit_s), doubted(self._told))
        change = self._alarms.follow(found, pack.monotonic_s)
        if self._running.running_s(unit_s):  # what stood as it was last seen to run is kept while it rests
            self._stopped_in_alarm = any(not alarm.in_doubt for alarm in self._alarms.standing())
        return change

    def take(self, mark: Mark, change_kg: float) -> None:
        """Take a mark, with the change of charge that it tells of [kg]; after a move everything settles anew."""
        self._failed_checks.take(mark)
        if isinstance(mark, Added | Recovered):
            self._moves.moved(mark.id, change_kg)
            self._history.restart("since.moved")
        elif isinstance(mark, Correction):
            self._moves.corrected(mark.of, change_kg)

    def measured_anew(self) -> None:
        """Begin anew: something else measures the figures now, or measures them otherwise."""
        self._moves.forget()
        self._history.restart("since.measured_anew")

    def advise(
        self, pack: Pack, rig: Rig, barometric_pressure_pa: float, repetitions: Mapping[str, Repetition]
    ) -> Given:
        """Give advice on the newest pack."""
        unit_s = self._history.unit_s(pack.monotonic_s)
        base = known_of(rig, barometric_pressure_pa, repetitions)
        failed = self._failed_checks.doubts({channel.name for channel in rig.channels})
        observed = _observed(base, pack, rig).without(doubted(failed))
        self._told = (*failed, *self._doubts.follow(doubts(observed), unit_s))
        known = Known(
            situation=replace(
                base,
                repetitions={},
                running_s=self._running.running_s(unit_s),
                at_rest=dict(self._running.at_rest),
                moves=tuple(self._moves.made),
            ),
            as_liquid=rig.unit.charge_as_liquid,
            channels=tuple(channel.about() for channel in rig.channels),
            ran_on_arrival=self._running.ran_on_arrival,
            doubts=self._told,
            alarms=self._alarms.standing(),
            said=self._said,
            stopped_in_alarm=self._stopped_in_alarm,
        )
        advice, self._said = tell(known, pack, self._history)
        figure = governing_figure(rig.unit.metering_device)
        self._learn(advice, figure)
        history = self._history
        grounds = Grounds(
            monotonic_s=pack.monotonic_s,
            known=known,
            history_since_s=history.since_monotonic_s,
            history_because=history.because,
            speed=history.speed,
        )
        return Given(
            advice.time_s,
            encode(advice),
            encode(grounds),
            self._is_news(advice, pack.monotonic_s),
            figure if advice.steadiness[figure].state == "settled" else "",
        )

    def _learn(self, advice: Advice, figure: str) -> None:
        """Remember where the figure that shows the charge has settled."""
        steadiness = advice.steadiness[figure]
        if steadiness.value_dk is not None and steadiness.expanded_dk is not None:
            self._moves.settled(Estimate(steadiness.value_dk, steadiness.expanded_dk / 2))

    def _is_news(self, advice: Advice, monotonic_s: float) -> bool:
        said = _gist(advice)
        if said == self._recorded and monotonic_s - self._recorded_at_s < RECORDED_EVERY_S:
            return False
        self._recorded, self._recorded_at_s = said, monotonic_s
        return True


def _observed(known: Situation, pack: Pack, rig: Rig) -> Situation:
    """Give what the rules of plausibility look at: channels of the rig, as far as they are fresh."""
    now = situate(known, pack.readings).fresh()
    now = now.without(now.measured.keys() - {channel.name for channel in rig.channels})
    return replace(now, running=is_running(now))


def _gist(advice: Advice) -> tuple[object, ...]:
    """Give what an advice says, without figures that move."""
    return (
        advice.state,
        advice.sentence.kind,
        {name: steadiness.state for name, steadiness in advice.steadiness.items()},
        [alarm.kind for alarm in advice.alarms],
        [doubt.channels for doubt in advice.doubts],
        advice.verification and advice.verification.state,
        [(it.fault, it.held_back and it.held_back.kind) for it in advice.causes[:1]],
    )
