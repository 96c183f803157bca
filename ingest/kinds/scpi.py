"""A meter that answers SCPI over a serial port."""

from collections.abc import Collection
from pathlib import Path

import msgspec

from calc.units import parse
from ingest.checking.check import Check, check_any
from ingest.decode.scpi import decode_scpi
from ingest.frames import Decode, Link
from ingest.kinds.kind import Around, Kind, read_time
from ingest.kinds.ports import PortConfig, check_port


class ScpiConfig(PortConfig, frozen=True, forbid_unknown_fields=True, kw_only=True, tag="scpi", tag_field="kind"):
    """A SCPI meter over a serial port. queries: field name to the query that reads it. poll: how often."""

    queries: dict[str, str]
    setup: list[str] = msgspec.field(default_factory=list)
    poll: str = "0.5 s"
    timeout: str = "5 s"


def _check(check: Check, key: str, link: ScpiConfig, _: Path) -> None:
    check_port(check, key, link.port, link.baud)
    read_time(check, f"{key}.poll", link.poll)
    read_time(check, f"{key}.timeout", link.timeout)
    check_any(check, f"{key}.queries", link.queries)
    for name, query in link.queries.items():
        if not query.strip():
            check.wrong(f"{key}.queries.{name}", query, 'a query such as "MEAS:CURR:AC?" was expected')


def _build(link: ScpiConfig, _interval_s: float, _around: Around) -> tuple[Link, Decode]:
    from ingest.link.scpi import ScpiMeter

    poll_s, timeout_s = parse(link.poll, "time"), parse(link.timeout, "time")
    return ScpiMeter(link.settings, link.queries, link.setup, poll_s, timeout_s), decode_scpi


def _fields(link: ScpiConfig) -> Collection[str]:
    return link.queries


KIND = Kind(config=ScpiConfig, word="SCPI", check=_check, build=_build, fields=_fields)
