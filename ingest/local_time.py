"""Moments as the clock on the wall of this machine tells them, for people at the shell."""

from datetime import UTC, datetime


def day_here(time_s: float) -> str:
    """Tell the day of a moment [s since 1970], such as 2024-01-31; what no calendar has is told in seconds.

    >>> day_here(1e308)
    'no day (1e+308 s since 1970)'
    """
    found = _here(time_s)
    return f"no day ({time_s:g} s since 1970)" if found is None else found.date().isoformat()


def moment_here(time_s: float) -> str:
    """Tell a moment [s since 1970] to the second, with its offset from universal time; likewise.

    >>> moment_here(-1e11)
    'no moment (-1e+11 s since 1970)'
    """
    found = _here(time_s)
    return f"no moment ({time_s:g} s since 1970)" if found is None else found.isoformat(" ", "seconds")


def _here(time_s: float) -> datetime | None:
    try:
        return datetime.fromtimestamp(time_s, UTC).astimezone()
    except (ValueError, OverflowError, OSError):  # a record that was changed may say anything
        return None
