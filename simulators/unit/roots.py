"""One unknown at a time: the root of a rising function, found within a bracket whatever the guess was."""

from collections.abc import Callable

_WIDENING = 4.0
_MOST_STEPS = 60


def solve_rising(
    rising: Callable[[float], float], guess: float, *, step: float, low: float, high: float, tolerance: float
) -> float:
    """Where `rising` crosses zero between low and high; the bound itself where it does not cross.

    Looks near the guess first, in steps that widen, and then narrows by false position with the stale end
    weighted down (the Illinois rule). It always returns a value within the bounds.

    >>> round(solve_rising(lambda x: x**3 - 8.0, 1.0, step=0.1, low=0.0, high=10.0, tolerance=1e-9), 6)
    2.0
    >>> solve_rising(lambda x: x + 5.0, 1.0, step=0.1, low=0.0, high=10.0, tolerance=1e-9)
    0.0
    """
    left = right = min(max(guess, low), high)
    at_left = at_right = rising(left)
    while at_left > 0.0 and left > low:
        right, at_right = left, at_left
        left = max(left - step, low)
        at_left = rising(left)
        step *= _WIDENING
    while at_right < 0.0 and right < high:
        left, at_left = right, at_right
        right = min(right + step, high)
        at_right = rising(right)
        step *= _WIDENING
    if at_left >= 0.0:
        return left
    if at_right <= 0.0:
        return right
    return _narrowed(rising, left, at_left, right, at_right, tolerance)


def _narrowed(
    rising: Callable[[float], float],
    left: float,
    at_left: float,
    right: float,
    at_right: float,
    tolerance: float,
) -> float:
    middle = left
    stale_side = 0
    for _ in range(_MOST_STEPS):
        if right - left <= tolerance:
            break
        before, middle = middle, (left * at_right - right * at_left) / (at_right - at_left)
        if abs(middle - before) <= tolerance:
            break
        at_middle = rising(middle)
        if abs(at_middle) < 1e-15:
            break
        if at_middle < 0.0:
            left, at_left = middle, at_middle
            at_right *= 0.5 if stale_side < 0 else 1.0
            stale_side = -1
        else:
            right, at_right = middle, at_middle
            at_left *= 0.5 if stale_side > 0 else 1.0
            stale_side = 1
    return middle
