"""How the compressor started: its peak, its time to speed, whether it stalled, as far as the clamp's samples tell.

Amps, volts and pressures together say what that start means, as far as it is known of how many phases the unit is. A
start that took long, sagged or had to be tried again is none that went well.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from calc.motor.start import LEAST_REST_S, Start, StartDiagnosis, diagnose_start
from calc.motor.supply import LIVE_V
from calc.sentences import Part, Sentence, text
from calc.start_diagnosis import StartKind, StartRecord, Trace, diagnose, sag_of
from ingest.noticing.capacitors import section_in_the_jaw
from ingest.noticing.motors import COMPRESSOR, FANS, LINES, is_on_another_lead, line_volts, runs
from ingest.noticing.sight import Known, Seen, Sight
from ingest.wire.messages import ProposedFinding
from ingest.wire.sheet import Motor

BEFORE_S, AFTER_S = 5.0, 15.0
SEEN_AT_REST_S = 3.0
"""Of zero amps in the record, to call what follows a start."""
_KINDS: Mapping[Start, str] = {
    Start.STARTED: "noticed.started",
    Start.CANNOT_TELL: "noticed.start_cannot_tell",
    Start.SLOW: "noticed.start_slow",
    Start.STALLED: "noticed.start_stalled",
    Start.RESTARTED: "noticed.restarted",
}
_COURSES: Mapping[Start, Mapping[str, str]] = {
    Start.STARTED: {"course": "ran", "caught": "record"},
    Start.CANNOT_TELL: {"course": "ran", "caught": "not_seen"},
    Start.SLOW: {"course": "laboured", "caught": "record"},
    Start.STALLED: {"course": "stalled"},
    Start.RESTARTED: {"course": "ran"},
}
"""As the check has it: what it did, and whether its inrush was caught."""
_MEANINGS: Mapping[StartKind, tuple[str, Mapping[str, str]]] = {
    StartKind.STARTED: ("noticed.first_seconds_started", {}),
    StartKind.STALLED: ("noticed.first_seconds_stalled", {"course": "stalled"}),
    StartKind.BACKWARDS: ("noticed.first_seconds_backwards", {"course": "backwards"}),
    StartKind.LOST_PHASE: ("noticed.first_seconds_lost_phase", {"course": "lost_phase"}),
    StartKind.WEAK_CAPACITOR: ("noticed.first_seconds_weak_capacitor", {"course": "laboured"}),
    StartKind.FAN: ("noticed.first_seconds_fan", {}),
}
"""What a start that drew may mean, and how that changes the check's course. The amps alone tell what is not here."""
_TRACED = (*COMPRESSOR, *FANS, *LINES, "suction_pressure", "liquid_pressure")


class StartSeen:
    """Keeps the amps about a start, and judges it once it is over; starts that go alike are told once.

    One that stalls again after a rest is told each time.
    """

    latency_s: ClassVar[float] = AFTER_S + 1.0

    def __init__(self) -> None:
        self._traces: dict[str, deque[tuple[float, float]]] = {name: deque() for name in _TRACED}
        self._stamps_s: dict[str, float] = {}
        self._rests_s: float | None = None
        self._begun: tuple[float, float] | None = None
        self._told: tuple[Start, str] | None = None
        self._starts_s: deque[float] = deque(maxlen=50)

    def take(self, sight: Sight) -> Sequence[Seen]:
        """Take the next sight."""
        name = COMPRESSOR[0] if sight.reading(COMPRESSOR[0]) else COMPRESSOR[1]
        reading, running = sight.reading(name), runs(sight)
        if line_volts(sight) and max(line_volts(sight)) < LIVE_V:
            self._told = None
        if reading is None or reading.value is None or running is None:
            self._rests_s = self._begun = None
            for trace in self._traces.values():
                trace.clear()
            return ()
        self._trace(sight)
        if self._begun is None:
            self._wait(sight, running=running)
            return ()
        if sight.unit_s - self._begun[0] < AFTER_S:
            return ()
        return self._judge(sight)

    def _trace(self, sight: Sight) -> None:
        """Keep every new sample of what a start shows in."""
        for name, trace in self._traces.items():
            reading = sight.reading(name)
            if reading is None or reading.value is None or self._stamps_s.get(name) == reading.time_s:
                continue
            self._stamps_s[name] = reading.time_s
            trace.append((sight.unit_s, max(0.0, reading.value)))

    def _wait(self, sight: Sight, *, running: bool) -> None:
        for trace in self._traces.values():
            while trace and trace[0][0] < sight.unit_s - BEFORE_S:
                trace.popleft()
        if not running:
            self._rests_s = sight.unit_s if self._rests_s is None else self._rests_s
        elif self._rests_s is not None and sight.unit_s - self._rests_s >= SEEN_AT_REST_S:
            self._begun = sight.unit_s, sight.time_s
            self._starts_s.append(sight.unit_s)
        else:
            self._rests_s = None

    def _restarts(self, began_s: float) -> int:
        """Count the starts of the five minutes before."""
        return sum(0.0 < began_s - earlier_s < LEAST_REST_S for earlier_s in self._starts_s)

    def _judge(self, sight: Sight) -> Sequence[Seen]:
        begun = self._begun
        name = COMPRESSOR[0] if self._traces[COMPRESSOR[0]] else COMPRESSOR[1]
        amps, self._begun = list(self._traces[name]), None
        self._rests_s = None if runs(sight) else sight.unit_s
        rated_a = sight.known.unit.compressor_rla_a
        if begun is None or rated_a is None or section_in_the_jaw(sight) or is_on_another_lead(name, sight.known):
            return ()  # a capacitor's amps are no start
        motor = _compressor(sight.known)
        found = diagnose_start(
            [time_s for time_s, _ in amps],
            [drawn for _, drawn in amps],
            rated_current_a=rated_a,
            locked_rotor_a=motor.locked_rotor_a if motor else None,
        )
        if found.start is Start.NO_START:
            return ()
        says = Sentence(_KINDS[found.start], (text("peak", f"{found.peak_a:.0f} A"), text("why", found.reason)))
        course: Mapping[str, str] = {}
        if meant := self._meaning(begun[0], rated_a, sight):
            says, course = meant
        restarts = self._restarts(begun[0]) + found.starts - 1
        choices = {"motor": "compressor", **_COURSES[found.start], **course}
        if (found.start, says.kind) == self._told and not is_another_stall(choices, restarts):
            return ()
        self._told = found.start, says.kind
        what = ProposedFinding(
            "start",
            values=_figures(found) | self._sag(begun[0]) | {"restarts": float(restarts)},
            standard_uncertainties={} if found.peak_is_least else sight.spreads(peak=COMPRESSOR[0]),
            choices=choices,
            part=motor.name if motor else "",
        )
        return (Seen(what, begun[1], sight.time_s, says),)

    def _sag(self, began_s: float) -> dict[str, float]:
        """Give the volts before it, and how far they fell in it, as far as the samples show."""
        sag = sag_of(self._record(), began_s)
        return {} if sag is None else {"rest": round(sag[0], 2), "sag": round(max(sag[1], 0.0), 2)}

    def _record(self) -> dict[str, Trace]:
        return {name: Trace(*np.array(trace).T) for name, trace in self._traces.items() if trace}

    def _meaning(self, began_s: float, rated_a: float, sight: Sight) -> tuple[Sentence, Mapping[str, str]] | None:
        """Say what the start means; None where that cannot be told."""
        sheet, unit = sight.known.sheet, sight.known.unit
        found = diagnose(
            StartRecord(
                traces=self._record(),
                phases=sheet.phases if sheet else None,
                compressor_rla_a=rated_a,
                called_s=began_s,
                nominal_voltage_v=sheet.volts if sheet else None,
                condenser_fan_fla_a=unit.condenser_fan_fla_a,
                refrigerant=unit.refrigerant,
                is_called=True,
                outdoor_air_k=sight.value("outdoor_air_temperature"),
            )
        )
        if found.kind not in _MEANINGS:
            return None
        kind, course = _MEANINGS[found.kind]
        what = Part("what", "sentence", terms=(found.says.kind,))
        return Sentence(kind, (what, *found.says.parts)), course


def is_another_stall(choices: Mapping[str, str], restarts: float) -> bool:
    """Tell whether this is a stall of its own, however alike the one before was: after a rest it was tried anew.

    What trips and tries again within five minutes is one that goes on.
    """
    return choices.get("course") == "stalled" and restarts == 0


def _figures(found: StartDiagnosis) -> dict[str, float]:
    """Give what the record tells; a peak that was higher than any sample is left out."""
    figures = {"peak": None if found.peak_is_least else found.peak_a, "to_speed": found.start_time_s}
    return {name: round(value, 3) for name, value in figures.items() if value is not None}


def _compressor(known: Known) -> Motor | None:
    """Find the compressor of the circuit in view; None where the sheet has none, or several."""
    parts = known.sheet.parts if known.sheet else ()
    found = [part for part in parts if isinstance(part, Motor) and part.drives == "compressor"]
    return found[0] if len(found) == 1 else None
