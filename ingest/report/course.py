"""A visit as its report tells it: the marks up to its signature, through the fold of the visit, and what came later."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import msgspec

from calc.countries import countries, is_in_states, is_in_union, zones
from calc.governing import governing_figure
from calc.quantities import STANDARD_PRESSURE_PA
from calc.refrigerants import Refrigerant, get
from calc.units import System
from ingest.report.channels import OF_A_CIRCUIT
from ingest.report.clock import Clock
from ingest.report.known import Known
from ingest.report.said import own_words
from ingest.report.words import MOTORS
from ingest.visit.earlier import history
from ingest.visit.leaks import LEAKS, OPENED, PROBES_OFF
from ingest.visit.part_readings import PartReadings
from ingest.visit.renaming import all_named_now
from ingest.visit.seal import digest
from ingest.visit.standing import Standing
from ingest.visit.tally import Entry
from ingest.wire.messages import (
    Added,
    Advice,
    Correction,
    Dismissed,
    Finding,
    Grade,
    Mark,
    Pack,
    PartReading,
    Photograph,
    Placed,
    Proposed,
    ProposedFinding,
    Recovered,
    Sheet,
    Signed,
    VisitOpened,
)
from ingest.wire.sheet import Circuit, Motor

_FAMILIES = {
    "capacitor_measured": "capacitor",
    "capacitor_under_load": "capacitor under load",
    "start": "start",
    "motor_amps": "amps",
    "joint_drop": "joint",
    "supply": "supply",
}
"""Checks that tell of one thing whether it is right."""
_ONE_SPELL_S = 60.0
"""Nobody exchanges a run capacitor in less: common practice, no source."""
_TO_ACT_S = 2.0
"""Whoever acts on an advice has had it for so long at least: common practice, no source."""
_PRESSURES = frozenset({"suction_pressure", "liquid_pressure"})
_RELIED_ON = ("ok", "uncalibrated")
"""Qualities of a reading that is told."""


class _Situation(msgspec.Struct, frozen=True):
    barometric_pressure_pa: float = STANDARD_PRESSURE_PA


class _Known(msgspec.Struct, frozen=True):
    situation: _Situation


class _Grounds(msgspec.Struct, frozen=True):
    """Of what an advice rests on, the air pressure at the unit alone: whatever else of it comes and goes."""

    known: _Known


@dataclass(frozen=True, slots=True)
class Reading:
    """A figure at a moment, its standard uncertainty as far as known [SI], what it rests on, and how it is known."""

    value: float
    spread: float | None
    evidence: tuple[str, ...]
    grade: Grade = "measured"


class Course:
    """A visit, up to its signature.

    marks: as circuits are named now, in order. later: what was appended after the signature. found: the newest finding
    of each check and part or circuit, oldest first. circuits: of the sheet, in its order.
    """

    def __init__(self, known: Known, system: System, clock: Clock) -> None:
        self.known, self.system, self.clock = known, system, clock
        named = all_named_now([*known.earlier, (known.visit, known.marks)])
        self.earlier, all_marks = named[:-1], named[-1][1]
        at = next((number for number, mark in enumerate(all_marks) if isinstance(mark, Signed)), None)
        self.signed = None if at is None else all_marks[at]
        self.marks = all_marks if at is None else all_marks[: at + 1]
        self.later = [] if at is None else all_marks[at + 1 :]
        self.sheet: Sheet | None = None if known.version is None else known.version.kept.sheet
        self.sheet_id = "" if known.version is None else known.version.id
        self.visit_id = f"visit {known.visit}"
        self._proposals = {mark.id: mark for mark in self.marks if isinstance(mark, Proposed)}
        self.circuits = list(self.sheet.circuits) if self.sheet else []
        unnamed = self.circuits[0].name if self.circuits else ""
        self.standing = Standing(known.visit, (), history(self.earlier))
        self.standing.moved.know(self.circuits, unnamed)  # before the marks: one may name none, the next the same one
        for mark in self.marks:
            self.standing.take(mark)
        view_first = sorted(self.circuits, key=lambda circuit: circuit.name != self.in_view)
        self.standing.moved.know(view_first, unnamed)
        self.found = self.standing.findings.newest_of_each()

    @property
    def in_view(self) -> str:
        """Name the circuit that the probes were on last: what names none is of it; empty where there is none."""
        return self.standing.placing.circuit or (self.circuits[0].name if self.circuits else "")

    @property
    def digest(self) -> str:
        """That of the journal, as it was signed, or as it is now."""
        if isinstance(self.signed, Signed) and self.signed.digest:
            return self.signed.digest
        return self.digest_now

    @property
    def digest_now(self) -> str:
        """That of the marks up to the signature, as the record has them now."""
        up_to = len(self.marks) - (1 if self.signed is not None else 0)
        return digest(self.known.marks[:up_to])

    @property
    def country(self) -> str:
        """The code of the country where the unit stands, as its sheet has it; empty where none known was said."""
        return self.sheet.country if self.sheet and self.sheet.country in countries() else ""

    @property
    def unknown_country(self) -> str:
        """What the sheet has for a code and no country has: the record was edited, or the list dropped it."""
        return self.sheet.country if self.sheet and self.sheet.country not in countries() else ""

    @cached_property
    def may_be_in(self) -> Sequence[str]:
        """The codes of the countries where it may stand: that of its sheet, else those of the zone; empty: of any."""
        return (self.country,) if self.country else zones().get(self.clock.zone, ())

    @property
    def may_be_in_union(self) -> bool:
        """Whether the unit may stand in the European Union."""
        return not self.may_be_in or any(is_in_union(code) for code in self.may_be_in)

    @property
    def may_be_in_states(self) -> bool:
        """Whether the unit may stand in the United States."""
        return not self.may_be_in or any(is_in_states(code) for code in self.may_be_in)

    @property
    def is_law_known(self) -> bool:
        """Whether all the countries where it may stand agree on whose law holds."""
        return len({(is_in_union(code), is_in_states(code)) for code in self.may_be_in}) == 1

    @property
    def several(self) -> bool:
        """Whether there is more than one circuit, so that each is named."""
        return len(self.circuits) > 1

    def named(self, circuit: str) -> str:
        """Name a circuit for people: by its name, where there are several."""
        return f"circuit {circuit}" if self.several and circuit else "the circuit"

    def refrigerant(self, circuit: Circuit) -> Refrigerant:
        """Give what a circuit runs on."""
        return get(circuit.refrigerant)

    def of(self, *checks: str) -> list[Finding]:
        """Give the newest findings of some checks that were made, oldest first; of a capacitor that is out too."""
        return [it for it in self.found if it.check in checks and it.outcome != "skipped"]

    def one(self, check: str) -> Finding | None:
        """Give the newest finding of a check that was made, of whichever part or circuit; None without one."""
        made = self.of(check)
        return made[-1] if made else None

    def chosen(self, check: str, name: str) -> str:
        """Give what was chosen or written in the newest finding of a check; empty where nothing was."""
        made = self.one(check)
        return "" if made is None else made.choices.get(name, "").strip()

    def last_written(self, check: str, name: str) -> tuple[str, str] | None:
        """Give what was written in a check at this visit, else at the last that has it with its day; and its mark."""
        if written := self.chosen(check, name):
            return own_words(written), self.ids(check)[-1]
        for _, marks in reversed(self.earlier):
            for mark in reversed(marks):
                if isinstance(mark, Finding) and mark.check == check and mark.choices.get(name, "").strip():
                    day = self.clock.day(mark.time_s)
                    return f"{own_words(mark.choices[name]).removesuffix('.')} (of {day})", mark.id
        return None

    def ids(self, *checks: str) -> list[str]:
        """Name the newest findings of some checks."""
        return [it.id for it in self.of(*checks)]

    def failed(self, *checks: str) -> list[Finding]:
        """Give every finding of some checks by which one was not met, whatever came after it, the newest of each."""
        newest: dict[tuple[str, str], Finding] = {}
        for mark in self.marks:
            if isinstance(mark, Finding) and mark.check in checks and mark.outcome == "not_met":
                newest.pop((mark.check, mark.part or mark.circuit), None)
                newest[mark.check, mark.part or mark.circuit] = mark
        return list(newest.values())

    def came_right(self) -> list[tuple[Finding, Finding]]:
        """Give what was not met and later met of the same part, oldest first: something was done to it in between."""
        return [(failed, right) for failed, right in self._in_turn() if not self._disagree(failed, right)]

    def disagreeing(self) -> list[tuple[Finding, Finding]]:
        """Give readings of one run capacitor that contradict each other: so close that no part went in between."""
        return [(failed, right) for failed, right in self._in_turn() if self._disagree(failed, right)]

    def was_measured_again(self, right: Finding) -> bool:
        """Tell whether a run capacitor was measured again, apart from a reading that another contradicts."""
        again_s = self.seen_s(right) + _ONE_SPELL_S
        every = self.every("capacitor_measured")
        return any(it.part == right.part and it.outcome == "met" and self.seen_s(it) >= again_s for it in every)

    def _disagree(self, failed: Finding, right: Finding) -> bool:
        are_of_one = failed.check == right.check == "capacitor_measured"
        return are_of_one and self.seen_s(right) - self.seen_s(failed) < _ONE_SPELL_S

    def _in_turn(self) -> list[tuple[Finding, Finding]]:
        """Give what was not met and the next of the same part that was, oldest first."""
        failed: dict[tuple[str, str], Finding] = {}
        pairs = []
        for mark in sorted((it for it in self.marks if isinstance(it, Finding)), key=self.seen_s):
            family = (_FAMILIES.get(mark.check, ""), mark.part)
            if not family[0]:
                continue
            if mark.outcome == "not_met":
                failed[family] = mark
            elif family in failed and (mark.outcome == "met" or mark.choices.get("course") == "ran"):
                pairs.append((failed.pop(family), mark))
        return pairs

    def of_what_failed(self) -> list[Finding]:
        """Give every finding of what was not met once and may have come right: all of them tell whether it did."""
        of = [
            (it, (_FAMILIES[it.check], it.part))
            for it in self.marks
            if isinstance(it, Finding) and it.check in _FAMILIES
        ]
        failed = {family for it, family in of if it.outcome == "not_met"}
        return [it for it, family in of if family in failed]

    def every(self, check: str) -> list[Finding]:
        """Give every finding of a check that was made, oldest first; one that was gone on with is told by the later."""
        all_of = [it for it in self.marks if isinstance(it, Finding) and it.check == check and it.outcome != "skipped"]
        gone_on_with = {it.builds_on for it in all_of}
        return [it for it in all_of if it.id not in gone_on_with]

    def photographs(self) -> Mapping[str, Photograph]:
        """Give the photographs, by their ids."""
        return {mark.id: mark for mark in self.marks if isinstance(mark, Photograph)}

    @property
    def later_corrections(self) -> list[str]:
        """Name what corrects a part of the visit after its signature."""
        return [mark.id for mark in self.later if isinstance(mark, Correction)]

    @property
    def arrived(self) -> Mark | None:
        """The first mark that a technician made; before that the rig only ran."""
        return next((mark for mark in self.marks if mark.role == "technician"), None)

    # --- refrigerant

    def moves(self, circuit: str) -> list[Entry]:
        """Give what was moved of a circuit, as corrections before the signature left it."""
        return self.standing.moved.ledgers.of(circuit)

    def moved_circuits(self) -> list[str]:
        """Name the circuits of which anything was moved, and nothing else."""
        return [name for name in self.standing.moved.ledgers.circuits() if self.moves(name)]

    def move_ids(self, entry: Entry) -> list[str]:
        """Name what a move rests on: its mark, what corrected it or another, and what says of which circuit it is.

        Also the signature: without it a correction of later would count.
        """
        as_signed = [] if self.signed is None else [self.signed.id]
        return [entry.id, *as_signed, *self._counted_by]

    def earlier_ids(self, circuit: str) -> list[str]:
        """Name what the moves of a circuit at earlier visits rest on."""
        entries = [entry.id for visit in self.standing.moved.earlier(circuit) for entry in visit]
        return [*entries, *(it for _, marks in self.earlier for it in self._counting(marks))]

    @cached_property
    def _counted_by(self) -> list[str]:
        return self._counting(self.marks)

    def _counting(self, marks: Sequence[Mark]) -> list[str]:
        """Name what tells which moves of a visit count, and to which circuit: a move that is told may be all there is.

        What was withdrawn, or is of another circuit, would be told without it.
        """
        corrections = [mark.id for mark in marks if isinstance(mark, Correction)]
        moves = [mark.id for mark in marks if isinstance(mark, Added | Recovered) and not mark.circuit]
        return [*corrections, *self._placed(moves, marks)]

    def _placed(self, unnamed: Sequence[str], marks: Sequence[Mark]) -> list[str]:
        """Name marks that name no circuit, of several, and what says of which they are."""
        return [*unnamed, *self._views(marks)] if self.several and unnamed else []

    def _views(self, marks: Sequence[Mark]) -> list[str]:
        """Name what says which circuit is in view: where the visit was opened, and where probes were put."""
        names = {circuit.name for circuit in self.circuits}
        return [it.id for it in marks if isinstance(it, VisitOpened) or (isinstance(it, Placed) and it.on in names)]

    @cached_property
    def leak_view_ids(self) -> Sequence[str]:
        """Name what says of which circuit a look for leaks is that names none, of several."""
        looks = [
            it.id
            for it in self.marks
            if isinstance(it, Finding) and it.check in (LEAKS, OPENED, PROBES_OFF) and not it.circuit
        ]
        return self._placed(looks, self.marks)

    # --- moments

    def seen_s(self, mark: Mark) -> float:
        """Tell when that was so what a mark says: what instruments had shown was kept later [s since 1970]."""
        seen = self._proposed(mark)
        return mark.time_s if seen is None else seen.to_s

    def began_s(self, mark: Mark) -> float:
        """Tell when it began [s since 1970]."""
        seen = self._proposed(mark)
        return mark.time_s if seen is None else seen.from_s

    def _proposed(self, mark: Mark) -> Proposed | None:
        return self._proposals.get(getattr(mark, "proposal", ""))

    def seen_ids(self, mark: Mark) -> list[str]:
        """Name what that moment rests on: the mark, and what the instruments had proposed."""
        seen = self._proposed(mark)
        return [mark.id] if seen is None else [mark.id, seen.id]

    def at(self, mark: Mark) -> dict[str, Reading]:
        """Give what was read at the moment of a mark, as far as it is to be relied on: of a circuit by probes on it."""
        pack = self.known.moments.get(mark.id)
        if pack is None:
            return {}
        read = readings_of(pack, self.seen_ids(mark))
        of_it = {name: it for name, it in read.items() if name in OF_A_CIRCUIT}
        others = {name: it for name, it in read.items() if name not in of_it}
        if self._are_off(mark):
            return others
        by = tuple(it for _, __, ids in self._probes_went for it in ids)
        return others | {name: replace(it, evidence=(*it.evidence, *by)) for name, it in of_it.items()}

    def _are_off(self, mark: Mark) -> bool:
        """Tell whether a probe was off its port at that moment, as somebody said or the instruments saw."""
        before = [is_off for time_s, is_off, _ in self._probes_went if time_s <= self.seen_s(mark)]
        return bool(before) and before[-1]

    @cached_property
    def _probes_went(self) -> list[tuple[float, bool, tuple[str, ...]]]:
        """When a probe came off its port, or on to one [s since 1970], and by which marks: none that was dismissed."""
        dismissed = {it.of for it in self.marks if isinstance(it, Dismissed)}
        went: list[tuple[float, bool, tuple[str, ...]]] = []
        for mark in self.marks:
            match mark:
                case Finding(check="probes_off" | "probes_on") if mark.outcome != "skipped":
                    went.append((self.began_s(mark), mark.check == PROBES_OFF, tuple(self.seen_ids(mark))))
                case Proposed(what=ProposedFinding(check="probes_off" | "probes_on") as seen) if (
                    mark.id not in dismissed
                ):
                    went.append((mark.from_s, seen.check == PROBES_OFF, (mark.id,)))
                case Placed() if not _PRESSURES.isdisjoint(mark.channels):
                    went.append((mark.time_s, not mark.on, (mark.id,)))
        return sorted(went)

    def advice_before(self, time_s: float) -> tuple[str, Advice] | None:
        """Give the advice that somebody had who did something then: what had just been told, nobody acted on.

        A move is recorded a moment after it was asked, and changes the advice meanwhile.
        """
        return self.advice_at(time_s - _TO_ACT_S)

    def advice_at(self, time_s: float) -> tuple[str, Advice] | None:
        """Give the advice that stood at a moment, and how a statement names it; None before the first."""
        then = [it for it in self.known.advices if it.advice.time_s <= time_s]
        return (f"advice {then[-1].number}", then[-1].advice) if then else None

    @cached_property
    def site_pa(self) -> float:
        """The air pressure at the unit, from which a gauge counts [Pa]."""
        if not self.known.advices:
            return STANDARD_PRESSURE_PA
        grounds = msgspec.json.decode(self.known.advices[-1].grounds, type=_Grounds)
        return grounds.known.situation.barometric_pressure_pa

    @property
    def site_ids(self) -> list[str]:
        """Name what that rests on."""
        return [f"advice {it.number}" for it in self.known.advices[-1:]]

    def governs(self, circuit: Circuit) -> str:
        """Name the figure that shows the charge of a circuit."""
        return governing_figure(circuit.metering_device)

    # --- parts

    def motor_of(self, found: Finding) -> str:
        """Name the motor that a finding is of, in plain words."""
        parts = [
            it for it in (self.sheet.parts if self.sheet else ()) if isinstance(it, Motor) and it.name == found.part
        ]
        drives = found.choices.get("motor", "") or (parts[0].drives if parts else "")
        return MOTORS.get(drives, found.part or "motor")

    @cached_property
    def part_readings(self) -> Mapping[str, Sequence[PartReading]]:
        """Give what was measured of parts at this visit, by the ids of findings."""
        found: dict[str, list[PartReading]] = {}
        for part in self.parts().message():
            for reading in part.readings:
                found.setdefault(reading.id, []).append(reading)
        return found

    def parts(self) -> PartReadings:
        """Fold the parts of the unit over all of its visits up to this one."""
        parts = PartReadings(self.sheet)
        for visit, marks in (*self.earlier, (self.known.visit, self.marks)):
            for mark in marks:
                parts.take(visit, mark)
        return parts


def readings_of(pack: Pack, at: Sequence[str] = ()) -> dict[str, Reading]:
    """Give the readings of a pack that are to be relied on. at: what says that they are of the moment that is meant."""
    return {
        name: Reading(it.value, it.standard_uncertainty, (f"pack {pack.sequence}", *at))
        for name, it in pack.readings.items()
        if it.value is not None and it.quality in _RELIED_ON
    }
