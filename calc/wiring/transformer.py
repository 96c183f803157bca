"""The control transformer: what it can carry, what protects it, and its volts under load."""

from dataclasses import dataclass

from calc.elementwise import takes_arrays, within
from calc.estimate import Estimate
from calc.motor.branch_circuit import STANDARD_RATINGS_A
from calc.uncertainty import propagate

CAUTION = (
    "Lock out and tag, test dead: its primary is at line voltage. The fuse of the maker and the nameplate wins; one "
    "that blows has a cause: find it, and never fit a greater one. Volts under load are measured live: only with the "
    "training, gloves and eye protection for live work."
)
COIL_LEAST_SHARE, COIL_GREATEST_SHARE = 0.85, 1.10
"""Between which a contactor's coil pulls in and lasts, as shares of its rating: from memory."""
_NEXT_RATING_FROM_A = 9.0
_SMALL_BELOW_A = 2.0
_LEAST_VA, _GREATEST_VA = 1.0, 5000.0


@dataclass(frozen=True, slots=True)
class ControlTransformer:
    """What a transformer carries, and the greatest fuses that may protect it [A].

    Attributes:
        secondary_a: at full load.
        primary_a: at full load, its losses left out.
        primary_alone_a: the greatest primary fuse where it stands alone.
        primary_a_with_secondary: the greatest primary fuse where the secondary has one too.
        secondary_fuse_a: the greatest secondary fuse.

    """

    secondary_a: float
    primary_a: float
    primary_alone_a: float
    primary_a_with_secondary: float
    secondary_fuse_a: float


@takes_arrays
def control_transformer(rating_va: float, secondary_v: float, *, primary_v: float) -> ControlTransformer:
    """Give the currents of a transformer and the greatest fuses of NEC table 450.3(B), up to 1000 V.

    One on the primary alone: 125 % of its current, 167 % below 9 A, 300 % below 2 A. With one on the secondary of at
    most 125 %, or 167 % below 9 A, the primary's may be 250 %. Only where 125 % holds may it be the next standard
    rating up. Motor control circuits (NEC 430.72) and class 2 transformers have rules of their own.

    Args:
        rating_va: of the nameplate, 1 to 5000 [VA].
        secondary_v: rated, 5 to 1000 [V].
        primary_v: rated, of the tap in use, 5 to 1000 [V].

    Raises:
        CalcRangeError: beyond these limits.

    >>> round(control_transformer(40.0, 24.0, primary_v=240.0).secondary_a, 2)  # in print in the trade: 1.67 A
    1.67

    """
    within("rating_va", rating_va, _LEAST_VA, _GREATEST_VA, "VA")
    within("secondary_v", secondary_v, 5.0, 1000.0, "V")
    within("primary_v", primary_v, 5.0, 1000.0, "V")
    secondary_a, primary_a = rating_va / secondary_v, rating_va / primary_v
    alone_a = 3.0 * primary_a if primary_a < _SMALL_BELOW_A else _greatest_fuse_a(primary_a)
    return ControlTransformer(secondary_a, primary_a, alone_a, 2.5 * primary_a, _greatest_fuse_a(secondary_a))


def _greatest_fuse_a(current_a: float) -> float:
    if current_a < _NEXT_RATING_FROM_A:
        return 1.67 * current_a
    return float(next(rating for rating in STANDARD_RATINGS_A if rating >= 1.25 * current_a))


@takes_arrays
def transformer_volts(
    load_va: float,
    rating_va: float,
    *,
    supply_v: float,
    primary_v: float,
    secondary_v: float,
    regulation_ratio: float,
    supply_standard_uncertainty_v: float,
    regulation_standard_uncertainty_ratio: float,
) -> Estimate:
    """Compute the volts of a transformer under load.

    It gives its rated volts at its rated load and primary volts, and more by its regulation without load (by definition
    of regulation), along a straight line between; they follow the supply in proportion. A load of poor power factor,
    such as a coil that pulls in, loses more.

    Args:
        load_va: at rated volts, 0 to 1.5 times the rating [VA].
        rating_va: of the nameplate, 1 to 5000 [VA].
        supply_v: measured at the primary, half to one and a half of primary_v [V].
        primary_v: rated, of the tap in use, 5 to 1000 [V].
        secondary_v: rated, 5 to 1000 [V].
        regulation_ratio: (volts without load - volts at full load) / volts at full load, 0 to 0.5.
        supply_standard_uncertainty_v: half of the instrument's ± limit [V].
        regulation_standard_uncertainty_ratio: half of the ± limit.

    Raises:
        CalcRangeError: beyond these limits: more than 1.5 times its rating burns it.

    >>> found = transformer_volts(
    ...     20.0, 40.0, supply_v=240.0, primary_v=240.0, secondary_v=24.0, regulation_ratio=0.1,
    ...     supply_standard_uncertainty_v=0.0, regulation_standard_uncertainty_ratio=0.0)
    >>> round(found.value, 2)  # by the definition: 26.4 V without load, 24 V at full load
    25.2

    """
    within("rating_va", rating_va, _LEAST_VA, _GREATEST_VA, "VA")
    within("load_va", load_va, 0.0, 1.5 * rating_va, "VA", "more than half above its rating burns it")
    within("secondary_v", secondary_v, 5.0, 1000.0, "V")
    within("primary_v", primary_v, 5.0, 1000.0, "V")
    unloaded = 1 - load_va / rating_va

    def volts(*, regulation_ratio: float, supply_v: float) -> float:
        within("regulation_ratio", regulation_ratio, 0.0, 0.5, "")
        within("supply_v", supply_v, 0.5 * primary_v, 1.5 * primary_v, "V", "this supply is of another tap")
        return supply_v / primary_v * secondary_v * (1 + regulation_ratio * unloaded)

    return propagate(
        volts,
        {
            "regulation_ratio": Estimate(regulation_ratio, regulation_standard_uncertainty_ratio),
            "supply_v": Estimate(supply_v, supply_standard_uncertainty_v),
        },
    ).estimate
