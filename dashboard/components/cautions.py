"""The usual cautions at each step that moves refrigerant. They warn; they unlock nothing.

Sources: liquid charging of 400-series blends, purging and metering from the refrigerant makers' handling guides, as
gathered in the trade rules of this project; the 80 % limit of a recovery cylinder from 49 CFR 173.304a practice;
certified handling from 40 CFR 82.161. Gloves, eyewear and flames: common practice, no source.
"""

from ingest.messages import UnitAbout

_ADDED = (
    "Compressor running. Connect to the low side only; purge the hose.",
    "Small steps from below. After each one, wait until the figures have settled.",
)
_RECOVERED = (
    "Recovery cylinder to at most 80 % liquid by volume, on a scale. Never mix refrigerants.",
    "A recovery cylinder in date, open to the machine; watch its pressure.",
)
_ALWAYS = (
    "Gloves and eye protection. Never heat a cylinder with a flame.",
    "Only certified persons handle refrigerant (40 CFR 82.161).",
)
_FLAMMABLE = (
    "{refrigerant} burns ({safety_class}): ventilate throughout, no flame or halide torch, "
    "detector at 25 % of LFL, earth the system before you connect."
)
_TOXIC = "{refrigerant} is toxic ({safety_class}): breathing protection, and never alone."


def cautions(kind: str, unit: UnitAbout | None) -> list[str]:
    """List what to beware of before refrigerant is added or recovered."""
    steps = [*(_ADDED if kind == "added" else _RECOVERED), *_ALWAYS]
    if unit is not None and unit.safety_class.startswith("B"):
        steps.insert(0, _TOXIC.format(refrigerant=unit.refrigerant, safety_class=unit.safety_class))
    if unit is not None and not unit.safety_class.endswith("1"):
        steps.insert(0, _FLAMMABLE.format(refrigerant=unit.refrigerant, safety_class=unit.safety_class))
    return steps
