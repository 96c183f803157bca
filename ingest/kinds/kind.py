"""What every kind of link says of itself."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import msgspec

from calc.units import parse
from ingest.checking.check import Check
from ingest.frames import Decode, Link
from ingest.link.bluetooth_scan import SharedScan
from ingest.wire.messages import BrokerAddress


@dataclass(frozen=True, slots=True)
class Around:
    """What the links of a rig share.

    scan: of the Bluetooth instruments. broker: the rig's own, where there is one at work.
    """

    scan: SharedScan
    broker: BrokerAddress | None = None


@dataclass(frozen=True, slots=True)
class Stream:
    """How bytes that come by themselves are recognised as a kind of instrument.

    form: what they are, for people. feed: takes bytes as they come, and gives whole frames. fewest: so many frames with
    values make sure. units: by field, where the kind has units of its own; else the fields' names tell. configure:
    gives the link for a port and its speed.
    """

    form: str
    feed: Callable[[bytes], list[bytes]]
    decode: Decode
    fewest: int
    configure: Callable[[str, int], msgspec.Struct]
    units: Mapping[str, str] | None = None


Config = TypeVar("Config", bound=msgspec.Struct)


def _no_fields(_: object) -> None:
    return None


def _no_streams() -> Sequence[Stream]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind(Generic[Config]):
    """A kind of link.

    config: the struct of `[instrument.link]`; its tag is the kind's name in the file. word: for people. check: notes
    what is wrong with a link at a key; the path is where the file lies, with those that it names. build: makes link and
    decoder of an instrument read every so many seconds, and opens nothing; may raise LinkSetupError. fields: the names
    of its values, where they are known before it speaks. streams: how it is recognised at a port.
    """

    config: type[Config]
    word: str
    check: Callable[[Check, str, Config, Path], None]
    build: Callable[[Config, float, Around], tuple[Link, Decode]]
    fields: Callable[[Config], Collection[str] | None] = _no_fields
    streams: Callable[[], Sequence[Stream]] = _no_streams

    @property
    def name(self) -> str:
        """Its name in the configuration."""
        return str(self.config.__struct_config__.tag)


def read_time(check: Check, key: str, text: str) -> float:
    """Read how often something comes or is asked for [s]."""
    return check.read(key, text, lambda text: parse(text, "time"), 0.01, 3600)
