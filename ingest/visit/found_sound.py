"""What each circuit of a unit showed whenever it was found sound, from the marks of its earlier visits."""

import math
from collections.abc import Iterable, Mapping, Sequence
from statistics import fmean

from calc.estimate import Estimate
from ingest.visit.ledgers import Ledgers
from ingest.visit.looked import put_right
from ingest.visit.placing import Placing
from ingest.visit.renaming import all_named_now
from ingest.wire.messages import Finding, FoundSound, Mark, UnitAbout

_MOST_DK = 50.0
"""No figure of a unit that is sound lies as far from others."""

FoundSounds = Mapping[str, Sequence[FoundSound]]
"""One for each visit, oldest first, by the name of the circuit; empty: the one that is meant where none is named."""


def found_sound(visits: Iterable[tuple[str, Sequence[Mark]]], unnamed: str = "") -> FoundSounds:
    """Give what stands of each visit: after a move it is another charge, and what was found before counts no more.

    visits: by their ids, oldest first. unnamed: the circuit that is meant where none is named, by the sheet.
    """
    stand: dict[str, list[FoundSound]] = {}
    for _, marks in all_named_now(visits):
        placing, ledgers, newest = Placing(), Ledgers(), dict[str, FoundSound]()
        for mark in marks:
            placing.take(mark)
            before = len(ledgers.entries)
            ledgers.take(mark, placing.circuit)
            if isinstance(mark, FoundSound):
                newest[mark.circuit or unnamed] = mark
            elif isinstance(mark, Finding) and put_right(mark):
                stand.pop(
                    mark.circuit or unnamed, None
                )  # it is another unit since, and what it was before was not right
                newest.pop(mark.circuit or unnamed, None)
            elif len(ledgers.entries) > before:
                newest.pop(ledgers.entries[mark.id].circuit or unnamed, None)
        for circuit, mark in newest.items():
            stand.setdefault(circuit, []).append(mark)
    return {**stand, "": stand.get(unnamed, [])}


def departures_of(found: FoundSounds, unit: UnitAbout) -> dict[str, Estimate]:
    """Give what the circuit in view shows when it is sound, for `Situation.found_sound`; empty where nobody knows.

    All visits count alike: what fouls by a little from year to year must not become what is expected. unit: as it is
    now; what was found with another refrigerant or metering device does not count.
    """
    known: dict[str, list[Estimate]] = {}
    for it in found.get(unit.circuit, ()):
        if (it.refrigerant, it.metering_device) == (unit.refrigerant, unit.metering_device):
            for name, (value, spread) in it.departures.items():
                if abs(value) < _MOST_DK and 0.0 < spread < _MOST_DK:  # a record that was written to is no record
                    known.setdefault(name, []).append(Estimate(value, spread))
    return {name: _mean(each) for name, each in known.items()}


def _mean(each: Sequence[Estimate]) -> Estimate:
    """Average them; what one of them may be off by, all together may: one instrument may have read all."""
    spread = math.sqrt(fmean(it.standard_uncertainty**2 for it in each))
    return Estimate(fmean(it.value for it in each), spread)
