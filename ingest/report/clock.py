"""Days and times as a report tells them: in words that no locale reads otherwise, in one time zone that is named."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ingest.report.errors import ReportError

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


class Clock:
    """Tells moments [s since 1970] in a time zone. zone: its name in the IANA time zone database.

    Raises:
        ReportError: there is no such zone.

    """

    def __init__(self, zone: str) -> None:
        try:
            self._zone = ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise ReportError(
                f"there is no time zone {zone!r}: give one of the IANA database, such as UTC or America/Denver"
            ) from error
        self.zone = zone

    def at(self, time_s: float) -> datetime:
        """Give the moment in the zone.

        Raises:
            ReportError: no calendar has it.

        """
        try:
            return datetime.fromtimestamp(time_s, UTC).astimezone(self._zone)
        except (ValueError, OverflowError, OSError) as error:
            raise ReportError(
                f"the record tells of a moment {time_s:g} s after 1970, which no calendar has: it was changed"
            ) from error

    def day(self, time_s: float) -> str:
        """Tell the day.

        >>> Clock("America/Denver").day(1780106400.0)
        '29 May 2026'
        """
        return day(self.at(time_s).date())

    def time(self, time_s: float) -> str:
        """Tell the time of day in hours and minutes.

        >>> Clock("UTC").time(1780106400.0)
        '02:00'
        """
        return f"{self.at(time_s):%H:%M}"

    def moment(self, time_s: float) -> str:
        """Tell day and time."""
        return f"{self.day(time_s)}, {self.time(time_s)}"

    def span(self, from_s: float, to_s: float) -> str:
        """Tell from when to when.

        >>> Clock("UTC").span(1780106400.0, 1780111800.0)
        '30 May 2026, 02:00 to 03:30'
        """
        to = self.time(to_s) if self.day(from_s) == self.day(to_s) else self.moment(to_s)
        return f"{self.moment(from_s)} to {to}"

    def offset(self, time_s: float) -> str:
        """Tell how far the zone is from universal time.

        >>> Clock("America/Denver").offset(1780106400.0)
        'UTC-06:00'
        """
        told = f"{self.at(time_s):%z}"
        return f"UTC{told[:3]}:{told[3:5]}"


def day(of: date) -> str:
    """Tell a day.

    >>> day(date(2026, 5, 30))
    '30 May 2026'
    """
    return f"{of.day} {_MONTHS[of.month - 1]} {of.year}"


def day_as_written(text: str) -> str | None:
    """Tell a day that somebody typed, where it is one as ISO 8601 writes it; None else.

    >>> day_as_written("2027-01-04"), day_as_written("in four weeks")
    ('4 January 2027', None)
    """
    try:
        return day(date.fromisoformat(text.strip()))
    except ValueError:
        return None
