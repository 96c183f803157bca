"""Lines of text over a serial port."""

from collections.abc import Sequence
from pathlib import Path

from ingest.checking.check import Check
from ingest.decode.line_splitter import LineSplitter
from ingest.decode.lines import LineDecoder
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, Stream
from ingest.kinds.ports import PortConfig, check_port


class SerialLinesConfig(
    PortConfig, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="serial_lines", tag_field="kind"
):
    """Lines of text over a serial port: CSV with a `#` header, or JSON objects; optional `*HH` XOR check."""


def _check(check: Check, key: str, link: SerialLinesConfig, _: Path) -> None:
    check_port(check, key, link.port, link.baud)


def _build(link: SerialLinesConfig, _interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.serial_lines import SerialLines

    return SerialLines(link.settings), LineDecoder()


def _streams() -> Sequence[Stream]:
    def configure(port: str, baud: int) -> SerialLinesConfig:
        return SerialLinesConfig(port=port, baud=baud)

    return [Stream("lines of text", LineSplitter().feed, LineDecoder(), 1, configure)]


KIND = Kind(config=SerialLinesConfig, word="serial", check=_check, build=_build, streams=_streams)
