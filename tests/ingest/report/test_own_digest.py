"""The digest that a report carries of itself: hashlib's SHA-256 (FIPS 180-4), taken here by another way than there."""

import hashlib
import re
from functools import cache

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ingest.report.drawn.own_digest import ChangedError, Form, Made, closed, opened
from ingest.report.drawn.paper import as_pdf
from ingest.report.drawn.screen import as_html
from tests.ingest.report.made import photograph, report

MADE = Made(
    visit="v1",
    code="Y9H-7YY-K3T",
    digest="3b" * 32,
    marks=57,
    journal="4c" * 32,
    signed=True,
    system="us",
    zone="America/Chicago",
    paper="a4",
    program="Dewline 0, typst 0",
)


@cache
def whole(form: Form) -> bytes:
    it = report()
    bodies = {
        "pdf": lambda: as_pdf(it, photograph, paper="a4").data,
        "html": lambda: as_html(it, photograph, charts="// charts").encode(),
        "json": lambda: b'{"report": ' + msgspec.json.encode(it) + b",\n",
    }
    return closed(bodies[form](), form, MADE)


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
def test_what_is_whole_says_what_it_was_made_of(form: Form) -> None:
    assert opened(whole(form)) == (form, MADE)


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
def test_anybody_can_work_the_digest_out(form: Form) -> None:
    """As docs/report.md says: SHA-256 of all bytes but the 64 letters of the digest."""
    data = whole(form)
    carried = re.findall(rb"sha256\W+([0-9a-f]{64})", data)[-1]
    place = data.rindex(carried)
    assert hashlib.sha256(data[:place] + data[place + 64 :]).hexdigest().encode() == carried


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
@settings(max_examples=300, deadline=None)
@given(share=st.floats(0, 1, exclude_max=True), other=st.integers(1, 255))
@example(share=0.0, other=1)
@example(share=0.9999999, other=1)
def test_one_changed_byte_anywhere_is_found(form: Form, share: float, other: int) -> None:
    data = bytearray(whole(form))
    data[int(share * len(data))] ^= other
    with pytest.raises(ChangedError):
        opened(bytes(data))


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
def test_each_byte_of_its_end_is_held(form: Form) -> None:
    data = whole(form)
    for place in range(len(data) - 700, len(data)):
        changed = bytearray(data)
        changed[place] ^= 0x20  # of a letter, the other case
        with pytest.raises(ChangedError):
            opened(bytes(changed))


@pytest.mark.parametrize("form", ["pdf", "html", "json"])
@settings(max_examples=60, deadline=None)
@given(share=st.floats(0, 1), more=st.binary(min_size=1, max_size=20), less=st.integers(0, 20))
def test_a_byte_too_many_or_too_few_is_found(form: Form, share: float, more: bytes, less: int) -> None:
    data = whole(form)
    place = int(share * len(data))
    changed = data[:place] + more + data[place + less :]
    if changed != data:
        with pytest.raises(ChangedError):
            opened(changed)


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"{}", b"<p>", whole("pdf") * 2])
def test_what_is_no_report_is_told(data: bytes) -> None:
    with pytest.raises(ChangedError):
        opened(data)


def test_the_pdf_ends_as_the_standard_has_it() -> None:
    """ISO 32000-1, 7.5.5: startxref, the offset, %%EOF are the last three lines."""
    lines = whole("pdf").splitlines()
    assert lines[-3:-1] == [b"startxref", lines[-2]]
    assert lines[-2].isdigit()
    assert lines[-1] == b"%%EOF"
    assert whole("pdf")[int(lines[-2]) :].startswith(b"xref")
