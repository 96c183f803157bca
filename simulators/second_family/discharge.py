"""How hot the discharge line is, linear in evaporating, condensing and superheat [°F].

Fitted to CoolProp 8.0.0 at an isentropic efficiency of 0.66, 27 points from 38 to 54 °F, 95 to 130 °F and 4 to 28 °F of
superheat: within 1.1 °F. At 50, 113 and 15 °F an efficiency of 0.62 gives some 4.5 °F more, one of 0.70 some 3.5 less.
"""

from simulators.second_family.parameters import Build
from simulators.second_family.sound import Levels

_FITS = {
    "R-410A": (173.2, -0.87, 1.62, 1.15),
    "R-32": (202.3, -1.53, 2.08, 1.30),
    "R-22": (179.6, -1.01, 1.69, 1.12),
    "R-454B": (186.9, -1.07, 1.74, 1.18),
}


def discharge_f(build: Build, levels: Levels, *, head_f: float) -> float:
    """Give it. head: the bubble point at the whole head, gas included."""
    middle, by_evaporating, by_head, by_superheat = _FITS[build.refrigerant]
    return (
        middle
        + by_evaporating * (levels.evaporating_f - 50.0)
        + by_head * (head_f - 113.0)
        + by_superheat * (levels.superheat_f - 15.0)
        + build.discharge_f
    )
