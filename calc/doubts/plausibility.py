"""What readings cannot all be true at once, and which slip of the hand would explain it.

A broken probe is the rare case. Exchanged hoses, a clamp beside its pipe, a unit or a reference that was not stated as
it is: these leave every reading plausible by itself. Together they contradict physics, and often the contradiction
tells the slip. A doubt changes no reading; it names the channels, the reason and what to do.
"""

from collections.abc import Callable, Iterator

from calc.doubts.currents import clamp_off
from calc.doubts.observed import LIKELY, POSSIBLE, Doubt
from calc.doubts.pressures import (
    pressure_in_other_unit,
    pressures_exchanged,
    reference_mixed_up_at_rest,
    reference_mixed_up_in_air,
)
from calc.doubts.temperatures import (
    air_exchanged,
    clamps_exchanged,
    line_beyond_saturation,
    liquid_clamp_beside_its_pipe,
    liquid_line_below_outdoor_air,
    other_scale,
    suction_clamp_beside_its_pipe,
)
from calc.sentences import Sentence
from calc.situation import Situation

_FROZEN_TIMES = 20
_FROZEN_OVER_USUAL = 5
_FROZEN_S = 10.0
"""So often, so many times the longest run of late, and for so long: common practice, no source."""


def doubts(now: Situation) -> list[Doubt]:
    """Find what cannot be, the surest first.

    A rule whose channels are not measured is silent, and a channel that is in doubt counts as not measured for the
    rules that follow: one slip is told once.

    >>> from calc.estimate import Estimate
    >>> swapped = {"suction_pressure": Estimate(2.5e6, 3e3), "liquid_pressure": Estimate(0.9e6, 3e3)}
    >>> [doubt.channels for doubt in doubts(Situation(refrigerant="R-410A", measured=swapped, running=True))]
    [('suction_pressure', 'liquid_pressure')]
    """
    found: list[Doubt] = []
    for rule in _RULES:
        doubted = {channel for doubt in found for channel in doubt.channels}
        found += rule(now.without(doubted))
    return sorted(found, key=lambda doubt: -doubt.confidence)


def stands_still(now: Situation) -> Iterator[Doubt]:
    """Find an instrument that repeats one number longer than it ever did of late."""
    for channel, run in now.repetitions.items():
        if run.seconds >= _FROZEN_S and run.times >= max(_FROZEN_TIMES, _FROZEN_OVER_USUAL * run.usually):
            yield Doubt(
                (channel,),
                Sentence("doubt.stands_still"),
                Sentence("fix.stands_still"),
                LIKELY if now.running else POSSIBLE,
            )


_RULES: tuple[Callable[[Situation], Iterator[Doubt]], ...] = (  # the surest first
    pressure_in_other_unit,
    pressures_exchanged,
    reference_mixed_up_in_air,
    reference_mixed_up_at_rest,
    clamps_exchanged,
    other_scale,
    liquid_line_below_outdoor_air,
    air_exchanged,
    suction_clamp_beside_its_pipe,
    liquid_clamp_beside_its_pipe,
    line_beyond_saturation,
    clamp_off,
    stands_still,
)
