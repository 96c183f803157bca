"""What a function takes and what it refuses, at both sides of each bound."""

from collections.abc import Callable, Iterable
from typing import Any

import pytest

from calc.errors import CalcRangeError


def takes_and_refuses(
    function: Callable[..., Any], taken: Iterable[tuple[float, ...]], refused: Iterable[tuple[float, ...]]
) -> None:
    """Hold that it takes the former, and refuses each of the latter as out of its range."""
    for arguments in taken:
        function(*arguments)
    for arguments in refused:
        with pytest.raises(CalcRangeError):
            function(*arguments)
