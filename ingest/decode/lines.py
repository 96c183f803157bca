r"""Lines of text from a probe: CSV under a `#` header, or JSON objects.

    # pressure,temperature*46         header: names the columns of the rows that follow
    118.2,50.4*17                     row: as many numbers, in the instrument's own units
    {"pressure":118.2,"temperature":50.4}
                       |
                       `*HH`, two hexadecimal digits: the exclusive or of all bytes before `*`. Optional, until one
                       has come: a probe that checks a line checks them all, so one without has lost its end

A number is decimal, ASCII, with an optional exponent. `OL` (also -OL) or an empty place is an overload,
`null` in JSON a value that the probe does not know. A member of a sound JSON object that is none of these, such as a
name or a list, or that is given twice, is no value, and leaves the others alone. Anything else refuses the whole line:
a damaged line is never half believed. A damaged header takes the columns with it: nobody knows what it named.
"""

import re
from collections.abc import Mapping
from functools import reduce
from operator import xor

import msgspec

from ingest.decode.json_text import read_json
from ingest.decode.line_splitter import LONGEST_LINE_BYTES
from ingest.decode.number_text import finite, read_number
from ingest.frames import Frame, FrameError, Unreadable, Value

_numbers_decoder = msgspec.json.Decoder(dict[str, float])

_CHECK = re.compile(rb"(.*)\*([0-9A-Fa-f]{2})", re.DOTALL)


class LineDecoder:
    """A decoder of lines; make one for each instrument.

    Its only state is the newest CSV header, and whether the lines carry checks: of one connection, since another probe
    may be plugged in next.

    >>> from ingest.frames import Frame, Stamp
    >>> decode = LineDecoder()
    >>> decode(Frame(b"# pressure,temperature", Stamp(0, 0)))
    {}
    >>> decode(Frame(b"118.2,OL", Stamp(0, 0)))
    {'pressure': 118.2, 'temperature': <Unreadable.OVERLOAD: 'overload'>}
    """

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """See Forgetful."""
        self._columns: tuple[str, ...] = ()
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
                self._columns = ()
            raise

    def _read(self, line: bytes) -> Mapping[str, Value]:
        text = self._checked_text(line)
        if not text:
            return {}
        if text.startswith("#"):
            self._columns = _columns(text[1:])
            return {}
        if text.startswith("{"):
            return _object(text)
        return _row(text, self._columns)

    def _checked_text(self, line: bytes) -> str:
        if len(line) > LONGEST_LINE_BYTES:
            raise FrameError(f"a line of more than {LONGEST_LINE_BYTES} bytes")
        line = line.strip()
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
            return line.decode("utf-8").strip()
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
        raise FrameError("a row before the header that names its columns")
    if len(places) != len(columns):
        raise FrameError(f"{len(places)} values under {len(columns)} columns")
    return {name: read_number(place) for name, place in zip(columns, places, strict=True)}


def _object(text: str) -> Mapping[str, Value]:
    try:
        numbers = _numbers_decoder.decode(text)
    except (msgspec.MsgspecError, RecursionError):
        return _object_of_all_kinds(text)
    a_name_came_twice = text.count(":") > len(numbers)  # or has a colon in it
    return _object_of_all_kinds(text) if a_name_came_twice else numbers


def _object_of_all_kinds(text: str) -> dict[str, Value]:
    try:
        members = read_json(text.encode())
    except FrameError as error:
        raise FrameError(f"not an object of numbers: {error}") from error
    if not isinstance(members, dict):
        raise FrameError("not an object of numbers")
    values = {name: _member(member) for name, member in members.items()}
    if members and all(value is None for value in values.values()):
        raise FrameError("not an object of numbers: none of its members is one")
    return {name: Unreadable.UNKNOWN if value is None else value for name, value in values.items()}


def _member(member: object) -> Value | None:
    """Read a member; None for one that is no value of any kind."""
    try:
        if member is None:
            return Unreadable.UNKNOWN
        if isinstance(member, str):
            return read_number(member)
        if isinstance(member, int | float) and not isinstance(member, bool):
            return finite(float(member))
    except (FrameError, OverflowError):
        return None
    return None
