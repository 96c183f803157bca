"""Time zones of a log: UTC, a fixed offset, one of the tz database, or what each stamp states."""

import re
from datetime import UTC, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

STATED = "stated"
ZONE_RULE = (
    'of the logger\'s clock: "UTC", an offset such as "+02:00", a name of the tz database (Area/City), or "stated"'
)
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)")


def zone_of(text: str) -> tzinfo | None:
    """Find a zone; None where each stamp states its own.

    Raises:
        ValueError: there is no such zone.

    >>> zone_of("+02:00").utcoffset(None)
    datetime.timedelta(seconds=7200)

    """
    if text == STATED:
        return None
    if text in ("UTC", "Z"):
        return UTC
    if offset := _OFFSET.fullmatch(text):
        ahead = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
        if ahead < timedelta(hours=24):
            return timezone(-ahead if offset[1] == "-" else ahead)
    if "/" not in text:
        raise ValueError(f"expected is the zone {ZONE_RULE}; letters such as EST or CET mean several")
    try:
        return ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f"there is no such zone on this machine; expected is that {ZONE_RULE}") from error
