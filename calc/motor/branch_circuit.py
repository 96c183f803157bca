"""The branch circuit of an air conditioner by NEC Article 440: its least ampacity and its greatest fuse or breaker.

The nameplate wins: its figures come from the maker's tests, and these formulas stand in only where it is gone.
"""

from dataclasses import dataclass

from calc.elementwise import takes_arrays, within

CAUTION = (
    "The nameplate's minimum circuit ampacity and maximum fuse or breaker win, and so do local codes; a licensed "
    "electrician answers for the circuit."
)
STANDARD_RATINGS_A = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450),
    *(500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000),
)
"""Fuses and inverse-time circuit breakers (NEC 240.6(A))."""
USUAL_SHARE, GREATEST_SHARE = 1.75, 2.25
CONTINUOUS_SHARE = 1.25
_GREATEST_A = 2000.0


@dataclass(frozen=True, slots=True)
class CircuitRating:
    """A current [A], and whether the nameplate or a rule says so."""

    current_a: float
    source: str


@takes_arrays
def mca(
    largest_motor_a: float,
    other_loads_a: float = 0.0,
    *,
    electric_heat_a: float = 0.0,
    nameplate_a: float | None = None,
) -> CircuitRating:
    """Give the minimum circuit ampacity: 1.25 times the largest motor's current and electric heat, and the other loads.

    Args:
        largest_motor_a: rated-load current of the largest motor-compressor, or its branch-circuit selection current
            if that is greater; above 0 to 2000 [A].
        other_loads_a: the sum of all others on the circuit, 0 to 2000 [A].
        electric_heat_a: of heaters that run together with them, for hours: NEC 424.4(B) and the product standards, such
            as UL 1995, ask 125 % of it (both from memory); 0 to 2000 [A].
        nameplate_a: what the nameplate says, which wins [A].

    Raises:
        CalcRangeError: beyond these limits.

    >>> mca(20.0, 2.5).current_a  # by the rule
    27.5

    """
    if nameplate_a is not None:
        return _of_nameplate(nameplate_a)
    _check_loads(largest_motor_a, other_loads_a, electric_heat_a)
    current_a = CONTINUOUS_SHARE * (largest_motor_a + electric_heat_a) + other_loads_a
    rule = "NEC 440.32, 440.33" + (", 424.4(B)" if electric_heat_a else "")
    return CircuitRating(current_a, f"computed: {rule}")


@takes_arrays
def mocp(
    largest_motor_a: float,
    other_loads_a: float = 0.0,
    *,
    electric_heat_a: float = 0.0,
    will_not_start: bool = False,
    nameplate_a: float | None = None,
) -> CircuitRating:
    """Give the maximum overcurrent protection: 1.75 times the largest motor's current, and the other loads.

    The next standard rating down, and never less than 15 A; 2.25 times where the unit will not start on that. Where
    that is less than the minimum circuit ampacity, the next standard rating above it: the unit would not run on less.

    Args:
        largest_motor_a: as for `mca` [A].
        other_loads_a: as for `mca` [A].
        electric_heat_a: as for `mca` [A].
        will_not_start: the rating by 1.75 does not carry the starting current.
        nameplate_a: what the nameplate says, which wins [A].

    Raises:
        CalcRangeError: beyond these limits, or there is no such fuse.

    >>> mocp(20.0, 2.5).current_a, mocp(20.0, 2.5, will_not_start=True).current_a  # an electrical magazine's code quiz
    (35.0, 45.0)

    """
    if nameplate_a is not None:
        return _of_nameplate(nameplate_a)
    least_a = mca(largest_motor_a, other_loads_a, electric_heat_a=electric_heat_a).current_a
    within("other_loads_a", other_loads_a, 0.0, STANDARD_RATINGS_A[-1] - (least_a - other_loads_a), "A", "no such fuse")
    share = GREATEST_SHARE if will_not_start else USUAL_SHARE
    limit_a = share * largest_motor_a + electric_heat_a + other_loads_a
    down_a = max((rating for rating in STANDARD_RATINGS_A if rating <= limit_a), default=STANDARD_RATINGS_A[0])
    if down_a >= least_a:
        return CircuitRating(float(down_a), "computed: NEC 440.22, 240.6(A)")
    up_a = next(rating for rating in STANDARD_RATINGS_A if rating >= least_a)
    return CircuitRating(float(up_a), "computed: the next above the minimum circuit ampacity, NEC 240.6(A)")


def _check_loads(largest_motor_a: float, other_loads_a: float, electric_heat_a: float) -> None:
    within("largest_motor_a", largest_motor_a, 0.01, _GREATEST_A, "A")
    within("other_loads_a", other_loads_a, 0.0, _GREATEST_A, "A")
    within("electric_heat_a", electric_heat_a, 0.0, _GREATEST_A, "A")


def _of_nameplate(nameplate_a: float) -> CircuitRating:
    return CircuitRating(within("nameplate_a", nameplate_a, 0.01, _GREATEST_A, "A"), "the nameplate")
