"""What to beware of at each step that touches refrigerant. They warn; they unlock nothing.

Sources: 40 CFR 82.161 (certification) and 82.154 (no venting); public charging manuals for flammable refrigerants and
blends. Gloves, eyewear, the cylinder's 80 % and small steps: common practice, no source.
"""

from enum import StrEnum

from calc.refrigerants import get


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
    "Nameplate, maker, local codes and licensed practice come first.",
    "Certified persons only (US: 40 CFR 82.161). Never vent.",
)
_AT_LOOK = (
    "Before a panel is opened: lock out and tag. The unit may start by itself.",
    "Prove the tester live, dead, live. Discharge the capacitor through a resistor, and measure that it is gone.",
)
_AT_STEP = {
    Step.LOOK: _AT_LOOK,
    Step.TOUCH: (
        "Discharge line and compressor shell burn. Keep hands, sleeves and leads off the fan: it may start by itself.",
    ),
    Step.CONNECT: ("Gloves and eye protection. Liquid refrigerant freezes skin.",),
    Step.DISCONNECT: (
        "Gloves and eye protection. Liquid refrigerant freezes skin.",
        "Close the hose off at its valve and recover what it holds. Never loosen a hose under pressure.",
    ),
    Step.CHARGE: (
        "Gloves and eye protection. No flame on a cylinder.",
        "Low side only, compressor running. Evacuate the hose, or purge it with the least there is.",
        "Small steps; after each, wait until it has settled.",
    ),
    Step.RECOVER: (
        "Gloves and eye protection. No flame on a cylinder.",
        "A recovery cylinder in date and rated for its pressure, on a scale. Never mix refrigerants.",
    ),
    Step.EVACUATE: ("Never run the compressor, nor put voltage to its terminals, while the system is in a vacuum.",),
    Step.BRAZE: (
        "Recover the refrigerant first, and let nitrogen flow through while brazing; never air, never oxygen.",
        "A permit for hot work where one is asked for; an extinguisher at hand. Test for leaks after.",
    ),
}
_FILL = "At most 80 % liquid by volume (AHRI Guideline K)."
_FLAMMABLE_FILL = (
    "At most 70 % liquid (common practice, no source): AHRI Guideline K covers only what does not burn; the cylinder's "
    "maker says how far."
)
_FLAMMABLE = (
    "{name} burns ({safety_class}): ventilate throughout, no flame, halide torch or spark, and a detector that warns "
    "at 25 % of the lower flammable limit."
)
_FLAMMABLE_BRAZE = (
    "{name} burns ({safety_class}): ventilate throughout; no flame until it is recovered, purged with nitrogen and "
    "measured to be gone, with a detector that warns at 25 % of the lower flammable limit."
)
_FLAMMABLE_AT_STEP = {
    Step.LOOK: ("Refrigerant first: no panel open while it is moved, and the detector on before one is opened.",),
    Step.TOUCH: (),
    Step.CONNECT: ("Short hoses; tools and machines rated for flammable refrigerant.",),
    Step.DISCONNECT: ("What still escapes must not reach anything that ignites. Test for leaks before leaving.",),
    Step.CHARGE: (
        "Panel closed: no live part exposed while refrigerant moves. Ground (earth) the system; short hoses.",
        "Test for leaks after charging, and again before leaving.",
        "How much a room may hold is for the product's standard, the maker and local codes: no formula here allows it.",
    ),
    Step.RECOVER: (
        "Panel closed: no live part exposed while refrigerant moves.",
        "A recovery machine and cylinder rated for flammable refrigerant, grounded (earthed).",
    ),
    Step.EVACUATE: ("Let the pump blow off outdoors, away from anything that ignites.",),
    Step.BRAZE: ("Test for pressure with nitrogen, never with air or oxygen.",),
}


def cautions(refrigerant: str | None, step: Step) -> tuple[str, ...]:
    """List what to beware of at a step, what is worst first. Where the refrigerant is not known, what holds for any.

    Raises:
        UnknownNameError: an unknown refrigerant.
        ValueError: an unknown step.

    >>> cautions("R-454B", Step.CHARGE)[0].split(":")[0]
    'R-454B burns (A2L)'

    """
    step = Step(step)
    found = [*_AT_STEP[step], *_ALWAYS]
    facts = None if refrigerant is None else get(refrigerant)
    if step is Step.RECOVER:
        found.insert(2, _FLAMMABLE_FILL if facts is not None and facts.is_flammable else _FILL)
    if facts is None:
        return tuple(found)
    if step is Step.CHARGE and facts.charge_as_liquid:
        found.insert(
            0,
            f"{facts.designation} is a blend: out of the cylinder as liquid, slowly, so that it flashes before the "
            "compressor.",
        )
    if facts.is_flammable:
        warning = (_FLAMMABLE_BRAZE if step is Step.BRAZE else _FLAMMABLE).format(
            name=facts.designation, safety_class=facts.safety_class
        )
        found = [warning, *_FLAMMABLE_AT_STEP[step], *found]
    return tuple(found)
