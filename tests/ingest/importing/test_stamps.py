"""Stamps around the hours that a zone has twice or not at all: what follows from the lines before, and what does not.

The zone is that of Eastern time, whose clocks go back at 2 a.m. of the first Sunday of November and forward at 2 a.m.
of the second of March: 15 U.S.C. 260a. In 2026 those are the 1st of November and the 8th of March; summer time is four
hours behind UTC, standard time five (15 U.S.C. 261).
"""

from datetime import UTC, datetime

import pytest

from ingest.importing.errors import CellError
from ingest.importing.log_map import TimeMap
from ingest.importing.stamps import Stamps

EASTERN = "America/New_York"
NOW_S = datetime(2027, 1, 1, tzinfo=UTC).timestamp()


def read(texts: list[str], interval_s: float, *, zone: str = EASTERN) -> list[str]:
    stamps = Stamps(TimeMap(column="t", format="iso", zone=zone, value="sample"), interval_s, NOW_S)
    return [f"{datetime.fromtimestamp(stamps.read(text), UTC):%H:%M}" for text in texts]


def test_the_hour_that_comes_twice_is_told_apart_by_what_came_before() -> None:
    quarters = ["00:45", "01:00", "01:15", "01:30", "01:45", "01:00", "01:15", "01:30", "01:45", "02:00"]
    utc = ["04:45", "05:00", "05:15", "05:30", "05:45", "06:00", "06:15", "06:30", "06:45", "07:00"]
    assert read([f"2026-11-01T{time}" for time in quarters], 900.0) == utc


def test_so_are_hours_of_which_one_comes_twice() -> None:
    texts = [f"2026-11-01T{hour:02}:00" for hour in (0, 1, 1, 2)]
    assert read(texts, 3600.0) == ["04:00", "05:00", "06:00", "07:00"]


def test_a_log_that_begins_in_it_is_refused() -> None:
    with pytest.raises(CellError, match=r"came twice in .* and nothing before it tells which"):
        read(["2026-11-01T01:30"], 900.0)


def test_so_is_one_with_a_gap_before_it() -> None:
    with pytest.raises(CellError, match="nothing before it tells which"):
        read(["2026-11-01T00:10", "2026-11-01T01:30"], 60.0)


def test_a_stray_stamp_of_earlier_before_it_takes_nothing_away_of_what_is_known() -> None:
    """Lines whose stamp is not later may be left out; the others still follow each other."""
    times = ("00:58", "00:59", "00:10", "01:00", "01:01")
    assert read([f"2026-11-01T{time}" for time in times], 60.0)[-2:] == ["05:00", "05:01"]


def test_a_clock_that_was_not_put_back_is_found_out() -> None:
    with pytest.raises(CellError, match="is in the log once: its clock was not put back"):
        read([f"2026-11-01T{time}" for time in ("00:45", "01:00", "01:15", "01:30", "01:45", "02:00")], 900.0)


def test_and_one_that_was_not_put_forward() -> None:
    with pytest.raises(CellError, match=r"was skipped in .*, where clocks were put forward"):
        read(["2026-03-08T01:59", "2026-03-08T02:00"], 60.0)


def test_a_step_back_within_the_first_of_them_is_no_second() -> None:
    """A repeated stamp stays one, so that it is refused where all stamps are."""
    assert read([f"2026-11-01T{time}" for time in ("00:59", "01:00", "01:01", "01:00")], 60.0)[-1] == "05:00"


def test_across_the_change_of_spring_no_second_is_lost_or_made() -> None:
    assert read(["2026-03-08T01:59", "2026-03-08T03:00"], 60.0) == ["06:59", "07:00"]


@pytest.mark.parametrize(
    "text", ["2026-06-01T14:00:00", "1 June", "9" * 400, "inf", "0001-01-01T00:00+05:00", "9999-12-31T23:59-05:00"]
)
def test_what_states_no_zone_or_is_no_stamp_is_refused(text: str) -> None:
    with pytest.raises(CellError):
        read([text], 1.0, zone="stated")


@pytest.mark.parametrize("text", ["nan", "inf", "-1e300", "1e18", "999999999999999999999"])
@pytest.mark.parametrize("form", ["unix_s", "unix_ms", "spreadsheet"])
def test_no_number_is_a_moment_beyond_all(form: str, text: str) -> None:
    stamps = Stamps(TimeMap(column="t", format=form, zone="UTC", value="sample"), 1.0, NOW_S)
    with pytest.raises(CellError):
        stamps.read(text)


def test_five_minutes_after_the_first_of_two_hours_the_second_follows_it() -> None:
    """So long is common practice, no source. Lines come each minute, but for those five."""
    minutes = [f"01:{minute:02}" for minute in range(56)]
    assert read([f"2026-11-01T{time}" for time in ("00:59", *minutes, "01:00")], 60.0)[-2:] == ["05:55", "06:00"]
    with pytest.raises(CellError, match="came twice"):
        read([f"2026-11-01T{time}" for time in ("00:54", "01:00")], 60.0)


def test_a_clock_of_before_1990_or_of_more_than_a_day_from_now_was_not_set() -> None:
    """Common practice, no source."""

    def read_s(time_s: float) -> float:
        return Stamps(TimeMap(column="t", format="unix_s", zone="UTC", value="sample"), 1.0, NOW_S).read(f"{time_s!r}")

    first_s = datetime(1990, 1, 1, tzinfo=UTC).timestamp()
    for time_s in (first_s, NOW_S + 24 * 3600):
        assert read_s(time_s) == time_s
    for time_s, day in ((first_s - 1, "1989-12-31"), (0.0, "1970-01-01"), (NOW_S + 24 * 3600 + 0.5, "2027-01-02")):
        with pytest.raises(CellError, match=f"is of {day}: the clock of the logger was not set"):
            read_s(time_s)


def test_day_nothing_of_a_spreadsheet_is_one_and_was_long_ago() -> None:
    stamps = Stamps(TimeMap(column="t", format="spreadsheet", zone="UTC", value="sample"), 1.0, NOW_S)
    with pytest.raises(CellError, match="the clock of the logger was not set"):
        stamps.read("0")
