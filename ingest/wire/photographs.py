"""Photographs: sent in parts that each fit one message, kept smaller and without where they were taken.

Every part says all about the photograph, so that they may come in any order, and twice. Which photograph it is tells
its id; that all parts are of one file, its digest.
"""

from collections.abc import Sequence

import msgspec

from ingest.wire.events import Ask, MarkBase

PART_BYTES = 45_000
"""Of the file in one part: in base64 60,000, which leaves the rest of the message 5 KiB (RFC 4648, section 4)."""

LARGEST_PHOTOGRAPH_BYTES = 32_000_000
"""A file that is larger is refused."""

MOST_PARTS = 2_000
"""However small they are."""


class PhotographAsk(Ask, frozen=True, omit_defaults=True, tag="photograph", kw_only=True):
    """One part of a photograph, by part_number of part_count, from 1. The id is of this part.

    photograph: its id, alike in all parts, and then of its mark. digest: SHA-256 of the whole file, in hexadecimal
    figures. data: in base64. check, part, circuit: what it shows, as in a finding; unit: by its tag. want: that a lead
    wanted it. shot: which one of its check that answers. The text is its caption.
    """

    photograph: str
    digest: str
    part_number: int
    part_count: int
    data: bytes
    text: str = ""
    check: str = ""
    part: str = ""
    circuit: str = ""
    unit: str = ""
    want: str = ""
    shot: str = ""


class Photograph(MarkBase, frozen=True, omit_defaults=True, tag="photograph", kw_only=True):
    """A photograph was taken. It is kept as JPEG, turned upright and without what else stood in the file.

    digest: SHA-256 of what is kept; sent_digest: of the file that was sent. width, height: of what is kept [pixels].
    """

    digest: str
    sent_digest: str
    width: int
    height: int
    check: str = ""
    part: str = ""
    circuit: str = ""
    unit: str = ""
    want: str = ""
    shot: str = ""


class PhotographLost(MarkBase, frozen=True, omit_defaults=True, tag="photograph_lost"):
    """A photograph did not arrive whole and was forgotten; the text says whose, and how much of it came."""


class PhotographStands(msgspec.Struct, frozen=True, omit_defaults=True):
    """A photograph of this visit. id: by which the page serves it; digest: of what is kept."""

    id: str
    by: str
    time_s: float
    digest: str
    width: int
    height: int
    text: str = ""
    check: str = ""
    part: str = ""
    circuit: str = ""
    unit: str = ""
    want: str = ""
    shot: str = ""


class PhotographsStand(msgspec.Struct, frozen=True, omit_defaults=True):
    """The photographs of a visit: how many, and the newest of them, the newest first."""

    count: int = 0
    newest: Sequence[PhotographStands] = ()
