"""The code of a page betrays one wrong sign, and two beside each other exchanged: ISO/IEC 7064, by python-stdnum."""

from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from ingest.report.clock import Clock
from ingest.report.code import is_page_code, page_code
from tests.cases import case

visits = st.text("0123456789abcdef", min_size=1, max_size=16)
digests = st.text("0123456789abcdef", min_size=64, max_size=64)


@given(visits, digests)
def test_it_has_a_check_character_and_is_the_same_each_time(visit: str, digest: str) -> None:
    code = page_code(visit, digest)
    assert mod_37_36.validate(code.replace("-", ""))
    assert [len(part) for part in code.split("-")] == [3, 3, 3]
    assert not set("0O1I2Z5S6B8G") & set(code)  # read wrongly over a telephone, or off a photograph
    assert page_code(visit, digest) == code
    assert is_page_code(code.lower().replace("-", " "))


@given(visits, digests, st.integers(0, 8), st.sampled_from("379CHKMPTWXY"))
def test_one_wrong_sign_shows(visit: str, digest: str, at: int, sign: str) -> None:
    code = page_code(visit, digest).replace("-", "")
    wrong = code[:at] + sign + code[at + 1 :]
    assert is_page_code(wrong) == (wrong == code)


def test_another_visit_or_journal_has_another_code() -> None:
    codes = {page_code(visit, digest * 64) for visit in ("v1", "v2", "v3") for digest in "0123456789abcdef"}
    assert len(codes) == 48


def test_a_day_is_that_of_the_zone_and_a_night_of_the_clock_s_change_is_told_right() -> None:
    """IANA time zone database: Denver goes from UTC-6 to UTC-7 on 1 November 2026, 08:00 universal time."""
    denver, berlin = Clock("America/Denver"), Clock("Europe/Berlin")
    change_s = 1_793_520_000.0  # date -u -d "2026-11-01 08:00" +%s
    for seconds, told, offset in (
        (-1.0, "01:59", "UTC-06:00"),
        (0.0, "01:00", "UTC-07:00"),
        (3600.0, "02:00", "UTC-07:00"),
    ):
        with case(seconds):
            assert (denver.time(change_s + seconds), denver.offset(change_s + seconds)) == (told, offset)
    assert denver.day(1_793_491_200.0) == "31 October 2026"  # midnight in universal time
    assert berlin.day(1_793_491_200.0) == "1 November 2026"
    assert berlin.span(1_793_484_000.0, 1_793_491_200.0) == "31 October 2026, 23:00 to 1 November 2026, 01:00"
