"""Refrigerant at a visit: every move by circuit and cylinder, the cylinders, leaks, the cover, and what they come to.

Beside the marks stands what the record knows of earlier visits, given once as the visit begins, and what the judge says
of this moment: whether the figure that shows the charge has settled since the last move.
"""

from collections.abc import Mapping, Sequence

from ingest.visit.account import account
from ingest.visit.by_weight import by_weight
from ingest.visit.cover import CoverFold
from ingest.visit.cylinders import Cylinders
from ingest.visit.earlier import History
from ingest.visit.leaks import OPENED, Leaks
from ingest.visit.ledgers import Ledgers
from ingest.visit.tally import Entry
from ingest.wire.events import MarkBase
from ingest.wire.findings import Finding
from ingest.wire.messages import (
    Added,
    ByWeight,
    CircuitAccount,
    Correction,
    CylinderStands,
    Placed,
    ReadingTaken,
    Recovered,
)
from ingest.wire.sheet import Circuit


class Moved:
    """How refrigerant stands at a visit. history: of the visits before it."""

    def __init__(self, history: History) -> None:
        self.history = history
        self.ledgers = Ledgers()
        self.cylinders = Cylinders()
        self.cover = CoverFold()
        self.leaks = Leaks(history.open_leaks)
        self._opened: dict[str, Finding] = {}
        self._circuits: Sequence[Circuit] = ()
        self._has_settled: set[str] = set()

    def take(self, mark: MarkBase, in_view: str) -> float:
        """Take the next mark; returns by how much it changes the charge of the circuit in view [kg]."""
        seen = in_view or self.ledgers.unnamed  # as long as nobody names one, it is the one that is meant
        before_kg = self.ledgers.sums(seen).net_kg if isinstance(mark, Added | Recovered | Correction) else 0.0
        self.cylinders.take(mark)
        self.ledgers.take(mark, in_view)
        self.cover.take(mark)
        self.leaks.take(mark, in_view)
        match mark:
            case Added() | Recovered() | Correction():
                change_kg = round(self.ledgers.sums(seen).net_kg - before_kg, 9)
                if change_kg and not isinstance(mark, Correction):
                    self._has_settled.clear()
                return change_kg
            case ReadingTaken():
                self._has_settled |= _settled_in(mark)
            case Placed():
                self._has_settled.clear()
            case Finding() if mark.check == OPENED:
                self._opened[mark.circuit or in_view] = mark
        return 0.0

    def judged(self, settled: str) -> None:
        """Take the figure that has settled now, as the judge says; empty for none."""
        if settled:
            self._has_settled.add(settled)

    def has_settled(self, figure: str) -> bool:
        """Whether a figure of the circuit in view has settled since its last move, or before any at this visit."""
        return figure in self._has_settled

    def know(self, circuits: Sequence[Circuit], unnamed: str) -> None:
        """Take the circuits of the unit, the one in view first, and which is meant where nobody names one."""
        self._circuits = circuits
        self.ledgers.unnamed = unnamed
        self.leaks.name(unnamed)

    @property
    def circuits(self) -> Sequence[Circuit]:
        """The circuits of the unit, the one in view first."""
        return self._circuits

    def earlier(self, circuit: str) -> list[list[Entry]]:
        """Give what was moved of a circuit at each earlier visit at which anything was, oldest first."""
        return self.history.of(circuit, unnamed=circuit == self.ledgers.unnamed)

    def added_before_s(self, circuit: str) -> list[float]:
        """Tell when refrigerant was added to a circuit at earlier visits, the last of each [s since 1970].

        What a new installation took is no addition to it.
        """
        return [
            max(entry.time_s for entry in added)
            for visit in self.earlier(circuit)
            if (added := [entry for entry in visit if entry.sign > 0 and entry.purpose != "new_installation"])
        ]

    def has_weighed_in(self, circuit: str) -> bool:
        """Whether any of a charge by weight went into a circuit at this visit."""
        return self.ledgers.has_weighed_in(circuit)

    def cylinder(self, name: str, refrigerants: Mapping[str, str], *, without: str = "") -> CylinderStands:
        """Say how a cylinder stands. refrigerants: of each circuit; without: a move that is not to be counted."""
        return self.cylinders.stands(name, self.ledgers.cylinder(name, without=without), refrigerants)

    def accounts(self) -> list[CircuitAccount]:
        """Draw up the account of every circuit that is known, or of which anything was moved."""
        known = {circuit.name: circuit for circuit in self._circuits}
        moved = [name for name in self.ledgers.circuits() if name not in known]
        return [
            *(account(circuit, self.ledgers.of(name), self.earlier(name)) for name, circuit in known.items()),
            *(_of_unknown(name, self.ledgers) for name in moved),
        ]

    def by_weight(self) -> ByWeight | None:
        """Say where a charge by weight of the circuit in view is; None where there is none."""
        if not self._circuits:
            return None
        circuit = self._circuits[0]
        entries = self.ledgers.of(circuit.name)
        return by_weight(circuit, entries, self._opened.get(circuit.name), self._weighed_from(circuit.name))

    def cylinders_stand(self) -> list[CylinderStands]:
        """Say how every cylinder stands."""
        refrigerants = {circuit.name: circuit.refrigerant for circuit in self._circuits}
        return [self.cylinder(name, refrigerants) for name in self.cylinders.names()]

    def _weighed_from(self, circuit: str) -> CylinderStands | None:
        """Give the cylinder that a circuit was last charged from; before that, the only one there is to charge with."""
        refrigerants = {circuit.name: circuit.refrigerant for circuit in self._circuits}
        used = [it.cylinder for it in self.ledgers.of(circuit) if it.sign > 0 and it.cylinder in self.cylinders]
        if used:
            return self.cylinder(used[-1], refrigerants)
        to_charge = [it for it in self.cylinders_stand() if it.use == "virgin"]
        return to_charge[0] if len(to_charge) == 1 else None


def _settled_in(reading: ReadingTaken) -> set[str]:
    return {
        figure
        for figure in ("superheat", "subcooling")
        if reading.figures.get(figure) is not None
        and figure not in reading.unsettled
        and figure not in reading.in_doubt
    }


def _of_unknown(name: str, ledgers: Ledgers) -> CircuitAccount:
    """Draw up what a circuit that nobody described comes to."""
    sums = ledgers.sums(name)
    return CircuitAccount(
        circuit=name,
        added_kg=round(sums.added_kg, 6),
        recovered_kg=round(sums.recovered_kg, 6),
        net_kg=round(sums.net_kg, 6),
        moves=sums.moves,
        last_move_s=sums.last_move_s,
    )
