"""What works on one value as on a numpy array of them: limits, polynomials, logarithms, exponentials, whole functions.

A branch of a formula that holds only in a part of the range is multiplied by the truth of "it lies there": that reads
the same for one value and for many.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import reduce, wraps
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from calc.errors import CalcRangeError

if TYPE_CHECKING:  # numpy is loaded only when an array comes: one reading needs none of it
    import numpy as np
    from numpy.typing import NDArray

P = ParamSpec("P")
R = TypeVar("R")
Value = TypeVar("Value", float, "NDArray[np.float64]")


def within(name: str, value: Value, low: "Value | float", high: "Value | float", unit: str, because: str = "") -> Value:
    """Give the value back if it, or each of the array, lies from `low` to `high`.

    Raises:
        CalcRangeError: it does not, or is no number: names the first such value.

    >>> within("voltage_v", 240.0, 0.0, 1000.0, "V")
    240.0

    """
    inside = (low <= value) & (value <= high)
    if inside is True or (not isinstance(inside, bool) and inside.all()):
        return value
    if isinstance(inside, bool):
        raise CalcRangeError(name, value, low, high, unit, because)
    import numpy as np

    first = np.unravel_index(np.argmin(inside), np.shape(inside))
    outside, least, greatest = (float(np.broadcast_to(it, np.shape(inside))[first]) for it in (value, low, high))
    raise CalcRangeError(name, outside, least, greatest, unit, because)


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


def hypot(*parts: Any) -> Any:
    """Give the root of the sum of squares.

    >>> hypot(3.0, 4.0, 12.0)
    13.0
    """
    if _NUMBERS.issuperset(map(type, parts)):
        return math.hypot(*parts)
    import numpy as np

    return reduce(np.hypot, parts)


def at_most(value: Value, most: float) -> Value:
    """Give a value, and in place of a greater one that.

    >>> at_most(2.0, 1.0)
    1.0
    """
    if isinstance(value, float | int):
        return min(most, value)
    import numpy as np

    return np.minimum(most, value)


def takes_arrays(function: Callable[P, R]) -> Callable[P, R]:
    """Let a function of numbers take numpy arrays wherever it takes a number: it is called for each element.

    They are broadcast against each other; one within an argument, such as an Estimate, counts too. Numbers come
    back as an array, None in it as NaN; a result of several fields comes back once, with an array in each.

    >>> import numpy as np
    >>> takes_arrays(lambda volts, ohms: volts / ohms)(np.array([1.0, 2.0]), 4.0)
    array([0.25, 0.5 ])
    """

    @wraps(function)
    def either(*args: P.args, **kwargs: P.kwargs) -> R:
        given = [*args, *kwargs.values()]
        if _NUMBERS_AND_WORDS.issuperset(map(type, given)):  # nearly always, many times in every tick
            return function(*args, **kwargs)
        shapes = [array.shape for value in given for array in _arrays_in(value)]
        if not shapes:
            return function(*args, **kwargs)
        import numpy as np

        shape = np.broadcast_shapes(*shapes)
        columns = [_each(value, shape) for value in given]
        rows = zip(*columns, strict=True)
        results = [function(*row[: len(args)], **dict(zip(kwargs, row[len(args) :], strict=True))) for row in rows]
        together: R = _together(results, shape)
        return together

    return either


_NUMBERS = frozenset((float, int))
_NUMBERS_AND_WORDS = _NUMBERS | {str}


def _is_array(value: object) -> bool:
    return hasattr(value, "dtype") and not isinstance(value, float | int)


def _arrays_in(value: Any) -> list[Any]:
    if _is_array(value):
        return [value]
    if is_dataclass(value) and not isinstance(value, type):
        return [part for it in fields(value) if _is_array(part := getattr(value, it.name))]
    return []


def _each(value: Any, shape: tuple[int, ...]) -> list[Any]:
    """Give one argument as it is for each element."""
    import numpy as np

    if _is_array(value):
        items: list[Any] = np.broadcast_to(value, shape).ravel().tolist()
        return items
    if not _arrays_in(value):
        return [value] * math.prod(shape)
    parts = {it.name: _each(getattr(value, it.name), shape) for it in fields(value)}
    return [replace(value, **dict(zip(parts, row, strict=True))) for row in zip(*parts.values(), strict=True)]


def _together(results: list[Any], shape: tuple[int, ...]) -> Any:
    """Make one result of those of all elements."""
    import numpy as np

    kinds = {type(result) for result in results}
    if kinds == {bool}:
        return np.array(results).reshape(shape)
    if kinds <= {float, int, bool, type(None)}:
        return np.array([math.nan if it is None else it for it in results], np.float64).reshape(shape)
    if len(kinds) == 1 and is_dataclass(results[0]):
        columns = {it.name: [getattr(result, it.name) for result in results] for it in fields(results[0])}
        return kinds.pop()(**{name: _together(column, shape) for name, column in columns.items()})
    objects = np.empty(len(results), object)
    objects[:] = results
    return objects.reshape(shape)
