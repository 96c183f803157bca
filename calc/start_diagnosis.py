"""What the first ten seconds after a call say: nothing asked, it is held, it stalls, it turns backwards, it runs.

Clear rules, from the plainest to the finest: is there a supply, is there a call, does it draw, does it come up, does it
pump. Each speaks only where the instruments can tell it from the others; else it is said what would. A limit without
another source is common practice, no source.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calc.cautions import Step
from calc.elementwise import within
from calc.errors import SeriesError
from calc.motor.current_trace import LONGEST_START_S
from calc.motor.start import LEAST_REST_S
from calc.quantities import Quantity
from calc.refrigerants import get
from calc.saturation import bubble_point, dew_point
from calc.sentences import Part, Sentence, amount, seconds, term

Array = NDArray[np.float64]

_DRAWS = 0.1
"""Of the rated current: less is nothing."""
_STARTING = 2.0
"""Of the rated current: it has not come up to speed yet, as in `calc.motor.current_trace`."""
_STALLED_S = 2.0
"""A compressor takes some tenths of a second."""
_SLOW_S = 1.0
_LIGHT, _HEAVY = 0.5, 0.6
"""Of RLA, in the first seconds after a start from equal pressures, when a compressor has little to do: a sound motor of
one phase draws less than the first. Behind a weak capacitor it draws more, for its field is lopsided."""
_FAN_HIGH = 1.3
_TRIPPING = 1.4
"""Of RLA: near what an overload carries, from memory."""
_DEAD = 0.15
"""Of the nominal volts, or of the other phases' amps: nothing is there."""
_ONE_OFF = 0.85
"""Of the highest pair: NEMA MG 1 lets nothing run beyond 5 % of unbalance, and a lost phase is far beyond that."""
START_SAG_SHARE = 0.15
"""Makers ask for 85 % of the plate's volts while it starts: from memory."""
_SOUND_VOLTS = 0.9
"""Of the nominal volts: ±10 % of the nameplate."""
_PARTED, _NOT_PARTED = 0.12, 0.03
"""Of the suction pressure at rest: what the two have parted by, where it pumps and where it does not."""
_EQUAL = 0.15
"""Likewise, how far apart they may be before a start that has little to do."""
_PUMPS_WITHIN_S = 6.0
_IDLES = 0.7
"""Of RLA: a motor that drives nothing draws less."""
_HIGH_K, _LOW_K = 330.0, 258.0
"""Bubble and dew point at which a cut-out may have opened, where its setting is not known: 57 and -15 °C."""
_EMPTY_DK = 20.0
"""Saturation at rest so far below the outdoor air: no liquid is left."""
_BLOWS_A = 0.25
_LIVE_COIL_V = 18.0
"""A coil of 24 V must pull in at 85 % of that, 20 V (from memory), less a voltmeter's ±."""

_PHASES = ("a", "b", "c")
_LINES = ("line_voltage_ab", "line_voltage_bc", "line_voltage_ca")
_COMPRESSOR = "compressor_current"
_PRESSURES = ("suction_pressure", "liquid_pressure")
_INSTANT_S = 1e-6


class StartKind(StrEnum):
    """What a start was."""

    NO_SUPPLY = "no supply"
    NO_CALL = "no call"
    DELAY_TIMER = "delay timer"
    HIGH_CUT_OUT = "high cut-out"
    LOW_CUT_OUT = "low cut-out"
    LEAK_DETECTOR = "leak detector"
    STALLED = "stalled"
    WEAK_CAPACITOR = "weak capacitor"
    FAN = "condenser fan"
    LOST_PHASE = "lost phase"
    BACKWARDS = "backwards"
    STARTED = "started"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Trace:
    """What one channel read: rising times [s], and as many values, SI; pressures absolute."""

    times_s: Array
    values: Array

    def between(self, begin_s: float, end_s: float) -> Array:
        """Give the values from one moment to before another."""
        kept: Array = self.values[(self.times_s >= begin_s) & (self.times_s < end_s)]
        return kept

    def middle(self, begin_s: float, end_s: float) -> float | None:
        """Give the median of them; None where there is none."""
        kept = self.between(begin_s, end_s)
        return float(np.median(kept)) if kept.size else None


@dataclass(frozen=True, slots=True, kw_only=True)
class StartRecord:
    """All that is known of a start. What is None, or left out of a mapping, is not known.

    Attributes:
        traces: by channel, as `calc.quantities.CHANNELS` names them, and `coil_voltage`; each at its own rate, from
            some seconds before the call or the power to ten seconds after it or longer.
        phases: of the unit; None: as far as known three where three legs or three pairs are measured, else either.
        compressor_rla_a, condenser_fan_fla_a: of the nameplate [A].
        nominal_voltage_v: of the nameplate [V].
        refrigerant: one of `saturation.names()`.
        called_s: when the call or the power came, on the clock of the traces [s].
        is_called: whether there is a call, by the thermostat's wires or the person at it.
        since_stop_s: at the end of the record, since the compressor stopped or power came back [s].
        at_stop: suction_pressure and liquid_pressure just before it stopped last, absolute [Pa].
        outdoor_air_k: [K].
        high_cut_out_pa, low_cut_out_pa: where they open, by their labels, absolute [Pa].
        detector_alarms: whether the unit's leak detector is in alarm.
        has_detector: whether it has one; None: as units whose refrigerant burns.

    """

    traces: Mapping[str, Trace]
    phases: Literal[1, 3] | None
    compressor_rla_a: float
    called_s: float
    nominal_voltage_v: float | None = None
    condenser_fan_fla_a: float | None = None
    refrigerant: str = ""
    is_called: bool | None = None
    since_stop_s: float | None = None
    at_stop: Mapping[str, float] = field(default_factory=dict)
    outdoor_air_k: float | None = None
    high_cut_out_pa: float | None = None
    low_cut_out_pa: float | None = None
    detector_alarms: bool | None = None
    has_detector: bool | None = None


@dataclass(frozen=True, slots=True)
class StartFound:
    """What it was.

    Attributes:
        kind: of it.
        says: in words, with what to do.
        steps: at which the usual cautions hold, for `calc.cautions.beware_at_steps`.
        would_tell: terms of what would tell more.

    """

    kind: StartKind
    says: Sentence
    steps: tuple[Step, ...] = ()
    would_tell: tuple[str, ...] = ()


def diagnose(record: StartRecord) -> StartFound:
    """Say what a start was.

    Raises:
        SeriesError: a trace is empty, its times do not rise or do not match its values, or a value is no sound number.
        CalcRangeError: RLA is not from 0.5 to 1000 A.

    """
    within("compressor_rla_a", record.compressor_rla_a, 0.5, 1000.0, "A")
    for name, trace in record.traces.items():
        _check(name, trace)
    seen = _Seen(record)
    return _supply(seen) or (_drew(seen) if seen.began_s is not None else _held(seen))


def _check(name: str, trace: Trace) -> None:
    if not trace.times_s.size or trace.times_s.shape != trace.values.shape:
        raise SeriesError(f"{name} needs as many values as times, and one at least")
    if not (np.diff(trace.times_s) > 0).all() or not np.isfinite(trace.values).all():
        raise SeriesError(f"{name}: times must rise and values be sound numbers: leave such samples out")


class _Seen:
    """The traces, and when the compressor drew."""

    def __init__(self, record: StartRecord) -> None:
        self.record = record
        self.traces = record.traces
        self.end_s = max(float(trace.times_s[-1]) for trace in record.traces.values()) if record.traces else math.inf
        self.amps = {name: trace for name, trace in self.traces.items() if name.startswith(_COMPRESSOR)}
        self.began_s, self.stopped_s = self._drawing()
        measures_three = len(self.amps.keys() - {_COMPRESSOR}) == len(_PHASES) or self.traces.keys() >= {*_LINES}
        self.phases = record.phases or (3 if measures_three else None)
        self.pairs_needed = 1 if self.phases == 1 else len(_LINES)

    def _drawing(self) -> tuple[float | None, float | None]:
        """Tell when a phase of the compressor first drew, and when the last one did no more; None: not, or not yet."""
        least_a = _DRAWS * self.record.compressor_rla_a
        begins, ends = [], []
        for trace in self.amps.values():
            drawing = np.flatnonzero(trace.values > least_a)
            if drawing.size:
                begins.append(float(trace.times_s[drawing[0]]))
                is_last = drawing[-1] + 1 == trace.values.size
                ends.append(math.inf if is_last else float(trace.times_s[drawing[-1] + 1]))
        if not begins:
            return None, None
        return min(begins), None if max(ends) == math.inf else max(ends)

    @property
    def most(self) -> Trace:
        """Give the phase that drew most."""
        return max(self.amps.values(), key=lambda trace: float(trace.values.max()))

    def starting_s(self) -> float:
        """Tell how long it drew as a motor that has not come up draws [s]."""
        trace, least_a = self.most, _STARTING * self.record.compressor_rla_a
        high = np.flatnonzero(trace.values > least_a)
        if not high.size:
            return 0.0
        after = min(int(high[-1]) + 1, trace.times_s.size - 1)
        return float(trace.times_s[after] - trace.times_s[high[0]])

    def slow_s(self) -> float:
        """Tell how long it surely did so, from one sample to another [s]."""
        trace = self.most
        high = trace.times_s[trace.values > _STARTING * self.record.compressor_rla_a]
        return float(high[-1] - high[0]) if high.size else 0.0

    def late_amps(self) -> float:
        """Give what it drew in the end [A]: while it still drew."""
        if self.began_s is not None and self.stopped_s is not None:
            drawn = self.most.between(self.began_s, self.stopped_s)  # whole: a clamp follows its end slowly
        else:
            drawn = self.most.between(self.end_s - 2.0, math.inf)
        return float(np.median(drawn)) if drawn.size else float(self.most.values[-1])

    def parted(self) -> float | None:
        """Tell by how much the pressures came apart, over the suction pressure before; None where one is not known."""
        until_s = self.end_s if self.stopped_s is None else self.stopped_s
        before, after = self.at_rest(), self._late_pressures(until_s)
        if before is None or after is None:
            return None
        return ((after[1] - after[0]) - (before[1] - before[0])) / before[0]

    def at_rest(self) -> tuple[float, float] | None:
        """Give suction and liquid pressure before it drew; None where one is not known."""
        return None if self.began_s is None else self._pressures(-math.inf, self.began_s)

    def was_equal(self) -> bool:
        """Tell whether both are known to have been equal before."""
        before = self.at_rest()
        return before is not None and before[1] - before[0] <= _EQUAL * before[0]

    def _pressures(self, begin_s: float, end_s: float) -> tuple[float, float] | None:
        found = [
            None if (trace := self.traces.get(name)) is None else trace.middle(begin_s, end_s) for name in _PRESSURES
        ]
        return None if found[0] is None or found[1] is None else (found[0], found[1])

    def _late_pressures(self, until_s: float) -> tuple[float, float] | None:
        """Give them at the end; of probes that are read more rarely the newest, once it would have parted them."""
        late = self._pressures(until_s - 1.5, until_s + _INSTANT_S)
        if late is not None or self.began_s is None:
            return late
        newest = [
            kept[-1]
            for name in _PRESSURES
            if (trace := self.traces.get(name)) is not None
            and (kept := trace.between(self.began_s + _PUMPS_WITHIN_S, until_s + _INSTANT_S)).size
        ]
        return (float(newest[0]), float(newest[1])) if len(newest) == len(_PRESSURES) else None

    def volts(self, begin_s: float, end_s: float) -> dict[str, float]:
        """Give the volts of each pair that is measured, in the middle of a time."""
        pairs = {name: trace.middle(begin_s, end_s) for name, trace in self.traces.items() if "line_voltage" in name}
        return {name: volts for name, volts in pairs.items() if volts is not None}


def sag_of(traces: Mapping[str, Trace], began_s: float) -> tuple[float, float] | None:
    """Give the volts of a pair before a start, and how far they fell in it: of the one that fell farthest [V].

    What falls between two samples is not seen. None where no voltmeter tells.

    >>> volts = Trace(np.array([0.0, 1.0, 2.0, 3.0]), np.array([230.0, 230.0, 207.0, 228.0]))  # made up
    >>> sag_of({"line_voltage_ab": volts}, 1.5)
    (230.0, 23.0)
    """
    found = [
        (before_v, before_v - float(falls.min()))
        for name in _LINES
        if (trace := traces.get(name)) is not None
        and (before_v := trace.middle(-math.inf, began_s))
        and (falls := trace.between(began_s, began_s + LONGEST_START_S)).size
    ]
    return max(found, key=lambda pair: pair[1] / pair[0], default=None)


def _supply(seen: _Seen) -> StartFound | None:
    """Look at the supply: while it starts a lost phase shows best, for a motor that turns holds the volts up."""
    record = seen.record
    pairs = seen.volts(record.called_s + 1.0, math.inf)
    if pairs and record.nominal_voltage_v and max(pairs.values()) < _DEAD * record.nominal_voltage_v:
        if len(pairs) < seen.pairs_needed:
            return _cannot("tell.volts")
        return StartFound(StartKind.NO_SUPPLY, Sentence("start.no_supply"), (Step.LOOK, Step.START))
    if seen.phases == 1:
        return None
    phase = _lost_by_amps(seen)
    if phase is None and len(pairs) > 1 and min(pairs.values()) < _ONE_OFF * max(pairs.values()):
        phase = "some"
    if phase is None:
        return None
    says = Sentence("start.lost_phase", (term("phase", f"phase.{phase}"),))
    return StartFound(StartKind.LOST_PHASE, says, (Step.LOOK, Step.START))


def _lost_by_amps(seen: _Seen) -> str | None:
    """Name the phase in which next to nothing flows while the others draw."""
    if seen.began_s is None:
        return None
    until_s = math.inf if seen.stopped_s is None else seen.stopped_s
    drawn = {
        phase: trace.middle(seen.began_s + 0.5, until_s)
        for phase in _PHASES
        if (trace := seen.traces.get(f"{_COMPRESSOR}_{phase}")) is not None
    }
    amps = {phase: it for phase, it in drawn.items() if it is not None}
    if len(amps) < 2:
        return None
    least = min(amps, key=lambda phase: amps[phase])
    others = [it for phase, it in amps.items() if phase != least]
    return least if amps[least] < _DEAD * max(others) and min(others) > _IDLES * seen.record.compressor_rla_a else None


def _held(seen: _Seen) -> StartFound:
    """Say why it did not draw."""
    record = seen.record
    if not seen.amps:
        return _cannot("tell.compressor_amps")
    if seen.end_s - record.called_s < _STALLED_S:
        return _cannot("tell.longer")
    blows = _blows(seen, seen.end_s - 2.0, math.inf)
    if record.detector_alarms:
        return StartFound(StartKind.LEAK_DETECTOR, Sentence("start.leak_detector"), (Step.LOOK,))
    if record.is_called is False:
        return _no_call()
    coil = seen.traces.get("coil_voltage")
    coil_v = None if coil is None else coil.middle(record.called_s + 1.0, math.inf)
    if _fan_draws(seen) or (coil_v is not None and coil_v >= _LIVE_COIL_V):
        return _cannot("tell.contactor", *(() if seen.phases == 1 else ("tell.all_phases",)))
    if blows is False:
        return _nothing_runs(seen)
    return _by_cut_out(seen) or _not_known_to_be_called(seen, coil_v, blows=blows) or _by_timer(seen)


def _not_known_to_be_called(seen: _Seen, coil_v: float | None, *, blows: bool | None) -> StartFound | None:
    """Say what would tell whether it is called, supplied and seen whole; None where that is so."""
    record = seen.record
    if blows is None and not record.is_called:
        return _cannot("tell.blower_amps", "tell.coil_volts")
    if blows is None and not seen.volts(record.called_s, math.inf):
        return _cannot("tell.volts", "tell.blower_amps")
    if _may_lack_a_phase(seen, coil_v):
        return _cannot("tell.all_phases", "tell.volts", "tell.coil_volts")
    if not record.is_called and _blows(seen, -math.inf, record.called_s) is not False:
        return _cannot("tell.coil_volts", "tell.cut_outs")  # it blew before: that is no sign of a call
    return None


def _fan_draws(seen: _Seen) -> bool:
    """Tell whether the condenser fan runs, on the same contactor: nothing holds that open then."""
    fan, rated_a = seen.traces.get("condenser_fan_current"), seen.record.condenser_fan_fla_a
    amps = None if fan is None else fan.middle(seen.end_s - 2.0, math.inf)
    return amps is not None and amps > (_BLOWS_A if rated_a is None else _DRAWS * rated_a)


def _may_lack_a_phase(seen: _Seen, coil_v: float | None) -> bool:
    """Tell whether it may stall behind a clamp that sits on a dead phase of three."""
    is_seen = len(seen.amps) == len(_PHASES) or len(seen.volts(seen.record.called_s, math.inf)) == len(_PHASES)
    return seen.phases != 1 and coil_v is None and not is_seen


def _blows(seen: _Seen, begin_s: float, end_s: float) -> bool | None:
    blower = seen.traces.get("blower_current")
    amps = None if blower is None else blower.middle(begin_s, end_s)
    return None if amps is None else amps > _BLOWS_A


def _nothing_runs(seen: _Seen) -> StartFound:
    """Say why even the blower stands: no call, if there is a supply and nobody knows of a call."""
    pairs = seen.volts(seen.record.called_s, math.inf)
    if seen.record.is_called or len(pairs) < seen.pairs_needed:
        return _cannot("tell.volts", "tell.coil_volts")
    return _no_call()


def _no_call() -> StartFound:
    """Say that nothing asks it to run: whoever looks at its wires stands before what may start by itself."""
    return StartFound(StartKind.NO_CALL, Sentence("start.no_call"), (Step.START, Step.LOOK))


def _by_cut_out(seen: _Seen) -> StartFound | None:
    """Find a cut-out that opened, by the pressures at which it stopped, or by those at rest."""
    record = seen.record
    liquid_pa, suction_pa = record.at_stop.get("liquid_pressure"), record.at_stop.get("suction_pressure")
    return _cut_out_at(record, liquid_pa, suction_pa) or _empty(seen)


def _cut_out_at(record: StartRecord, liquid_pa: float | None, suction_pa: float | None) -> StartFound | None:
    if liquid_pa is not None and _is_high(record, liquid_pa):
        said = Sentence("start.high_cut_out", (amount("found", liquid_pa, Quantity.PRESSURE),))
        return StartFound(StartKind.HIGH_CUT_OUT, said, (Step.LOOK, Step.START))
    if suction_pa is not None and _is_low(record, suction_pa):
        said = Sentence("start.low_cut_out", (amount("found", suction_pa, Quantity.PRESSURE),))
        return StartFound(StartKind.LOW_CUT_OUT, said, (Step.LOOK, Step.START))
    return None


def _is_high(record: StartRecord, liquid_pa: float) -> bool:
    if record.high_cut_out_pa is not None:
        return liquid_pa >= 0.95 * record.high_cut_out_pa
    return bool(record.refrigerant) and bubble_point(record.refrigerant, liquid_pa) >= _HIGH_K


def _is_low(record: StartRecord, suction_pa: float) -> bool:
    if record.low_cut_out_pa is not None:
        return suction_pa <= 1.1 * record.low_cut_out_pa
    return bool(record.refrigerant) and dew_point(record.refrigerant, suction_pa) <= _LOW_K


def _empty(seen: _Seen) -> StartFound | None:
    record, suction = seen.record, seen.traces.get("suction_pressure")
    suction_pa = None if suction is None else suction.middle(seen.end_s - 2.0, math.inf)
    if suction_pa is None or not record.refrigerant or record.outdoor_air_k is None:
        return None
    if dew_point(record.refrigerant, suction_pa) > record.outdoor_air_k - _EMPTY_DK:
        return None
    if not _is_low(record, suction_pa):
        return None
    return _cut_out_at(record, None, suction_pa)


def _by_timer(seen: _Seen) -> StartFound:
    record = seen.record
    rested_s = record.since_stop_s
    burns = bool(record.refrigerant) and get(record.refrigerant).is_flammable
    may_be_detector = record.detector_alarms is None and (burns if record.has_detector is None else record.has_detector)
    if may_be_detector:
        return _cannot("tell.detector", "tell.cut_outs")
    if rested_s is None:
        return _cannot("tell.since_stop", "tell.cut_outs", "tell.coil_volts")
    if rested_s >= LEAST_REST_S:
        return _cannot("tell.cut_outs", "tell.contactor")
    parts = (seconds("rested", rested_s), seconds("left", LEAST_REST_S - rested_s))
    return StartFound(StartKind.DELAY_TIMER, Sentence("start.delay_timer", parts), (Step.START,))


def _drew(seen: _Seen) -> StartFound:
    """Say how it started."""
    record = seen.record
    first_s = min(float(trace.times_s[0]) for trace in seen.amps.values())
    if seen.began_s is None or seen.began_s <= first_s:
        return _cannot("tell.from_before")
    until_s = seen.end_s if seen.stopped_s is None else seen.stopped_s
    lasted_s, late_a, parted = until_s - seen.began_s, seen.late_amps(), seen.parted()
    if late_a > _STARTING * record.compressor_rla_a:
        return _stalled(seen, lasted_s, late_a, parted)
    if seen.stopped_s is not None:
        return _stopped(seen)
    if lasted_s < _PUMPS_WITHIN_S:
        return _cannot("tell.longer")
    return _turns(seen, late_a, parted) or _fan(seen) or _came_up(seen, late_a)


def _stalled(seen: _Seen, lasted_s: float, late_a: float, parted: float | None) -> StartFound:
    amps = amount("amps", late_a, Quantity.CURRENT)
    if lasted_s < _STALLED_S or (parted is not None and parted > _PARTED):
        return _cannot("tell.longer")
    phases_known = sum(f"{_COMPRESSOR}_{phase}" in seen.amps for phase in _PHASES)
    pairs_known = len(seen.volts(seen.record.called_s, math.inf))
    if seen.phases != 1 and max(phases_known, pairs_known) < 3:
        tells = ("tell.all_phases", "tell.volts")
        says = Sentence("start.switch_off", (amps, term("tells", *tells)))
        return StartFound(StartKind.CANNOT_TELL, says, (Step.LOOK,), tells)
    says = Sentence("start.stalled", (amps, seconds("lasted", lasted_s)))
    return StartFound(StartKind.STALLED, says, (Step.LOOK, Step.START))


def _stopped(seen: _Seen) -> StartFound:
    """Say what stopped it within seconds, by the pressures at which it did."""
    stopped_s = seen.stopped_s or seen.end_s
    liquid, suction = seen.traces.get("liquid_pressure"), seen.traces.get("suction_pressure")
    liquid_pa = None if liquid is None else liquid.middle(stopped_s - 1.0, stopped_s + 0.5)
    suction_pa = None if suction is None else suction.middle(stopped_s - 1.0, stopped_s + 0.5)
    return _cut_out_at(seen.record, liquid_pa, suction_pa) or _cannot("tell.cut_outs", "tell.contactor")


def _turns(seen: _Seen, late_a: float, parted: float | None) -> StartFound | None:
    """Look whether it pumps; None where it does."""
    record = seen.record
    if parted is None:
        return _cannot("tell.pressures")
    if parted >= _PARTED:
        return None
    if parted > _NOT_PARTED or late_a > _IDLES * record.compressor_rla_a or seen.phases == 1:
        return _cannot("tell.longer")
    kind = "start.backwards" if seen.phases == 3 else "start.backwards_if_three"
    said = Sentence(kind, (amount("amps", late_a, Quantity.CURRENT),))
    return StartFound(StartKind.BACKWARDS, said, (Step.LOOK, Step.START))


def _fan(seen: _Seen) -> StartFound | None:
    """Look at the condenser fan, where it is measured."""
    fan, rated_a = seen.traces.get("condenser_fan_current"), seen.record.condenser_fan_fla_a
    if fan is None or rated_a is None or seen.began_s is None:
        return None
    late_a = fan.middle(seen.end_s - 2.0, math.inf)
    if late_a is None or (late_a <= _FAN_HIGH * rated_a and late_a > _DRAWS * rated_a):
        return None
    if late_a <= _DRAWS * rated_a:
        return _cannot("tell.contactor")
    said = Sentence("start.fan", (amount("amps", late_a, Quantity.CURRENT),))
    return StartFound(StartKind.FAN, said, (Step.LOOK, Step.START))


def _came_up(seen: _Seen, late_a: float) -> StartFound:
    """Say how quickly it came up."""
    record, took_s = seen.record, seen.starting_s()
    if late_a > _TRIPPING * record.compressor_rla_a:
        return _cannot("tell.volts", "tell.longer")
    weak = None if seen.phases == 3 else _weak_capacitor(seen, took_s)
    if weak is not None:
        return weak if seen.phases == 1 else _cannot("tell.phases", *weak.would_tell)
    if seen.slow_s() > LONGEST_START_S:
        return _cannot("tell.volts")
    sag = sag_of(seen.traces, seen.began_s or 0.0)
    if sag is not None and sag[1] > START_SAG_SHARE * sag[0]:
        return _cannot("tell.supply")
    if "condenser_fan_current" not in seen.traces:
        return StartFound(StartKind.STARTED, Sentence("start.fan_unseen"), (), ("tell.fan_amps",))
    if took_s == 0.0:
        says = Sentence("start.started_unseen", (amount("amps", late_a, Quantity.CURRENT),))
        return StartFound(StartKind.STARTED, says)
    return StartFound(StartKind.STARTED, Sentence("start.started", (_at_most(took_s),)))


def _weak_capacitor(seen: _Seen, took_s: float) -> StartFound | None:
    """Look how long a single-phase motor took, and what it drew before there was much to do; None where it is well."""
    record, began_s, was_equal = seen.record, seen.began_s or 0.0, seen.was_equal()
    light_a = seen.most.middle(began_s + took_s + 0.5, began_s + took_s + 3.0)
    share = (light_a or 0.0) / record.compressor_rla_a
    is_slow = took_s > _SLOW_S
    if not is_slow and (not was_equal or share < _LIGHT):
        return None
    pairs = seen.volts(began_s, began_s + took_s + 3.0)
    if not pairs or record.nominal_voltage_v is None or min(pairs.values()) < _SOUND_VOLTS * record.nominal_voltage_v:
        return _cannot("tell.volts")
    if not was_equal:
        return _cannot("tell.rest")
    if not is_slow and share < _HEAVY:
        return _cannot("tell.capacitor")
    parts = (amount("amps", light_a or 0.0, Quantity.CURRENT), _at_most(took_s))
    return StartFound(StartKind.WEAK_CAPACITOR, Sentence("start.weak_capacitor", parts), (Step.LOOK, Step.START))


def _at_most(duration_s: float) -> Part:
    return seconds("lasted", math.ceil(duration_s))


def _cannot(*would_tell: str) -> StartFound:
    said = Sentence("start.cannot_tell", (term("tells", *would_tell),))
    return StartFound(StartKind.CANNOT_TELL, said, (), would_tell)
