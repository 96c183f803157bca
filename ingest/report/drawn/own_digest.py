"""The digest that a report carries of itself: SHA-256 of every byte of its file but the digest's own 64 letters.

It stands at the end of the file, where each form leaves a place: in a PDF a comment before the last three lines,
which must stay last (ISO 32000-1, 7.5.5), in HTML a comment after all else, in JSON the last member. Before it stands
what the report was made of: which visit, with which journal. It tells damage, and a careless change. Who changes a
report on purpose can write a new digest too: that is found by making it anew from the record.
"""

import base64
import binascii
import hashlib
import re
from typing import Annotated, Literal

import msgspec

from ingest.report.document import System
from ingest.wire.texts import shown

Form = Literal["pdf", "html", "json"]
Paper = Literal["a4", "letter"]


class ChangedError(ValueError):
    """A file is no report, or not what it was when it was made; says which."""


class Made(msgspec.Struct, frozen=True, kw_only=True):
    """Of what a report was made, and how. code, digest: as they stand in it.

    marks, journal: how many marks of the visit it rests on, and the digest of all of them. program: the versions of
    what drew it. left: so many of its lines had no room on its sheet, and stand in the HTML alone.
    """

    visit: str
    code: str
    digest: str
    marks: Annotated[int, msgspec.Meta(ge=0)]
    journal: str
    signed: bool
    system: System
    zone: str
    paper: Paper
    program: str
    left: Annotated[int, msgspec.Meta(ge=0)] = 0


_MADE = rb"([A-Za-z0-9+/=]+)"
_SHA256 = rb"([0-9a-f]{64})"
_AT_END = {
    "pdf": re.compile(rb"\n% dewline report " + _MADE + rb"\n% sha256 " + _SHA256 + rb"\nstartxref\n[0-9]+\n%%EOF\Z"),
    "html": re.compile(rb"\n<!-- dewline report " + _MADE + rb" sha256 " + _SHA256 + rb" -->\n\Z"),
    "json": re.compile(rb'"made": "' + _MADE + rb'",\n"sha256": "' + _SHA256 + rb'"\n}\n\Z'),
}
_PDF_ENDS = re.compile(rb"\nstartxref\n[0-9]+\n%%EOF\s*\Z")


def closed(body: bytes, form: Form, made: Made) -> bytes:
    """Give a drawn report with what it was made of and its digest at its end.

    body: a whole PDF; HTML; or JSON without its last brace and members.

    Raises:
        ValueError: a PDF does not end as the standard has it.

    """
    about = base64.b64encode(msgspec.json.encode(made))
    if form == "pdf":
        found = _PDF_ENDS.search(body)
        if found is None:
            raise ValueError("the library writes the end of a PDF otherwise than expected")
        before = body[: found.start()] + b"\n% dewline report " + about + b"\n% sha256 "
        after = found.group().rstrip()
    elif form == "html":
        before, after = body.rstrip() + b"\n<!-- dewline report " + about + b" sha256 ", b" -->\n"
    else:
        before, after = body + b'"made": "' + about + b'",\n"sha256": "', b'"\n}\n'
    return before + hashlib.sha256(before + after).hexdigest().encode() + after


def opened(data: bytes) -> tuple[Form, Made]:
    """Read of what a report was made, once its digest was found right.

    Raises:
        ChangedError: the file is no report, or a byte of it is another.

    """
    form = form_of(data)
    found = _AT_END[form].search(data, max(0, len(data) - 4096))
    if found is None:
        raise ChangedError("it carries no digest where a report has it: it is no report, or its end was changed")
    if hashlib.sha256(data[: found.start(2)] + data[found.end(2) :]).hexdigest().encode() != found.group(2):
        raise ChangedError("it was changed since it was made: it no longer has the digest that it carries")
    try:
        return form, msgspec.json.decode(base64.b64decode(found.group(1)), type=Made)
    except (binascii.Error, msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise ChangedError(f"what it says it was made of cannot be read: {shown(str(error))}") from error


def form_of(data: bytes) -> Form:
    """Tell the form of a file by how it begins, whatever its name."""
    if data.startswith(b"%PDF-"):
        return "pdf"
    return "json" if data.startswith(b"{") else "html"
