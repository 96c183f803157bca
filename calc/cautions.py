"""What to beware of at each step that touches refrigerant. They warn; they unlock nothing.

Sources: 40 CFR 82.161 (certification) and 82.154 (no venting); public charging manuals for flammable refrigerants and
blends. Gloves, eyewear, the cylinder's 80 % and small steps: common practice, no source.
"""

from enum import StrEnum

from calc.refrigerants import get


class Step(StrEnum):
    """What is about to be done with the refrigerant."""

    CONNECT = "connect"
    DISCONNECT = "disconnect"
    CHARGE = "charge"
    RECOVER = "recover"
    EVACUATE = "evacuate"
    BRAZE = "braze"


_ALWAYS = (
    "Nameplate, maker, local codes and licensed practice come first.",
    "Certified persons only (US: 40 CFR 82.161). Never vent.",
)
_AT_STEP = {
    Step.CONNECT: ("Gloves and eye protection. Liquid refrigerant freezes skin.",),
    Step.DISCONNECT: (
        "Gloves and eye protection. Liquid refrigerant freezes skin.",
        "Close the hose off at its valve and recover what it holds. Never loosen a hose under pressure.",
    ),
    Step.CHARGE: (
        "Gloves and eye protection. No flame on a cylinder.",
        "Low side only, compressor running. Purge the hose.",
        "Small steps; after each, wait until it has settled.",
    ),
    Step.RECOVER: (
        "Gloves and eye protection. No flame on a cylinder.",
        "A recovery cylinder in date, on a scale, to at most 80 % liquid by volume. Never mix refrigerants.",
    ),
    Step.EVACUATE: ("Never run the compressor, nor put voltage to its terminals, while the system is in a vacuum.",),
    Step.BRAZE: (
        "Recover the refrigerant first, and let nitrogen flow through while brazing.",
        "A permit for hot work where one is asked for; an extinguisher at hand. Test for leaks after.",
    ),
}
_FLAMMABLE = (
    "{name} burns ({safety_class}): ventilate throughout, no flame, halide torch or spark, and a detector that warns "
    "at 25 % of the lower flammable limit."
)
_FLAMMABLE_AT_STEP = {
    Step.CONNECT: ("Short hoses; tools and machines rated for flammable refrigerant.",),
    Step.DISCONNECT: ("What still escapes must not reach anything that ignites.",),
    Step.CHARGE: (
        "Earth the system before charging; short hoses.",
        "How much a room may hold is for the product's standard, the maker and local codes: no formula here allows it.",
    ),
    Step.RECOVER: (
        "A recovery machine and cylinder rated for flammable refrigerant, earthed.",
        "Less than 80 % liquid: AHRI Guideline K covers only what does not burn; the cylinder's maker says how far.",
    ),
    Step.EVACUATE: ("Let the pump blow off outdoors, away from anything that ignites.",),
    Step.BRAZE: ("Purge with nitrogen after recovery and before any flame; measure that no refrigerant is left.",),
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
    if refrigerant is None:
        return tuple(found)
    facts = get(refrigerant)
    if step is Step.CHARGE and facts.charge_as_liquid:
        found.insert(
            0,
            f"{facts.designation} is a blend: out of the cylinder as liquid, slowly, so that it flashes before the "
            "compressor.",
        )
    if facts.is_flammable:
        warning = _FLAMMABLE.format(name=facts.designation, safety_class=facts.safety_class)
        found = [warning, *_FLAMMABLE_AT_STEP[step], *found]
    return tuple(found)
