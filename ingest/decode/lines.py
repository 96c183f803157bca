r"""Lines of text from a probe: CSV under a `#` header, or JSON objects.

    # pressure,temperature*46         header: names the columns of the rows that follow
    118.2,50.4*17                     row: as many numbers, in the instrument's own units
    {"pressure":118.2,"temperature":50.4}
                       |
                       `*HH`, two hexadecimal digits: the exclusive or of all bytes before `*`. Optional, until one
                       has come: a probe that checks a line checks them all, so one without has lost its end

A number is decimal, ASCII, with an optional exponent. `OL` (also -OL) or an empty place is an overload,
`null` in JSON a value that the probe does not know. A member of a sound JSON object that is none of these, such as a
name or a list, or that is given twice, is no value, and leaves the others alone. What lies deeper goes by the way to it
(RFC 6901): `/sensors/0/value`. Anything else refuses the whole line: a damaged line is never half believed. A damaged
header takes the columns with it: nobody knows what it named.

Lines that need telling are read by a `TextForm`: its columns, its separator, pairs or a pattern; there a place may have
its unit, and one that cannot be read leaves its neighbours alone. Bytes that are no text, at either end of a line, are
no part of it; a prompt, an OK, and what was asked and comes back, hold no values.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import reduce
from itertools import islice
from operator import xor

import msgspec

from ingest.decode.json_text import read_json
from ingest.decode.line_splitter import LONGEST_LINE_BYTES
from ingest.decode.number_text import finite, read_number
from ingest.decode.said import read_said
from ingest.decode.text_form import TextForm, by_pattern, compiled, in_pairs, places, splitting
from ingest.frames import Frame, FrameError, Unreadable, Value

_numbers_decoder = msgspec.json.Decoder(dict[str, float])

_CHECK = re.compile(rb"(.*)\*([0-9A-Fa-f]{2})", re.DOTALL)


_NO_TEXT = bytes(range(33)) + b"\x7f"
"""Spaces and control characters, such as the STX and ETX about a line of a scale, and the NUL that pads one."""
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_NO_VALUES = ("OK", "ok", "READY", "Ready", "ready", ">")
"""What instruments say beside their values: common practice, no source."""
PLAIN = TextForm()


class LineDecoder:
    """A decoder of lines; make one for each instrument.

    Its only state is the newest CSV header, and whether the lines carry checks: of one connection, since another probe
    may be plugged in next.

    form: how its lines are read, where nothing in them tells.

    >>> from ingest.frames import Frame, Stamp
    >>> decode = LineDecoder()
    >>> decode(Frame(b"# pressure,temperature", Stamp(0, 0)))
    {}
    >>> decode(Frame(b"118.2,OL", Stamp(0, 0)))
    {'pressure': 118.2, 'temperature': <Unreadable.OVERLOAD: 'overload'>}
    """

    def __init__(self, form: TextForm = PLAIN) -> None:
        self._form = form
        self._pattern = compiled(form.pattern) if form.pattern else None
        self._split = splitting(form.separator)
        self.forget()

    def forget(self) -> None:
        """See Forgetful."""
        self._columns: tuple[str, ...] = self._form.columns
        self._carries_checks = False

    def __call__(self, frame: Frame) -> Mapping[str, Value]:
        """Read one line; a header or a blank line holds no values.

        Raises:
            FrameError: the line is damaged, too long, of another form, or a row before its header.

        """
        try:
            return self._read(frame.payload)
        except FrameError:
            if b"#" in frame.payload:
                self._columns = self._form.columns
            raise

    def _read(self, line: bytes) -> Mapping[str, Value]:
        text = self._checked_text(line)
        if text.startswith(("{", "[")):
            return _document(text)
        if self._form.is_told:
            return self._as_told(text)
        if not text or text in _NO_VALUES or text == self._form.asked:
            return {}
        if text.startswith("#"):
            self._columns = _columns(text[1:])
            return {}
        return _row(text, self._columns)

    def _as_told(self, text: str) -> Mapping[str, Value]:
        """Read a line of a form that was told."""
        form = self._form
        if self._pattern is not None:
            return by_pattern(text, self._pattern, form)
        text = text.lstrip("> ")
        if not text or text in _NO_VALUES or text == form.asked:
            return {}
        if form.pairs:
            return in_pairs(text, form)
        found = self._split(text.lstrip("#") if not form.columns else text)
        if not form.columns and (text.startswith("#") or all(_is_name(it) for it in found)):
            self._columns = _columns(",".join(found))
            return {}
        if not self._columns:
            raise FrameError(f"a row before the line of names: {text[:60]!r}; name its places by `columns`")
        return places(found, self._columns, form)

    def _checked_text(self, line: bytes) -> str:
        if len(line) > LONGEST_LINE_BYTES:
            raise FrameError(f"a line of more than {LONGEST_LINE_BYTES} bytes")
        line = line.strip(_NO_TEXT)
        check = _CHECK.fullmatch(line)
        if check:
            line = check[1]
            expected, found = int(check[2], 16), reduce(xor, line, 0)
            if expected != found:
                raise FrameError(f"the check says {expected:02X}, the line gives {found:02X}")
            self._carries_checks = True
        elif line and self._carries_checks:
            raise FrameError("a line without its check, where those before had one: it lost its end")
        try:
            return line.removeprefix(_BYTE_ORDER_MARK).decode("utf-8").strip()
        except UnicodeDecodeError as error:
            raise FrameError("the line is not UTF-8 text") from error


def _columns(header: str) -> tuple[str, ...]:
    names = tuple(name.strip() for name in header.split(","))
    if not all(names) or len(set(names)) < len(names):
        raise FrameError(f"the header {header!r} has an empty or repeated name")
    return names


def _row(text: str, columns: tuple[str, ...]) -> dict[str, Value]:
    places = text.split(",")
    if not columns:
        raise FrameError(f"a row before the header that names its columns: {text[:60]!r}; or name them by `columns`")
    if len(places) != len(columns):
        raise FrameError(f"{len(places)} values under {len(columns)} columns")
    return {name: read_number(place) for name, place in zip(columns, places, strict=True)}


def _is_name(text: str) -> bool:
    """Tell whether a place is the name of a column: it begins as no number does."""
    text = text.strip()
    return bool(text) and not text[0].isdigit() and text[0] not in "+-.,"


def _object(text: str) -> Mapping[str, Value]:
    try:
        numbers = _numbers_decoder.decode(text)
    except (msgspec.MsgspecError, RecursionError):
        return _document_of_all_kinds(text)
    a_name_came_twice = text.count(":") > len(numbers)  # or has a colon in it
    return _document_of_all_kinds(text) if a_name_came_twice else numbers


def _document(text: str) -> Mapping[str, Value]:
    return _object(text) if text.startswith("{") else _document_of_all_kinds(text)


def _document_of_all_kinds(text: str) -> dict[str, Value]:
    try:
        members = read_json(text.encode())
    except FrameError as error:
        raise FrameError(f"not an object of numbers: {error}") from error
    named = members.items() if isinstance(members, dict) else ()
    deeper = list(islice(_deeper(members), _MOST_MEMBERS))
    values = {str(name): _member(member) for name, member in [*named, *deeper]}
    if members and all(value is None for value in values.values()):
        raise FrameError(f"not an object of numbers: none of its members is one: {text[:60]!r}")
    return {name: Unreadable.UNKNOWN if value is None else value for name, value in values.items()}


_MOST_MEMBERS = 256
"""Of one line; more is no reading of an instrument."""


def _deeper(member: object, way: str = "") -> Iterator[tuple[str, object]]:
    """Give what lies within lists and objects, each with the way to it from the whole (RFC 6901)."""
    if isinstance(member, dict):
        parts: Iterable[tuple[object, object]] = member.items()
    elif isinstance(member, list):
        parts = enumerate(member)
    else:
        return
    for name, part in parts:
        to = f"{way}/{str(name).replace('~', '~0').replace('/', '~1')}"
        if isinstance(part, dict | list):
            yield from _deeper(part, to)
        elif way or isinstance(member, list):  # what stands in the object itself goes by its name
            yield to, part


def _member(member: object) -> Value | None:
    """Read a member; None for one that is no value of any kind."""
    try:
        if member is None:
            return Unreadable.UNKNOWN
        if isinstance(member, str):
            return read_said(member)
        if isinstance(member, int | float) and not isinstance(member, bool):
            return finite(float(member))
    except (FrameError, OverflowError):
        return None
    return None
