"""What today's judge would say otherwise of a recorded visit, in words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from calc.quantities import Quantity
from calc.units import difference_to_display, to_display
from ingest.advice.rerun import Rerun
from ingest.local_time import moment_here
from ingest.record.reading import RecordedVisit
from ingest.wire.messages import Advice, Steadiness

NOT_THERE = ("its readings are not in the record",)


@dataclass(slots=True)
class Spell:
    """Advices one after another that differ alike: from when to when [s since 1970], how many, and in what."""

    first_s: float
    last_s: float
    count: int
    differences: Sequence[str]


@dataclass(slots=True)
class ComesOut:
    """How the advices of a visit come out. same, others: how many do as given, and do not."""

    same: int = 0
    others: int = 0
    spells: list[Spell] = field(default_factory=list)
    is_broken: bool = False
    """Whether one came out as given since the last spell."""

    def take(self, found: Rerun) -> None:
        """Take the next advice."""
        if found.same:
            self.same += 1
            self.is_broken = True
            return
        self.others += 1
        time_s, said = found.given.time_s, NOT_THERE if found.again is None else differences(found.given, found.again)
        newest = self.spells[-1] if self.spells and not self.is_broken else None
        if newest and newest.differences == said:
            newest.last_s, newest.count = time_s, newest.count + 1
        else:
            self.spells.append(Spell(time_s, time_s, 1, said))
        self.is_broken = False


def by_visit(found: Iterable[Rerun]) -> dict[str, ComesOut]:
    """Gather what comes out by visit, in the order of their packs."""
    visits: dict[str, ComesOut] = {}
    for each in found:
        visits.setdefault(each.visit, ComesOut()).take(each)
    return visits


def differences(given: Advice, again: Advice) -> tuple[str, ...]:
    """Say in words what comes out otherwise; where only figures within it do, which part of it.

    Not when it was given counts for that, but what it says.
    """
    before, now = _parts(given), _parts(again)
    said = tuple(
        f"{part}: {_quoted(before[part], now[part], 'said')}; today {_quoted(now[part], before[part], 'would say')}"
        for part in before
        if before[part] != now[part]
    )
    return said or ("the words are the same; figures beside them differ",)


def as_lines(visit: RecordedVisit | None, visit_id: str, found: ComesOut) -> Iterator[str]:
    """Tell how a visit comes out. visit: as recorded; None where the record does not know it."""
    at = f" at {visit.unit.tag}, {moment_here(visit.started_s)}" if visit else ""
    all_told = found.same + found.others
    if not found.others:
        yield f"visit {visit_id}{at}: {all_told} advices, all as they were given"
        return
    yield f"visit {visit_id}{at}: {all_told} advices, of which today's judge would give {found.others} otherwise"
    for spell in found.spells:
        until = f" to {moment_here(spell.last_s)}, {spell.count} advices" if spell.count > 1 else ""
        yield f"  {moment_here(spell.first_s)}{until}"
        yield from (f"    {said}" for said in spell.differences)


def _parts(advice: Advice) -> Mapping[str, Sequence[str]]:
    """Give what an advice says, part by part, as a person would read it."""
    verification, step = advice.verification, advice.next_step
    return {
        "sentence": [advice.sentence.us],
        "state": [advice.state],
        "alarms": [alarm.says.us for alarm in advice.alarms],
        "doubts": [doubt.reason.us for doubt in advice.doubts],
        "settling": [f"{name} {_steady(it)}" for name, it in sorted(advice.steadiness.items())],
        "causes": [f"{cause.fault.replace('_', ' ')} {cause.probability:.0%}" for cause in advice.causes],
        "verification": [verification.says.us] if verification else [],
        "next step": [_step(step.step_kg)] if step else [],
        "details": [detail.us for detail in advice.details],
        "cautions": [*advice.cautions, *advice.cautions_once],
        "not judged": list(advice.not_judged),
    }


def _steady(it: Steadiness) -> str:
    if it.value_dk is None or it.expanded_dk is None:
        return f"{it.state.replace('_', ' ')}{f' ({it.why})' if it.why else ''}"
    value, unit = difference_to_display(it.value_dk, Quantity.TEMPERATURE, "us")
    spread, _ = difference_to_display(it.expanded_dk, Quantity.TEMPERATURE, "us")
    return f"{it.state} at {value:.2f} ± {spread:.2f} {unit}"


def _step(step_kg: float) -> str:
    mass, unit = to_display(abs(step_kg), Quantity.MASS, "us")
    return f"{'add' if step_kg > 0 else 'recover'} {mass:.2f} {unit}"


def _quoted(these: Sequence[str], others: Sequence[str], verb: str) -> str:
    """Say which of these are not among the others; all of them where only their order differs."""
    alone = [it for it in these if it not in others] or ([] if len(these) < len(others) else list(these))
    return f"{verb} {'; '.join(alone)}" if alone else f"{verb} nothing of it"
