"""What to beware of with a refrigerant, said wherever its charge is about to be touched."""

from ingest.messages import UnitAbout


def cautions(unit: UnitAbout) -> list[str]:
    """List what to beware of at this unit, the general first.

    Sources: 40 CFR 82.161, and public charging manuals for flammable refrigerants, blends and cylinders.
    """
    name, safety_class = unit.refrigerant, unit.safety_class
    found = [
        "The nameplate, the maker's instructions and local codes come first.",
        "Only certified persons handle refrigerant (in the US: 40 CFR 82.161).",
        "Gloves and eye protection. Never heat a cylinder with a flame.",
        "Fill a recovery cylinder to 80 % at most.",
    ]
    if safety_class.endswith(("2L", "2", "3")):
        found.append(
            f"{name} can burn ({safety_class}): ventilate throughout, no flame or halide torch, a detector "
            "that warns at 25 % of the lower flammable limit. Earth the system before charging; short hoses. "
            "Before brazing recover and purge with nitrogen; test for leaks after."
        )
    if safety_class.startswith("B"):
        found.append(f"{name} is toxic ({safety_class}): breathing protection, and never alone.")
    if unit.charge_as_liquid:
        found.append(
            f"{name} is a blend: let it leave the cylinder as liquid, metered slowly into the suction "
            "side, so that it flashes before the compressor."
        )
    return found
