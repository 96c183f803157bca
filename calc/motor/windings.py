"""The windings of a single-phase compressor or fan motor: whether the three resistances go together."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from calc.elementwise import takes_arrays, within

CAUTION = (
    "Lock out and tag, test dead, discharge the capacitors and pull the leads first. Keep to one side of a "
    "compressor's terminals: a burnt one can blow out with oil and refrigerant."
)
_GREATEST_OHM = 1e6


class WindingState(StrEnum):
    """What the three resistances say."""

    CONSISTENT = "consistent"
    INCONSISTENT = "inconsistent"
    COMMON_OPEN = "common open"
    START_OPEN = "start open"
    RUN_OPEN = "run open"
    ALL_OPEN = "all open"


@dataclass(frozen=True, slots=True)
class WindingVerdict:
    """What the resistances say, what to do next, and whether a terminal may be another than one thinks."""

    state: WindingState
    reason: str
    leads_may_be_swapped: bool = False


_OPEN: Mapping[tuple[bool, ...], tuple[WindingState, str]] = {
    (True, True, False): (
        WindingState.COMMON_OPEN,
        "both windings are whole, their common lead is open: often the internal overload; let it cool for some hours",
    ),
    (True, False, True): (WindingState.START_OPEN, "the start winding is open"),
    (False, True, True): (WindingState.RUN_OPEN, "the run winding is open"),
    (True, True, True): (WindingState.ALL_OPEN, "nothing conducts: check leads, terminals and the instrument first"),
}
_EXCHANGED = (
    ": the sum fits, but start reads less than run, which is the other way round on most motors: see by the wiring "
    "diagram whether start and run are exchanged"
)
_NOT_COMMON = (
    ": the greatest of the three is between start and run, and here it is not: the terminal taken for common is "
    "another; see the wiring diagram"
)
_LITTLE_OHM = 0.5
"""Less between two terminals is a short, a large motor or the leads themselves: common practice, no source."""
_MAY_BE_SHORTED = (
    "possibly SHORTED: less than 0.5 ohm. Zero the leads and measure again; only the maker's table tells a short from "
    "a large motor. Do not energise it before. "
)
_IMPOSSIBLE = (WindingState.INCONSISTENT, "one open pair alone cannot be: measure again")


@takes_arrays
def winding_check(
    start_common_ohm: float, run_common_ohm: float, *, start_run_ohm: float, tolerance_ratio: float = 0.05
) -> WindingVerdict:
    """Check that the resistances between start, run and common go together.

    Start to run passes through both windings, so it is the sum of the other two (general texts of the trade); within
    5 % here (common practice, no source). The start winding has more resistance than the run winding on most motors
    (general texts of the trade): where it has less, the two may be exchanged, though the sum fits. Shorted turns within
    one winding pass this check: compare with the maker's table, and check each terminal to the case as well. Below
    0.5 ohm it says that there may be a short (common practice, no source).

    Args:
        start_common_ohm: start to common, infinite if open [ohm].
        run_common_ohm: run to common, likewise [ohm].
        start_run_ohm: start to run, likewise [ohm].
        tolerance_ratio: how far the sum may be off, 0 to 0.5.

    Raises:
        CalcRangeError: a resistance of 0 or below, NaN, or above 1 Mohm but not open; or such a tolerance.

    >>> winding_check(11.0, 4.0, start_run_ohm=15.0).state  # a supplier's example in print
    <WindingState.CONSISTENT: 'consistent'>

    """
    readings = {"start_common_ohm": start_common_ohm, "run_common_ohm": run_common_ohm, "start_run_ohm": start_run_ohm}
    within("tolerance_ratio", tolerance_ratio, 0.0, 0.5, "")
    for name, ohm in readings.items():
        if ohm != math.inf:
            because = "no winding has that: a dead short, or give an open one as infinite"
            within(name, ohm, 1e-3, _GREATEST_OHM, "ohm", because)
    little = _MAY_BE_SHORTED if min(readings.values()) < _LITTLE_OHM else ""
    opened = tuple(ohm == math.inf for ohm in readings.values())
    if any(opened):
        state, reason = _OPEN.get(opened, _IMPOSSIBLE)
        return WindingVerdict(state, little + reason)
    total_ohm = start_common_ohm + run_common_ohm
    reason = f"{little}start to run reads {start_run_ohm:g} ohm, and the two windings together {total_ohm:g} ohm"
    if abs(start_run_ohm - total_ohm) <= tolerance_ratio * total_ohm:
        swapped = start_common_ohm < (1 - tolerance_ratio) * run_common_ohm
        return WindingVerdict(WindingState.CONSISTENT, reason + (_EXCHANGED if swapped else ""), swapped)
    greatest_ohm, others_ohm = _greatest_and_others(*readings.values())
    if greatest_ohm != start_run_ohm and abs(greatest_ohm - others_ohm) <= tolerance_ratio * others_ohm:
        return WindingVerdict(WindingState.INCONSISTENT, reason + _NOT_COMMON, leads_may_be_swapped=True)
    fix = "clean the terminals, zero the leads, see that the terminals are what you think, and measure again"
    return WindingVerdict(WindingState.INCONSISTENT, f"{reason}: {fix}")


def _greatest_and_others(*ohms: float) -> tuple[float, float]:
    greatest = max(ohms)
    return greatest, sum(ohms) - greatest
