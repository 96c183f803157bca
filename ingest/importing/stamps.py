"""Stamps of a log to UTC. Nothing is guessed: a stamp that may be two moments is refused, with what would tell.

Where clocks are put back, one hour of local time comes twice. Which of the two a line is of follows from the lines
before it; where it does not, or where the log has that hour once although it goes on through it, it is refused.
"""

import re
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo

from ingest.importing.errors import CellError
from ingest.importing.log_map import OF_ITS_NAME, TimeMap
from ingest.importing.zones import STATED, zone_of

_SPREADSHEET_ZERO = datetime(1899, 12, 30)  # noqa: DTZ001 - in the logger's zone, whichever that is
"""Day 0 of a spreadsheet (ECMA-376 part 1, 18.17.4.1, the 1900 date base)."""
_BEYOND = 1e14
"""Milliseconds since 1970: the year 5138."""
_MOST_DAYS = 2_958_466
"""Of the year 9999, where spreadsheets end (ibid.)."""
_FAR_S = 1e11
EARLIEST_S = datetime(1990, 1, 1, tzinfo=UTC).timestamp()
"""A clock that says less was never set."""
_A_DAY_S = 86_400.0
_STEADY = 1.5
"""So many intervals, at most, are from one line to the next where none is missing."""
_SHORT_GAP_S = 300.0
"""Lines so far from each other still follow each other around the hour that comes twice: common practice, no source."""


class Stamps:
    """Reads the stamps of one log in the order of its lines. now_s: nothing is later than a day after it.

    name: of the log, which may say of which day it is.
    """

    def __init__(self, time: TimeMap, interval_s: float, now_s: float, name: str = "") -> None:
        self._time = time
        self._date = date_of(time, name)
        self._zone = zone_of(time.zone)
        self._latest_s = now_s + _A_DAY_S
        self._before_s: float | None = None
        self._shift_s = 0.0  # within the hour that comes twice, and in it for the first time
        self._is_second = False
        self._follows_s = max(_STEADY * interval_s, _SHORT_GAP_S)
        self._start = datetime.fromisoformat(time.start) if time.start else None

    def read(self, text: str) -> float:
        """Give when it was [s since 1970, UTC].

        Raises:
            CellError: it is no such stamp, or may be several moments.

        """
        found_s = self._read(text)
        if not EARLIEST_S <= found_s <= self._latest_s:
            told = datetime.fromtimestamp(found_s, UTC).date() if 0.0 <= found_s < _FAR_S else f"{found_s:g} s"
            raise CellError(f"the stamp {text!r} is of {told}: the clock of the logger was not set")
        self._before_s = max(found_s, self._before_s or found_s)
        return round(found_s, 3)

    def _read(self, text: str) -> float:
        match self._time.format:
            case "unix_s":
                return _number(text)
            case "unix_ms":
                return _number(text) / 1000.0
            case "elapsed_s":
                if self._start is None:
                    raise CellError("the map does not say when the log began")
                began_s = self._start.timestamp() if self._start.tzinfo else self._of_local(self._start, is_start=True)
                return began_s + _number(text)
            case "spreadsheet":
                if not 0.0 <= (days := _number(text)) < _MOST_DAYS:
                    raise CellError(f"the stamp {text!r} is no day of a spreadsheet")
                return self._of_local(_SPREADSHEET_ZERO + timedelta(days=days))
            case written:
                return self._of_text(text, written)

    def _of_text(self, text: str, written: str) -> float:
        try:
            found = datetime.fromisoformat(text) if written == "iso" else datetime.strptime(text, written)  # noqa: DTZ007
        except ValueError as error:
            expected = "ISO 8601, such as 2026-03-31T14:05:00" if written == "iso" else f"the format {written}"
            raise CellError(f"the stamp {text!r} is not written as {expected}") from error
        if self._date:
            found = datetime.combine(self._date, found.timetz())
        if found.tzinfo is None and self._zone is None:
            raise CellError(f"the stamp {text!r} does not state its zone, though zone is {STATED!r}: give the zone")
        if found.tzinfo is not None and self._zone is not None:
            raise CellError(
                f'the stamp {text!r} states a zone, and the map says {self._time.zone}: write zone = "stated"'
            )
        return found.timestamp() if found.tzinfo else self._of_local(found)

    def _of_local(self, local: datetime, *, is_start: bool = False) -> float:
        zone = self._zone
        if zone is None:
            raise CellError("such a stamp cannot state its zone: give the zone of the logger's clock")
        if isinstance(zone, timezone):  # of a fixed offset nothing comes twice
            return local.replace(tzinfo=zone).timestamp()
        first, second = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
        first_s, second_s = first.timestamp(), second.timestamp()
        if first_s == second_s:
            return self._of_once(first_s)
        if _back(first_s, zone) != local:
            raise CellError(
                f"{local} was skipped in {self._time.zone}, where clocks were put forward: "
                'the logger does not follow; give its offset, such as zone = "+01:00"'
            )
        if is_start:
            raise CellError(f"{local} came twice in {self._time.zone}: give the start with its offset")
        return self._of_twice(local, first_s, second_s)

    def _of_twice(self, local: datetime, first_s: float, second_s: float) -> float:
        before_s = self._before_s
        if self._is_second:
            return second_s
        if self._shift_s and before_s is not None and first_s <= before_s:
            if second_s - before_s > self._follows_s:
                return first_s  # it is not put back: a stamp that is not later
            self._shift_s, self._is_second = 0.0, True
            return second_s
        if before_s is None or first_s - before_s > self._follows_s:
            raise CellError(
                f"{local} came twice in {self._time.zone}, where clocks were put back, and nothing before it tells "
                'which: cut the log there, or have it written with its offset and zone = "stated"'
            )
        self._shift_s = second_s - first_s
        return first_s

    def _of_once(self, found_s: float) -> float:
        """Refuse a log that goes through the hour that came twice once: its clock was not put back."""
        shift_s, self._shift_s, self._is_second = self._shift_s, 0.0, False
        if shift_s and self._before_s is not None and 0.0 <= found_s - self._before_s - shift_s <= self._follows_s:
            raise CellError(
                f"the hour that came twice in {self._time.zone} is in the log once: its clock was not put back; "
                "give its offset instead of the zone, or cut the log there"
            )
        return found_s


def date_of(time: TimeMap, name: str) -> date | None:
    """Give the day of times of day; None where the stamps have it.

    Raises:
        CellError: the name of the log has no date.

    >>> date_of(TimeMap(column="t", format="%H:%M", zone="UTC", value="sample", date="name"), "roof_20260331.csv")
    datetime.date(2026, 3, 31)

    """
    if time.date != OF_ITS_NAME:
        return date.fromisoformat(time.date) if time.date else None
    for text in _DATE_IN_A_NAME.findall(name):
        with suppress(ValueError):
            return date.fromisoformat(text)
    raise CellError(f"the name {name!r} has no date such as 2026-03-31 or 20260331: write it as time.date in the map")


_DATE_IN_A_NAME = re.compile(r"(?<!\d)(\d{4}-\d\d-\d\d|\d{8})(?!\d)")


def _back(time_s: float, zone: tzinfo) -> datetime:
    return datetime.fromtimestamp(time_s, zone).replace(tzinfo=None, fold=0)


def _number(text: str) -> float:
    """Read a number of seconds, or days, from somewhere: none is beyond what a stamp can be."""
    try:
        value = float(text.replace(",", "."))
    except ValueError as error:
        raise CellError(f"the stamp {text!r} is no number") from error
    if not abs(value) < _BEYOND:
        raise CellError(f"the stamp {text!r} is no moment")
    return value
