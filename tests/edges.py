"""A limit holds to the last binary digit: what lies on it is taken, and the next number beyond is refused by name."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from calc.errors import CalcRangeError


def check_edges(call: Callable[[float], Any], name: str, low: float, high: float, *, takes_low: bool = True) -> None:
    """Call with both limits, and with the numbers right beyond; takes_low: the lower limit itself is taken."""
    if takes_low:
        call(low)
    call(high)
    for beyond in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(CalcRangeError, match=rf"^{name} is "):
            call(beyond)
