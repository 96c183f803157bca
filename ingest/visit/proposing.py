"""What becomes of a proposal by one touch: the mark of what was proposed, which names it; or that it was not so."""

import math
from collections.abc import Callable, Container, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from calc.sentences import Sentence, count
from ingest.visit.answers import find_figure
from ingest.visit.checklist import guided
from ingest.visit.deciding import DoubtfulError, Facts, Head, RefusedError, to_ask
from ingest.visit.finding import finding
from ingest.visit.findings import REPLACEMENT
from ingest.visit.moving import move
from ingest.visit.pattern import chosen_by_pattern
from ingest.visit.placing import place
from ingest.visit.proposals import GROWS
from ingest.visit.recalled import MEASURED
from ingest.visit.standing import Standing
from ingest.wire.messages import (
    Added,
    AddedAsk,
    Chosen,
    DismissAsk,
    Dismissed,
    Finding,
    FindingAsk,
    KeepAsk,
    Mark,
    PlaceAsk,
    Placed,
    Proposed,
    ProposedFinding,
    ProposedMove,
    ProposedPlace,
    ProposedUnit,
    Recovered,
    RecoveredAsk,
    WhatProposed,
)
from ingest.wire.wording import worded

_MAKING_DEAD = "B"
"""The group of what counts for the moment at which it was seen, and never for what is kept later."""
_START = "start"
_OF_A_SECTION = "measured."
_SWITCHED_OFF = "isolate"
"""Of this the instruments see that power went off, and never the lock: alone they cannot tell."""


def keep(ask: KeepAsk, head: Head, standing: Standing, facts: Facts) -> Mark:
    """Keep what was proposed, through the same guards as if a person had asked for it."""
    proposed = _waiting(ask.of, standing)
    if not isinstance(proposed.what, ProposedMove) and (ask.mass_kg is not None or ask.phase):
        raise RefusedError(f"{ask.of!r} proposes no move of refrigerant: mass_kg and phase are of one")
    if not isinstance(proposed.what, ProposedFinding) and (ask.per or ask.choices):
        raise RefusedError(f"{ask.of!r} proposes no finding: per and choices are of one")
    return KEPT_AS[type(proposed.what)](ask, head, _of_the_new_part(proposed, ask, standing), standing, facts)


def dismiss(ask: DismissAsk, head: Head, standing: Standing, _: Facts) -> Dismissed:
    """Keep that it was not so."""
    _waiting(ask.of, standing)
    return Dismissed(*head, of=ask.of, text=ask.text.strip())


def _waiting(of: str, standing: Standing) -> Proposed:
    """Find the proposal that is meant."""
    proposed = standing.proposals.waiting(of)
    if proposed is not None:
        return proposed
    answer = standing.proposals.answered(of)
    if answer is None:
        raise RefusedError(f"there is no proposal {of!r} of this visit")
    if standing.proposals.is_withdrawn(of) and isinstance(answer, Added | Recovered):
        raise RefusedError(
            f"the proposal {of!r} was withdrawn: {answer.by} moved refrigerant since it was seen. Wait until it has "
            "settled after that: it is proposed anew then"
        )
    if standing.proposals.is_withdrawn(of) and not (isinstance(answer, Finding) and answer.check == _SWITCHED_OFF):
        raise RefusedError(
            f"the proposal {of!r} was withdrawn: since it was seen there was power, or the visit was left alone. What "
            "was dead before proves nothing now: isolate and prove it dead anew"
        )
    if standing.proposals.is_withdrawn(of):
        isolated = guided()[_SWITCHED_OFF].check.title
        raise RefusedError(
            f"the proposal {of!r} was withdrawn: {isolated} was recorded after it, by {answer.by}; if there is power "
            "again, record that check by itself"
        )
    did = "dismissed" if isinstance(answer, Dismissed) else "kept"
    raise RefusedError(f"the proposal {of!r} was {did} already, by {answer.by}")


def _finding(ask: KeepAsk, head: Head, what: ProposedFinding, standing: Standing, facts: Facts) -> Finding:
    """Let the check decide, by the figures of the moment when it was seen, whatever the instruments show now."""
    if set(ask.per) - what.per.keys() or (what.per and not ask.per):
        names = ", ".join(what.per) or "nothing"
        raise RefusedError(f"per: {', '.join(ask.per) or 'nothing'} is named; one or several of {names} was expected")
    if seen := ask.choices.keys() & what.choices.keys():
        raise RefusedError(
            f"choices: {', '.join(sorted(seen))} was seen by the instruments: leave it out, or dismiss it"
        )
    if 0 < what.places < len(ask.per) and not ask.confirmed:
        counted = (count("seen", what.places), count("named", len(ask.per)))
        raise DoubtfulError(to_ask(worded(Sentence("keep.more_named", counted))))
    alone = {figure.name for figure in guided()[what.check].check.figures if not figure.per}
    spreads = _named(what.standard_uncertainties, ask.per, alone)
    values = _named(what.values, ask.per, alone)
    by_word = [name for name in values if name not in what.values] if 0 < what.places < len(ask.per) else []
    choices = {} if what.check == REPLACEMENT else {**what.choices, **ask.choices}
    earlier = _begun(what, choices, values, standing)
    asked = FindingAsk(
        ask.id,
        ask.by,
        check=what.check,
        grade="measured",
        values=values,
        accuracies={name: 2 * spread for name, spread in spreads.items()},
        grades=dict.fromkeys(by_word, "said"),  # on which of them the meter was seen nothing tells
        choices=choices,
        part=what.part,
        circuit=what.circuit,
        builds_on=earlier.id if earlier else "",
    )
    made = finding(asked, head, standing, facts, seen=True)
    stands = standing.findings.newest(what.check, what.part or what.circuit)
    if what.check == _SWITCHED_OFF and made.outcome == "cannot_tell" and stands and stands.outcome == "met":
        raise RefusedError(
            f"{guided()[what.check].check.title} is met already, by {stands.by}, and the instruments see no lock: "
            "touch Not so; if there was power since, record the check anew"
        )
    return replace(made, proposal=ask.of)


def _of_the_new_part(proposed: Proposed, ask: KeepAsk, standing: Standing) -> WhatProposed:
    """Take what a meter showed of a can for the exchange that was recorded before it, and lacks this section.

    It is of the part that went in: of the one that came out nothing is measured after that.
    """
    what = proposed.what
    if not isinstance(what, ProposedFinding) or what.check != MEASURED:
        return what
    values = {name: value for name, value in what.values.items() if name.startswith(_OF_A_SECTION)}
    sections = [name.removeprefix(_OF_A_SECTION) for name in _named(values, ask.per, ())]
    lacks = [standing.findings.lacks_measured(what.part, section, proposed.from_s) for section in sections]
    return replace(what, check=REPLACEMENT, values=values, choices={}) if lacks and all(lacks) else what


def _begun(
    what: ProposedFinding, choices: Mapping[str, str], values: Mapping[str, float], standing: Standing
) -> Finding | None:
    """Find what a proposal goes on with: what grows, and of a part what another proposal began and could not tell.

    What was answered by hand since, such as that no drive feeds it, is not asked again. What measures only some of the
    figures again, or answers otherwise, is of another moment; what makes dead, and a start, counts for its own alone.
    """
    check = guided()[what.check].check
    earlier = standing.findings.newest(what.check, what.part or what.circuit)
    if earlier is None or earlier.outcome == "skipped":
        return None
    if standing.findings.is_of_old_part(earlier) or (check.of == "part" and _is_measured_anew(earlier, what, values)):
        return None
    if what.check in (*GROWS, REPLACEMENT):
        return earlier
    if check.of != "part" or what.check == _START or check.place.startswith(_MAKING_DEAD):
        return None
    if earlier.outcome != "cannot_tell" or not standing.findings.was_proposed(earlier):
        return None
    is_otherwise = any(earlier.choices.get(name, chosen) != chosen for name, chosen in choices.items())
    measured = {name for name in earlier.values if not find_figure(check, name)[0].plate}
    is_mixed = bool(measured & values.keys()) and not measured <= values.keys()
    return None if is_otherwise or is_mixed else earlier


def _is_measured_anew(earlier: Finding, what: ProposedFinding, values: Mapping[str, float]) -> bool:
    """Tell whether what was measured before is measured again, and was not met, or reads otherwise by more than both ±.

    It is of another part then, or of another contact with it: nothing of the one is held beside the other.
    """
    if what.check not in GROWS:
        return False
    check = guided()[what.check].check
    again = [name for name in values if name in earlier.values and not find_figure(check, name)[0].plate]
    spread = max(what.standard_uncertainties.values(), default=0.0)

    def reads_otherwise(name: str) -> bool:
        apart = abs(values[name] - earlier.values[name])
        return apart > 2 * math.hypot(spread, earlier.standard_uncertainties.get(name, 0.0))

    return bool(again) and (earlier.outcome == "not_met" or any(map(reads_otherwise, again)))


def _named(values: Mapping[str, float], per: Sequence[str], alone: Container[str]) -> dict[str, float]:
    """Give what was taken somewhere the names of where that was. alone: figures that stand by their name alone.

    >>> _named({"measured.?": 9e-6, "tolerance": 0.06}, ["fan"], {"tolerance"})
    {'measured.fan': 9e-06, 'tolerance': 0.06}
    >>> _named({"volts.?": 0.1}, ["a_b", "control"], {"control"})
    {'volts.a_b': 0.1, 'control': 0.1}
    """
    places: dict[str, Sequence[str]] = {name: per if name.endswith(".?") else [""] for name in values}

    def named(name: str, at: str) -> str:
        return name if not at else at if at in alone else name.removesuffix("?") + at

    return {named(name, at): values[name] for name in values for at in places[name]}


def _move(ask: KeepAsk, head: Head, what: ProposedMove, standing: Standing, facts: Facts) -> Added | Recovered:
    """Write the move; below 0 it went into the cylinder. The scale says how much, nothing says in which phase."""
    make = AddedAsk if what.mass_kg > 0.0 else RecoveredAsk
    mass_kg = abs(what.mass_kg) if ask.mass_kg is None else ask.mass_kg
    moved = make(
        ask.id,
        ask.by,
        mass_kg=mass_kg,
        phase=ask.phase,
        circuit=what.circuit,
        cylinder=what.cylinder if what.cylinder in standing.moved.cylinders else "",
        how="scale" if ask.mass_kg is None else "typed",
        proposal=ask.of,
        confirmed=ask.confirmed,
    )
    return move(moved, head, standing, facts)


def _place(ask: KeepAsk, head: Head, what: ProposedPlace, standing: Standing, facts: Facts) -> Placed:
    placed = place(PlaceAsk(ask.id, ask.by, on=what.on, channels=what.channels), head, standing, facts)
    return replace(placed, proposal=ask.of)


def _unit(ask: KeepAsk, head: Head, what: ProposedUnit, standing: Standing, facts: Facts) -> Chosen:
    return chosen_by_pattern(ask.of, head, what, standing, facts)


KeptAs = Callable[[KeepAsk, Head, Any, Standing, Facts], Mark]

KEPT_AS: Mapping[type[WhatProposed], KeptAs] = {
    ProposedFinding: _finding,
    ProposedMove: _move,
    ProposedPlace: _place,
    ProposedUnit: _unit,
}
"""What each kind of proposal becomes."""
