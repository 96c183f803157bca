"""Whether the figure that shows the charge is off, as surely as it takes to move refrigerant for it.

Barely beyond its tolerance it may as well be within: a move takes a verdict (JCGM 106), not a reading. What was surely
off before this visit's moves is brought to its target, and not just to the edge of its tolerance: it is followed by
what it reads, for the same instruments err alike before and after.
"""

import math
from collections.abc import Sequence

from calc.comparing import NotMet, compare
from calc.estimate import Estimate
from calc.judge.verification import Verification
from calc.situation import Move


def is_off(verified: Verification, moves: Sequence[Move], tolerance_dk: float) -> bool:
    """Tell whether the figure is off: surely beyond its tolerance, or by its reading while it is brought back."""
    if isinstance(verified.comparison, NotMet):
        return True
    return reads_beyond(verified, tolerance_dk) and is_brought_back(verified, moves, tolerance_dk)


def reads_beyond(verified: Verification, tolerance_dk: float) -> bool:
    """Tell whether the figure reads beyond its tolerance, however sure that is."""
    return verified.deviation_dk is not None and abs(verified.deviation_dk.value) > tolerance_dk


def is_brought_back(verified: Verification, moves: Sequence[Move], tolerance_dk: float) -> bool:
    """Tell whether this visit's last moves began where the figure was surely off, and it is off that way still."""
    deviation_dk, target_dk = verified.deviation_dk, verified.target_dk
    if deviation_dk is None or target_dk is None:
        return False
    is_short = (deviation_dk.value < 0) == (verified.figure == "subcooling")
    for move in reversed(moves):
        if (move.mass_kg > 0) is not is_short:
            return False
        before_dk = Estimate(move.before_dk.value - target_dk, deviation_dk.standard_uncertainty)
        match compare(before_dk, -tolerance_dk, tolerance_dk):
            case NotMet(side=side):
                return (side == "low") == (deviation_dk.value < 0)
    return False


def leaves_more_to_add(
    verified: Verification, moves: Sequence[Move], tolerance_dk: float, *, target_spread_dk: float = 0.0
) -> bool:
    """Tell whether what is filled up is still farther below its right charge than figure and target can tell (k = 1).

    A tolerance says what may be left alone; that of the subcooling is some 6 % of a charge. Whose hand is at the
    cylinder anyway aims at the target, as far as both are known well. What is taken out ends within the tolerance: what
    is out by mistake is not so soon back.

    Args:
        verified: the figure against its target.
        moves: of this visit.
        tolerance_dk: of the figure [K].
        target_spread_dk: how far makers charge their units from a target that is one for all [K].

    """
    deviation_dk = verified.deviation_dk
    if deviation_dk is None or not is_brought_back(verified, moves, tolerance_dk) or moves[-1].mass_kg < 0:
        return False
    near_dk = math.hypot(deviation_dk.standard_uncertainty, target_spread_dk)
    return deviation_dk.standard_uncertainty < tolerance_dk / 2 and abs(deviation_dk.value) > near_dk
