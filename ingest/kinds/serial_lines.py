"""Lines of text over a serial port."""

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

import msgspec

from ingest.checking.check import Check
from ingest.decode.line_splitter import LineSplitter
from ingest.decode.lines import LineDecoder
from ingest.decode.text_form import BETWEEN, TextForm, compiled
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, Stream
from ingest.kinds.ports import PortConfig, check_port

_DECIMALS = {"point": ".", "comma": ","}
_ENDS = {"crlf": "\r\n", "lf": "\n", "cr": "\r", "none": ""}


class SerialLinesConfig(
    PortConfig, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="serial_lines", tag_field="kind"
):
    """Lines of text over a serial port: CSV with a `#` header, or JSON objects; optional `*HH` XOR check.

    columns, separator, decimal, pattern, pairs, unsteady: as `ingest.decode.text_form.TextForm`. ask: what the
    instrument is asked, at each interval, before its end; empty: it speaks by itself.
    """

    columns: list[str] = msgspec.field(default_factory=list)
    separator: str = ""
    decimal: Literal["point", "comma"] = "point"
    pattern: str = ""
    pairs: str = ""
    unsteady: list[str] = msgspec.field(default_factory=list)
    ask: str = ""
    ask_end: Literal["crlf", "lf", "cr", "none"] = "crlf"

    @property
    def asked(self) -> bytes:
        """What is sent to ask; empty where nothing is."""
        return (self.ask + _ENDS[self.ask_end]).encode() if self.ask else b""

    @property
    def form(self) -> TextForm:
        """How its lines are read."""
        return TextForm(
            tuple(self.columns),
            self.separator,
            _DECIMALS[self.decimal],
            self.pattern,
            self.pairs,
            tuple(self.unsteady),
            self.ask,
        )


def _check(check: Check, key: str, link: SerialLinesConfig, _: Path) -> None:
    check_port(check, key, link.port, link.baud)
    named = [name for name in link.columns if name]
    if link.columns and (not named or len(set(named)) < len(named)):
        check.wrong(f"{key}.columns", link.columns, 'a name for each place was expected, none twice; "" leaves one out')
    ways = [way for way, told in (("columns", link.columns), ("pattern", link.pattern), ("pairs", link.pairs)) if told]
    if len(ways) > 1:
        check.wrong(f"{key}.{ways[1]}", getattr(link, ways[1]), f"`{ways[0]}` is given too, and a line is read one way")
    if link.decimal == "comma" and not (link.separator or link.pattern or link.pairs):
        check.wrong(f"{key}.decimal", link.decimal, 'with it a `separator` other than "," was expected')
    if link.decimal == "comma" and BETWEEN.get(link.separator, link.separator) == ",":
        check.wrong(f"{key}.separator", link.separator, "it is the decimal sign, too: one of both is another")
    if link.pattern:
        try:
            compiled(link.pattern)
        except ValueError as error:
            check.wrong(f"{key}.pattern", link.pattern, f"{error}; see RE2's syntax: it has no look-around")
    if link.ask and not link.ask.isascii():
        check.wrong(f"{key}.ask", link.ask, "ASCII was expected; its end is told by `ask_end`")


def _build(link: SerialLinesConfig, interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.serial_lines import SerialLines

    return SerialLines(link.settings, link.asked, interval_s), LineDecoder(link.form)


def _streams() -> Sequence[Stream]:
    def configure(port: str, baud: int) -> SerialLinesConfig:
        return SerialLinesConfig(port=port, baud=baud)

    return [Stream("lines of text", LineSplitter().feed, LineDecoder(), 1, configure)]


KIND = Kind(config=SerialLinesConfig, word="serial", check=_check, build=_build, streams=_streams)
