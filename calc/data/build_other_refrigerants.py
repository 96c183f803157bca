"""Generate other_refrigerants.json: `python -m calc.data.build_other_refrigerants`.

The refrigerants that CoolProp knows by a number of ASHRAE 34, pure or mixed, and for which no curve is shipped here.
"""

import json
import re
from pathlib import Path

import CoolProp
from CoolProp.CoolProp import get_global_param_string

from calc.data.fitting import DATA
from calc.designations import letters
from calc.saturation import names

_NUMBERED = re.compile(r"RC?\d.*")


def build() -> list[str]:
    """Name them as CoolProp does, in the order of their numbers. It has each mixture twice, in capitals too."""
    pure, mixed = (get_global_param_string(which).split(",") for which in ("FluidsList", "predefined_mixtures"))
    ours = {letters(name) for name in names()}
    known = (*pure, *(name.removesuffix(".mix") for name in mixed if name.endswith(".mix")))
    others = {name for name in known if _NUMBERED.fullmatch(name) and letters(name) not in ours}
    return sorted(others, key=lambda name: (_number(name), name))


def main(path: Path = DATA / "other_refrigerants.json") -> None:
    """Write them as JSON."""
    source = f"CoolProp {CoolProp.__version__}: its pure fluids and predefined mixtures"
    path.write_text(json.dumps({"source": source, "names": build()}, indent=1) + "\n", "utf-8")


def _number(name: str) -> int:
    return int(re.sub(r"\D.*", "", name.lstrip("RC")))


if __name__ == "__main__":  # pragma: no cover
    main()
