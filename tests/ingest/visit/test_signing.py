"""Signatures as they are drawn: kept as they are seen, and refused where they are none or too large to travel."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.visit.deciding import Facts, Head, RefusedError
from ingest.visit.progress import sign
from ingest.visit.repeated import is_repeated
from ingest.visit.standing import Standing
from ingest.wire.messages import Answer, SignAsk, VisitOpened, decode_mark, encode
from tests import wire_rig

HEAD: Head = ("s1", 1.7e9, "Sam", "technician")
FACTS = Facts(wire_rig.about(started_s=1.7e9).unit, {}, frozenset(), frozenset())
points = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
strokes = st.lists(st.lists(points, max_size=20), max_size=20)


def standing() -> Standing:
    return Standing("v1", [VisitOpened("m0", 1.6e9)])


def asked(**fields: Any) -> SignAsk:
    return SignAsk("s1", "Sam", name="Sam", confirmed=True, **fields)


@given(strokes, strokes)
def test_a_signature_is_kept_as_it_is_seen_and_asked_twice_it_is_the_same(drawn: Any, owners: Any) -> None:
    ask = asked(strokes=drawn, owner=" Jo Field ", owner_strokes=owners, company=" Field and Daughter")
    mark = sign(ask, HEAD, standing(), FACTS)
    kept = [[(round(x, 4), round(y, 4)) for x, y in stroke] for stroke in drawn if stroke]
    assert [list(stroke) for stroke in mark.strokes] == kept  # a hundredth of a millimetre on a field of 10 cm
    assert (mark.owner, mark.company) == ("Jo Field", "Field and Daughter")
    assert is_repeated(ask, "technician", decode_mark(encode(mark)))


def test_without_one_nothing_of_it_travels() -> None:
    assert b"strokes" not in encode(sign(asked(), HEAD, standing(), FACTS))


def test_an_address_may_have_lines_of_its_own() -> None:
    assert sign(asked(owner="Jo Field\n2 Mill Street"), HEAD, standing(), FACTS).owner == "Jo Field\n2 Mill Street"


LARGEST = [[(0.1234, 0.1234)] * 20] * 60
"""1200 points in 60 strokes."""


def test_two_of_the_largest_fit_one_message() -> None:
    """64 KiB: docs/asyncapi.yaml. The answer holds the mark."""
    mark = sign(asked(strokes=LARGEST, owner="Jo Field", owner_strokes=LARGEST), HEAD, standing(), FACTS)
    assert len(encode(Answer("s1", ok=True, mark=mark))) < 65_536


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"strokes": [[(0.5, 0.5)] * 1201]}, "strokes has 1 strokes of 1201 points; at most"),
        ({"strokes": [[(0.5, 0.5)]] * 61}, "strokes has 61 strokes"),
        ({"strokes": [[(0.5, 1.01)]]}, "strokes: a point lies outside"),
        ({"strokes": [[(-0.01, 0.5)]]}, "strokes: a point lies outside"),
        ({"strokes": [[(float("nan"), 0.5)]]}, "strokes: a point lies outside"),
        ({"owner_strokes": [[(0.5, 0.5)]]}, "owner is empty: whose signature owner_strokes is was expected"),
        ({"owner": "Jo Field", "owner_strokes": [[(0.5, 2.0)]]}, "owner_strokes: a point lies outside"),
        ({"company": "x" * 501}, "company: has 501 letters; at most 500 are kept"),
        ({"certificate": "a\x00b"}, r"certificate: holds the control character U\+0000"),
    ],
)
def test_what_is_no_signature_is_refused(fields: dict[str, Any], says: str) -> None:
    with pytest.raises(RefusedError, match=says):
        sign(asked(**fields), HEAD, standing(), FACTS)
