"""What a look is worth: how often it misses what is there, and finds what is not to blame.

A look settles what figures leave open, but never wholly: a coil may be dirty inside, a filter clean and the ducts too
small. So it counts as evidence beside the figures. All shares here are common practice, no source.
"""

from collections.abc import Collection, Mapping
from types import MappingProxyType

from calc.situation import Seen

LOOKED_FOR: Mapping[str, str] = MappingProxyType(
    {
        "airflow": "low evaporator airflow",
        "rejection": "condenser fouling or low outdoor airflow",
        "restriction": "liquid-line restriction",
        "valves": "compressor valve leakage",
        "feed": "expansion valve that feeds too much",
    }
)
"""What a look is for, as the guided check calls it, by the value of a `diagnosis.Fault`. No others are seen by eyes and
hands: a charge is not, air at rest and an instrument have checks of their own."""

_MISSES = {"airflow": 0.35, "rejection": 0.3, "restriction": 0.6, "valves": 0.6, "feed": 0.5}

MISSED: Mapping[str, float] = MappingProxyType({LOOKED_FOR[word]: share for word, share in _MISSES.items()})
"""How often a look finds nothing though the fault is there, by the value of a `diagnosis.Fault`."""

_NOT_TO_BLAME = 0.15
"""How often something is found that is not what the figures show: dirt is everywhere."""


def likelihood(looked: Mapping[str, Seen], there: Collection[str]) -> float:
    """Tell how likely what was seen is, if these faults are there and no others.

    Args:
        looked: what was looked for, and what was seen of it; of what is not in `MISSED` nothing is concluded.
        there: values of `diagnosis.Fault`.

    >>> round(likelihood({"low evaporator airflow": "clear"}, ["low evaporator airflow"]), 2)
    0.35
    >>> round(likelihood({"low evaporator airflow": "clear"}, ["undercharge"]), 2)
    0.85

    """
    share = 1.0
    for fault, seen in looked.items():
        if fault in MISSED:
            finds = 1.0 - MISSED[fault] if fault in there else _NOT_TO_BLAME
            share *= finds if seen == "found" else 1.0 - finds
    return share
