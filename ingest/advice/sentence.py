"""The words of a decision: what to do now in one sentence, with what speaks for it and what to beware of."""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

import msgspec

from calc.cautions import Step, beware_at_steps
from calc.comparing import CannotTell, Met, NotMet
from calc.diagnosis import Fault, next_check
from calc.doubts.observed import Doubt
from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.judge.alarms import Alarm, AlarmKind, to_stop
from calc.judge.emptiness import Emptiness, Empty
from calc.judge.how_near import is_widely_known, is_worth_telling, off_percent, right_to_percent, within_percent
from calc.judge.next_step import Limit, NextStep
from calc.judge.rest import Found, Rest
from calc.judge.state import (
    AT_REST,
    PROTOCOL,
    Course,
    Decision,
    Reason,
    State,
    asks_for_stop,
    decide,
    is_worth_keeping,
    tolerance_dk,
)
from calc.judge.told_course import ToldCourse, keep_course
from calc.judge.waiting import ToldWait, tell_wait
from calc.motor.start import LEAST_REST_S
from calc.quantities import CHANNELS, FIGURE_INPUTS, Quantity
from calc.sentences import (
    ENGLISH,
    Language,
    Part,
    Sentence,
    ahead,
    amount,
    chance,
    count,
    figure,
    mass,
    masses,
    minutes,
    term,
    text,
)
from calc.settling import (
    NotSteady,
    Settled,
    Settling,
    Why,
    assess,
    assess_both,
    slope_per_minute,
    steady_all_along,
    with_instruments,
)
from calc.situation import Situation
from calc.symptoms import expected_air_split
from calc.targets import CHART_SOURCE, NAMEPLATE_SOURCE, NoTarget, Target
from ingest.advice.history import History
from ingest.advice.messages import (
    alarm_message,
    awaited_message,
    cause_message,
    doubt_message,
    step_message,
    verification_message,
)
from ingest.advice.situation import estimate, situate
from ingest.advice.sound import is_sound
from ingest.advice.wording import Voice
from ingest.wire.held_back import HANDS_DEPEND_ON, LEAD_STOPPED
from ingest.wire.messages import Advice, ChannelAbout, Forecast, Pack, Reading, Steadiness

JUDGED_FIGURES = ("superheat", "subcooling")
LEAST_SHOWN = 0.02
"""A cause that is less likely is not told."""

_DK = Quantity.TEMPERATURE_DIFFERENCE
_LOAD = "compressor_load_ratio"
_MINUTE_S = 60.0


class InView(msgspec.Struct, frozen=True):
    """Which circuit is read, of a unit with several; circuit: empty of any other.

    unmeasured: the others that nobody has read at this visit, nor put aside. safety_class: of what was found in it,
    as `calc.cautions.beware_at_steps` takes it. unlisted: so many circuits more were counted at the unit than its sheet
    has: nobody can have read these.
    """

    circuit: str = ""
    unmeasured: tuple[str, ...] = ()
    safety_class: str = ""
    unlisted: int = 0

    @property
    def is_whole_unit(self) -> bool:
        """Whether no circuit of the unit is left to be read, as far as they were counted."""
        return not self.unmeasured and not self.unlisted


class Known(msgspec.Struct, frozen=True, kw_only=True):
    """What an advice rests on beside the pack and the course of the figures.

    situation: without what is measured. as_liquid: whether refrigerant goes in as liquid. ran_on_arrival: whether it
    runs, and already did when it was first seen. doubts, alarms: those that last, and those that stand. said: the step
    that was told last: it is held until it differs by a whole step of the scale. waits and told_courses: by figure, as
    they were told last. stopped_in_alarm: an alarm stood as it was last seen to run. stopped_on_amps: one of its amps
    did. stop_asked: it was asked to be stopped then.
    stopped_by: the lead who asked to stop and has not said go on; else empty.
    stalled_s: when its newest start stalled, by the diagnosis of it [s since 1970]; None where it did not.
    pumped_not_s: likewise when it last drew current and did not pump.
    is_locked: a lock of this visit is on, and nothing that the rig reads shows power. is_live_under_lock: one is on, as
    far as anybody said, and the rig reads power.
    held_s: since when a delay timer may hold it [s]; None where nobody saw it stop or its power come back, and where it
    is locked.
    """

    situation: Situation
    as_liquid: bool
    channels: tuple[ChannelAbout, ...] = ()
    ran_on_arrival: bool = False
    doubts: tuple[Doubt, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    said: NextStep | None = None
    waits: Mapping[str, ToldWait] = {}
    told_courses: Mapping[str, ToldCourse] = {}
    stopped_in_alarm: bool = False
    stopped_on_amps: bool = False
    stop_asked: bool = False
    in_view: InView = InView()
    stopped_by: str = ""
    stalled_s: float | None = None
    pumped_not_s: float | None = None
    is_locked: bool = False
    is_live_under_lock: bool = False
    held_s: float | None = None


class Told(NamedTuple):
    """An advice, the step, the waits and the courses that it tells, and whether it asks to stop the unit.

    is_kept: whether what has settled is a reading of a circuit at work. sound: what a circuit that is sound was judged
    by; else None.
    """

    advice: Advice
    next_step: NextStep | None
    waits: Mapping[str, ToldWait]
    told_courses: Mapping[str, ToldCourse]
    stop_asked: bool
    is_kept: bool
    sound: Situation | None


def advise(known: Known, pack: Pack, history: History, language: Language = ENGLISH) -> Advice:
    """Say what to do now."""
    return tell(known, pack, history, language).advice


def tell(known: Known, pack: Pack, history: History, language: Language = ENGLISH) -> Told:
    """Say what to do now, with what the next advice is held to."""
    now = situate(known.situation, pack.readings, known.doubts)
    unit_s = history.unit_s(pack.monotonic_s)
    courses: dict[str, Course | None] = {}
    told_courses = {}
    for name, course in _assess_each(now, history).items():
        courses[name], told = _keep(course, known.told_courses.get(name), unit_s)
        if told is not None:
            told_courses[name] = told
    waits = {
        name: tell_wait(history.clock_s(course.seconds_to_settle), known.waits.get(name), pack.monotonic_s)
        for name, course in courses.items()
        if isinstance(course, Settling)
    }
    for name, wait in waits.items():
        courses[name] = _with_wait(courses[name], history.unit_s(max(0.0, wait.until_s - pack.monotonic_s)))
    shown = governing_figure(now.metering_device or "none")
    times_s, values = history.course(shown)
    arrived = known.ran_on_arrival and not history.because
    now = replace(
        now,
        undisturbed_s=history.undisturbed_s(pack.monotonic_s),
        steady_since_arrival=arrived and steady_all_along(times_s, values),
    )
    lately = _lately(now, history, pack.monotonic_s)
    elapsed_s = history.followed_s(pack.monotonic_s)
    decision = decide(
        now,
        lately,
        courses[shown],
        doubts=known.doubts,
        alarms=known.alarms,
        elapsed_s=elapsed_s,
        said=known.said,
        stop_asked=known.stop_asked and not known.stopped_in_alarm,
    )
    load = _load(now, history, pack.monotonic_s)
    words = _Words(known, pack, history, Voice(now.site_pressure_pa, language), decision, lately, load)
    stop_asked = asks_for_stop(decision, asked_before=known.stop_asked)
    is_kept = is_worth_keeping(decision, now)
    sound = lately if is_sound(decision) else None
    waits = {**known.waits, **waits}
    return Told(words.advice(courses), decision.next_step, waits, told_courses, stop_asked, is_kept, sound)


def _keep(course: Course | None, said: ToldCourse | None, unit_s: float) -> tuple[Course | None, ToldCourse | None]:
    return (None, None) if course is None else keep_course(course, said, unit_s)


def _with_wait(course: Course | None, seconds_to_settle: float) -> Course | None:
    return replace(course, seconds_to_settle=seconds_to_settle) if isinstance(course, Settling) else course


def _load(now: Situation, history: History, monotonic_s: float) -> Estimate | None:
    """Take the mean of the compressor's amps over its rated ones; None where they cannot be relied on."""
    sure = now.without(now.late).without(now.unreliable).measured
    load = sure.get(_LOAD)
    if load is None or any(name.startswith("compressor_current") and name not in sure for name in now.measured):
        return None
    mean = history.mean(_LOAD, monotonic_s)
    return load if mean is None else Estimate(mean, load.standard_uncertainty)


def _lately(now: Situation, history: History, monotonic_s: float) -> Situation:
    """Take of each channel its mean over the last minute."""
    relied_on = now.relied_on()
    means = {name: history.mean(name, monotonic_s) for name in relied_on.measured}
    averaged = {
        name: found if (mean := means[name]) is None else Estimate(mean, found.standard_uncertainty)
        for name, found in relied_on.measured.items()
    }
    return replace(relied_on, measured=averaged, barometric_pressure_pa=now.site_pressure_pa)


def _assess_each(now: Situation, history: History) -> dict[str, Course | None]:
    """Judge whether superheat and subcooling have settled, each beside the other; None of one that is unknown."""
    one, other = JUDGED_FIGURES
    series = {name: history.course(name) for name in JUDGED_FIGURES}
    known = [(name, beside) for name, beside in ((one, other), (other, one)) if name in now.measured]
    if len(known) == len(JUDGED_FIGURES) and series[one][0] == series[other][0]:
        found = dict(zip(JUDGED_FIGURES, assess_both(*series[one], series[other][1]), strict=True))
    else:
        found = {name: assess(*series[name], beside=series[beside]) for name, beside in known}
    return {name: _read(found[name], now.measured[name], history) if name in found else None for name in JUDGED_FIGURES}


def _read(course: Course, figure: Estimate, history: History) -> Course:
    """Add to a course what the instruments may be off by."""
    match course:
        case Settled(value):
            return Settled(with_instruments(value, figure.standard_uncertainty))
        case Settling(ahead, seconds_left):
            return Settling(with_instruments(ahead, figure.standard_uncertainty), seconds_left)
        case NotSteady():
            return replace(course, seconds=history.clock_s(course.seconds))  # it is only told


class _Words:
    """Puts one decision into words."""

    def __init__(
        self,
        known: Known,
        pack: Pack,
        history: History,
        voice: Voice,
        decision: Decision,
        lately: Situation,
        load: Estimate | None,
    ) -> None:
        self.known = known
        self.pack = pack
        self.history = history
        self.voice = voice
        self.decision = decision
        self.load = load
        self.split_source = (expected_air_split(lately) or (None, ""))[1]

    def advice(self, courses: dict[str, Course | None]) -> Advice:
        """Word all of it."""
        it, voice = self.decision, self.voice
        beware = beware_at_steps(
            self.known.situation.refrigerant, self._acts(), _told_acts(it), found=self.known.in_view.safety_class
        )
        return Advice(
            time_s=round(self.pack.time_s, 3),
            sentence=voice.word(self.headline()),
            details=[
                voice.word(detail)
                for detail in (*self.details(courses[it.figure]), *self.doubtful_alarms(), *self.silent_alarms())
            ],
            cautions=_cautions(beware.now, voice),
            cautions_once=_cautions(beware.once, voice),
            steadiness={name: self.steadiness(name, course) for name, course in courses.items()},
            state=State.LOOK.value if self.is_stopped else it.state.value,
            doubts=[doubt_message(doubt, voice) for doubt in self.known.doubts],
            alarms=[alarm_message(alarm, voice) for alarm in it.alarms],
            verification=None
            if it.verification is None
            else verification_message(it.verification, self.split_source, voice),
            causes=[cause_message(cause, voice) for cause in it.causes if cause.there >= LEAST_SHOWN],
            next_step=None
            if it.next_step is None or self.is_stopped
            else step_message(it.next_step, as_liquid=self.known.as_liquid),
            awaited=None if it.awaited is None else awaited_message(it.awaited, self.history),
            not_judged=it.not_judged,
        )

    @property
    def is_stopped(self) -> bool:
        """Whether a lead's stop is what is told: before whatever is to be done, but for what an alarm asks."""
        it = self.decision
        return bool(self.known.stopped_by) and it.state is not State.STOP and it.reason is not Reason.REFRIGERANT_IN_AIR

    def headline(self) -> Sentence:
        """Say what to do now."""
        if self.is_stopped:
            return Sentence(LEAD_STOPPED, (text("lead", self.known.stopped_by),))
        return self._to_do()

    def _to_do(self) -> Sentence:
        it = self.decision
        match it.reason:
            case Reason.ALARM:
                return to_stop([alarm.kind for alarm in it.alarms])
            case Reason.NO_FIGURE:
                return self._what_to_connect()
            case Reason.DOUBT:
                return Sentence("headline.doubt", (term("channels", *(it.doubt.channels if it.doubt else ())),))
            case Reason.CONDITION:
                name = it.condition.name if it.condition else "target"
                return Sentence("headline.condition", (term("condition", name),))
            case Reason.HELD_BACK:
                return self._held_back()
            case Reason.ANOTHER_CAUSE | Reason.SOME_CAUSE:
                return Sentence(_cause_headline(it), self._parts())
            case Reason.AT_REST:
                return self._at_rest()
            case Reason.NEAR_ENOUGH | Reason.WITHIN_INSTRUMENTS | Reason.VERIFIED:
                return self._right("headline.as_near" if self._is_as_near_as_told() else _HEADLINES[it.reason])
            case Reason.UNDERCHARGED | Reason.OVERCHARGED:
                return self._to_move()
        return Sentence(_HEADLINES[it.reason], self._parts())

    def _at_rest(self) -> Sentence:
        kind = _at_rest_headline(self.decision)
        if kind == "headline.starts" and self.known.ran_on_arrival:
            kind = "headline.not_parting"  # nobody saw it start
        if kind == "headline.not_parting" and self.decision.drawn_a is not None:
            return Sentence(kind, (figure("amps", self.decision.drawn_a, Quantity.CURRENT),))
        if kind != "headline.at_rest":
            return Sentence(kind)
        if self.known.stalled_s is not None:
            return Sentence("headline.stalled", self._ago(self.known.stalled_s))
        if self.known.pumped_not_s is not None:
            return Sentence("headline.pumped_not", self._ago(self.known.pumped_not_s))
        return Sentence(kind)

    def _ago(self, time_s: float) -> tuple[Part, ...]:
        ago_s = max(0.0, self.pack.time_s - time_s)
        said = Sentence("ago.minutes", (minutes("number", ago_s),)) if ago_s >= _MINUTE_S else Sentence("ago.now")
        return _nested("ago", said)

    def _right(self, kind: str) -> Sentence:
        """Say that the charge is right: of which circuit of several, and which one is still to be read."""
        parts, of = (*self._parts(), *self._known()), self.known.in_view
        if not of.circuit:
            if of.unlisted:
                return Sentence(f"{kind}_unlisted", (count("more", of.unlisted), *parts))
            return Sentence(kind, parts)
        named = (text("circuit", of.circuit), *parts)
        if of.unmeasured:
            return Sentence(f"{kind}_so_far", (text("other", of.unmeasured[0]), *named))
        if of.unlisted:
            return Sentence(f"{kind}_of_unlisted", (count("more", of.unlisted), *named))
        return Sentence(f"{kind}_of", named)

    def _known(self) -> tuple[Part, ...]:
        """Say to how much of the charge that is known: what the figure is off by, and what it may be off by."""
        left = self.decision.charge_left
        if left is None:
            return _nested("known", Sentence("known.not"))
        kind = "known.widely" if self._is_as_near_as_told() else "known.within"
        return _nested("known", Sentence(kind, (count("within", right_to_percent(left)),)))

    def _is_as_near_as_told(self) -> bool:
        """Tell whether a charge that is left alone is known too widely to be called right."""
        it = self.decision
        is_left = it.reason in (Reason.NEAR_ENOUGH, Reason.VERIFIED)
        return is_left and it.charge_left is not None and is_widely_known(it.charge_left)

    def details(self, course: Course | None) -> list[Sentence]:
        """Say what speaks for it, and of which circuit of several it is."""
        said, of = self._details(course), self.known.in_view
        if self.is_stopped:
            return [it for it in said if it.kind in HANDS_DEPEND_ON]
        if not of.circuit or self.decision.state in (State.NEAR_ENOUGH, State.DONE, State.STOP):
            return said  # there the headline names it, or the alarm is of whatever is read
        return [Sentence("detail.circuit", (text("circuit", of.circuit),)), *said]

    def _details(self, course: Course | None) -> list[Sentence]:
        it = self.decision
        if it.state is State.STOP or it.reason is Reason.REFRIGERANT_IN_AIR:
            return self._before_all_else()
        if it.empty is not None:
            return _empty(it.empty, it.doubt)
        if it.doubt is not None and it.reason is Reason.DOUBT:
            return [it.doubt.reason, it.doubt.fix]
        if it.reason is Reason.LATE:
            return [Sentence("detail.late", (term("figure", it.figure),))]
        if it.reason is Reason.NO_FIGURE:
            return [self._because(self._unknown(it.figure))]
        if it.reason in (Reason.NOT_STEADY, Reason.STILL_SETTLING):
            return self._waiting(course)
        if it.reason in _DETAILS:
            return [_DETAILS[it.reason]]
        if it.reason is Reason.AT_REST:
            stopped = [Sentence("detail.stopped_in_alarm")] if self.known.stopped_in_alarm else []
            stopped += [Sentence("detail.pumps_not")] if self._at_rest().kind == "headline.pumped_not" else []
            stopped += self._starts_by_itself()
            if it.rest is None or (_is_awaited(it.rest) and not it.stop_asked):
                return stopped  # who stands before a unit that stands is not told to wait for a check nobody asked for
            return [*stopped, *_at_rest(it.rest)]
        return self._settled()

    def _before_all_else(self) -> list[Sentence]:
        """Say what there is to do beside the alarms; beside refrigerant in the air nothing."""
        it, kinds = self.decision, {alarm.kind for alarm in self.decision.alarms}
        if it.reason is Reason.REFRIGERANT_IN_AIR:
            return []
        if it.reason is Reason.AT_REST:
            return [Sentence("detail.pumps_not")]
        if it.reason is Reason.VACUUM_LIVE:
            return [] if it.doubt is None else [it.doubt.reason, it.doubt.fix]
        if AlarmKind.REFRIGERANT_IN_AIR in kinds:
            return []  # who leaves sees to nothing else, and to no disconnect
        if it.in_air is not None:
            return [Sentence(_HEADLINES[Reason.REFRIGERANT_IN_AIR], self._parts())]
        return [] if it.empty is None or it.empty.kind not in _VACUUMS else [Sentence(_VACUUMS[it.empty.kind])]

    def _starts_by_itself(self) -> list[Sentence]:
        """Say why a unit that stands may start without a hand at it."""
        if self.known.is_locked:
            return []
        kind = self._at_rest().kind
        live = [Sentence("detail.live_under_lock")] if self.known.is_live_under_lock else []
        if kind == "headline.stalled" or (self.known.stopped_on_amps and kind == "headline.at_rest"):
            return [*live, Sentence("detail.protector"), *self._start_delay()]
        return [*live, *self._start_delay()]

    def _start_delay(self) -> list[Sentence]:
        """Say for how long a delay timer may still hold a unit that is called: it is no fault, and nothing to hunt."""
        held_s = self.known.held_s
        is_held = self._at_rest().kind in ("headline.at_rest", "headline.pumped_not")
        if held_s is None or held_s >= LEAST_REST_S or not is_held:
            return []
        return [Sentence("detail.start_delay", (ahead("left", self.history.clock_s(LEAST_REST_S - held_s)),))]

    def doubtful_alarms(self) -> list[Sentence]:
        """Say what to stop for, were readings right that are in doubt."""
        return [
            Sentence("detail.alarm_in_doubt", _nested("alarm", alarm.says)) for alarm in self.decision.alarms_in_doubt
        ]

    def steadiness(self, name: str, course: Course | None) -> Steadiness:
        """Say how steady a figure is."""
        slope = slope_per_minute(*self.history.course(name))
        slope = None if slope is None else round(slope, 3)
        if self.decision.reason in AT_REST:  # nothing settles there, and nothing is forecast
            return Steadiness("unknown", self.voice.word(Sentence("condition.at_rest")))
        match course:
            case None:
                return Steadiness("unknown", self.voice.word(self._unknown(name)))
            case Settled(value):
                value_dk, expanded_dk = round(value.value, 3), round(value.expanded(), 3)
                return Steadiness("settled", slope_dk_per_min=slope, value_dk=value_dk, expanded_dk=expanded_dk)
            case Settling(ahead, seconds_left):
                seconds_s = round(self.history.clock_s(seconds_left), 0)
                forecast = Forecast(round(ahead.value, 3), round(ahead.expanded(), 3), seconds_s)
                return Steadiness("settling", slope_dk_per_min=slope, forecast=forecast)
        swing_dk = None if course.swing_k is None else round(course.swing_k, 2)
        return Steadiness("not_steady", self.voice.word(course.sentence), course.why.value, swing_dk, slope)

    # --- before anything can be said

    def elsewhere(self) -> list[str]:
        """Name the channels that do not read the circuit in view."""
        return [
            name for name, reading in self.pack.readings.items() if reading.quality == "elsewhere" and name in CHANNELS
        ]

    def silent_alarms(self) -> list[Sentence]:
        """Say which channels cannot raise an alarm, though they read something."""
        away = self.elsewhere()
        return [Sentence("detail.silent", (term("channels", *away),))] if away else []

    def _what_to_connect(self) -> Sentence:
        instruments = {channel.name: channel.instrument for channel in self.known.channels}
        shown = term("figure", self.decision.figure)
        for name in FIGURE_INPUTS[self.decision.figure]:
            channel = term("channel", name)
            if name not in instruments:
                return Sentence("headline.add_instrument", (channel, shown))
            if name in self.elsewhere():
                return Sentence("headline.elsewhere", (channel, shown))
            if estimate(self.pack.readings.get(name)) is None:
                return Sentence("headline.connect", (text("instrument", instruments[name]), channel))
        return Sentence("headline.check_pressure", (shown,))

    def _unknown(self, name: str) -> Sentence:
        reading: Reading | None = self.pack.readings.get(name)
        if reading is None:
            return Sentence("condition.not_known")
        return Sentence("as_it_stands", (text("said", reading.reason),))

    def _because(self, reason: Sentence) -> Sentence:
        shown = term("figure", self.decision.figure)
        if reason.kind == "condition.not_known":
            return Sentence("detail.unknown", (shown,))
        return Sentence("detail.because", (shown, *_nested("reason", reason)))

    def _waiting(self, course: Course | None) -> list[Sentence]:
        shown = term("figure", self.decision.figure)
        if isinstance(course, Settling):
            left = ahead("ahead", self.history.clock_s(course.seconds_to_settle))
            return [Sentence("detail.heading", (shown, figure("value", course.forecast, _DK), left))]
        if not isinstance(course, NotSteady):
            return []
        said = [self._because(course.sentence)]
        if course.why is Why.JUST_BEGUN and self.history.because:
            said.insert(0, Sentence("detail.since", (shown, *_nested("since", Sentence(self.history.because)))))
        awaited = self.decision.awaited
        if awaited is not None:
            left_s = self.history.clock_s(awaited.seconds_left)
            said.append(Sentence("detail.first_forecast", (ahead("ahead", left_s),)))
        return said

    # --- once the figure has settled

    def _parts(self) -> tuple[Part, ...]:
        """Give whatever a headline may speak of."""
        it, parts = self.decision, [term("figure", self.decision.figure)]
        if it.value is not None:
            parts.append(figure("value", it.value, _DK))
        if it.in_air is not None:
            parts.append(figure("found", it.in_air, Quantity.CONCENTRATION))
        if isinstance(it.target, Target):
            parts += [
                amount("target", it.target.value.value, _DK),
                term("stands", _STANDS.get(it.target.source, "table")),
            ]
        if it.lead is not None:
            parts += [term("fault", it.lead.fault.value), chance("chance", it.lead.probability)]
            parts += [term("together", *(fault.value for fault in it.lead.together))] if it.lead.together else []
        return tuple(parts)

    def _to_move(self) -> Sentence:
        """Say how much to move, and what to look for before."""
        it = self.decision
        if it.added_kg is not None and it.next_step is not None:
            kind = "headline.recover_added_liquid" if self.known.as_liquid else "headline.recover_added"
            return Sentence(kind, (mass("mass", it.next_step.step_kg), *self._parts()))
        first = f"{'' if self._has_added() else '_first'}{'' if it.freezing_k is None else '_ice'}"
        return _move(it.next_step, as_liquid=self.known.as_liquid, first=first)

    def _held_back(self) -> Sentence:
        lead = self.decision.lead
        if lead is None or lead.rule_out_first is None:
            return Sentence("headline.not_weighed")
        return Sentence("headline.held_back", (term("fault", lead.rule_out_first.value),))

    def _settled(self) -> list[Sentence]:
        it = self.decision
        said = [] if it.reason in _SAYS_THE_FIGURE else [Sentence("detail.settled", self._parts())]
        if isinstance(it.target, NoTarget):
            said = [it.target.reason]
        if it.freezing_k is not None:  # before all else: ice writes the same figures as many a fault
            said.insert(0, Sentence("detail.ice", (figure("dew_point", it.freezing_k, Quantity.TEMPERATURE),)))
        look, compared = self._what_to_look_at(), self._comparison()
        if it.may_move is not None:
            look = []  # there is something to be done about the charge yet
        said += [*compared, *look] if it.state in (State.NEAR_ENOUGH, State.DONE) else [*look, *compared]
        said += self._of_the_unit()
        if it.next_step is not None:
            said += [*self._plate_again(), _in_all(it.next_step)]
        said += self._above_rla()
        if it.awaited is not None and it.awaited.what == "verification":
            left = ahead("ahead", self.history.clock_s(it.awaited.seconds_left))
            said.append(Sentence("detail.formal", (left, minutes("of", it.awaited.of_seconds))))
        if it.state is State.NEAR_ENOUGH and it.verification is not None and it.verification.unmet:
            names = (condition.name for condition in it.verification.unmet)
            said.append(Sentence("detail.open", (term("conditions", *names),)))
        if it.state in (State.NEAR_ENOUGH, State.DONE):
            said += self._not_ruled_out()
            said.append(Sentence("detail.not_judged", (term("what", *it.not_judged),)))
        if it.state is State.DONE and self.known.in_view.is_whole_unit:
            said.append(Sentence("detail.finish"))
        return said

    def _not_ruled_out(self) -> list[Sentence]:
        """Name what is unlikely beside "nothing wrong", and told among the causes all the same."""
        told = [it for it in self.decision.causes if it.there >= LEAST_SHOWN and it.fault not in _OF_THE_CHARGE]
        faults = dict.fromkeys(fault.value for it in told for fault in (it.together or (it.fault,)))
        return [Sentence("detail.not_ruled_out", (term("faults", *faults),))] if faults else []

    def _of_the_unit(self) -> list[Sentence]:
        """Say with what it is compared, where that is more than what units in general show, or too little."""
        if self.decision.is_unknown_unit:
            return [Sentence("detail.unknown_unit")]
        is_known = self.decision.causes and self.known.situation.found_sound
        return [Sentence("detail.known_unit")] if is_known else []

    def _plate_again(self) -> list[Sentence]:
        """Send to the plate before the first move: of what was typed wrongly no reading tells."""
        situation, target = self.known.situation, self.decision.target
        if situation.moves:
            return []
        refrigerant = text("refrigerant", situation.refrigerant)
        if isinstance(target, NoTarget) or target.source != NAMEPLATE_SOURCE:
            return [Sentence("detail.plate_again", (refrigerant,))]
        printed = (term("figure", self.decision.figure), amount("target", target.value.value, _DK))
        return [Sentence("detail.plate_again_target", (refrigerant, *printed))]

    def _share_of_charge(self, *, is_by_table: bool) -> list[Sentence]:
        """Say which share of the charge the figure comes to, where it is off, and what would tell more than a table."""
        left, said = self.decision.charge_left, list[Sentence]()
        if left is None or self.decision.reason not in _SAYS_THE_SHARE:
            return []
        if is_worth_telling(left):
            kind = "detail.charge_short" if left.value > 0 else "detail.charge_over"
            said.append(Sentence(kind, (count("off", off_percent(left)), count("share", within_percent(left)))))
        return [*said, Sentence("detail.weigh_in")] if is_by_table else said

    def _above_rla(self) -> list[Sentence]:
        """Say that the amps are above RLA; nothing where that is not said."""
        if self.load is None or self.load.value <= 1.0 or self.decision.causes == ():
            return []
        return [Sentence("detail.above_rla", (figure("load", self.load, Quantity.RATIO),))]

    def _acts(self) -> tuple[Step, ...]:
        """Tell what the next hand would do: what to beware of depends on it."""
        stalled = (Step.SWITCH_OFF, Step.DISCHARGE) if self.headline().kind == "headline.stalled" else ()
        return (*_next_acts(self.decision), *stalled, *(Step.MEASURE for _ in self._above_rla()))

    def _has_added(self) -> bool:
        return any(move.mass_kg > 0 for move in self.known.situation.moves)

    def _what_to_look_at(self) -> list[Sentence]:
        it = self.decision
        if it.condition is not None:
            return [it.condition.says]
        lead = it.lead
        if lead is None or it.reason in (Reason.TOO_CLOSE, Reason.TABLE_ALONE, Reason.NO_CHARGE):
            return []
        if lead.fault is Fault.NOTHING_WRONG and it.state not in (State.NEAR_ENOUGH, State.DONE):
            return []
        if it.reason is Reason.UNDERCHARGED and self._has_added():
            return []  # that leaks come first was said before the first step
        first = (
            [] if it.check_first is None else [it.check_first.fix]
        )  # a clamp is soon seated, and nothing stops for it
        if lead.held_back is None:
            return [*first, lead.next_check]
        if lead.rule_out_first is None or lead.held_back.kind in _SAYS_HOW:
            return [*first, lead.held_back]
        how = (cause.next_check for cause in it.causes if cause.fault is lead.rule_out_first)
        return [*first, next(how, next_check(lead.rule_out_first))]  # the headline has said what to rule out

    def _comparison(self) -> list[Sentence]:
        """Compare with the target, as far as the instruments allow."""
        it = self.decision
        verified, target = it.verification, it.target
        if verified is None or verified.comparison is None or isinstance(target, NoTarget):
            return []
        limit, source = amount("limit", tolerance_dk(it.figure), _DK), text("source", PROTOCOL.limits[it.figure].source)
        match verified.comparison:
            case Met(probability):
                said = [Sentence("detail.within", (limit, chance("chance", probability), source))]
            case NotMet(probability, side):
                where = term("side", "below" if side == "low" else "above")
                said = [Sentence("detail.beyond", (limit, where, chance("chance", probability), source))]
            case CannotTell() if it.reason is Reason.WITHIN_INSTRUMENTS:
                said = [Sentence("detail.better_instrument", (limit, source, term("channel", it.weakest)))]
                if it.may_move is not None or self.known.situation.nameplate_charge_kg is not None:
                    said.append(_may_move(it.may_move, as_liquid=self.known.as_liquid))
            case CannotTell():
                said = [Sentence("detail.cannot_tell", (limit, source))]
        if it.next_step is not None and not isinstance(verified.comparison, NotMet):
            said.append(Sentence("detail.to_target"))
        if target.source != NAMEPLATE_SOURCE:
            said.append(Sentence("detail.target_source", (text("source", target.source),)))
        return [*said, *self._share_of_charge(is_by_table=target.source not in _STANDS)]


_STANDS = {NAMEPLATE_SOURCE: "nameplate", CHART_SOURCE: "chart"}
"""Where a target stands that is this unit's own."""
_HEADLINES = {
    reason: f"headline.{reason.name.lower()}"
    for reason in Reason
    if reason
    not in (
        Reason.ALARM,
        Reason.NO_FIGURE,
        Reason.DOUBT,
        Reason.CONDITION,
        Reason.HELD_BACK,
        Reason.ANOTHER_CAUSE,
        Reason.SOME_CAUSE,
        Reason.AT_REST,
        Reason.UNDERCHARGED,
        Reason.OVERCHARGED,
    )
}
_VACUUMS = {
    Emptiness.VACUUM: _HEADLINES[Reason.VACUUM],
    Emptiness.VACUUM_LIVE: _HEADLINES[Reason.VACUUM_LIVE],
}
_DETAILS = {
    Reason.HEATING: Sentence("detail.heating"),
    Reason.DEFROST: Sentence("detail.defrost"),
}
_OF_THE_CHARGE = (Fault.NOTHING_WRONG, Fault.UNDERCHARGE, Fault.OVERCHARGE)
_SAYS_THE_SHARE = (Reason.NEAR_ENOUGH, Reason.WITHIN_INSTRUMENTS, Reason.VERIFIED, Reason.TOO_CLOSE)
_SAYS_HOW = ("held_back.whole_charge", "held_back.unseen", "held_back.found", "held_back.rest_may_hide_air")
"""Reasons why a charge is held back that say themselves what to do about it."""
_SAYS_THE_FIGURE = (
    Reason.NO_TARGET, Reason.TABLE_ALONE, Reason.NEAR_ENOUGH, Reason.WITHIN_INSTRUMENTS, Reason.VERIFIED
)  # fmt: skip


def _nested(place: str, inner: Sentence) -> tuple[Part, ...]:
    return (Part(place, "sentence", terms=(inner.kind,)), *inner.parts)


def _cautions(sentences: tuple[Sentence, ...], voice: Voice) -> tuple[str, ...]:
    """Word what to beware of: no unit stands in it."""
    return tuple(voice.word(sentence).us for sentence in sentences)


def _next_acts(decision: Decision) -> tuple[Step, ...]:
    """Tell what a decision sends a hand to do; nothing while there is only to wait."""
    if decision.reason is Reason.DOUBT and decision.doubt is not None:
        at_hose = any(name.endswith("_pressure") for name in decision.doubt.channels)
        return (Step.DISCONNECT, Step.TOUCH) if at_hose else (Step.TOUCH,)
    if decision.reason is Reason.ALARM:
        acts = [step for alarm in decision.alarms for step in _AT_ALARM[alarm.kind]]
    elif decision.may_move is not None:
        acts = [Step.CHARGE if decision.may_move.step_kg > 0 else Step.RECOVER]
    elif decision.reason is Reason.AT_REST:
        acts = list(_AT_REST[_at_rest_headline(decision)])
    elif decision.reason is Reason.CONDITION and decision.condition is not None:
        acts = list(_AT_CONDITION.get(decision.condition.name, (Step.LOOK,)))
    elif _is_renewed(decision):
        acts = list(_AT_REST["headline.at_rest_higher"])
    elif decision.reason in _LOOKS:
        acts = list(_AT_CHECK.get(_looked_for(decision), (Step.LOOK,)))
    elif decision.reason in _ACTS:
        acts = list(_ACTS[decision.reason])
    else:
        acts = list(_AT_CHARGE.get(decision.lead.fault, ())) if decision.lead is not None else []
    if decision.check_first is not None:
        acts.insert(0, Step.TOUCH)
    return tuple(dict.fromkeys(acts))


def _is_air_seen(decision: Decision) -> bool:
    """Tell whether the pressure at rest has shown the air that leads the causes."""
    return decision.lead is not None and decision.lead.next_check.kind == "check.non_condensables_seen"


def _is_renewed(decision: Decision) -> bool:
    """Tell whether the charge is to be weighed in afresh: air was seen, or a pressure at rest may hide it."""
    if decision.reason is Reason.HELD_BACK:
        held = None if decision.lead is None else decision.lead.held_back
        return held is not None and held.kind == "held_back.rest_may_hide_air"
    return decision.reason is Reason.ANOTHER_CAUSE and _is_air_seen(decision)


def _cause_headline(decision: Decision) -> str:
    """Name what to say of the cause that leads: of two together both, of air that was seen what to do about it."""
    if decision.lead is not None and decision.lead.together:
        return "headline.several"
    return "headline.renew" if _is_air_seen(decision) else f"headline.{decision.reason.name.lower()}"


def _told_acts(decision: Decision) -> tuple[Step, ...]:
    """Tell what the checks of all the causes that are told would have hands do, were somebody to go on to them."""
    told = [cause.fault for cause in decision.causes if cause.there >= LEAST_SHOWN]
    return tuple(dict.fromkeys(step for fault in told for step in _AT_CHECK.get(fault, ())))


def _looked_for(decision: Decision) -> Fault | None:
    """Name the cause whose check the sentence sends to."""
    lead = decision.lead
    if lead is None:
        return None
    return lead.rule_out_first if decision.reason is Reason.HELD_BACK else lead.fault


_AT_CHARGE = {Fault.UNDERCHARGE: (Step.CHARGE,), Fault.OVERCHARGE: (Step.RECOVER,)}
_AT_CHECK: Mapping[Fault | None, tuple[Step, ...]] = {
    Fault.RESTRICTION: (Step.TOUCH,),
    Fault.OVERFEEDING: (Step.TOUCH,),
    Fault.VALVE_LEAKAGE: (Step.MEASURE,),
    Fault.SEVERAL: (Step.LOOK, Step.TOUCH),
    Fault.INSTRUMENT_OFF: (Step.TOUCH, Step.DISCONNECT),
    Fault.NOT_ONE_OF_THESE: (Step.TOUCH,),
    Fault.NON_CONDENSABLES: (),  # it is stopped at its thermostat
}
"""What the check of a cause has hands do beside a panel, a fan or a wire: where it is not here, that is all."""

_AT_CONDITION = {"expansion_valve_superheat": (Step.TOUCH,), "outdoor_air_temperature": (Step.WEIGH_IN,)}
"""Likewise of a condition."""

_AT_REST: Mapping[str, tuple[Step, ...]] = {
    "headline.at_rest": (Step.LOOK,),
    "headline.pumps_not": (Step.SWITCH_OFF, Step.LOOK),
    "headline.starts": (Step.SWITCH_OFF, Step.LOOK),
    "headline.not_parting": (Step.SWITCH_OFF, Step.LOOK),
    "headline.at_rest_waited": (),
    "headline.at_rest_read": (Step.LOOK,),
    "headline.at_rest_higher": (Step.DISCONNECT, Step.RECOVER),
}
"""Likewise of a unit at rest: it may start by itself, and a probe comes off under pressure."""

_LOOKS = (Reason.ANOTHER_CAUSE, Reason.SOME_CAUSE, Reason.HELD_BACK, Reason.RIGHT_YET)

_AT_ALARM = {
    AlarmKind.FLOODBACK: (Step.TOUCH, Step.MEASURE),
    AlarmKind.HEAD_PRESSURE: (Step.LOOK,),
    AlarmKind.COMPRESSOR_CURRENT: (Step.LOOK, Step.MEASURE),
    AlarmKind.CYLINDER: (Step.RECOVER,),
    AlarmKind.DISCHARGE_LINE: (Step.TOUCH,),
    AlarmKind.REFRIGERANT_IN_AIR: (),  # who leaves has nothing in hand
}
_ACTS = {
    Reason.HEATING: (Step.BY_A_HEAT_PUMP,),
    Reason.DEFROST: (Step.BY_A_HEAT_PUMP,),
    Reason.NO_FIGURE: (Step.CONNECT,),
    Reason.REFRIGERANT_IN_AIR: (Step.DISCONNECT,),  # what is moved is shut off
    Reason.VACUUM: (Step.EVACUATE,),
    Reason.VACUUM_LIVE: (Step.SWITCH_OFF, Step.EVACUATE),
    Reason.FALLING: (Step.RECOVER,),
    Reason.OPEN_OR_EMPTY: (Step.CONNECT,),
    Reason.EMPTY: (Step.PRESSURE_TEST, Step.EVACUATE),
    Reason.NEAR_ENOUGH: (Step.LOOK, Step.DISCONNECT),
    Reason.WITHIN_INSTRUMENTS: (Step.LOOK, Step.DISCONNECT),
    Reason.VERIFIED: (Step.LOOK, Step.DISCONNECT),
    Reason.UNDERCHARGED: (Step.CHARGE,),
    Reason.OVERCHARGED: (Step.RECOVER,),
}
"""What the sentence asks a hand to do next."""


def _move(step: NextStep | None, *, as_liquid: bool, first: str) -> Sentence:
    """Word a step: a blend goes in and comes out as liquid, or what stays is another blend."""
    if step is None:
        return Sentence("headline.not_weighed")
    to_move = mass("mass", step.step_kg)
    if step.step_kg < 0:
        return Sentence("headline.recover_liquid" if as_liquid else "headline.recover", (to_move,))
    return Sentence(
        f"headline.add{first}",
        (to_move, term("phase", "liquid" if as_liquid else "vapour")),
    )


def _may_move(step: NextStep | None, *, as_liquid: bool) -> Sentence:
    if step is None:
        return Sentence("detail.no_more")
    recover = "detail.may_recover_liquid" if as_liquid else "detail.may_recover"
    may = "detail.may_add" if step.step_kg > 0 else recover
    return Sentence(may, (mass("mass", step.step_kg), term("phase", "liquid" if as_liquid else "vapour")))


def _at_rest_headline(decision: Decision) -> str:
    """Name what to say of a unit at rest: nobody is sent to find out why it stands where that was asked for."""
    rest = decision.rest
    if decision.drawn_a is not None:
        if decision.starts:
            return "headline.starts"
        return "headline.pumps_not" if decision.pumps_not else "headline.not_parting"
    if rest is not None and rest.found is Found.HIGHER:
        return "headline.at_rest_higher"
    if not decision.stop_asked or rest is None:
        return "headline.at_rest"
    return "headline.at_rest_waited" if _is_awaited(rest) else "headline.at_rest_read"


def _empty(empty: Empty, doubt: Doubt | None) -> list[Sentence]:
    """Say what shows that there is next to nothing in it; of a reading in doubt what to look at."""
    if empty.kind in _VACUUMS or empty.expected_pa is None or empty.air_k is None:
        return [] if doubt is None else [doubt.reason, doubt.fix]
    if empty.kind in (Emptiness.FALLING, Emptiness.RISING):
        return []  # liquid that boils stands colder than the air, and nobody knows how much
    parts = (
        figure("found", empty.found_pa, Quantity.PRESSURE),
        amount("expected", empty.expected_pa, Quantity.PRESSURE),
        figure("air", empty.air_k, Quantity.TEMPERATURE),
        term("beside", empty.beside),
    )
    return [Sentence("detail.empty", parts)]


def _is_awaited(rest: Rest) -> bool:
    return rest.found in (None, Found.NOT_ONE)


def _at_rest(rest: Rest) -> list[Sentence]:
    """Say what to wait for at rest, and what came of it."""
    parts = [
        figure("expected", rest.expected_pa, Quantity.PRESSURE),
        figure("air", rest.air_k, Quantity.TEMPERATURE),
        term("beside", rest.beside),
        minutes("of", rest.of_seconds),
    ]
    if rest.measured_pa is not None and rest.over_dk is not None:
        under = Estimate(-rest.over_dk.value, rest.over_dk.standard_uncertainty)
        parts += [figure("found", rest.measured_pa, Quantity.PRESSURE)]
        parts += [figure("over", rest.over_dk, _DK), figure("under", under, _DK)]
    said = [Sentence(f"detail.rest_{_came_of(rest)}", tuple(parts))]
    return [*said, Sentence("detail.rest_found_air")] if rest.found is Found.HIGHER else said


def _came_of(rest: Rest) -> str:
    if rest.found is None:
        return "waited_indoors" if rest.beside == "return_air" else "waited"
    if rest.found is Found.NO_AIR and not rest.indoors_known:
        return "no_air_outdoors"
    return rest.found.name.lower()


def _in_all(step: NextStep) -> Sentence:
    kinds = {
        Limit.LARGEST: "detail.in_all_largest",
        Limit.OVERSHOOT: "detail.in_all_overshoot",
        Limit.TRIAL: "detail.in_all_trial",
        None: "detail.in_all",
    }
    parts = (mass("needed", step.needed_kg.value), masses("likely", *step.needed_interval_kg))
    return Sentence(kinds[step.limited_by], parts)
