"""Another unit opened: whether the rig may go there, what of it comes into view, and what was read where it was."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from calc.sentences import Sentence, text
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.placing import OF_A_UNIT
from ingest.visit.stopping import check_may_be_carried, check_none_stands
from ingest.visit.tags import nearest
from ingest.wire.messages import CarriedOver, ChannelPlace, LeftAt, OpenAsk, VisitOpened
from ingest.wire.texts import shown
from ingest.wire.wording import Wording, worded

if TYPE_CHECKING:
    from ingest.visit.placing import Placing
    from ingest.visit.standing import Standing


def open_visit(ask: OpenAsk, head: Head, standing: "Standing", facts: Facts) -> VisitOpened:
    """Say where the rig is to go."""
    sheet = facts.sheets.get(ask.unit)
    if sheet is None:
        near = nearest(ask.unit, list(facts.sheets))
        meant = f"did you mean {shown(near)}? If not, " if near else ""
        raise RefusedError(f"there is no unit {shown(ask.unit)!r} in the register: {meant}describe it first")
    circuits = [circuit.name for circuit in sheet.circuits]
    circuit = ask.circuit or circuits[0]
    if circuit not in circuits:
        raise RefusedError(f"{shown(ask.unit)} has no circuit {shown(circuit)!r}; it has {', '.join(circuits)}")
    check_none_stands(standing)
    check_may_be_carried(standing.stops.standing)
    if not ask.confirmed and (asked := [*_is_left_unsigned(ask, standing, facts), *_hoses_open(standing, facts)]):
        raise DoubtfulError(*map(to_ask, asked))
    return VisitOpened(
        *head,
        text=f"visit at {sheet.tag}",
        unit=sheet.tag,
        circuit=circuit,
        grade=ask.grade,
        stops=standing.stops.standing,
        carried_over=carried_over(
            sheet.tag,
            facts.unit.tag,
            standing.placing,
            {*facts.readings, *facts.was_read},
            standing.findings.locks,
        ),
    )


def carried_over(
    unit: str, here: str, placing: "Placing", channels: Iterable[str], locks: Sequence[str] = ()
) -> CarriedOver:
    """Tell where the instruments are as the rig goes to a unit from the one here, which may be the same.

    channels: what it reads, or has read here. locks: whose stand here. What was read at a unit stays there until
    somebody says that it moved, though the rig is at a third one meanwhile, or an instrument was not configured while
    the rig moved.
    """
    places, hoses = dict(placing.places), sorted(placing.hoses)
    if unit == here:
        return CarriedOver(dict(placing.left), sorted(placing.off), places, hoses, tuple(locks))
    off, turns, now = placing.nothing(), placing.turns(), placing.now()
    read = [name for name in channels if name in OF_A_UNIT and name not in off]
    all_left = {name: LeftAt(here, places[name].on if name in places else "") for name in read} | placing.left
    back = {name: at.on for name, at in all_left.items() if at.unit == unit}
    return CarriedOver(
        {name: at for name, at in all_left.items() if name not in back},
        sorted(placing.off),
        {
            name: replace(now.get(name, ChannelPlace("")), on=back.get(name, ""))
            for name in sorted({*off, *turns, *(name for name, on in back.items() if on)})
        },
        hoses,
    )


def _is_left_unsigned(ask: OpenAsk, standing: "Standing", facts: Facts) -> list[Wording]:
    """Ask of the unit at work: to open it again ends its visit as it is."""
    if ask.unit != facts.unit.tag or standing.progress.state == "signed":
        return []
    return [worded(Sentence("open.unsigned", (text("unit", ask.unit),)))]


def _hoses_open(standing: "Standing", facts: Facts) -> list[Wording]:
    hoses = sorted(standing.placing.hoses)
    told = [(text("port", port), text("unit", facts.unit.tag)) for port in hoses[:1]]
    return [worded(Sentence("open.hose_open", parts)) for parts in told]
