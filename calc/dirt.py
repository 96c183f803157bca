"""What dirt did to a unit that still looked sound: at a later visit it may be clean, and nobody has said so.

Coils and filters foul from month to month, and each time by so little that all is right by what units in general show.
What such a unit read is then a baseline that no clean unit comes back to. So of a unit that is known two things are
weighed: that it is as it was, and that it was a little dirty then and has been cleaned since (calc.symptoms).
"""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

SHARE = 0.12
"""How often a unit that was found sound was dirty in one of these ways, and is clean today: common practice, no
source. A coil takes 7.5 years to double its pressure drop (LBNL-49757, from memory); filters take months."""

SIZE, SIZE_SPREAD = 0.7, 0.4
"""How dirty, as a part of what the slightest of the faults does, and its standard deviation: likewise."""

_DIRTY = ("condenser fouling or low outdoor airflow", "low evaporator airflow")
_LOAD = "_load"
_FAHRENHEIT_DK = 5 / 9


@cache
def slight_dirt(metering_device: str) -> Mapping[str, Mapping[str, float]]:
    """Give how slight dirt of each kind moves each figure [K; loads: 1]: calc/data/fault_signatures.csv.

    metering_device: fixed_orifice; all others are valves.
    """
    kind = metering_device if metering_device == "fixed_orifice" else "valve"
    text = files("calc.data").joinpath("fault_signatures.csv").read_text("utf-8")
    found = {}
    for row in csv.DictReader(text.splitlines()):
        if (row["metering"], row["size"]) == (kind, "slight") and row["fault"] in _DIRTY:
            moved = {name: float(by) for name, by in row.items() if name not in ("metering", "fault", "size")}
            found[row["fault"]] = MappingProxyType(
                {name: by * (1.0 if name.endswith(_LOAD) else _FAHRENHEIT_DK) for name, by in moved.items()}
            )
    return MappingProxyType(found)
