"""What the instruments showed and a person need only confirm, as cards."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

from calc.units import System
from dashboard import words
from dashboard.sentences import say
from dashboard.visit.beginning import named
from dashboard.visit.cards import Card, Field, Key
from ingest.wire.messages import ProposalStands, ProposedFinding, ProposedMove, UnitAbout, Visit, WhatProposed

MOST_KEYS = 3
"""So many places have a key each; more of them are chosen first, several together."""
_ALONE = frozenset({"prove_dead", "discharge", "power_back"})
"""Checks on which a life hangs: what was seen of them is kept by a touch of its own."""


_DEAD, _POWER, _JOINT, _AFTER = "prove_dead", "power_back", "joint_drop", "readings_after"
_AT_WORK = {"choices": {"at_place_of_work": "yes"}}
"""Where the meter was held no instrument tells."""
_BESIDES = frozenset({"load_side"})
"""Places that are named where the meter was held there, too: the line side is proved dead without."""


def waiting(visit: Visit, unit: UnitAbout, system: System) -> list[Card]:
    """Make the cards of what waits for a person, the oldest first; of two that are one of each of two places, one."""
    cards, paired = [], set()
    for index, proposal in enumerate(visit.proposals):
        if proposal.id in paired:
            continue
        other = next((it for it in visit.proposals[index + 1 :] if _is_pair(proposal.what, it.what)), None)
        if other is None:
            cards.append(_card(proposal, unit, system, _locked_by(visit)))
        else:
            paired.add(other.id)
            cards.append(_pair(proposal, other, system))
    return cards


def _locked_by(visit: Visit) -> str:
    """Name who put a lock on that stands: with the power it is asked about. A role is nobody's name."""
    return named(visit.locks[0]) if visit.locks else ""


def _card(proposal: ProposalStands, unit: UnitAbout, system: System, locked_by: str) -> Card:
    return Card(
        proposal.id,
        say("proposals.seen"),
        (getattr(proposal.says, system), *_by_word(proposal.what)),
        time_s=proposal.to_s,
        fields=_which(proposal.what),
        keys=(
            Key(say("proposals.dismiss"), "dismiss", {"of": proposal.id}, bare=True),
            *_keep(proposal, unit, locked_by),
        ),
        together=_is_clear(proposal.what),
    )


def _is_pair(one: WhatProposed, other: WhatProposed) -> bool:
    """Tell whether two readings are of one thing with two places, such as the sections of one capacitor."""
    if not (isinstance(one, ProposedFinding) and isinstance(other, ProposedFinding)) or len(one.per) != len(_PLACES):
        return False
    return (one.check, one.part, one.circuit, one.per) == (other.check, other.part, other.circuit, other.per)


_PLACES = ("first", "second")


def _pair(one: ProposalStands, other: ProposalStands, system: System) -> Card:
    """Ask of two readings which place each was of, in one touch: the keys name both."""
    keys = [
        Key(
            say("proposals.keep_pair", first=_per(one)[first], second=_per(one)[second]),
            "keep",
            {"of": one.id, "fields": {"per": [first]}},
            besides=({"of": other.id, "fields": {"per": [second], **_both(one, first, second)}},),
        )
        for first, second in product(_per(one), repeat=len(_PLACES))  # both of one place, where it was renewed between
    ]
    return Card(
        one.id,
        say("proposals.seen"),
        tuple(
            say("proposals.of_two", number=number, says=getattr(it.says, system))
            for number, it in enumerate((one, other), 1)
        ),
        time_s=other.to_s,
        keys=(
            Key(say("proposals.dismiss_first"), "dismiss", {"of": one.id}, bare=True),
            Key(say("proposals.dismiss_second"), "dismiss", {"of": other.id}, bare=True),
            *keys,
        ),
    )


def _both(one: ProposalStands, first: str, second: str) -> Mapping[str, Mapping[str, str]]:
    """Say of a capacitor that it has both sections, where one reading was of each."""
    is_dual = isinstance(one.what, ProposedFinding) and one.what.check == "capacitor_measured" and first != second
    return {"choices": {"sections": "dual"}} if is_dual and "sections" not in _chosen(one) else {}


def _chosen(proposal: ProposalStands) -> Mapping[str, str]:
    return proposal.what.choices if isinstance(proposal.what, ProposedFinding) else {}


def _per(proposal: ProposalStands) -> Mapping[str, str]:
    return proposal.what.per if isinstance(proposal.what, ProposedFinding) else {}


def _is_clear(what: WhatProposed) -> bool:
    """Tell whether its sentence says all that is kept: nothing is left to choose, or to remember, as of a probe."""
    match what:
        case ProposedFinding():
            return not what.per and what.check not in (*_ALONE, _JOINT) and not _needs_conditions(what)
        case ProposedMove():
            return what.mass_kg <= 0
    return False


def _needs_conditions(what: WhatProposed) -> bool:
    """Tell whether it is still to be said if the conditions are those of the readings before: no instrument tells."""
    return isinstance(what, ProposedFinding) and what.check == _AFTER and "conditions" not in what.choices


def _keep(proposal: ProposalStands, unit: UnitAbout, locked_by: str) -> list[Key]:
    """Make the key that keeps it; of what left a cylinder one for each state, in one touch: no scale tells that."""
    of = {"of": proposal.id}
    if isinstance(proposal.what, ProposedFinding) and 0 < len(proposal.what.per) <= MOST_KEYS:
        return [
            Key(say("proposals.keep_of", what=word), "keep", {**of, "fields": {"per": [name]}})
            for name, word in proposal.what.per.items()
        ]
    if isinstance(proposal.what, ProposedFinding) and proposal.what.per:
        return _keep_of_many(proposal.what, of)
    if isinstance(proposal.what, ProposedFinding) and proposal.what.check == _JOINT:
        named = [
            Key(
                say("proposals.keep_of", what=joint), "keep", {**of, "fields": {"choices": {"joint": joint}}}, bare=True
            )
            for joint in words.JOINTS
        ]
        return [*named, Key(say("proposals.keep"), "keep", of, main=True)]
    if isinstance(proposal.what, ProposedFinding) and proposal.what.check == _DEAD:
        return [Key(say("proposals.keep_at_work"), "keep", {**of, "fields": _AT_WORK}, main=True)]
    if locked_by and isinstance(proposal.what, ProposedFinding) and proposal.what.check == _POWER:
        off = {**of, "fields": {"choices": {"lock_removed_by": locked_by}}}
        return [
            Key(say("proposals.keep"), "keep", of),
            Key(say("proposals.keep_lock_off", name=locked_by), "keep", off, main=True),
        ]
    if _needs_conditions(proposal.what):
        return [
            Key(says, "keep", {**of, "fields": {"choices": {"conditions": conditions}}}, main=conditions == "same")
            for conditions, says in (
                ("differ", say("proposals.keep_differ")),
                ("same", say("proposals.keep_as_before")),
            )
        ]
    if not isinstance(proposal.what, ProposedMove) or proposal.what.mass_kg <= 0:
        return [Key(say("proposals.keep"), "keep", of, main=True)]
    return [
        Key(
            say("proposals.keep_as", phase=words.PHASES[phase]),
            "keep",
            {**of, "phase": phase},
            main=phase == "liquid" and unit.charge_as_liquid,
        )
        for phase in ("vapour", "liquid")
    ]


def _keep_of_many(what: ProposedFinding, of: Mapping[str, str]) -> list[Key]:
    """Make the keys of more places than have a key each: one for all of them, and one for those chosen.

    Where the meter was seen in fewer none is for all: whoever held it there names each, and the rig asks about them.
    """
    at_work = _AT_WORK if what.check == _DEAD else {}
    chosen = Key(say("proposals.keep_chosen"), "keep", of, main=True)
    if _is_counted_less(what):
        here = Key(say("proposals.keep_chosen_at_work"), "keep", {**of, "fields": at_work}, main=True)
        return [replace(chosen, main=False), here] if at_work else [chosen]
    names = list(what.per) if what.places >= len(what.per) else _needed(what)
    where = ", ".join(what.per[name] for name in names)
    each = say("proposals.keep_each_at_work", what=where) if at_work else say("proposals.keep_each", what=where)
    return [Key(each, "keep", {**of, "fields": {"per": names, **at_work}}, bare=True), chosen]


def _is_counted_less(what: ProposedFinding) -> bool:
    """Tell whether the meter was seen in fewer places than are named: held on one after the other, it shows one."""
    return len(what.per) > MOST_KEYS and 0 < what.places < len(_needed(what))


def _needed(what: ProposedFinding) -> list[str]:
    """Name the places without which the check is not met; the others are named only by who held the meter there."""
    return [name for name in what.per if name not in _BESIDES]


def _by_word(what: WhatProposed) -> tuple[str, ...]:
    """Say in how many places the meter was seen, above those that are named: more rests on a person's word."""
    if not isinstance(what, ProposedFinding) or not _is_counted_less(what):
        return ()
    return (say("proposals.by_word", seen=what.places),)


def _which(what: WhatProposed) -> tuple[Field, ...]:
    """Ask where it was taken, as no instrument tells: which joint, or of more places than have a key each."""
    if isinstance(what, ProposedFinding) and what.check == _JOINT:
        named = Field("joint", say("proposals.which_joint"), into="fields.choices", needed=True)
        return (named,)
    if not isinstance(what, ProposedFinding) or len(what.per) <= MOST_KEYS:
        return ()
    options = tuple(what.per.items())
    return (Field("per", say("proposals.which"), "choice", options=options, needed=True, several=True),)
