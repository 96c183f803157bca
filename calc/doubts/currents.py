"""Amps that cannot be: none, while both pressures are as only a compressor that runs makes them."""

from collections.abc import Iterator

from calc.doubts.observed import COVERAGE, LIKELY, Doubt, clearly_above, over_dew_point_dk, under_bubble_point_dk
from calc.estimate import Estimate
from calc.heating import mode_of
from calc.mode import Mode
from calc.sentences import Sentence
from calc.situation import Situation

COMPRESSOR = ("compressor_current", "compressor_current_a", "compressor_current_b", "compressor_current_c")

_NOTHING_A = 0.25
"""What a clamp shows around nothing, at most: common practice, no source."""

_COIL_UNDER_AIR_DK = 15.0
_COIL_K = 281.0
_APART_DK = 5.0
"""How far its dew point stands below the return air, or below what where that is not known, and how far its dew point
is below and its bubble point above the outdoor air, in a unit that works: common practice, no source. In the cold the
outdoor air keeps the suction cold at rest too, and nothing is told.
"""

_STOPPED_S = 60.0
"""So long after a stop pressures may still be as of a unit that works, a starved coil's longest; by the simulated unit.
"""


def clamp_off(now: Situation) -> Iterator[Doubt]:
    """Find amps of nothing at the compressor while it works by both its pressures.

    Not in heating, where the sides are exchanged.
    """
    amps = {name: found for name in COMPRESSOR if (found := now.measured.get(name))}
    if not amps or any(it.value > _NOTHING_A + COVERAGE * it.standard_uncertainty for it in amps.values()):
        return
    if now.rested_s is not None and now.rested_s < _STOPPED_S:
        return
    if mode_of(now) is Mode.HEATING or not (_coil_works(now) and _condenser_works(now)):
        return
    yield Doubt(tuple(amps), Sentence("doubt.clamp_off"), Sentence("fix.clamp_off"), LIKELY)


def _coil_works(now: Situation) -> bool:
    air_k, outdoor_k = now.value("return_air_temperature"), now.value("outdoor_air_temperature")
    if outdoor_k is None:
        return False
    at_most_k = min(_COIL_K if air_k is None else air_k - _COIL_UNDER_AIR_DK, outdoor_k - _APART_DK)
    colder_dk = over_dew_point_dk(now, line_k=at_most_k)
    return colder_dk is not None and colder_dk > 0.0


def _condenser_works(now: Situation) -> bool:
    outdoor = now.measured.get("outdoor_air_temperature")
    over_dk = None if outdoor is None else under_bubble_point_dk(now, line_k=outdoor.value)
    if outdoor is None or over_dk is None:
        return False
    return clearly_above(Estimate(over_dk, outdoor.standard_uncertainty), _APART_DK)
