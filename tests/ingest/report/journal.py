"""A visit written down mark by mark, at an invented unit, and its report."""

from itertools import count
from typing import Any

from msgspec.structs import replace

from calc.units import System
from ingest.report.compose import compose
from ingest.report.document import Report
from ingest.visit.seal import digest
from ingest.wire.messages import Added, Circuit, Finding, Mark, ReadingTaken, Sheet, Signed, VisitOpened
from tests import units
from tests.ingest.report.recorded import Shelf

BEGAN_S = 1_780_144_200.0
"""30 May 2026, 12:30 universal time: 1,780,099,200 s is its midnight, by `date -u -d 2026-05-30 +%s`."""
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8
UNIT = replace(units.CORRECT, tag="RTU-M2D-1")
ONE = replace(UNIT, circuits=[UNIT.circuits[0]])
BURNS = replace(UNIT, circuits=[UNIT.circuits[1]])


class Journal:
    """A visit. Each mark comes a minute after the one before."""

    def __init__(self, sheet: Sheet = ONE) -> None:
        self.sheet = sheet
        self.now_s, self._ids = BEGAN_S, count()
        self.marks: list[Mark] = [VisitOpened("m-open", BEGAN_S, unit=sheet.tag, circuit=sheet.circuits[0].name)]

    def head(self, by: str = "Sam", role: str = "technician") -> dict[str, Any]:
        self.now_s += 60.0
        return {"id": f"m{next(self._ids)}", "time_s": self.now_s, "by": by, "role": role}

    def add(self, kind: type[Mark], **fields: Any) -> str:
        by, role = fields.pop("by", "Sam"), fields.pop("role", "technician")
        mark = kind(**self.head(by, role), **fields)
        self.marks.append(mark)
        return mark.id

    def found(self, check: str, outcome: Any = "met", grade: Any = "measured", **fields: Any) -> str:
        return self.add(Finding, check=check, outcome=outcome, grade=grade, **fields)

    def handed_over(self, left: str = "running", complaint: str = "gone", **said: str) -> str:
        return self.found("handover", choices={"left": left, "complaint": complaint, **said})

    def add_reading(self) -> str:
        return self.add(ReadingTaken, figures={})

    def added(self, ounces: float, **fields: Any) -> str:
        return self.add(Added, mass_kg=ounces * OUNCE_KG, phase="liquid", **{"how": "scale", **fields})

    def signed(self, **fields: Any) -> str:
        return self.add(Signed, name="Sam", digest=digest(self.marks), **fields)

    def shelf(self) -> Shelf:
        return Shelf.of("v1", self.sheet.tag, self.marks, self.sheet)

    def report(self, system: System = "us", zone: str = "UTC") -> Report:
        return compose(self.shelf(), "v1", system=system, zone=zone)


def circuit(**fields: Any) -> Circuit:
    return replace(UNIT.circuits[0], **fields)
