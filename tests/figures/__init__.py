"""Measured figures beside their targets. Each module has `measure()`, which returns rows of Figure."""

from typing import NamedTuple


class Figure(NamedTuple):
    """One measured figure: what was measured, what came out, and what is aimed at."""

    what: str
    measured: str
    target: str
