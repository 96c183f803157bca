"""A unit, its circuits and a technician who moves refrigerant there, through the decisions of a visit."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import count
from typing import Any

import msgspec

from calc.governing import governing_figure
from calc.refrigerants import get
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError
from ingest.visit.decisions import DECISIONS
from ingest.visit.earlier import NONE_BEFORE, History
from ingest.visit.plates import circuits_of
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    AddedAsk,
    Ask,
    CorrectionAsk,
    CylinderAsk,
    Finding,
    Mark,
    Reading,
    RecoveredAsk,
    UnitAbout,
    VisitOpened,
    Wording,
)
from ingest.wire.sheet import Circuit, Sheet

T0_S = 1_780_000_000.0
OUNCE_KG = 0.028349523125  # NIST SP 811, B.8
POUND_KG = 0.45359237
CHARGE_KG = 120 * OUNCE_KG  # 7 lb 8 oz


def circuit(name: str = "1", refrigerant: str = "R-410A", **fields: Any) -> Circuit:
    return Circuit(
        **{"name": name, "refrigerant": refrigerant, "metering_device": "txv", "charge_kg": CHARGE_KG} | fields
    )


def about(it: Circuit) -> UnitAbout:
    """The circuit in view, as the rig has it."""
    facts = get(it.refrigerant)
    return UnitAbout(
        tag="RTU-K7Q-4",
        place="roof",
        refrigerant=facts.designation,
        safety_class=facts.safety_class,
        metering_device=it.metering_device,
        charge_as_liquid=facts.charge_as_liquid,
        nameplate_charge_kg=it.charge_kg,
    )


class Visit:
    """One visit, at which time goes on. warned: the kinds of what was told, ask by ask; told: in words."""

    def __init__(self, *circuits: Circuit, history: History = NONE_BEFORE, **facts: Any) -> None:
        self.circuits = circuits or (circuit(),)
        self.now_s, self.by = T0_S, "Sam"
        self._ids = count()
        self.standing = Standing("v1", history=history)
        self.take(VisitOpened("v", T0_S, circuit=self.circuits[0].name))
        self.facts = Facts(
            about(self.circuits[0]),
            {},
            frozenset(),
            frozenset(),
            sheets={"RTU-K7Q-4": Sheet("RTU-K7Q-4", self.circuits)},
        )
        self.see(**facts)
        self.standing.moved.know(
            circuits_of(self.facts.unit, self.circuits, self.circuits[0].name), self.circuits[0].name
        )
        self.warned: list[tuple[str, ...]] = []
        self.told: list[Wording] = []

    @property
    def head(self) -> Head:
        return f"a{next(self._ids)}", round(self.now_s, 3), self.by, "technician"

    def see(self, **facts: Any) -> None:
        """Take what the rig sees now; read: values by channel."""
        read = facts.pop("read", None)
        if read is not None:
            facts["readings"] = {name: Reading(value, self.now_s) for name, value in read.items()}
        self.facts = replace(self.facts, **facts)

    def runs(self, figure_dk: float = 5.0) -> None:
        """Let the compressor run, and its figure be read."""
        figure = governing_figure(self.circuits[0].metering_device)
        self.see(runs=True, read={figure: figure_dk, "suction_pressure": 9e5, "liquid_pressure": 24e5})

    def rests(self, suction_pa: float = 12e5) -> None:
        self.see(runs=False, read={"suction_pressure": suction_pa, "liquid_pressure": suction_pa})

    def settles(self, minutes: float = 15.0) -> None:
        """Let time go by until the judge calls it settled."""
        self.now_s += 60.0 * minutes
        self.standing.judged(governing_figure(self.circuits[0].metering_device), self.now_s)

    def take(self, mark: Mark) -> None:
        self.standing.take(mark)

    def finds(self, check: str, outcome: Any = "met", **fields: Any) -> None:
        """Keep what a guided check found."""
        self.take(Finding(*self.head, check=check, grade="said", outcome=outcome, **fields))

    def ask(self, ask: Ask) -> Mark:
        """Decide on an ask as it is sent; what was told and is so is confirmed."""
        try:
            mark = DECISIONS[type(ask)](ask, self.head, self.standing, self.facts)
        except DoubtfulError as doubt:
            self.warned.append(tuple(doubt.warnings))
            self.told.append(doubt.question)
            again = msgspec.structs.replace(ask, confirmed=True)
            mark = DECISIONS[type(ask)](again, self.head, self.standing, self.facts)
        except RefusedError as refused:
            self.warned.append(tuple(refused.warnings) or (str(refused),))
            self.told += [refused.wording] if refused.wording else []
            raise
        self.take(mark)
        return mark

    def adds(self, mass_kg: float, phase: Any = "liquid", **fields: Any) -> Mark:
        return self.ask(AddedAsk("", "Sam", mass_kg=mass_kg, phase=phase, **fields))

    def recovers(self, mass_kg: float, phase: Any = "vapour", **fields: Any) -> Mark:
        return self.ask(RecoveredAsk("", "Sam", mass_kg=mass_kg, phase=phase, **fields))

    def corrects(self, of: str, mass_kg: float | None, **fields: Any) -> Mark:
        return self.ask(CorrectionAsk("", "Sam", of=of, mass_kg=mass_kg, **fields))

    def brings(self, name: str, use: Any = "virgin", refrigerant: str = "R-410A", **fields: Any) -> Mark:
        return self.ask(CylinderAsk("", "Sam", name=name, use=use, refrigerant=refrigerant, **fields))


def kinds(warned: Sequence[Sequence[str]]) -> set[str]:
    return {kind for each in warned for kind in each}
