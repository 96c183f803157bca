"""A visit as today's judge has it: the simulated unit, its instruments, a record, and somebody who obeys and notes it.

All between the sensors and the record is what the daemon has; in the place of its asks stand the marks they come to.
"""

from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace as with_fields

from ingest.record.store import Record
from ingest.visit.plates import circuits_of, unnamed_is
from ingest.visit.seal import digest
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    Advice,
    Circuit,
    Finding,
    Mark,
    Pack,
    ReadingTaken,
    Recovered,
    Sheet,
    Signed,
    VisitOpened,
    as_recorded,
)
from simulators.bench.scenario import load_scenario
from tests.judge.voice import T0_S, Player, Visit, rig_of

VISIT = "visit-1"
_ADVICE_S = 60.0


@dataclass(frozen=True, slots=True)
class Recorded:
    """A visit in a record. marks: of it, as they were made; end: what was advised last, and the cause that led then."""

    path: Path
    marks: Sequence[Mark]
    sheet: Sheet
    end: tuple[str, str]
    moves: int


def record_visit(path: Path, scenario: str, *, ends_after_s: float) -> Recorded:
    """Record a visit at the unit of a scenario, until there is nothing more to do or it ends."""
    known = load_scenario(scenario)
    rig = replace(rig_of(known), record=path)
    circuit = Circuit("", rig.unit.refrigerant, rig.unit.metering_device, charge_kg=rig.unit.nameplate_charge_kg)
    sheet = Sheet(rig.unit.tag, [with_fields(circuit, name="1", charge_known_by="nameplate")], place=rig.unit.place)
    with closing(Record(path)) as record:
        record.add_sheets([sheet], T0_S)
        record.begin_session(rig, boot="boot", new_visit=VISIT, time_s=T0_S)
        player = _Recording(
            Visit(scenario, ""), known.parameters, rig, known.instruments, known.parameters.charge_kg, ends_after_s
        )
        player.begin(record, sheet)
        played = player.play(_ADVICE_S)
        player.sign()
        return Recorded(path, record.marks(), sheet, played.end, played.moves)


@dataclass
class _Kept:
    """What goes into a record, which is written whenever advice is given."""

    record: Record
    standing: Standing
    packs: list[Pack] = field(default_factory=list)

    def write(self) -> None:
        self.record.commit(self.packs)
        self.packs = []


class _Recording(Player):
    """Whoever obeys, with a record in which it stands."""

    step_s = 6.0

    def begin(self, record: Record, sheet: Sheet) -> None:
        """Be at the unit, and read what it does as it is."""
        standing = Standing(VISIT)
        standing.moved.know(circuits_of(self.rig.unit, sheet.circuits, ""), unnamed_is(self.rig.unit, sheet.circuits))
        self.kept = _Kept(record, standing)
        self.note(VisitOpened, unit=sheet.tag, grade="seen")
        self.note(Finding, check="complaint", grade="said", outcome="met", choices={"complaint": "Cools too little."})
        self.note_reading(self.tick())

    def sign(self) -> None:
        """Read what it does now, hand over, and sign."""
        self.note_reading(self.tick())
        choices = {"left": "running", "complaint": "gone"}
        self.note(Finding, check="handover", grade="said", outcome="met", choices=choices)
        self.kept.write()
        self.note(Signed, name="Sam", digest=digest(self.kept.record.marks()))

    def read(self) -> Pack:
        pack = with_fields(as_recorded(super().read()), rig=self.rig.name, sequence=None)
        self.kept.packs.append(pack)
        return pack

    def advise(self, pack: Pack) -> Advice:
        given = self.advisor.advise(pack, self.rig, self.rig.barometric_pressure_pa, {})
        self.kept.write()
        if given.is_news:
            self.kept.record.add_advice(given.time_s, given.grounds, given.payload)
        return msgspec.json.decode(given.payload, type=Advice)

    def take(self, mark: Mark, change_kg: float = 0.0) -> None:
        said = with_fields(mark, by="Sam", role="technician")
        weighed = with_fields(said, how="scale") if isinstance(said, Added | Recovered) else said
        self.kept.write()
        self.kept.record.add_mark(weighed)
        super().take(weighed, self.kept.standing.take(weighed))

    def note(self, kind: type[Mark], **fields: Any) -> None:
        self.take(kind(self.id(), T0_S + self.now_s, **fields))

    def note_reading(self, pack: Pack) -> None:
        figures = {name: it.value for name, it in pack.readings.items()}
        spreads = {name: it.standard_uncertainty for name, it in pack.readings.items() if it.standard_uncertainty}
        self.note(ReadingTaken, figures=figures, standard_uncertainties=spreads)
