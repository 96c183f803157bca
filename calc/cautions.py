"""What to beware of at each step that touches refrigerant. They warn; they unlock nothing.

Sources: 40 CFR 82.161 (certification) and 82.154 (no venting); public charging manuals for flammable refrigerants and
blends. Gloves, eyewear, the cylinder's 80 % and small steps: common practice, no source.
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from calc.refrigerants import get
from calc.sentences import Sentence, text


class Step(StrEnum):
    """What is about to be done with the refrigerant; or, for LOOK, with a panel, a fan or a wire; TOUCH: at a pipe.

    MEASURE: of a unit that runs, where parts are live.

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
    TOUCH = "touch"
    MEASURE = "measure"


_ALWAYS = (
    "maker_first",
    "certified",
)
_AT_LOOK = (
    "lock_out",
    "prove_dead",
)
_AT_STEP = {
    Step.LOOK: _AT_LOOK,
    Step.TOUCH: ("hot_and_turning",),
    Step.MEASURE: ("live_parts",),
    Step.CONNECT: ("freezes",),
    Step.DISCONNECT: (
        "freezes",
        "close_the_hose",
    ),
    Step.CHARGE: (
        "no_flame_on_a_cylinder",
        "low_side_only",
        "liquid_slowly",
        "small_steps",
    ),
    Step.WEIGH_IN: ("no_flame_on_a_cylinder",),
    Step.RECOVER: (
        "no_flame_on_a_cylinder",
        "recovery_cylinder",
    ),
    Step.EVACUATE: ("vacuum",),
    Step.BRAZE: (
        "nitrogen_flow",
        "hot_work",
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

_FILL = "fill"
_FLAMMABLE_FILL = "fill_flammable"
_FLAMMABLE = "burns"
_FLAMMABLE_BRAZE = "burns_braze"
_FLAMMABLE_FIRST: Mapping[Step, tuple[str, ...]] = {
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


def cautions(refrigerant: str | None, step: Step) -> tuple[str, ...]:
    """List what to beware of at a step, what is worst first, in English; the rest as `beware`.

    >>> cautions("R-454B", Step.CHARGE)[0].split(":")[0]
    'R-454B burns (A2L)'

    """
    return tuple(map(str, beware(refrigerant, step)))


def at_a_panel() -> tuple[str, ...]:
    """List what to beware of at a panel, a fan or a wire where no refrigerant is concerned, in English."""
    return tuple(str(Sentence(f"caution.{kind}")) for kind in (*_AT_LOOK, "maker_first"))


def beware(refrigerant: str | None, step: Step) -> tuple[Sentence, ...]:
    """List what to beware of at a step; without a refrigerant, what holds for any.

    In the order of the harm: live parts, stored charge and fire, then what injures at this step, then what spoils the
    unit or the work, then what holds always. The first four are what a person reads who reads no more.

    Raises:
        UnknownNameError: an unknown refrigerant.
        ValueError: an unknown step.

    """
    return beware_at_steps(refrigerant, (step,))


def beware_at_steps(refrigerant: str | None, steps: Sequence[Step]) -> tuple[Sentence, ...]:
    """List likewise what to beware of at several steps, each thing once, the worst of all of them first.

    Nothing where there is no step.
    """
    found = [kind for step in steps for kind in _at(refrigerant, Step(step))]
    worst = [kind for kind in _WORST_FIRST if kind in found]
    kinds = dict.fromkeys([*worst, *found, *(_ALWAYS if steps else ())])
    facts = None if refrigerant is None else get(refrigerant)
    parts = (text("name", facts.designation), text("safety_class", facts.safety_class)) if facts else ()
    return tuple(Sentence(f"caution.{kind}", parts) for kind in kinds)


def _at(refrigerant: str | None, step: Step) -> list[str]:
    found = list(_AT_STEP[step])
    facts = None if refrigerant is None else get(refrigerant)
    if step is Step.RECOVER:
        found.append(_FLAMMABLE_FILL if facts is not None and facts.is_flammable else _FILL)
    if step is Step.CHARGE:
        found.append("evacuate_hose" if facts is not None and facts.is_flammable else "empty_hose")
    if facts is None:
        return found
    if step in (Step.CHARGE, Step.WEIGH_IN) and facts.charge_as_liquid:
        found.insert(2, "blend")
    if facts.is_flammable:
        warning = _FLAMMABLE_BRAZE if step is Step.BRAZE else _FLAMMABLE
        found = [warning, *_FLAMMABLE_FIRST.get(step, ()), *found, *_FLAMMABLE_THEN.get(step, ())]
    return found
