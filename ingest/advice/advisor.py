"""Follows one visit tick by tick, and gives advice on it."""

from collections.abc import Mapping
from dataclasses import dataclass

import msgspec

from calc.doubts.observed import Repetition
from calc.estimate import Estimate
from calc.judge.verification import governing_figure
from ingest.advice.alarms import AlarmChange, AlarmWatch, alarm_message, find_alarms
from ingest.advice.doubts import Doubts, find_doubts
from ingest.advice.moves import Moves
from ingest.advice.rerun import Grounds
from ingest.advice.running import RunningUnit
from ingest.advice.sentence import advise
from ingest.advice.situation import Situation, fresh
from ingest.advice.steadiness import History
from ingest.rig import Rig
from ingest.wire.messages import Added, Advice, Correction, Mark, Pack, Recovered, encode

RECORDED_EVERY_S = 30.0
"""An advice that says the same as the one before is recorded so often."""


@dataclass(frozen=True, slots=True)
class Given:
    """An advice, as it is published, and what it rests on. is_news: it is to be recorded."""

    time_s: float
    payload: bytes
    grounds: bytes
    is_news: bool


class Advisor:
    """Everything that is remembered of a visit to give advice on it.

    grounds: of the newest advice of this visit, if a session before this one gave any.
    """

    def __init__(self, speed: float, grounds: bytes | None) -> None:
        self._history = History(speed)
        self._doubts = Doubts(speed)
        self._running = RunningUnit(speed)
        self._alarms = AlarmWatch()
        self._moves = Moves(msgspec.json.decode(grounds, type=Grounds).situation.moves if grounds else ())
        self._recorded: tuple[object, ...] = ()
        self._recorded_at_s = -RECORDED_EVERY_S

    def follow(self, pack: Pack, rig: Rig) -> AlarmChange:
        """Take the pack of one tick; tells which alarms are new or have ended."""
        moment_s = pack.monotonic_s
        self._history.add(moment_s, pack.readings)
        known = {name: value for name, reading in pack.readings.items() if (value := fresh(reading))}
        self._running.follow(known, rig.unit, moment_s)
        since_start_s = self._running.since_start_s(moment_s)
        found = find_alarms(pack.readings, rig.unit, rig.recovery_cylinder, since_start_s)
        return self._alarms.follow(found, moment_s)

    def take(self, mark: Mark, change_kg: float) -> None:
        """Take a mark, with the change of charge that it tells of [kg]; after a move everything settles anew."""
        if isinstance(mark, Added | Recovered):
            self._moves.moved(mark.id, change_kg)
            self._history.restart("refrigerant was moved")
        elif isinstance(mark, Correction):
            self._moves.corrected(mark.of, change_kg)

    def measured_anew(self) -> None:
        """Begin anew: something else measures the figures now, or measures them otherwise."""
        self._moves.forget()
        self._history.restart("it is measured otherwise now")

    def advise(
        self, pack: Pack, rig: Rig, barometric_pressure_pa: float, repetitions: Mapping[str, Repetition]
    ) -> Given:
        """Give advice on the newest pack."""
        doubts = find_doubts(pack.readings, rig.channels, repetitions, rig.unit, barometric_pressure_pa)
        situation = Situation(
            time_s=pack.time_s,
            monotonic_s=pack.monotonic_s,
            unit=rig.unit,
            barometric_pressure_pa=barometric_pressure_pa,
            channels=[channel.about() for channel in rig.channels],
            readings=pack.readings,
            doubts=self._doubts.lasting(doubts, pack.monotonic_s),
            alarms=[alarm_message(alarm, barometric_pressure_pa) for alarm in self._alarms.standing()],
            running_s=self._running.running_s(pack.monotonic_s),
            at_rest=self._running.at_rest,
            moves=tuple(self._moves.made),
        )
        advice = advise(situation, self._history)
        self._learn(advice, governing_figure(rig.unit.metering_device))
        history = self._history
        grounds = Grounds(
            situation=msgspec.structs.replace(situation, readings={}),
            history_since_s=history.since_monotonic_s,
            history_because=history.because,
            speed=history.speed,
        )
        return Given(advice.time_s, encode(advice), encode(grounds), self._is_news(advice, pack.monotonic_s))

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


def _gist(advice: Advice) -> tuple[object, ...]:
    """Give what an advice says, without figures that move."""
    return (
        {name: steadiness.state for name, steadiness in advice.steadiness.items()},
        [alarm.kind for alarm in advice.alarms],
        [doubt.channels for doubt in advice.doubts],
        advice.judgement and advice.judgement.state,
        [(it.fault, it.held_back) for it in advice.explanations[:1]],
        advice.next_step and advice.next_step.advised,
    )
