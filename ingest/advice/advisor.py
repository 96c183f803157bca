"""Follows one visit tick by tick, and gives advice on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
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
from calc.judge.running import Compressor, RunningUnit, is_running
from calc.judge.told_course import ToldCourse
from calc.judge.waiting import ToldWait
from calc.lift import has_no_lift
from calc.quantities import derived_from
from calc.settling import LONGEST_GAP_S
from calc.situation import Move, Repetition, Situation
from ingest.advice.checked import CheckedInPlace
from ingest.advice.failed_checks import FailedChecks
from ingest.advice.history import History
from ingest.advice.looks import Looks
from ingest.advice.memory import Earlier, Memory, measured_as
from ingest.advice.rerun import Grounds
from ingest.advice.sentence import InView, Known, tell
from ingest.advice.situation import doubted, of_rig, situate
from ingest.advice.sound import FoundSoundOnce
from ingest.advice.starts import Stalled
from ingest.rig import Rig
from ingest.visit.found_sound import FoundSounds, departures_of, without
from ingest.visit.locking import locks_by
from ingest.visit.looked import put_right
from ingest.visit.power import believed, power_in
from ingest.wire.messages import (
    Added,
    Advice,
    BaselineWithdrawn,
    Corrected,
    Correction,
    Finding,
    Mark,
    Pack,
    Placed,
    Recovered,
    Reloaded,
    encode,
)

ONE_CIRCUIT = InView()
TURNS_BY_S = 60.0
"""What runs for longer has come up to speed: an overload trips before that; from memory."""
RECORDED_EVERY_S = 30.0
"""An advice that says the same as the one before is recorded so often."""


@dataclass(frozen=True, slots=True)
class Given:
    """An advice, as it is published, and what it rests on.

    is_news: it is to be recorded. settled: the figure that shows the charge, where that has settled in a circuit at
    work; else empty, as at rest, in a stall, and while an alarm stands for which the unit is to stop. found_sound: what
    the circuit departs by, once, where it has just been found sound [K or 1]. unsettled:
    superheat and subcooling, as far as they have not, likewise. advised: which way to move refrigerant now, if any.
    monotonic_s: when the pack came on which it was given.
    """

    time_s: float
    monotonic_s: float
    payload: bytes
    grounds: bytes
    is_news: bool
    settled: Literal["superheat", "subcooling", ""] = ""
    unsettled: frozenset[str] = frozenset()
    advised: Literal["add", "recover", ""] = ""
    found_sound: Mapping[str, Estimate] = field(default_factory=dict)


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
        self._checked = CheckedInPlace()
        self._stalled = Stalled()
        self._looks = Looks()
        self._sound = FoundSoundOnce()
        self._found_sound: FoundSounds = {}
        self._locks: tuple[str, ...] = ()
        self._told: tuple[Doubt, ...] = ()
        self._said: NextStep | None = None
        self._waits: Mapping[str, ToldWait] = {}
        self._told_courses: Mapping[str, ToldCourse] = {}
        self._running = RunningUnit()
        self._alarms = AlarmWatch()
        self._stopped_in_alarm = self._stopped_on_amps = self._stop_asked = False
        before = msgspec.json.decode(grounds, type=_Before) if grounds else _Before()
        self._moves = Moves(before.known.situation.moves)
        self._newest: Pack | None = None
        self._newest_mark = ""
        self._moved_at_s: float | None = None
        self._rig: tuple[Rig, Situation] | None = None
        self._recorded: tuple[object, ...] = ()
        self._recorded_at_s = -RECORDED_EVERY_S

    def go_on(self, earlier: Earlier, rig: Rig, barometric_pressure_pa: float) -> None:
        """Go on from what the record holds of this visit, as if nothing had been in between.

        Where the readings before cannot be compared with those to come, it is judged anew, and said why.
        """
        if earlier.grounds:
            self._go_on(_remembered(earlier.grounds), earlier, rig, barometric_pressure_pa)
        self._failed_checks, self._stalled = FailedChecks(earlier.marks), Stalled(earlier.marks)
        self._checked = CheckedInPlace(earlier.marks)
        self._looks = Looks(earlier.marks)
        self._sound, self._found_sound = FoundSoundOnce(earlier.marks), earlier.found_sound
        self._locks = ()
        for mark in earlier.marks:
            self._locks = locks_by(mark, self._locks)
        self._newest_mark = earlier.marks[-1].id if earlier.marks else ""

    def _go_on(self, grounds: Grounds | None, earlier: Earlier, rig: Rig, barometric_pressure_pa: float) -> None:
        memory = grounds.memory if grounds else None
        if grounds is None or memory is None:
            self._judge_anew(earlier.marks)
            return
        marks = earlier.marks_after(memory.newest_mark)
        self._moves = Moves(grounds.known.situation.moves, memory.open_step)
        if memory.measured_as != measured_as(rig) or grounds.speed != self._history.speed:
            for mark in marks:
                self.take(mark, earlier.changes_kg[mark.id])
            self.measured_anew()
        elif all(pack.monotonic_s != grounds.monotonic_s for pack in earlier.packs):  # the machine was started anew
            for mark in marks:
                self.take(mark, earlier.changes_kg[mark.id])
            self._judge_anew(earlier.marks)
        else:
            self._remember(grounds, memory)
            self._follow_again(grounds, marks, earlier, rig, barometric_pressure_pa)

    def _judge_anew(self, marks: Sequence[Mark]) -> None:
        self._interrupt()
        self._moved_at_s = max((mark.time_s for mark in marks if isinstance(mark, Added | Recovered)), default=None)

    def _remember(self, grounds: Grounds, memory: Memory) -> None:
        known = grounds.known
        self._running = RunningUnit(memory.compressor)
        self._doubts = LastingDoubts(known.doubts)
        self._alarms = AlarmWatch(known.alarms, grounds.monotonic_s)
        self._told, self._said, self._stopped_in_alarm = known.doubts, known.said, known.stopped_in_alarm
        self._waits, self._told_courses = known.waits, known.told_courses
        self._stop_asked, self._stopped_on_amps = known.stop_asked, known.stopped_on_amps
        self._history.begin_as(*grounds.made_of)

    def _follow_again(
        self, grounds: Grounds, marks: list[Mark], earlier: Earlier, rig: Rig, barometric_pressure_pa: float
    ) -> None:
        """Take the packs of the history, and what came after the newest advice as it came."""
        for pack in earlier.packs:
            if pack.monotonic_s > grounds.monotonic_s:
                while marks and marks[0].time_s <= pack.time_s:
                    self._take_again(marks.pop(0), earlier, pack)
                self.follow(pack, rig, barometric_pressure_pa)
            elif grounds.history_since_s is not None and pack.monotonic_s >= grounds.history_since_s:
                self._history.add(pack.monotonic_s, pack.readings)
                self._newest = pack
        for mark in marks:
            self._take_again(mark, earlier, earlier.packs[-1])

    def _take_again(self, mark: Mark, earlier: Earlier, beside: Pack) -> None:
        self.take(mark, earlier.changes_kg[mark.id])
        if self._history.left_alone_since_s is None:
            self._history.left_alone_since_s = beside.monotonic_s + mark.time_s - beside.time_s

    @property
    def in_doubt(self) -> frozenset[str]:
        """The channels that are in a doubt that is told, and the figures that come from them."""
        channels = {name for doubt in self._told for name in doubt.channels}
        return frozenset(channels) | derived_from(channels)

    @property
    def runs(self) -> bool | None:
        """Whether the compressor runs; None where nothing tells."""
        return self._running.compressor.runs

    def follow(self, pack: Pack, rig: Rig, barometric_pressure_pa: float) -> AlarmChange:
        """Take the pack of one tick; tells which alarms are new or have ended."""
        if self._newest and self._is_gap(self._newest, pack):
            self._interrupt()
        self._newest = pack
        if self._moved_at_s is not None:
            ago_s = max(0.0, pack.time_s - self._moved_at_s)
            self._history.left_alone_since_s, self._moved_at_s = pack.monotonic_s - ago_s, None
        self._history.add(pack.monotonic_s, pack.readings)
        known = replace(self._of(rig), barometric_pressure_pa=barometric_pressure_pa)
        now = situate(known, pack.readings, cylinder=rig.recovery_cylinder).fresh()
        unit_s = self._history.unit_s(pack.monotonic_s)
        was_at_rest = self._running.running_s(unit_s) == 0.0
        self._running.follow(now, unit_s)
        if was_at_rest and self._running.running_s(unit_s):
            self._stop_asked = False
        if is_running(now) is True and (self._running.running_s(unit_s) or 0.0) > TURNS_BY_S and not has_no_lift(now):
            self._stalled.turned()
        found = alarms(now, self._running.since_start_s(unit_s), doubted(self._told))
        change = self._alarms.follow(found, pack.monotonic_s)
        if self._running.running_s(unit_s):  # what stood as it was last seen to run is kept while it rests
            self._stopped_in_alarm = self._alarms.is_fact(pack.monotonic_s)
            self._stopped_on_amps = self._alarms.is_on_amps()
        return change

    def take(self, mark: Mark, change_kg: float) -> None:
        """Take a mark, with the change of charge that it tells of [kg]; after a move everything settles anew."""
        self._newest_mark = mark.id
        self._failed_checks.take(mark)
        self._checked.take(mark)
        self._stalled.take(mark)
        self._looks.take(mark)
        if put_right(mark):
            self.interrupted("since.put_right")
        self._sound.take(mark)
        self._found_sound = _still_expected(self._found_sound, mark)
        self._locks = locks_by(mark, self._locks)
        self._take_instruments(mark)
        if isinstance(mark, Added | Recovered) and change_kg:  # of another circuit it is none of this one
            self._moves.moved(mark.id, change_kg)
            self._sound.moved()
            self._history.restart("since.moved")
            self._waits, self._told_courses = {}, {}
            self._moved_at_s = None
        elif isinstance(mark, Correction):
            self._moves.corrected(mark.of, change_kg)

    def _take_instruments(self, mark: Mark) -> None:
        """Forget what was read at rest by what reads otherwise now, or elsewhere."""
        match mark:
            case Corrected(calibration=calibration):
                self._running.forget_rest((calibration.channel,))
            case Placed(channels=channels):
                self._running.forget_rest(channels)
            case Reloaded():
                self._running.forget_rest()

    def _of(self, rig: Rig) -> Situation:
        """Give what is known of the rig, worked out anew where it is another one: it is asked for in every tick."""
        if self._rig is None or self._rig[0] is not rig:
            self._rig = rig, of_rig(rig)
        return self._rig[1]

    def measured_anew(self) -> None:
        """Begin anew: something else measures the figures now, or measures them otherwise."""
        self._moves.forget()
        self._history.restart("since.measured_anew")
        self._waits, self._told_courses = {}, {}

    def interrupted(self, because: str) -> None:
        """Begin to settle anew: for a while something else was read. because: as in `History`."""
        self._history.interrupt(because)
        self._waits, self._told_courses = {}, {}

    def _is_gap(self, before: Pack, pack: Pack) -> bool:
        """Tell whether too much may have happened meanwhile: a machine that slept shows it by the wall clock alone.

        So does one whose clock was set: which of both it was nothing tells, and to judge anew is right of either.
        """
        gap_s = pack.monotonic_s - before.monotonic_s
        if (pack.session, pack.epoch) != (before.session, before.epoch):
            gap_s = max(gap_s, pack.time_s - before.time_s)
        return self._history.unit_s(gap_s) > LONGEST_GAP_S

    def _interrupt(self) -> None:
        """Begin anew: nobody knows what the unit did meanwhile. When its charge was last changed is known."""
        self._running = RunningUnit(Compressor(at_rest=self._running.at_rest))
        self._doubts = LastingDoubts()
        self._told, self._said, self._waits, self._told_courses = (), None, {}, {}
        self._history.interrupt("since.interrupted")

    def advise(
        self,
        pack: Pack,
        rig: Rig,
        barometric_pressure_pa: float,
        repetitions: Mapping[str, Repetition],
        in_view: InView = ONE_CIRCUIT,
        stopped_by: str = "",
        *,
        is_left: bool = False,
    ) -> Given:
        """Give advice on the newest pack. stopped_by: as in `Known`.

        is_left: somebody decided to leave the charge against what was advised: nothing of it is kept as sound.
        """
        unit_s = self._history.unit_s(pack.monotonic_s)
        base = replace(self._of(rig), barometric_pressure_pa=barometric_pressure_pa, repetitions=dict(repetitions))
        failed = self._failed_checks.doubts({channel.name for channel in rig.channels})
        observed = replace(_observed(base, pack, rig).without(doubted(failed)), rested_s=self._running.rested_s(unit_s))
        self._told = (*failed, *self._doubts.follow(doubts(observed), unit_s))
        is_locked = bool(self._locks) and power_in(believed(pack.readings)) is None
        known = Known(
            situation=replace(
                base,
                repetitions={},
                running_s=self._running.running_s(unit_s),
                rested_s=self._running.rested_s(unit_s),
                at_rest=dict(self._running.at_rest),
                found_sound=departures_of(self._found_sound, rig.unit, pack.time_s),
                looked=self._looks.of(rig.unit.circuit),
                checked=_sound_at_the_bench(rig) | self._checked.found,
                moves=tuple(self._moves.made),
            ),
            as_liquid=rig.unit.charge_as_liquid,
            channels=tuple(channel.about() for channel in rig.channels),
            ran_on_arrival=self._running.ran_on_arrival,
            doubts=self._told,
            alarms=self._alarms.standing(),
            said=self._said,
            waits=self._waits,
            told_courses=self._told_courses,
            stopped_in_alarm=self._stopped_in_alarm,
            stopped_on_amps=self._stopped_on_amps,
            stop_asked=self._stop_asked,
            in_view=in_view,
            stopped_by=stopped_by,
            stalled_s=self._stalled.at_s,
            pumped_not_s=self._stalled.pumped_not_s,
            is_locked=is_locked,
            is_live_under_lock=bool(self._locks) and not is_locked,
            held_s=None if is_locked else self._running.held_s(unit_s),
        )
        open_step, figure = self._moves.open_step, governing_figure(rig.unit.metering_device)
        told = tell(known, pack, self._history)
        if self._learn(told.advice, figure):  # what the step did counts at once, or the next one would be told twice
            open_step = self._moves.open_step
            known = msgspec.structs.replace(known, situation=replace(known.situation, moves=tuple(self._moves.made)))
            told = tell(known, pack, self._history)
        advice, self._said, self._waits, self._told_courses, self._stop_asked, is_kept, sound = told
        memory = Memory(self._newest_mark, measured_as(rig), self._running.compressor, open_step)
        history = self._history
        grounds = Grounds(
            monotonic_s=pack.monotonic_s,
            known=known,
            history_since_s=history.since_monotonic_s,
            history_because=history.because,
            speed=history.speed,
            left_alone_since_s=history.left_alone_since_s,
            memory=memory,
        )
        return Given(
            advice.time_s,
            pack.monotonic_s,
            encode(advice),
            encode(grounds),
            self._is_news(advice, pack.monotonic_s),
            figure if is_kept and advice.steadiness[figure].state == "settled" else "",
            frozenset(name for name, it in advice.steadiness.items() if it.state != "settled" or not is_kept),
            _way(advice),
            self._sound.follow(None if known.situation.looked or is_left else sound, rig.unit.circuit, unit_s),
        )

    def _learn(self, advice: Advice, figure: str) -> bool:
        """Remember where the figure that shows the charge has settled; tells whether that answers a step."""
        steadiness, made = advice.steadiness[figure], len(self._moves.made)
        if steadiness.value_dk is not None and steadiness.expanded_dk is not None:
            self._moves.settled(Estimate(steadiness.value_dk, steadiness.expanded_dk / 2))
        return len(self._moves.made) > made

    def _is_news(self, advice: Advice, monotonic_s: float) -> bool:
        said = _gist(advice)
        if said == self._recorded and monotonic_s - self._recorded_at_s < RECORDED_EVERY_S:
            return False
        self._recorded, self._recorded_at_s = said, monotonic_s
        return True


def _sound_at_the_bench(rig: Rig) -> dict[str, Estimate]:
    """Take a simulated unit's probes for checked: they sit where they are, and nobody can hold another one beside."""
    return {it.name: Estimate(0.0, it.standard_uncertainty) for it in rig.channels} if rig.simulated else {}


def _still_expected(found: FoundSounds, mark: Mark) -> FoundSounds:
    """Leave out what counts no more: it was withdrawn, or of its circuit something was put right."""
    if isinstance(mark, BaselineWithdrawn):
        return without(found, (mark.of,))
    if isinstance(mark, Finding) and put_right(mark):
        return without(found, [it.id for it in found.get(mark.circuit, ())])
    return found


def _way(advice: Advice) -> Literal["add", "recover", ""]:
    """Tell which way an advice is to move refrigerant."""
    if advice.next_step is None:
        return ""
    return "add" if advice.next_step.step_kg > 0.0 else "recover"


def _remembered(grounds: bytes) -> Grounds | None:
    """Read grounds; None where another version wrote them otherwise."""
    try:
        return msgspec.json.decode(grounds, type=Grounds)
    except msgspec.ValidationError:
        return None


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
