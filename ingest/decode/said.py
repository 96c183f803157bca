"""What a place in a line of text says: a number, perhaps with its unit, or in words why there is none."""

import re

from ingest.decode.number_text import finite
from ingest.frames import FrameError, InUnit, Unreadable, Value

_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*(?P<number>(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d{1,3}(?!\d))?)\s*(?P<unit>\D.{0,15})?", re.ASCII
)
_POUNDS_AND_OUNCES = re.compile(r"([+-]?)\s*(\d+)\s*lbs?[\s,]+(\d+\.?\d*)\s*oz", re.ASCII | re.IGNORECASE)
_OUNCES_A_POUND = 16

_DASHES = re.compile(r"[-+.*#_]{2,}\s*[^\W\d]{0,4}")
"""What stands in the place of digits, perhaps with the unit behind."""

_OVERLOAD = frozenset(
    {"ol", "0l", "o.l", "of", "over", "overload", "overrange", "hi", "lo", "under", "underload", "inf"}
)
_NO_SENSOR = frozenset({"err", "error", "fault", "fail", "open", "short", "disconnected"})
_NO_VALUE = frozenset(
    {"nan", "null", "none", "n/a", "na", "nil", "unknown", "unavailable", "undefined", "wait", "init"}
)
"""What boards, meters and scales write in the place of a number: common practice, no source."""


def read_said(text: str, decimal: str = ".") -> Value:
    """Read what stands in a place. A number with its unit is `InUnit`; pounds and ounces are ounces.

    decimal: "." or ","; the other one is no part of a number, wherever thousands are grouped by it.

    >>> read_said("+ 118.20 psi"), read_said("23,5", ","), read_said("7 lb 4.5 oz"), read_said("-OL"), read_said("----")
    (118.2, 23.5, 116.5, <Unreadable.OVERLOAD: 'overload'>, <Unreadable.OVERLOAD: 'overload'>)

    Raises:
        FrameError: it is neither a number nor any such word.

    """
    text = text.strip()
    if both := _POUNDS_AND_OUNCES.fullmatch(text):
        ounces = int(both[2]) * _OUNCES_A_POUND + float(both[3])
        return InUnit(finite(-ounces if both[1] == "-" else ounces), "oz")
    if found := _NUMBER.fullmatch(text):
        return _number(found, text, decimal)
    if not (why := _in_words(text)):
        raise FrameError(f"{text[:40]!r} is not a number")
    return why


def _number(found: re.Match[str], text: str, decimal: str) -> float:
    number = found["number"]
    if ("," if decimal == "." else ".") in number:
        raise FrameError(f"{text[:40]!r} is not a number with {decimal!r} before its decimals: see to `decimal`")
    value = finite(float(found["sign"] + number.replace(",", ".")))
    unit = (found["unit"] or "").strip()
    return InUnit(value, unit) if unit else value


def _in_words(text: str) -> Unreadable | None:
    """Tell why there is no number; None where that is not what the text says."""
    word = text.strip("+-<> ").casefold()
    if word in _NO_SENSOR:
        return Unreadable.SENSOR_FAULT
    if word in _NO_VALUE or not text:
        return Unreadable.UNKNOWN
    return Unreadable.OVERLOAD if word in _OVERLOAD or _DASHES.fullmatch(text) else None
