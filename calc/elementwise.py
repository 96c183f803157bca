"""What works on one value as on a numpy array of them: limits, polynomials, logarithms and exponentials.

A branch of a formula that holds only in a part of the range is multiplied by the truth of "it lies there": that reads
the same for one value and for many.
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeVar

from calc.errors import CalcRangeError

if TYPE_CHECKING:  # numpy is loaded only when an array comes: one reading needs none of it
    import numpy as np
    from numpy.typing import NDArray

Value = TypeVar("Value", float, "NDArray[np.float64]")


def within(name: str, value: Value, low: float, high: float, unit: str, because: str = "") -> Value:
    """Give the value back if it, or each of the array, lies from `low` to `high`.

    Raises:
        CalcRangeError: it does not, or is no number: names the first such value.

    >>> within("voltage_v", 240.0, 0.0, 1000.0, "V")
    240.0

    """
    if isinstance(value, float | int):
        if low <= value <= high:
            return value
        outside = value
    else:
        inside = (low <= value) & (value <= high)
        if inside.all():
            return value
        outside = float(value[~inside][0])
    raise CalcRangeError(name, outside, low, high, unit, because)


def polynomial(terms: Sequence[float], x: Value) -> Value:
    """Sum terms[i] times x to the i.

    >>> polynomial((1.0, 2.0, 3.0), 10.0)
    321.0
    """
    total = 0.0 * x
    for term in reversed(terms):
        total = total * x + term
    return total


def slope(terms: Sequence[float]) -> tuple[float, ...]:
    """Give the terms of a polynomial's derivative.

    >>> slope((1.0, 2.0, 3.0))
    (2.0, 6.0)
    """
    return tuple(power * term for power, term in enumerate(terms))[1:]


def log(value: Value) -> Value:
    """Give the natural logarithm of what is above zero.

    >>> log(1.0)
    0.0
    """
    if isinstance(value, float | int):
        return math.log(value)
    import numpy as np

    return np.log(value)


def exp(value: Value) -> Value:
    """Give e to the power of a value.

    >>> exp(0.0)
    1.0
    """
    if isinstance(value, float | int):
        return math.exp(value)
    import numpy as np

    return np.exp(value)
