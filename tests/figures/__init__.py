"""Measured figures beside their targets. Each module has `measure()`, a generator (it may be asynchronous) of Figure.

It yields each figure as soon as it has it, so that a later one that fails takes none with it.
"""

from typing import NamedTuple


class Figure(NamedTuple):
    """One measured figure: what was measured, what came out, and what is aimed at."""

    what: str
    measured: str
    target: str
