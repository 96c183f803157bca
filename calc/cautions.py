"""What to beware of at each step that touches refrigerant. They warn; they unlock nothing.

Invariant: which of them stand open at a step and which are read once a visit is decided here and nowhere else. Open is
what harms if the hands that do this step neglect it while they do it, what kills first. Once a visit is read what holds
before it, after it or throughout (the maker, who may do it, leaks looked for afterwards), and what belongs to a check
that the page tells beside the step without sending anybody there yet.

Sources: 40 CFR 82.161 (certification), 82.154 (no venting) and 82.156 (how far to recover); public charging manuals for
flammable refrigerants and blends; a maker's manual for the discharge of a capacitor. NFPA 70E for what is worn until it
is proved dead, 29 CFR 1910.333(b)(2)(iv)(A) for the start that is tried after the lock, servicing clauses after IEC
60335-2-40 for air in a recovery cylinder and for purging before a flame, makers for the trickle of nitrogen and the
wait of a crankcase heater, compressor makers for terminal covers and the far ends of the leads, what a flame needs open
and the gas that it makes of what is left: all from memory. Gloves, eye protection, the cylinder's 80 % and small steps,
hoses rated for the high side, the line side that stays live, edges and ladders, what is hot and turns of a heat pump
that heats, where to stand at a disconnect, that no test before the last joint counts: common practice, no source.
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import NamedTuple

from calc.errors import UnknownNameError
from calc.refrigerants import CLASS_NOT_KNOWN, Refrigerant, as_known, burns_worst, get, propagates_flame
from calc.sentences import Sentence, text


class Step(StrEnum):
    """What is about to be done with the refrigerant; or, for LOOK, with a panel, a fan or a wire; TOUCH: at a pipe.

    BY_A_HEAT_PUMP: at one that heats, where nothing is moved.

    SWITCH_OFF: at the disconnect. PROVE_DEAD: with a tester, at what may still be live. DISCHARGE: of a capacitor.
    MEASURE: of a unit that runs, where parts are live. MEGOHMS: of a winding's insulation. BY_HAND: at a contactor's
    magnet. START: power or a call comes back.

    WEIGH_IN is a charge by its mass, before anything is known of how it goes in.
    """

    CONNECT = "connect"
    DISCONNECT = "disconnect"
    CHARGE = "charge"
    WEIGH_IN = "weigh_in"
    RECOVER = "recover"
    EVACUATE = "evacuate"
    BRAZE = "braze"
    LOOK = "look"
    SWITCH_OFF = "switch_off"
    PROVE_DEAD = "prove_dead"
    DISCHARGE = "discharge"
    TOUCH = "touch"
    BY_A_HEAT_PUMP = "by_a_heat_pump"
    MEASURE = "measure"
    MEGOHMS = "megohms"
    BY_HAND = "by_hand"
    START = "start"
    PRESSURE_TEST = "pressure_test"


_PREFIX = "caution."
_ALWAYS = (
    "heights",
    "maker_first",
    "certified",
)
_AT_LOOK = (
    "lock_out",
    "prove_dead",
)
_AT_STEP = {
    Step.LOOK: _AT_LOOK,
    Step.SWITCH_OFF: ("stand_aside",),
    Step.PROVE_DEAD: (*_AT_LOOK, "until_proved"),
    Step.DISCHARGE: (*_AT_LOOK, "discharge"),
    Step.TOUCH: ("hot_and_turning",),
    Step.BY_A_HEAT_PUMP: ("hot_while_it_heats", "fan_after_a_defrost"),
    Step.MEASURE: ("live_parts",),
    Step.MEGOHMS: (*_AT_LOOK, "megohms"),
    Step.BY_HAND: ("by_hand",),
    Step.START: ("power_back", "stand_aside", "vacuum"),
    Step.PRESSURE_TEST: (
        "regulator",
        "caps_and_gauges",
        "let_off",
    ),
    Step.CONNECT: (
        "freezes",
        "rated_hoses",
    ),
    Step.DISCONNECT: (
        "freezes",
        "close_the_hose",
    ),
    Step.CHARGE: (
        "no_flame_on_a_cylinder",
        "into_a_vacuum",
        "small_steps",
    ),
    Step.WEIGH_IN: ("no_flame_on_a_cylinder",),
    Step.RECOVER: (
        "no_flame_on_a_cylinder",
        "recovery_cylinder",
        "level_reached",
    ),
    Step.EVACUATE: ("vacuum",),
    Step.BRAZE: (
        "nothing_shut_in",
        "nitrogen_flow",
        "hot_work",
        "tested_last",
    ),
}
_WORST_FIRST = (
    "lock_out",
    "live_parts",
    "prove_dead",
    "burns",
    "burns_braze",
    "panel_closed_grounded",
    "panel_closed",
    "pressure_test",
)
"""What kills, over all steps: live parts, stored charge, fire; the rest follows step by step (common practice, no
source)."""

_ONCE = frozenset({*_ALWAYS, "into_a_vacuum", "leak_test", "room_limit", "escapes", "level_reached"})
"""What is read once a visit, at whichever step it comes first (common practice, no source)."""

_STANDS_OPEN = frozenset(
    {
        "lock_out",
        "prove_dead",
        "until_proved",
        "discharge",
        "live_parts",
        "megohms",
        "by_hand",
        "power_back",
        "stand_aside",
        "vacuum",
    }
)
"""What is said anew at each step at a panel, though it was read before (common practice, no source)."""

_NOTHING_ESCAPES = (Step.TOUCH, Step.BY_A_HEAT_PUMP, Step.MEASURE)
"""Where no hand lets anything out, that it burns is read once."""

_FILL = "fill"
_FLAMMABLE_FILL = "fill_flammable"
_FLAMMABLE = "burns"
_FLAMMABLE_BRAZE = "burns_braze"
_BY_WHAT_WAS_FOUND = ("_found", "_not_known")
"""Further wordings of those two, where what was found burns worse than what the unit is said to hold."""
_FLAMMABLE_FIRST: Mapping[Step, tuple[str, ...]] = {
    Step.CONNECT: ("panel_closed",),
    Step.DISCONNECT: ("panel_closed",),
    Step.CHARGE: ("panel_closed_grounded",),
    Step.WEIGH_IN: ("panel_closed_grounded",),
    Step.RECOVER: ("panel_closed",),
    Step.BRAZE: ("pressure_test",),
}
"""What kills before anything that holds for every refrigerant at that step."""
_FLAMMABLE_THEN: Mapping[Step, tuple[str, ...]] = {
    Step.LOOK: ("refrigerant_before_panel",),
    Step.CONNECT: ("rated_tools",),
    Step.DISCONNECT: ("escapes",),
    Step.CHARGE: (
        "leak_test",
        "room_limit",
    ),
    Step.WEIGH_IN: (
        "leak_test",
        "room_limit",
    ),
    Step.RECOVER: ("recovery_machine",),
    Step.EVACUATE: ("pump_outdoors",),
}


def cautions(refrigerant: str | None, step: Step, *, found: str = "") -> tuple[str, ...]:
    """List what to beware of at a step, what is worst first, in English; the rest as `beware`.

    >>> cautions("R-454B", Step.CHARGE)[0].split(":")[0]
    'R-454B burns (A2L)'

    """
    return tuple(map(str, beware(refrigerant, step, found=found)))


def at_a_panel(*, live: bool = False) -> tuple[str, ...]:
    """List what to beware of at a panel, a fan or a wire where no refrigerant is concerned, in English.

    live: while the unit runs.
    """
    measured = _AT_STEP[Step.MEASURE] if live else ()
    return tuple(str(Sentence(f"{_PREFIX}{kind}")) for kind in (*measured, *_AT_LOOK, "maker_first"))


def beware(refrigerant: str | None, step: Step, *, found: str = "") -> tuple[Sentence, ...]:
    """List what to beware of at a step; without a refrigerant, what holds for any.

    In the order of the harm: live parts, stored charge and fire, then what injures at this step, then what spoils the
    unit or the work, then what is read once a visit.

    Raises:
        UnknownNameError: an unknown refrigerant.
        ValueError: an unknown step.

    """
    it = beware_at_steps(refrigerant, (step,), found=found)
    return (*it.now, *it.once)


class _InIt(NamedTuple):
    """What is in the circuit, as far as cautions go by it."""

    burns: bool
    as_liquid: bool


class Beware(NamedTuple):
    """What to beware of, the worst first: of what the hands do now, and what is read once a visit."""

    now: tuple[Sentence, ...]
    once: tuple[Sentence, ...]


def beware_at_steps(
    refrigerant: str | None, steps: Sequence[Step], told: Sequence[Step] = (), *, found: str = ""
) -> Beware:
    """List likewise what to beware of at several steps, each thing once, the worst of all of them first.

    Nothing where there is no step. told: steps of checks that are told beside, and to which nobody is sent yet. found:
    the safety class of what was found in it, `calc.refrigerants.CLASS_NOT_KNOWN` where nobody knows, empty where nobody
    looked: of this and the refrigerant's own the one that burns worse counts. What this house does not know, a class or
    a refrigerant, is taken for one that may burn: a newer rig may.
    """
    facts = _facts(refrigerant)
    own = facts.safety_class if facts else ""
    found = as_known(found) or ("" if facts or refrigerant is None else CLASS_NOT_KNOWN)
    safety_class = burns_worst((own, found))
    it = _InIt(propagates_flame(safety_class), facts is not None and facts.charge_as_liquid)
    now = [kind for step in steps for kind in _at(it, Step(step)) if not _is_once(kind, step)]
    due = [kind for step in (*steps, *told) for kind in _at(it, Step(step))]
    worst = [kind for kind in _WORST_FIRST if kind in due]
    if "panel_closed_grounded" in worst and "panel_closed" in worst:
        worst.remove("panel_closed")
        due = [kind for kind in due if kind != "panel_closed"]
    if "low_side_as_liquid" in due:
        due = [kind for kind in due if kind != "blend"]
    kinds = dict.fromkeys([*worst, *due, *(_ALWAYS if due else ())])
    name = (text("name", facts.designation),) if facts else ()
    parts = (*name, text("safety_class", safety_class)) if safety_class else name
    wording = "" if safety_class == own else "_not_known" if safety_class == CLASS_NOT_KNOWN else "_found"
    of_fire = (_FLAMMABLE, _FLAMMABLE_BRAZE)
    said = {kind: Sentence(f"{_PREFIX}{kind}{wording if kind in of_fire else ''}", parts) for kind in kinds}
    return Beware(
        tuple(it for kind, it in said.items() if kind in now), tuple(it for kind, it in said.items() if kind not in now)
    )


def _facts(refrigerant: str | None) -> Refrigerant | None:
    try:
        return None if refrigerant is None else get(refrigerant)
    except UnknownNameError:
        return None


def harm(caution: Sentence) -> int:
    """Rank a caution by its harm over all steps, from 0, the worst; what does not kill has the last rank."""
    kind = _kind_of(caution)
    return _WORST_FIRST.index(kind) if kind in _WORST_FIRST else len(_WORST_FIRST)


def stands_open(caution: Sentence) -> bool:
    """Whether a caution stands open at each step at a panel, though it was read before."""
    return _kind_of(caution) in _STANDS_OPEN


def _kind_of(caution: Sentence) -> str:
    kind = caution.kind.removeprefix(_PREFIX)
    return next((kind.removesuffix(each) for each in _BY_WHAT_WAS_FOUND if kind.endswith(each)), kind)


def _is_once(kind: str, step: Step) -> bool:
    return kind in _ONCE or (kind == _FLAMMABLE and step in _NOTHING_ESCAPES)


def _at(it: _InIt, step: Step) -> list[str]:
    burns, as_liquid = it
    found = list(_AT_STEP[step])
    if step is Step.RECOVER:
        found.append(_FLAMMABLE_FILL if burns else _FILL)
    if step is Step.CHARGE:
        found[1:1] = ["evacuate_hose" if burns else "empty_hose", "low_side_as_liquid" if as_liquid else "low_side"]
    if step is Step.WEIGH_IN and as_liquid:
        found.append("blend")
    if burns:
        warning = _FLAMMABLE_BRAZE if step is Step.BRAZE else _FLAMMABLE
        found = [warning, *_FLAMMABLE_FIRST.get(step, ()), *found, *_FLAMMABLE_THEN.get(step, ())]
    return found
