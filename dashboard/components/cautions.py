"""The usual cautions at each step that moves refrigerant. They warn; they unlock nothing.

Sources: certified handling, 40 CFR 82.161; flammable refrigerants and purging, public charging manuals. The 80 % of a
recovery cylinder, gloves, eyewear and small steps: common practice, no source.
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
    "Only certified persons handle refrigerant (in the US: 40 CFR 82.161).",
    "The nameplate, the maker's instructions and local codes come first.",
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
