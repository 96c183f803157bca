"""Whether readings before and after were taken in like conditions, by the air outdoors and the air that comes back.

Both move superheat and subcooling though nothing else changes; both are read by the same thermometers, whose error
stands in either.
"""

from collections.abc import Mapping

LIKE_WITHIN_DK = {"outdoor": 2.8, "return_air": 1.7}
"""5 and 3 °F: so far apart two readings count as alike: common practice, no source [K]."""


def apart(before: Mapping[str, float], after: Mapping[str, float]) -> list[str] | None:
    """Name what differs; empty where all of it is alike, None where a reading of either is missing.

    Args:
        before: `outdoor` and `return_air` [K], as far as they were read; others are not looked at.
        after: likewise.

    >>> apart({"outdoor": 305.0, "return_air": 297.0}, {"outdoor": 307.0, "return_air": 296.0})
    []
    >>> apart({"outdoor": 305.0, "return_air": 297.0}, {"outdoor": 309.0, "return_air": 296.0})
    ['outdoor']
    >>> apart({"outdoor": 305.0}, {"outdoor": 309.0}) is None
    True

    """
    if not LIKE_WITHIN_DK.keys() <= before.keys() & after.keys():
        return None
    return [name for name, most_dk in LIKE_WITHIN_DK.items() if abs(after[name] - before[name]) > most_dk]
