"""How much refrigerant a circuit has by the maker's own figure: too little, right, too much, as it was read."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from calc.comparing import Met, NotMet, compare
from calc.estimate import Estimate
from calc.judge.state import tolerance_dk
from ingest.report.course import Course
from ingest.wire.messages import Finding, Grade
from ingest.wire.sheet import Circuit

State = Literal["too little", "right", "too much", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Level:
    """The figure that shows the charge, and its target [K], with what it comes to.

    source: of the target. grade: how the figure is known.
    """

    figure: str
    value: Estimate
    target_dk: float
    tolerance_dk: float
    source: str
    state: State
    evidence: list[str]
    grade: Grade

    @property
    def is_at_the_edge(self) -> bool:
        """Whether it is right, and nearer to too little than to its target."""
        over_dk = self.value.value - self.target_dk
        short_dk = over_dk if self.figure == "superheat" else -over_dk
        return self.state == "right" and short_dk > self.tolerance_dk / 2

    @property
    def words(self) -> str:
        """Tell it for people."""
        return "right, a little low" if self.is_at_the_edge else _WORDS[self.state]


_WORDS: Mapping[State, str] = {
    "too little": "too little",
    "right": "right",
    "too much": "too much",
    "cannot tell": "too near to tell",
}


def level_of(course: Course, circuit: Circuit, check: Literal["readings_before", "readings_after"]) -> Level | None:
    """Judge it by what was read; None where the figure or its target is not known.

    More subcooling is more refrigerant, and more superheat is less: the one that the metering device leaves free shows.
    """
    found = reading_of(course, circuit, check)
    figure = course.governs(circuit)
    if found is None or figure not in found.values:
        return None
    target = _target(course, circuit, found, figure)
    if target is None:
        return None
    target_dk, source, by = target
    spread = found.standard_uncertainties.get(figure, found.accuracies.get(figure, 0.0) / 2)
    value, limit_dk = (
        Estimate(found.values[figure], spread),
        tolerance_dk("superheat" if figure == "superheat" else "subcooling"),
    )
    state = _state(compare(value, target_dk - limit_dk, target_dk + limit_dk), is_superheat=figure == "superheat")
    return Level(
        figure,
        value,
        target_dk,
        limit_dk,
        source,
        state,
        [found.id, course.sheet_id, *by],
        found.grades.get(figure, found.grade),
    )


def reading_of(course: Course, circuit: Circuit, check: str) -> Finding | None:
    """Give the newest reading of a circuit; one that names none is of the one in view."""
    made = [it for it in course.of(check) if (it.circuit or course.in_view) == circuit.name]
    return made[-1] if made else None


def _target(course: Course, circuit: Circuit, found: Finding, figure: str) -> tuple[float, str, list[str]] | None:
    """Give the target that the judge held it against at that moment, else the plate's [K]."""
    plate_dk = circuit.target_superheat_dk if figure == "superheat" else circuit.target_subcooling_dk
    if plate_dk is not None:
        return plate_dk, "the nameplate", []
    stood = course.advice_at(course.seen_s(found))
    if stood is None or (verification := stood[1].verification) is None or verification.target_dk is None:
        return None
    if verification.figure != figure:
        return None
    printed = "the maker's charging chart" if circuit.superheat_chart_k else "the table for these conditions"
    return verification.target_dk, printed, [stood[0], *course.seen_ids(found)]


def _state(compared: object, *, is_superheat: bool) -> State:
    match compared:
        case Met():
            return "right"
        case NotMet(side="low"):
            return "too much" if is_superheat else "too little"
        case NotMet():
            return "too little" if is_superheat else "too much"
    return "cannot tell"


def told_level(course: Course, circuit: Circuit, level: Level) -> str:
    """Say it for the owner."""
    of = f"{course.named(circuit.name)} was" if course.several else "the unit was"
    if level.state == "too little":
        return f"{of} short of refrigerant by the maker's own figure"
    if level.is_at_the_edge:
        return f"{of} a little low on refrigerant by the maker's own figure, though within its range"
    return f"{of} overfull of refrigerant by the maker's own figure"
