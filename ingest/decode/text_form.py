"""The form of lines that need telling: which places, what stands between them, or a pattern; and lines of pairs."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import re2

from ingest.decode.said import read_said
from ingest.frames import FrameError, Malformed, Unreadable, Value

Split = Callable[[str], list[str]]

BETWEEN = {"tab": "\t", "comma": ",", "semicolon": ";"}
"""What a separator may be called; `space` is any number of spaces and tabs."""

LEFT_OUT = ""
"""The name of a column that is none."""


@dataclass(frozen=True, slots=True)
class TextForm:
    """How the lines of an instrument are read, where nothing in them tells.

    columns: the names of the places of each line, empty for what is left out; none: a line of names heads them.
    separator: what stands between two places. decimal: "." or ",". pattern: finds fields by its named groups, anywhere
    in a line; lines in which it finds nothing are skipped. pairs: what stands between a name and its value. unsteady:
    texts that stand for a value that is not steady yet, such as US of a scale. asked: what the instrument is asked,
    which some send back.
    """

    columns: tuple[str, ...] = ()
    separator: str = ""
    decimal: str = "."
    pattern: str = ""
    pairs: str = ""
    unsteady: tuple[str, ...] = ()
    asked: str = ""

    @property
    def is_told(self) -> bool:
        """Whether anything is told that lines do not tell themselves."""
        return bool(self.columns or self.separator or self.pattern or self.pairs)


def compiled(pattern: str) -> "re2._Regexp":
    """Compile a pattern, which takes a time that grows with the line alone (RE2).

    Raises:
        ValueError: it is no pattern, or has no named group.

    """
    quiet = re2.Options()
    quiet.log_errors = False
    try:
        made = re2.compile(pattern, options=quiet)
    except re2.error as error:
        why = error.args[0]
        raise ValueError(why.decode("utf-8", "replace") if isinstance(why, bytes) else str(why)) from error
    if not made.groupindex:
        raise ValueError("it names no group: (?P<pressure>[-+.0-9]+) finds the field `pressure`")
    return made


def splitting(separator: str) -> Split:
    """Give what cuts a line into its places."""
    if separator == "space":
        return str.split
    between = BETWEEN.get(separator, separator) or ","
    return lambda line: line.split(between)


def places(found: Sequence[str], columns: Sequence[str], form: TextForm) -> dict[str, Value]:
    """Read the places of a row under its columns; whatever stands behind the last is to be empty.

    Raises:
        FrameError: there are fewer or more.

    """
    given = len(columns)
    if len(found) < given or any(text.strip() for text in found[given:]):
        raise FrameError(f"{len(found)} places where {given} columns are named: {' | '.join(found)[:80]!r}")
    named = {name: text for name, text in zip(columns, found, strict=False) if name != LEFT_OUT}
    return _unless_unsteady({name: _said(text, form) for name, text in named.items()}, found, form)


def by_pattern(line: str, pattern: "re2._Regexp", form: TextForm) -> dict[str, Value]:
    """Read what the named groups of a pattern find; nothing where it finds none."""
    found = pattern.search(line)
    if found is None:
        return {}
    groups: Mapping[str, str | None] = found.groupdict()
    there = {name: text for name, text in groups.items() if text is not None}
    return _unless_unsteady({name: _said(text, form) for name, text in there.items()}, list(there.values()), form)


_PARTS = re.compile(r"[,;|\t]")
_PARTS_WITH_DECIMAL_COMMA = re.compile(r"[;|\t]|,\s")
_NAME = r"[^\W\d][\w.\-/]*"


def in_pairs(line: str, form: TextForm) -> dict[str, Value]:
    """Read pairs of a name and a value, parted by commas, semicolons, bars, tabs, or by spaces alone.

    Raises:
        FrameError: there is none.

    """
    parts = (_PARTS if form.decimal == "." else _PARTS_WITH_DECIMAL_COMMA).split(line)
    pairs = [pair for part in parts for pair in _pairs_of(part, form.pairs)]
    if not pairs:
        raise FrameError(f"no pair with {form.pairs!r} between a name and its value in {line[:80]!r}")
    names = [name for name, _ in pairs]
    values = {name: _said(text, form) for name, text in pairs}
    values |= {name: Malformed("its name came twice") for name in names if names.count(name) > 1}
    return _unless_unsteady(values, [text for _, text in pairs], form)


def _pairs_of(part: str, sign: str) -> Iterator[tuple[str, str]]:
    if part.count(sign) == 1:  # the name may be of several words
        name, _, text = part.partition(sign)
        if name.strip():
            yield name.strip(), text
        return
    begins = list(re.finditer(rf"({_NAME})\s*{re.escape(sign)}", part))
    ends = [each.start() for each in begins[1:]] + [len(part)]
    for begin, end in zip(begins, ends, strict=False):  # of no pair there is an end alone
        yield begin[1], part[begin.end() : end]


def _said(text: str, form: TextForm) -> Value:
    """Read a place; one that cannot be read leaves its neighbours alone."""
    try:
        return read_said(text, form.decimal)
    except FrameError as error:
        return Malformed(str(error))


def _unless_unsteady(values: dict[str, Value], texts: Sequence[str], form: TextForm) -> dict[str, Value]:
    """Give no number where the line says that it is not steady yet."""
    if form.unsteady and any(text.strip() in form.unsteady for text in texts):
        return dict.fromkeys(values, Unreadable.UNSTEADY)
    return values
