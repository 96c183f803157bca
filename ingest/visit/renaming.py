"""Circuits that were renamed: what was recorded of one under an earlier name is of it still, at every visit.

Marks stay as they are in the record. Who folds them reads each as it is named now.
"""

from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from ingest.wire.messages import (
    Added,
    CarriedOver,
    ChargeLeft,
    Correction,
    Described,
    Finding,
    FoundSound,
    Mark,
    Photograph,
    Placed,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedPlace,
    Recovered,
    Sheet,
    VisitOpened,
)
from ingest.wire.sheet import Motor


def renamed_in(sheet: Sheet, circuits_were: Sequence[str]) -> dict[str, str]:
    """Tell by its name before how a circuit is called in a sheet, where that is another name."""
    pairs = zip(circuits_were, sheet.circuits, strict=False)  # circuits that are new come last
    return {was: circuit.name for was, circuit in pairs if was != circuit.name}


def with_names(sheet: Sheet, names: Mapping[str, str]) -> Sheet:
    """Give a sheet with its circuits named so: as it is compared with one that is only called otherwise."""
    if not names:
        return sheet
    circuits = tuple(replace(it, name=names.get(it.name, it.name)) for it in sheet.circuits)
    parts = tuple(
        replace(it, circuit=names.get(it.circuit, it.circuit)) if isinstance(it, Motor) else it for it in sheet.parts
    )
    return replace(sheet, circuits=circuits, parts=parts)


def as_named_now(mark: Mark, names: Mapping[str, str]) -> Mark:
    """Read a mark as circuits are named now. names: by those that they had when it was made."""
    match mark:
        case Added() | Recovered() | Correction() | Finding() | Photograph() | FoundSound() | ChargeLeft() if (
            mark.circuit in names
        ):
            return replace(mark, circuit=names[mark.circuit])
        case VisitOpened():
            over = mark.carried_over and _placed_as_named_now(mark.carried_over, names)
            return replace(mark, circuit=names.get(mark.circuit, mark.circuit), carried_over=over)
        case Placed() if mark.on in names:
            return replace(mark, on=names[mark.on])
        case Proposed(what=ProposedFinding() | ProposedMove() as what) if what.circuit in names:
            return replace(mark, what=replace(what, circuit=names[what.circuit]))
        case Proposed(what=ProposedPlace() as what) if what.on in names:
            return replace(mark, what=replace(what, on=names[what.on]))
    return mark


def _placed_as_named_now(over: CarriedOver, names: Mapping[str, str]) -> CarriedOver:
    return replace(over, places={name: replace(it, on=names.get(it.on, it.on)) for name, it in over.places.items()})


def all_named_now(visits: Iterable[tuple[str, Sequence[Mark]]]) -> list[tuple[str, list[Mark]]]:
    """Read the marks of visits, oldest first, each as its circuit is named after the last of them."""
    names: dict[str, str] = {}
    read: list[tuple[str, list[Mark]]] = []
    for visit, marks in reversed(list(visits)):
        newest_first: list[Mark] = []
        for mark in reversed(marks):
            newest_first.append(as_named_now(mark, names))
            if isinstance(mark, Described) and (then := renamed_in(mark.sheet, mark.circuits_were)):
                later = {name: now for name, now in names.items() if name not in then}
                names = later | {was: names.get(name, name) for was, name in then.items()}
        read.append((visit, newest_first[::-1]))
    return read[::-1]
