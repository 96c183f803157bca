"""Refrigerant moved: whether an amount may be written, what speaks against it, and what a correction of it is of."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from calc.estimate import Estimate
from calc.governing import governing_figure
from calc.heating import mode_of
from calc.ledger import HEAVIEST_KG, LIGHTEST_KG, Doubtful, doubtful_amount
from calc.mode import Mode
from calc.refrigerants import get, propagates_flame
from calc.sentences import Sentence
from calc.situation import Situation
from ingest.visit.by_weight import lines_kg
from ingest.visit.deciding import Asked, DoubtfulError, Facts, Head, RefusedError
from ingest.visit.guards import questions, refusals, together
from ingest.visit.intended import Cover, Intended, Twin
from ingest.visit.plates import circuit_meant, circuits_of
from ingest.visit.proposals import is_alike
from ingest.visit.questions import name_of
from ingest.visit.tally import Sums
from ingest.wire.held_back import LEAD_STOPPED
from ingest.wire.messages import (
    Added,
    AddedAsk,
    Correction,
    CorrectionAsk,
    CylinderStands,
    MoveAsk,
    ProposedMove,
    Recovered,
    Wording,
)
from ingest.wire.sheet import Circuit
from ingest.wire.texts import same_name, shown
from ingest.wire.wording import worded

if TYPE_CHECKING:
    from ingest.visit.standing import Standing

TWINS_WITHIN_S = 120.0
"""So long after each other two people note the same refrigerant: common practice, no source."""
AS_READ_KG = 0.015
"""How far off an amount is that two people read off the same scale, half an ounce: common practice, no source."""

_PRESSURES = ("vacuum_pressure", "suction_pressure")
_LEAVE_IT, _STOP = ("look", "near enough", "done"), "stop"
"""States of the advice in which nothing is to be moved, and in which nothing is to be added (`calc.judge.state`)."""
_LEAKS_FIRST = ("headline.add_first", "headline.add_first_ice")
"""Sentences of an advice to add, by which leaks are looked for before."""
_TRUSTED = ("ok", "uncalibrated")


def asks_for_leaks_first(facts: Facts) -> bool:
    """Tell whether the advice is to look for leaks before anything is added."""
    return facts.advice is not None and facts.advice.sentence.kind in _LEAKS_FIRST


def move(ask: MoveAsk, head: Head, standing: "Standing", facts: Facts) -> Added | Recovered:
    """Write an amount; refuse one that cannot be, and ask about one that something speaks against."""
    if not LIGHTEST_KG <= ask.mass_kg <= HEAVIEST_KG:
        raise RefusedError(_no_amount(ask.mass_kg))
    _check_guess(ask)
    if ask.proposal and standing.proposals.waiting(ask.proposal) is None:
        raise RefusedError(f"there is no proposal {ask.proposal!r} of this visit that waits to be kept")
    _look(_intended(ask, head, standing, facts), confirmed=ask.confirmed)
    return (Added if isinstance(ask, AddedAsk) else Recovered)(
        *head,
        mass_kg=ask.mass_kg,
        phase=ask.phase,
        circuit=ask.circuit,
        cylinder=ask.cylinder,
        how=ask.how,
        within_share=ask.within_share,
        port=ask.port,
        purpose=ask.purpose,
        proposal=ask.proposal,
    )


def correction(ask: CorrectionAsk, head: Head, standing: "Standing", facts: Facts) -> Correction:
    """Write what an earlier amount was, and where; the new one is weighed like a first one."""
    original = standing.ledger.original(ask.of)
    if original is None:
        raise RefusedError(f"there is no amount {ask.of!r} of this visit to correct")
    if ask.mass_kg is None and (ask.circuit or ask.cylinder):
        raise RefusedError("mass_kg is missing: where it really was goes with how much it was; 0 takes it back")
    if ask.mass_kg and not LIGHTEST_KG <= ask.mass_kg <= HEAVIEST_KG:
        raise RefusedError(f"{_no_amount(ask.mass_kg)}; 0 takes it back")
    _look(_intended_instead(ask, original, standing, facts), confirmed=ask.confirmed)
    return Correction(*head, of=original, mass_kg=ask.mass_kg or None, circuit=ask.circuit, cylinder=ask.cylinder)


def _look(it: Intended, *, confirmed: bool) -> None:
    if refused := refusals(it):
        wording = together(refused, is_question=False)
        raise RefusedError(wording.us, wording, _kinds(refused))
    asked = questions(it)
    if asked and not confirmed:
        said = {name_of(worded(each)): each for each in asked}

        def put(names: Sequence[str]) -> Wording:
            return together([said[name] for name in names], is_question=True)

        raise DoubtfulError(Asked(tuple(said), put, warns=True))


def _kinds(said: list[Sentence]) -> tuple[str, ...]:
    return tuple(each.kind for each in said)


def _intended(ask: MoveAsk, head: Head, standing: "Standing", facts: Facts) -> Intended:
    _, now_s, by, _ = head
    circuits = circuits_of(facts.unit, facts.sheet_circuits, standing.placing.circuit)
    circuit = circuit_meant(ask.circuit, circuits)
    sums = standing.moved.ledgers.sums(circuit.name)
    is_added = isinstance(ask, AddedAsk)
    change_kg = ask.mass_kg if is_added else -ask.mass_kg
    in_view = circuit is circuits[0]
    figure = governing_figure(circuit.metering_device)
    reading = facts.readings.get(figure)
    moved = standing.moved
    return Intended(
        is_added=is_added,
        mass_kg=ask.mass_kg,
        phase=ask.phase,
        port=ask.port,
        purpose=ask.purpose,
        refrigerant=get(circuit.refrigerant),
        charge_kg=circuit.charge_kg,
        net_kg=sums.net_kg,
        recovered_kg=sums.recovered_kg,
        doubtful=_doubtful(change_kg, sums, circuit),
        cylinder=_cylinder(ask.cylinder, standing, circuits),
        runs=facts.runs if in_view else None,
        heats=in_view and mode_now(facts) is Mode.HEATING,
        vacuum_pa=_vacuum_pa(facts) if in_view else None,
        figure=figure if in_view and reading is not None and reading.value is not None else "",
        has_settled=moved.has_settled(figure),
        moved_ago_s=(ago_s := _moved_ago_s(circuit.name, facts.now_s(now_s), standing)),
        since_move_s=None if ago_s is None else ago_s * facts.speed,
        into_vacuum=ask.purpose == "weigh_in" and not moved.has_weighed_in(circuit.name),
        cover=_cover(moved.cover.now, facts),
        found_to_burn=propagates_flame(standing.findings.safety_class()),
        advised=facts.advised if in_view else "",
        by_hand=(by_hand := _by_hand(ask.proposal, circuit.name, facts.now_s(now_s), standing)),
        twin=None if by_hand else _twin(ask, circuit.name, by, facts.now_s(now_s), standing),
        to_leave=_to_leave(facts, is_added=is_added) if in_view else None,
        leaks_first=in_view and asks_for_leaks_first(facts),
        holds=standing.talk.holds.before_a_move(),
        stop=standing.stops.before_all(now_s),
        leak_found_s=moved.leaks.open.get(circuit.name),
        leak_sought=circuit.name in moved.leaks.sought,
        added_before_s=moved.added_before_s(circuit.name),
    )


def _intended_instead(ask: CorrectionAsk, original: str, standing: "Standing", facts: Facts) -> Intended:
    """Say what a move is to have been; nothing is looked at but how much it was, and where."""
    before = standing.moved.ledgers.entries[original]
    circuits = circuits_of(facts.unit, facts.sheet_circuits, standing.placing.circuit)
    circuit = circuit_meant(ask.circuit or before.circuit, circuits)
    sums = standing.moved.ledgers.sums(circuit.name, without=original)
    mass_kg = ask.mass_kg or 0.0
    return Intended(
        is_added=before.sign > 0,
        is_correction=True,
        mass_kg=mass_kg,
        purpose=before.purpose,
        refrigerant=get(circuit.refrigerant),
        charge_kg=circuit.charge_kg,
        net_kg=sums.net_kg,
        recovered_kg=sums.recovered_kg,
        doubtful=_doubtful(before.sign * mass_kg, sums, circuit) if mass_kg else None,
        cylinder=_cylinder(ask.cylinder or before.cylinder, standing, circuits, without=original) if mass_kg else None,
    )


def _moved_ago_s(circuit: str, now_s: float, standing: "Standing") -> float | None:
    """Tell how long ago refrigerant of a circuit was last moved, by the clock [s]; None before the first time."""
    newest = next(standing.moved.ledgers.newest_first(circuit), None)
    return None if newest is None else max(now_s - standing.at_s(newest.id), 0.0)


def _twin(ask: MoveAsk, circuit: str, by: str, now_s: float, standing: "Standing") -> Twin | None:
    """Find the same amount, by the ± of both, that somebody else noted of this circuit within the last two minutes."""
    is_added = isinstance(ask, AddedAsk)
    for it in standing.moved.ledgers.newest_first(circuit):
        since_s = max(now_s - standing.at_s(it.id), 0.0)
        if since_s > TWINS_WITHIN_S:
            break
        if (it.sign > 0) is not is_added or same_name(it.by, by):
            continue
        within_kg = math.hypot(_within_kg(ask.mass_kg, ask.within_share), _within_kg(it.mass_kg, it.within_share))
        if abs(it.mass_kg - ask.mass_kg) <= within_kg:
            return Twin(it.by, it.mass_kg, since_s)
    return None


def _by_hand(proposal: str, circuit: str, now_s: float, standing: "Standing") -> Twin | None:
    """Find what was noted by hand of a circuit since a scale began to show what is kept now, and is likely the same."""
    seen = standing.proposals.waiting(proposal)
    if seen is None or not isinstance(seen.what, ProposedMove):
        return None
    for it in standing.moved.ledgers.newest_first(circuit):
        is_since = it.time_s >= seen.from_s and not it.proposal
        if is_since and is_alike(seen.what, it.sign * it.mass_kg, it.within_share):
            return Twin(it.by, it.mass_kg, max(now_s - standing.at_s(it.id), 0.0))
    return None


def _within_kg(mass_kg: float, within_share: float | None) -> float:
    return AS_READ_KG if within_share is None else max(within_share * mass_kg, AS_READ_KG)


def _to_leave(facts: Facts, *, is_added: bool) -> Wording | None:
    """Give the headline of the advice, where it is to move nothing; what was advised and not moved yet stands."""
    advice = facts.advice
    if advice is None or facts.advised or facts.is_blind or advice.sentence.kind == LEAD_STOPPED:
        return None  # a lead's stop is asked about by itself
    return advice.sentence if advice.state in _LEAVE_IT or (is_added and advice.state == _STOP) else None


def _cover(found: Cover, facts: Facts) -> Cover:
    """Tell how the cover is: open where either says so; what a bench tells stands where nobody has said anything."""
    if facts.cover == "open" or found == "unknown":
        return facts.cover or found
    return found


def _doubtful(change_kg: float, sums: Sums, circuit: Circuit) -> Doubtful | None:
    """Weigh an amount against what the circuit holds: the plate's charge, and what longer lines than its take."""
    due_kg = None if circuit.charge_kg is None else circuit.charge_kg + max(lines_kg(circuit) or 0.0, 0.0)
    return doubtful_amount(change_kg, sums.net_kg, sums.recovered_kg, nameplate_kg=due_kg)


def _cylinder(
    name: str, standing: "Standing", circuits: Sequence[Circuit], *, without: str = ""
) -> CylinderStands | None:
    if not name:
        return None
    if name not in standing.moved.cylinders:
        have = ", ".join(standing.moved.cylinders.names()) or "none yet"
        raise RefusedError(f"there is no cylinder {shown(name)!r} of this visit: describe it first; described: {have}")
    return standing.moved.cylinder(name, {it.name: it.refrigerant for it in circuits}, without=without)


def _vacuum_pa(facts: Facts) -> float | None:
    """Give the lowest pressure that a gauge of the circuit reads and that is to be relied on [Pa]."""
    return min((found.value for name, found in _relied_on(facts).items() if name in _PRESSURES), default=None)


def mode_now(facts: Facts) -> Mode:
    """Tell whether the unit cools or heats, by what is to be relied on."""
    unit = facts.unit
    now = Situation(refrigerant=unit.refrigerant, compressor_rla_a=unit.compressor_rla_a, measured=_relied_on(facts))
    return mode_of(now)


def _relied_on(facts: Facts) -> dict[str, Estimate]:
    return {
        name: Estimate(reading.value, reading.standard_uncertainty or 0.0)
        for name, reading in facts.readings.items()
        if reading.value is not None and reading.quality in _TRUSTED and name not in facts.in_doubt
    }


def _check_guess(ask: MoveAsk) -> None:
    if ask.how == "estimated" and ask.within_share is None:
        raise RefusedError("within_share is missing: by which share may the guess be off? 0.2 for ± 20 %")
    if ask.within_share is None:
        return
    if ask.how != "estimated":
        raise RefusedError("within_share is of a guess: how = estimated was expected with it")
    if not (math.isfinite(ask.within_share) and 0.0 < ask.within_share <= 1.0):
        raise RefusedError(f"within_share is {ask.within_share:g}; a share above 0 and at most 1 was expected")


def _no_amount(mass_kg: float) -> str:
    much = "more" if mass_kg > HEAVIEST_KG else "less"
    return f"mass_kg: the amount is {much} than can be noted at once: 0.0035 oz to 110 lb (0.1 g to 50 kg)"
