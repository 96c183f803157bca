"""What to beware of at each step that touches refrigerant. They warn; they unlock nothing.

Sources: 40 CFR 82.161 (certification) and 82.154 (no venting); public charging manuals for flammable refrigerants and
blends. Gloves, eyewear, the cylinder's 80 % and small steps: common practice, no source.
"""

from enum import StrEnum

from calc.refrigerants import get
from calc.sentences import Sentence, text


class Step(StrEnum):
    """What is about to be done with the refrigerant; or, for LOOK, with a panel, a fan or a wire; TOUCH: at a pipe."""

    CONNECT = "connect"
    DISCONNECT = "disconnect"
    CHARGE = "charge"
    RECOVER = "recover"
    EVACUATE = "evacuate"
    BRAZE = "braze"
    LOOK = "look"
    TOUCH = "touch"


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
    Step.CONNECT: ("freezes",),
    Step.DISCONNECT: (
        "freezes",
        "close_the_hose",
    ),
    Step.CHARGE: (
        "no_flame_on_a_cylinder",
        "low_side_only",
        "small_steps",
    ),
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
_FILL = "fill"
_FLAMMABLE_FILL = "fill_flammable"
_FLAMMABLE = "burns"
_FLAMMABLE_BRAZE = "burns_braze"
_FLAMMABLE_AT_STEP = {
    Step.LOOK: ("refrigerant_before_panel",),
    Step.TOUCH: (),
    Step.CONNECT: ("rated_tools",),
    Step.DISCONNECT: ("escapes",),
    Step.CHARGE: (
        "panel_closed_grounded",
        "leak_test",
        "room_limit",
    ),
    Step.RECOVER: (
        "panel_closed",
        "recovery_machine",
    ),
    Step.EVACUATE: ("pump_outdoors",),
    Step.BRAZE: ("pressure_test",),
}


def cautions(refrigerant: str | None, step: Step) -> tuple[str, ...]:
    """List what to beware of at a step, what is worst first, in English; the rest as `beware`.

    >>> cautions("R-454B", Step.CHARGE)[0].split(":")[0]
    'R-454B burns (A2L)'

    """
    return tuple(map(str, beware(refrigerant, step)))


def beware(refrigerant: str | None, step: Step) -> tuple[Sentence, ...]:
    """List what to beware of at a step, what is worst first. Where the refrigerant is not known, what holds for any.

    Raises:
        UnknownNameError: an unknown refrigerant.
        ValueError: an unknown step.

    """
    step = Step(step)
    found = [*_AT_STEP[step], *_ALWAYS]
    facts = None if refrigerant is None else get(refrigerant)
    if step is Step.RECOVER:
        found.insert(2, _FLAMMABLE_FILL if facts is not None and facts.is_flammable else _FILL)
    if facts is None:
        return tuple(Sentence(f"caution.{kind}") for kind in found)
    if step is Step.CHARGE and facts.charge_as_liquid:
        found.insert(0, "blend")
    if facts.is_flammable:
        found = [_FLAMMABLE_BRAZE if step is Step.BRAZE else _FLAMMABLE, *_FLAMMABLE_AT_STEP[step], *found]
    parts = (text("name", facts.designation), text("safety_class", facts.safety_class))
    return tuple(Sentence(f"caution.{kind}", parts) for kind in found)
